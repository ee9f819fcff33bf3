"""What a trial shows, worded no stronger than its data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from loamery.finding import Finding
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.trials.analyse import Analysis, Effect
from loamery.trials.checks import Check
from loamery.trials.power import Layout, detectable
from loamery.words import NBSP, number, quantity_text, range_text

Verdict = Literal["none", "not_told_apart", "difference"]
MOST_TOLD = 8
"""Differences told in sentences, the clearest."""
ONE_PLACE = say(
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
        first = say("No conclusion can be drawn from this trial as it stands.")
        return Conclusion("none", (first, *(one.text for one in found.stops)), tuple(found.stops))
    findings = tuple(_met(found))
    if found.found:
        clearest = sorted(found.found, key=lambda one: -abs(one.t))[:MOST_TOLD]
        lines = [_difference(found, one) for one in found.found if one in clearest]
        if more := len(found.found) - len(lines):
            lines.append(
                say(
                    "{more} more differences were told apart from chance; the figures beside the chart hold them all.",
                    more=more,
                )
            )
        rest = [one for one in found.effects if one not in found.found]
        lines += (
            [say("No other difference was told apart from chance ({count} compared).", count=len(rest))] if rest else []
        )
        return Conclusion("difference", (*lines, _judged(found), ONE_PLACE), findings)
    return Conclusion("not_told_apart", (*_nothing(found), _judged(found), ONE_PLACE), findings)


def name_of(found: Analysis, key: str) -> str:
    """Return what a treatment is called."""
    return found.trial.treatment(key).name


def amount(found: Analysis, value: float) -> str:
    """Return a value in the trial's unit."""
    return quantity_text(value, found.frame.unit, 3)


def _difference(found: Analysis, one: Effect) -> str:
    size = abs(one.difference.median)
    low, high = sorted((abs(one.difference.low), abs(one.difference.high)))
    if one.difference.low * one.difference.high < 0:  # only when lots decide: the interval leans on a bell curve
        low = 0.0
    percent = one.percent.median
    share = say(" ({percent})", percent=f"{number(abs(percent), 2)}{NBSP}%") if percent == percent else ""
    values = {
        "treatment": name_of(found, one.treatment), "reference": name_of(found, one.reference), "amount": amount(found, size), "share": share,
        "measured": found.trial.trial.measured, "low": number(low, 2), "high": number(high, 2), "chance": _chance(one.p),
    }  # fmt: skip
    if one.difference.median > 0:
        return say(
            "In this trial “{treatment}” gave {amount}{share} more {measured} than “{reference}” (90 % interval {low} to {high}); chance alone gives so large a difference in {chance} trials.",
            **values,
        )
    return say(
        "In this trial “{treatment}” gave {amount}{share} less {measured} than “{reference}” (90 % interval {low} to {high}); chance alone gives so large a difference in {chance} trials.",
        **values,
    )


def _chance(p: float) -> str:
    return say("fewer than 1 in 1000") if p < 0.001 else say("about {count} in 1000", count=max(round(1000 * p), 1))


def _nothing(found: Analysis) -> list[str]:
    layout = Layout(
        len(found.frame.keys), max(found.trial.blocks, 2), found.trial.trial.design, bool(found.frame.control)
    )
    lines: list[str] = [
        say("This trial did not tell any of the treatments apart. That is not proof that they are alike.")
    ]
    if found.cv == found.cv and found.cv > 0:
        seen = detectable(layout, found.cv)
        lines.append(
            say(
                "With plots as uneven as these (spread {spread}) eight of ten such trials would have found a "
                "difference of {difference} of the mean; a smaller one may well be there.",
                spread=f"{number(100 * found.cv, 2)}{NBSP}%",
                difference=f"{number(100 * seen, 2)}{NBSP}%",
            )
        )
    leaning = [one for one in found.effects if one.difference.low * one.difference.high > 0]
    if leaning:
        one = max(leaning, key=lambda each: abs(each.t))
        lines.append(_leaning(found, one))
    return lines


def _leaning(found: Analysis, one: Effect) -> str:
    much, interval = amount(found, one.difference.median), range_text(one.difference)
    if len(found.effects) == 1:
        return say(
            "It leans to {amount} (90\u00a0% interval {interval}), which is not enough to claim it.",
            amount=much,
            interval=interval,
        )
    return say(
        "“{treatment}” against “{reference}” leans to {amount} (90\u00a0% interval {interval}); among {count} comparisons together that is not enough to claim it.",
        treatment=name_of(found, one.treatment), reference=name_of(found, one.reference), amount=much, interval=interval, count=len(found.effects),
    )  # fmt: skip


def _judged(found: Analysis) -> str:
    alpha = f"{100 * coefficient('trial_alpha').value:g}{NBSP}%"
    return say(
        "{how} {by}; a trial in which nothing differs calls a difference in at most {alpha} of cases.",
        how=_together(found),
        by=_decided_by(found),
        alpha=alpha,
    )


def _together(found: Analysis) -> str:
    control, count = found.frame.control, len(found.effects)
    against = say("against “{control}”", control=name_of(found, control)) if control else say("of every two treatments")
    if count == 1:
        return say("The comparison {against} was judged", against=against)
    if count == 2:
        return say("Both comparisons {against} were judged together", against=against)
    return say("All {count} comparisons {against} were judged together", count=count, against=against)


def _decided_by(found: Analysis) -> str:
    if found.method == "variance":
        return say("from the spread between plots treated alike")
    if found.ranks is None:
        return say("by drawing the lots again, because the readings do not fit the usual assumptions")
    return say(
        "by drawing the lots again, because the readings do not fit the usual assumptions, and by {test}'s ranks",
        test=found.ranks.name,
    )


def _met_words(one: Check) -> str:
    if one.answer == "fails":
        return say("An assumption does not hold: {words}.", words=one.words)
    return say("An assumption is in doubt: {words}.", words=one.words)


def _met_because(one: Check) -> str:
    p = number(one.p or 0.0, 2)
    if one.because:
        return say("{test}, p = {p}; {because}", test=one.test, p=p, because=one.because)
    return say("{test}, p = {p}", test=one.test, p=p)


def _met(found: Analysis) -> list[Finding]:
    out = []
    for one in found.checks:
        if one.answer in ("fails", "doubtful"):
            severity: Literal["warning", "note"] = "warning" if one.answer == "fails" else "note"
            proposal = say("look up that plot's note before trusting it; never drop a reading only because it is odd") if one.key == "outlier" else ""  # fmt: skip
            out.append(
                Finding("trial_assumption", severity, _met_words(one), _met_because(one),
                        ("TUKEY49",) if one.key == "additive" else ("PRACTICE",), proposal=proposal)
            )  # fmt: skip
    if found.lost:
        told = joined("; ", (say("{plot}: {why}", plot=plot, why=why) for plot, why in found.lost.items()))
        out.append(
            Finding("trial_lost_plots", "warning", say("Some plots were lost; if a treatment was the cause, the comparison is off."), told, ("PRACTICE",))
        )  # fmt: skip
    if found.df < 6:
        out.append(
            Finding("trial_small", "note", say("A very small trial: only large differences can show."), say("{df} degrees of freedom for the error", df=found.df), ("PRACTICE",),
                    proposal=say("repeat it next season and join the two"))
        )  # fmt: skip
    return sorted(out, key=lambda one: one.severity == "note")
