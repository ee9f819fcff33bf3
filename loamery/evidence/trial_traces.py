"""Where each figure of a trial comes from: the plots it was read on, and how it was reckoned from them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loamery.finding import Band, Input, Ledger, Trace
from loamery.say import say
from loamery.trials.analyse import Analysis, Effect, VarianceRow
from loamery.trials.conclude import amount, name_of
from loamery.words import NBSP, number, range_text

SQUARES = {
    "block": say("what the sum of squares left over grows by when blocks are left out of the fit"),
    "treatment": say("what the sum of squares left over grows by when treatments are left out of the fit"),
    "error": say("sum of (reading − what blocks and treatments fit)²"),
    "total": say("sum of (reading − mean of all)²"),
}
NAMES = {
    "block": say("blocks"),
    "treatment": say("treatments"),
    "error": say("plots treated alike"),
    "total": say("all plots"),
}


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
            Input(say("Plot {plot}", plot=frame.plots[place]), amount(found, float(frame.values[place])), where)
            for place in np.flatnonzero(frame.treatment == at)
        )
        much = _with_interval(found, one)
        yield Trace(
            f"mean/{key}", _mean_of(found, key), much,
            say("mean by least squares, blocks evened out; ± t(0.95, df) × its standard error"), (*plots, _to_spread(found)), ("PRACTICE",),
        )  # fmt: skip


def _with_interval(found: Analysis, one: Band) -> str:
    return say("{amount} (90\u00a0% interval {interval})", amount=amount(found, one.median), interval=range_text(one))


def _mean_of(found: Analysis, key: str) -> str:
    return say("Mean of “{treatment}”", treatment=name_of(found, key))


def _spread(found: Analysis) -> Trace:
    error = next(one for one in found.table if one.source == "error")
    inputs = (
        Input(say("Sum of squares, plots treated alike"), number(error.sum_sq, 4), "", "variance/error"),
        Input(say("Degrees of freedom"), str(found.df)),
    )
    share = f"{number(100 * found.cv, 2)}{NBSP}%"
    value = say("{amount}, {share} of the mean", amount=amount(found, found.sd), share=share)
    return Trace(
        "spread",
        say("Spread of plots treated alike"),
        value,
        say("√(sum of squares ÷ degrees of freedom)"),
        inputs,
        ("PRACTICE",),
    )


def _to_spread(found: Analysis) -> Input:
    label = say("Spread of plots treated alike, {df} degrees of freedom", df=found.df)
    return Input(label, amount(found, found.sd), "", "spread")


def _row(found: Analysis, one: VarianceRow) -> Trace:
    inputs = tuple(
        Input(_mean_of(found, key), amount(found, each.median), "", f"mean/{key}")
        for key, each in zip(found.frame.keys, found.mean_bands, strict=True)
    )
    squares, rule = number(one.sum_sq, 4), SQUARES[one.source]
    if one.f is not None and one.p is not None:
        f, p = number(one.f, 3), number(one.p, 2)
        told = say("{squares}, {df} degrees of freedom; F = {f}, p = {p}", squares=squares, df=one.df, f=f, p=p)
        rule = say("{rule}; F = its mean square ÷ that of plots treated alike", rule=rule)
    else:
        told = say("{squares}, {df} degrees of freedom", squares=squares, df=one.df)
    title = say("Sum of squares, {source}", source=NAMES[one.source])
    return Trace(f"variance/{one.source}", title, told, rule, inputs, ("PRACTICE",))


def effect_trace(one: Effect) -> str:
    """Return the id of the trace of a difference."""
    return f"effect/{one.treatment}/{one.reference}"


def _effect(found: Analysis, one: Effect) -> Trace:
    means = dict(zip(found.frame.keys, found.mean_bands, strict=True))
    inputs = tuple(
        Input(_mean_of(found, key), amount(found, means[key].median), "", f"mean/{key}")
        for key in (one.treatment, one.reference)
    )
    judged = (
        say(
            "p {chance}: how often chance alone gives any of the {count} comparisons so large a |t|",
            chance=_chance(one.p),
            count=len(found.effects),
        )
        if found.method == "variance"
        else say("p {chance}: how often drawing the lots again gives so large a difference", chance=_chance(one.p))
    )
    title = say(
        "“{treatment}” less “{reference}”",
        treatment=name_of(found, one.treatment),
        reference=name_of(found, one.reference),
    )
    told = say("{amount}; {judged}", amount=_with_interval(found, one.difference), judged=judged)
    return Trace(
        effect_trace(one), title, told,
        say("mean − mean; ± t(0.95, df) × the standard error of the difference; t = difference ÷ standard error"),
        (*inputs, _to_spread(found)), ("HOTHORN08",),
    )  # fmt: skip


def _chance(p: float) -> str:
    return say("below 0.001") if p < 0.001 else say("= {p:.3f}", p=p)
