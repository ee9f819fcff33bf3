"""Whether a trial's readings fit what the analysis of variance assumes."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient
from loamery.say import say
from loamery.trials.frame import Frame

Array = NDArray[np.float64]
Answer = Literal["holds", "doubtful", "fails", "not tested"]
ASSUMPTIONS = {
    "normal": say("What is left over is spread like a bell curve"),
    "even": say("Every treatment spreads alike"),
    "outlier": say("No plot stands far off the others"),
    "additive": say("Treatments differ alike in every block"),
}
TOO_FEW = say("too few plots")


@dataclass(frozen=True)
class Check:
    """One assumption, its test and the answer.

    Parameters
    ----------
    p : chance of so large a departure when the assumption holds; None when it could not be tested.
    """

    key: str
    words: str
    test: str
    p: float | None
    answer: Answer
    because: str = ""

    def as_dict(self) -> dict[str, object]:
        """Return the check ready for JSON."""
        return dict(vars(self))


def check_assumptions(frame: Frame, fit: Any, fitted: Array) -> list[Check]:
    """Return the checks of a least-squares fit.

    Parameters
    ----------
    fit : statsmodels results of the full model; fitted : its values, shape (n,).
    """
    residuals = frame.values - fitted
    checks = [_normal(residuals), _even(frame, residuals), _outliers(frame, fit)]
    return [*checks, _additive(frame, fitted)] if frame.blocked else checks


def _answer(p: float) -> Answer:
    if p < coefficient("trial_check_alpha").value:
        return "fails"
    return "doubtful" if p < coefficient("trial_alpha").value else "holds"


def _within(key: str) -> str:
    """Return an assumption as it stands within a sentence."""
    return ASSUMPTIONS[key][:1].lower() + ASSUMPTIONS[key][1:]


def _normal(residuals: Array) -> Check:
    from scipy.stats import shapiro

    words, test = _within("normal"), say("Shapiro and Wilk on residuals")
    if len(residuals) < 4 or np.ptp(residuals) < 1e-12:
        return Check("normal", words, test, None, "not tested", TOO_FEW)
    p = float(shapiro(residuals).pvalue)
    return Check("normal", words, test, p, _answer(p))


def _even(frame: Frame, residuals: Array) -> Check:
    from scipy.stats import levene

    words, test = _within("even"), say("Brown and Forsythe on residuals")
    groups = [residuals[frame.treatment == one] for one in range(len(frame.keys))]
    if min(len(one) for one in groups) < 3:
        return Check("even", words, test, None, "not tested", say("fewer than three plots of a treatment"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # groups without spread make it divide by zero; the answer is then NaN
        p = float(levene(*groups, center="median").pvalue)
    if not np.isfinite(p):
        return Check("even", words, test, None, "not tested", say("a treatment without any spread"))
    return Check("even", words, test, p, _answer(p))


def _outliers(frame: Frame, fit: Any) -> Check:
    """Test the plot farthest off, its own reading left out of the spread, all plots judged together."""
    from scipy.stats import t

    words, test = _within("outlier"), say("largest studentised residual, Bonferroni")
    df = int(fit.df_resid) - 1
    leverage = fit.get_influence().hat_matrix_diag
    if df < 2 or (leverage > 1.0 - 1e-9).any():
        return Check("outlier", words, test, None, "not tested", TOO_FEW)
    inner = fit.resid / np.sqrt(fit.mse_resid * (1.0 - leverage))
    outer = inner * np.sqrt(df / np.maximum(df + 1.0 - inner**2, 1e-12))
    worst = int(np.argmax(np.abs(outer)))
    p = float(min(1.0, 2.0 * len(outer) * t.sf(abs(outer[worst]), df)))
    off = abs(float(outer[worst]))
    because = (
        say("plot {plot} is {off:.1f} standard deviations off", plot=frame.plots[worst], off=off) if p < 0.05 else ""
    )
    return Check("outlier", words, test, p, _answer(p), because)


def _additive(frame: Frame, fitted: Array) -> Check:
    """Test whether treatments do more in good blocks than in poor ones (Tukey 1949)."""
    import statsmodels.api as sm

    words, test = _within("additive"), say("Tukey's one degree of freedom")
    columns = [np.eye(len(frame.keys))[frame.treatment], np.eye(len(frame.blocks))[frame.block][:, 1:]]
    squared = (fitted - fitted.mean()) ** 2
    full = sm.OLS(frame.values, np.column_stack([*columns, squared])).fit()
    base = sm.OLS(frame.values, np.column_stack(columns)).fit()
    if full.df_resid < 1 or full.df_resid == base.df_resid or full.ssr < 1e-12:
        return Check("additive", words, test, None, "not tested", TOO_FEW)
    p = float(full.compare_f_test(base)[1])
    return Check("additive", words, test, p, _answer(p))
