"""What a trial shows, worded no stronger than its data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from loamery.finding import Finding
from loamery.reference import coefficient
from loamery.trials.analyse import Analysis, Effect
from loamery.trials.power import Layout, detectable
from loamery.words import NBSP, number, quantity_text, range_text

Verdict = Literal["none", "not_told_apart", "difference"]
MOST_TOLD = 8
"""Differences told in sentences, the clearest."""
ONE_PLACE = (
    "One trial, in one garden and one season: it does not say that the same would happen elsewhere or in another year."
)


@dataclass(frozen=True)
class Conclusion:
    """The conclusion of a trial.

    Parameters
    ----------
    verdict : ``none`` (no conclusion can be drawn), ``not_told_apart`` or ``difference``.
    lines : in plain words, the main one first.
    findings : what was met on the way, stops first.
    """

    verdict: Verdict
    lines: tuple[str, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, object]:
        """Return the conclusion ready for JSON."""
        return {
            "verdict": self.verdict,
            "lines": list(self.lines),
            "findings": [one.as_dict() for one in self.findings],
        }


def conclude(found: Analysis) -> Conclusion:
    """Return what an analysis allows to be said."""
    if found.stops:
        first = "No conclusion can be drawn from this trial as it stands."
        return Conclusion("none", (first, *(one.text for one in found.stops)), tuple(found.stops))
    findings = tuple(_met(found))
    if found.found:
        clearest = sorted(found.found, key=lambda one: -abs(one.t))[:MOST_TOLD]
        lines = [_difference(found, one) for one in found.found if one in clearest]
        if more := len(found.found) - len(lines):
            lines.append(
                f"{more} more differences were told apart from chance; the figures beside the chart hold them all."
            )
        rest = [one for one in found.effects if one not in found.found]
        lines += [f"No other difference was told apart from chance ({len(rest)} compared)."] if rest else []
        return Conclusion("difference", (*lines, _judged(found), ONE_PLACE), findings)
    return Conclusion("not_told_apart", (*_nothing(found), _judged(found), ONE_PLACE), findings)


def name_of(found: Analysis, key: str) -> str:
    """Return what a treatment is called."""
    return found.trial.treatment(key).name


def amount(found: Analysis, value: float) -> str:
    """Return a value in the trial's unit."""
    return quantity_text(value, found.frame.unit, 3)


def _difference(found: Analysis, one: Effect) -> str:
    more = "more" if one.difference.median > 0 else "less"
    size = abs(one.difference.median)
    low, high = sorted((abs(one.difference.low), abs(one.difference.high)))
    if one.difference.low * one.difference.high < 0:  # only when lots decide: the interval leans on a bell curve
        low = 0.0
    share = f" ({number(abs(one.percent.median), 2)}{NBSP}%)" if one.percent.median == one.percent.median else ""
    return (
        f"In this trial “{name_of(found, one.treatment)}” gave {amount(found, size)}{share} {more} {found.trial.trial.measured} than "
        f"“{name_of(found, one.reference)}” (90{NBSP}% interval {number(low, 2)} to {number(high, 2)}); chance alone gives so "
        f"large a difference in {_chance(one.p)} trials."
    )


def _chance(p: float) -> str:
    return "fewer than 1 in 1000" if p < 0.001 else f"about {max(round(1000 * p), 1)} in 1000"


def _nothing(found: Analysis) -> list[str]:
    layout = Layout(
        len(found.frame.keys), max(found.trial.blocks, 2), found.trial.trial.design, bool(found.frame.control)
    )
    lines = ["This trial did not tell any of the treatments apart. That is not proof that they are alike."]
    if found.cv == found.cv and found.cv > 0:
        seen = detectable(layout, found.cv)
        lines.append(
            f"With plots as uneven as these (spread {number(100 * found.cv, 2)}{NBSP}%) eight of ten such trials would have found a "
            f"difference of {number(100 * seen, 2)}{NBSP}% of the mean; a smaller one may well be there."
        )
    leaning = [one for one in found.effects if one.difference.low * one.difference.high > 0]
    if leaning:
        one = max(leaning, key=lambda each: abs(each.t))
        lines.append(
            f"“{name_of(found, one.treatment)}” against “{name_of(found, one.reference)}” leans to {amount(found, one.difference.median)} "
            f"(90{NBSP}% interval {range_text(one.difference)}); among {len(found.effects)} comparisons together that is not enough to claim it."
            if len(found.effects) > 1
            else f"It leans to {amount(found, one.difference.median)} (90{NBSP}% interval {range_text(one.difference)}), which is not enough to claim it."
        )
    return lines


def _judged(found: Analysis) -> str:
    alpha = f"{100 * coefficient('trial_alpha').value:g}{NBSP}%"
    against = f"against “{name_of(found, found.frame.control)}”" if found.frame.control else "of every two treatments"
    how = (
        f"{'Both' if len(found.effects) == 2 else f'All {len(found.effects)}'} comparisons {against} were judged together"
        if len(found.effects) > 1
        else f"The comparison {against} was judged"
    )
    by = (
        "from the spread between plots treated alike"
        if found.method == "variance"
        else "by drawing the lots again, because the readings do not fit the usual assumptions"
        + (f", and by {found.ranks.name}'s ranks" if found.ranks else "")
    )
    return f"{how} {by}; a trial in which nothing differs calls a difference in at most {alpha} of cases."


def _met(found: Analysis) -> list[Finding]:
    out = []
    for one in found.checks:
        if one.answer in ("fails", "doubtful"):
            severity: Literal["warning", "note"] = "warning" if one.answer == "fails" else "note"
            what = "does not hold" if one.answer == "fails" else "is in doubt"
            more = f"; {one.because}" if one.because else ""
            proposal = "look up that plot's note before trusting it; never drop a reading only because it is odd" if one.key == "outlier" else ""  # fmt: skip
            out.append(
                Finding("trial_assumption", severity, f"An assumption {what}: {one.words}.", f"{one.test}, p = {number(one.p or 0.0, 2)}{more}",
                        ("TUKEY49",) if one.key == "additive" else ("PRACTICE",), proposal=proposal)
            )  # fmt: skip
    if found.lost:
        told = "; ".join(f"{plot}: {why}" for plot, why in found.lost.items())
        out.append(
            Finding("trial_lost_plots", "warning", "Some plots were lost; if a treatment was the cause, the comparison is off.", told, ("PRACTICE",))
        )  # fmt: skip
    if found.df < 6:
        out.append(
            Finding("trial_small", "note", "A very small trial: only large differences can show.", f"{found.df} degrees of freedom for the error", ("PRACTICE",),
                    proposal="repeat it next season and join the two")
        )  # fmt: skip
    return sorted(out, key=lambda one: one.severity == "note")
