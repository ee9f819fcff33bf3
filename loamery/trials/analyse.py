"""The analysis of a trial: variance, effects with their intervals, checks, and the verdict they allow."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band, Finding
from loamery.reference import coefficient
from loamery.trials.checks import Check, check_assumptions
from loamery.trials.compare import LargestT, contrasts, pairs
from loamery.trials.design import Trial
from loamery.trials.folder import Reading
from loamery.trials.frame import Frame, lost_plots, make_frame, unfit
from loamery.trials.ranks import RankTest, lot_p, rank_test

Array = NDArray[np.float64]
Method = Literal["variance", "lots"]


@dataclass(frozen=True)
class VarianceRow:
    """One line of the analysis of variance."""

    source: str
    df: int
    sum_sq: float
    mean_sq: float
    f: float | None = None
    p: float | None = None


@dataclass(frozen=True)
class Effect:
    """A difference between two treatments.

    Parameters
    ----------
    difference : treatment less reference with its own 90 % interval, in the trial's unit.
    percent : the same as a share of the reference's mean, %.
    p_alone : of this comparison by itself; p : all comparisons judged together, by the method that decides.
    """

    treatment: str
    reference: str
    difference: Band
    percent: Band
    t: float
    p_alone: float
    p: float

    def as_dict(self) -> dict[str, object]:
        """Return the effect ready for JSON."""
        return {**vars(self), "difference": self.difference.as_dict(), "percent": self.percent.as_dict()}


@dataclass(frozen=True)
class Mixed:
    """Blocks as a draw from all blocks there might be.

    Parameters
    ----------
    block_sd, plot_sd : standard deviation between blocks and between plots within them, by restricted maximum likelihood.
    means, se : of each treatment, in the trial's order.
    """

    block_sd: float
    plot_sd: float
    means: tuple[float, ...]
    se: tuple[float, ...]
    sound: bool

    def as_dict(self) -> dict[str, object]:
        """Return the model ready for JSON."""
        return dict(vars(self))


@dataclass
class Analysis:
    """Everything found in a trial; without a fit when it is not fit to be analysed."""

    trial: Trial
    frame: Frame
    stops: list[Finding]
    lost: dict[str, str]
    table: list[VarianceRow] = field(default_factory=list)
    means: tuple[float, ...] = ()
    mean_bands: tuple[Band, ...] = ()
    effects: list[Effect] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    method: Method = "variance"
    ranks: RankTest | None = None
    sd: float = float("nan")
    df: int = 0

    @property
    def cv(self) -> float:
        """Return the spread between plots as a share of the mean."""
        return self.sd / abs(float(np.mean(self.frame.values)))

    @property
    def found(self) -> list[Effect]:
        """Return the differences that chance alone hardly gives."""
        alpha = coefficient("trial_alpha").value
        if self.method == "lots" and self.ranks is not None and self.ranks.p >= alpha:
            return []
        return [one for one in self.effects if one.p < alpha]

    @cached_property
    def mixed(self) -> Mixed | None:
        """Return the mixed model, None without blocks or without a fit."""
        return mixed_model(self.frame) if self.frame.blocked and self.table else None

    @property
    def block_gain(self) -> float | None:
        """Return how many plots without blocks each plot in a block was worth (relative efficiency)."""
        rows = {one.source: one for one in self.table}
        if "block" not in rows or not self.frame.complete:
            return None
        b, t = len(self.frame.blocks), len(self.frame.keys)
        error = rows["error"].mean_sq
        return ((b - 1) * rows["block"].mean_sq + b * (t - 1) * error) / ((b * t - 1) * error)


def analyse(trial: Trial, readings: Sequence[Reading]) -> Analysis:
    """Return the analysis of a trial; what is not fit to be analysed says so and has no effects."""
    frame = make_frame(trial, readings)
    out = Analysis(trial, frame, unfit(trial, readings, frame), lost_plots(trial, readings))
    return out if out.stops else fit_frame(out)


def fit_frame(out: Analysis) -> Analysis:
    """Fill in the fit, its effects, checks and, where they fail, the tests that do without them."""
    import statsmodels.api as sm

    frame = out.frame
    treatments = np.eye(len(frame.keys))[frame.treatment]
    blocks = _centred(frame)
    full = sm.OLS(frame.values, np.column_stack([treatments, blocks])).fit()
    out.table = _variance(frame, full, blocks, treatments)
    out.sd, out.df = float(np.sqrt(full.mse_resid)), int(full.df_resid)
    count = len(frame.keys)
    means, covariance = full.params[:count], full.cov_params()[:count, :count]
    out.means = tuple(float(one) for one in means)
    out.mean_bands = tuple(_band(m, np.sqrt(v), out.df, frame.unit) for m, v in zip(means, np.diag(covariance), strict=True))  # fmt: skip
    out.checks = check_assumptions(frame, full, full.fittedvalues)
    if any(one.answer == "fails" for one in out.checks):
        out.method, out.ranks = "lots", rank_test(frame)
    out.effects = _effects(out, means, covariance)
    return out


def _centred(frame: Frame) -> Array:
    """Return columns for blocks that sum to nothing, so that treatments keep their means."""
    if not frame.blocked:
        return np.empty((len(frame.values), 0))
    each = np.eye(len(frame.blocks))[frame.block]
    return np.asarray(each[:, 1:] - each[:, :1])


def _variance(frame: Frame, full: Any, blocks: Array, treatments: Array) -> list[VarianceRow]:
    """Return the lines of the analysis of variance, each source fitted after the others."""
    import statsmodels.api as sm
    from scipy.stats import f

    def line(source: str, reduced: Any) -> VarianceRow:
        df, extra = int(reduced.df_resid - full.df_resid), float(reduced.ssr - full.ssr)
        ratio = extra / df / full.mse_resid
        return VarianceRow(source, df, extra, extra / df, float(ratio), float(f.sf(ratio, df, full.df_resid)))

    one = np.ones((len(frame.values), 1))
    rows = [line("block", sm.OLS(frame.values, treatments).fit())] if frame.blocked else []
    rows.append(line("treatment", sm.OLS(frame.values, np.column_stack([one, blocks])).fit()))
    total = float(((frame.values - frame.values.mean()) ** 2).sum())
    rows.append(VarianceRow("error", int(full.df_resid), float(full.ssr), float(full.mse_resid)))
    return [*rows, VarianceRow("total", len(frame.values) - 1, total, total / (len(frame.values) - 1))]


def _band(middle: float, se: float, df: int, unit: str) -> Band:
    from scipy.special import stdtrit

    half = float(stdtrit(df, 0.95) * se)
    return Band(float(middle), float(middle) - half, float(middle) + half, unit)


def _effects(out: Analysis, means: Array, covariance: Array) -> list[Effect]:
    from scipy.special import stdtr

    frame = out.frame
    rows = contrasts(frame.keys, frame.control)
    spread = rows @ covariance @ rows.T
    chance = LargestT(spread, out.df)
    by_lot = lot_p(frame) if out.method == "lots" else None
    effects = []
    for at, (one, other) in enumerate(pairs(frame.keys, frame.control)):
        difference, se = float(rows[at] @ means), float(np.sqrt(spread[at, at]))
        t = difference / se
        together = chance.p(t) if by_lot is None else float(by_lot[at])
        band = _band(difference, se, out.df, frame.unit)
        base = abs(float(means[frame.keys.index(other)])) or float("nan")
        alone = float(2.0 * stdtr(out.df, -abs(t)))
        effects.append(Effect(one, other, band, band.scaled(100.0 / base, "%"), t, alone, together))
    return effects


def mixed_model(frame: Frame) -> Mixed:
    """Return the model with treatments fixed and blocks random, by restricted maximum likelihood."""
    import statsmodels.api as sm

    treatments = np.eye(len(frame.keys))[frame.treatment]
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        fit = sm.MixedLM(frame.values, treatments, groups=frame.block).fit(reml=True)
    block = float(np.sqrt(max(float(np.asarray(fit.cov_re)[0, 0]), 0.0)))
    means, se = np.asarray(fit.fe_params), np.asarray(fit.bse_fe)
    return Mixed(
        block,
        float(np.sqrt(fit.scale)),
        tuple(means.tolist()),
        tuple(se.tolist()),
        sound=bool(fit.converged) and not told,
    )
