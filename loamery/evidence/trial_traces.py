"""Where each figure of a trial comes from: the plots it was read on, and how it was reckoned from them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loamery.finding import Input, Ledger, Trace
from loamery.trials.analyse import Analysis, Effect, VarianceRow
from loamery.trials.conclude import amount, name_of
from loamery.words import NBSP, number, range_text

SQUARES = {
    "block": "what the sum of squares left over grows by when blocks are left out of the fit",
    "treatment": "what the sum of squares left over grows by when treatments are left out of the fit",
    "error": "sum of (reading − what blocks and treatments fit)²",
    "total": "sum of (reading − mean of all)²",
}
NAMES = {"block": "blocks", "treatment": "treatments", "error": "plots treated alike", "total": "all plots"}


def trial_ledger(found: Analysis) -> Ledger:
    """Return the traces of every figure of an analysed trial; of one that is not fit to be analysed there are none."""
    ledger = Ledger()
    if found.table:
        for trace in (*_means(found), _spread(found), *(_row(found, one) for one in found.table), *(_effect(found, one) for one in found.effects)):  # fmt: skip
            ledger.add(trace)
    return ledger


def _means(found: Analysis) -> Iterator[Trace]:
    frame = found.frame
    where = f"trials/{found.trial.trial.name}.csv"
    for at, (key, one) in enumerate(zip(frame.keys, found.mean_bands, strict=True)):
        plots = tuple(
            Input(f"Plot {frame.plots[place]}", amount(found, float(frame.values[place])), where)
            for place in np.flatnonzero(frame.treatment == at)
        )
        much = f"{amount(found, one.median)} (90{NBSP}% interval {range_text(one)})"
        yield Trace(
            f"mean/{key}", f"Mean of “{name_of(found, key)}”", much,
            "mean by least squares, blocks evened out; ± t(0.95, df) × its standard error", (*plots, _to_spread(found)), ("PRACTICE",),
        )  # fmt: skip


def _spread(found: Analysis) -> Trace:
    error = next(one for one in found.table if one.source == "error")
    inputs = (
        Input("Sum of squares, plots treated alike", number(error.sum_sq, 4), "", "variance/error"),
        Input("Degrees of freedom", str(found.df)),
    )
    value = f"{amount(found, found.sd)}, {number(100 * found.cv, 2)}{NBSP}% of the mean"
    return Trace(
        "spread",
        "Spread of plots treated alike",
        value,
        "√(sum of squares ÷ degrees of freedom)",
        inputs,
        ("PRACTICE",),
    )


def _to_spread(found: Analysis) -> Input:
    return Input(f"Spread of plots treated alike, {found.df} degrees of freedom", amount(found, found.sd), "", "spread")


def _row(found: Analysis, one: VarianceRow) -> Trace:
    inputs = tuple(
        Input(f"Mean of “{name_of(found, key)}”", amount(found, each.median), "", f"mean/{key}")
        for key, each in zip(found.frame.keys, found.mean_bands, strict=True)
    )
    told = f"{number(one.sum_sq, 4)}, {one.df} degrees of freedom"
    if one.f is not None and one.p is not None:
        told += f"; F = {number(one.f, 3)}, p = {number(one.p, 2)}"
    rule = SQUARES[one.source] + ("; F = its mean square ÷ that of plots treated alike" if one.f is not None else "")
    return Trace(f"variance/{one.source}", f"Sum of squares, {NAMES[one.source]}", told, rule, inputs, ("PRACTICE",))


def effect_trace(one: Effect) -> str:
    """Return the id of the trace of a difference."""
    return f"effect/{one.treatment}/{one.reference}"


def _effect(found: Analysis, one: Effect) -> Trace:
    means = dict(zip(found.frame.keys, found.mean_bands, strict=True))
    inputs = tuple(
        Input(f"Mean of “{name_of(found, key)}”", amount(found, means[key].median), "", f"mean/{key}")
        for key in (one.treatment, one.reference)
    )
    judged = (
        f"p {_chance(one.p)}: how often chance alone gives any of the {len(found.effects)} comparisons so large a |t|"
        if found.method == "variance"
        else f"p {_chance(one.p)}: how often drawing the lots again gives so large a difference"
    )
    return Trace(
        effect_trace(one), f"“{name_of(found, one.treatment)}” less “{name_of(found, one.reference)}”",
        f"{amount(found, one.difference.median)} (90{NBSP}% interval {range_text(one.difference)}); {judged}",
        "mean − mean; ± t(0.95, df) × the standard error of the difference; t = difference ÷ standard error",
        (*inputs, _to_spread(found)), ("HOTHORN08",),
    )  # fmt: skip


def _chance(p: float) -> str:
    return "below 0.001" if p < 0.001 else f"= {p:.3f}"
