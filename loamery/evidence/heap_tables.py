"""What becomes of a heap, in words and rows that the screen, the sheet of a heap and the season report share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loamery.evidence.text import Units, listing
from loamery.finding import Band
from loamery.heap.forecast import Forecast
from loamery.heap.hygiene import HygieneRule
from loamery.heap.nutrients import Food, foods_left
from loamery.heap.remedies import Remedy
from loamery.say import day_of_month, either, joined, say
from loamery.words import NBSP

HOT_C = 55.0
SHORT = {
    "40 CFR 503 App. B": "40 CFR 503 App. B",
    "CCME Guidelines for Compost Quality PN 1340": "CCME 2005",
    "Regulation (EU) 2019/1009": "EU 2019/1009 CMC 3",
}
"""How a table names each instrument."""


@dataclass(frozen=True)
class RuleLine:
    """Rules that ask for the same, and how a heap stands to them.

    Parameters
    ----------
    asks, laws : what they ask for, and who asks.
    place : of the first of them among the forecast's rules.
    """

    asks: str
    laws: str
    place: int
    share: Band
    coldest: Band
    met: float
    probe: float


def temp_text(temp_c: float, system: str) -> str:
    """Return a temperature in a person's units."""
    return f"{temp_c * 1.8 + 32.0:.0f}{NBSP}°F" if system == "us" else f"{temp_c:.0f}{NBSP}°C"


def rule_lines(told: Forecast, units: Units) -> list[RuleLine]:
    """Return the rules of hygiene, those that ask for the same as one, the most easily met first."""
    groups: dict[tuple[float, float, int], list[int]] = {}
    for place, one in enumerate(told.hygiene):
        groups.setdefault((one.rule.temp_c, one.rule.hold_days, one.rule.turnings), []).append(place)
    lines = []
    for places in groups.values():
        rules = [told.hygiene[place].rule for place in places]
        first = places[0]
        lines.append(RuleLine(
            asks_text(rules[0], units), _laws(rules), first, told.share[first], told.coldest[first], told.met[first],
            told.probe[first],
        ))  # fmt: skip
    return sorted(lines, key=lambda one: -one.share.median)


def asks_text(rule: HygieneRule, units: Units) -> str:
    """Return what a rule asks for."""
    temp, days = temp_text(rule.temp_c, units.system), rule.hold_days
    if rule.turnings:
        return say(
            "{temp} for {days:g} days, turned {turnings} times while hot", temp=temp, days=days, turnings=rule.turnings
        )
    return say("{temp} for {days:g} days", temp=temp, days=days)


def _laws(rules: Sequence[HygieneRule]) -> str:
    by_law: dict[str, list[str]] = {}
    for one in rules:
        by_law.setdefault(SHORT.get(one.instrument, one.instrument), []).append(one.way)
    ways = list(dict.fromkeys(way for several in by_law.values() for way in several))
    return say("{laws}: {ways}", laws=listing(list(by_law)), ways=either(ways))


def share_band(one: Band) -> str:
    """Return a share with its band in percent."""
    low, high = 100.0 * one.low, 100.0 * one.high
    if one.high <= one.low:
        return f"{one.median:.0%}"
    return say("{median:.0%} ({low:.0f} to {high:.0f})", median=one.median, low=low, high=high)


def days_band(one: Band) -> str:
    """Return days with their band."""
    if one.high <= 0.0:
        return say("none")
    return say("{median:.1f} ({low:.1f} to {high:.1f})", median=one.median, low=one.low, high=one.high)


def remedy_rows(told: Forecast, tried: Sequence[Remedy], units: Units) -> tuple[list[str], list[tuple[str, ...]]]:
    """Return the head and the rows of what changes would do; of rules of which one is enough, the one best kept."""
    columns: dict[str, list[int]] = {}
    for place, one in enumerate(told.hygiene):
        free = sum(
            other.rule.instrument == one.rule.instrument and other.rule.way == one.rule.way for other in told.hygiene
        )
        name = (
            say("{law}, best of {free}", law=SHORT.get(one.rule.instrument, one.rule.instrument), free=free)
            if free > 1
            else asks_text(one.rule, units)
        )
        columns.setdefault(name, []).append(place)
    rows = [(one.change, *(_best(one, places) for places in columns.values())) for one in tried]
    return [say("change"), *columns], rows


def _best(one: Remedy, places: Sequence[int]) -> str:
    return share_band(max((one.share[place] for place in places), key=lambda share: (share.median, share.high)))


def facts(told: Forecast, units: Units) -> list[tuple[str, str]]:
    """Return what comes of a heap as pairs of text."""
    end = say("{days:.0f} days", days=told.day[-1])
    peak, hot = told.peak_c, told.days_above_55
    ends = say("; earliest {day}", day=_day(told, told.ready.low)) if told.ready.low < told.ready.median else ""
    left = (
        ("mass_kg", say("mass left after {end}", end=end)),
        ("volume_m3", say("volume left after {end}", end=end)),
        ("organic_kg", say("organic matter left after {end}", end=end)),
    )

    def temp(value: float) -> str:
        return temp_text(value, units.system)

    return [
        (say("warmest"), say("{median} ({low} to {high}) on day {day:.0f}", median=temp(peak.median), low=temp(peak.low), high=temp(peak.high), day=told.peak_day.median)),
        (say("days with some part at {temp} or more", temp=temp(HOT_C)), say("{median:.0f} ({low:.0f} to {high:.0f})", median=hot.median, low=hot.low, high=hot.high)),
        (say("ready (cool and quiet)"), say("{ready}{ends}; in {share:.0%} of runs within {end}", ready=_day(told, told.ready.median), ends=ends, share=told.ready_share, end=end)),
        *((words, _left(told, key, units)) for key, words in left),
        *((say("{name} in it then", name=one.name), _food(one, units)) for one in foods_left(told)),
        (say("moisture after {end}", end=end), share_band(told.total("moisture", "1"))),
    ]  # fmt: skip


def _day(told: Forecast, value: float) -> str:
    """Return a day of a forecast, or that it comes after the end."""
    if value == float("inf"):
        return say("later than {days:.0f} days", days=told.day[-1])
    on = told.on(value)
    return say("{date} (day {day:.0f})", date=joined(" ", (day_of_month(on), f"{on:%B}", str(on.year))), day=value)


def _left(told: Forecast, key: str, units: Units) -> str:
    """Return what is left of a total as a share and as an amount."""
    kind = "heap volume" if key == "volume_m3" else "mass"
    amount = units.amount(told.total(key, "").median, kind)
    return say("{share}, {amount}", share=share_band(told.kept(key)), amount=amount)


def _food(one: Food, units: Units) -> str:
    """Return a nutrient at the end: its amount, what share of it is left, and how rich the dry matter is in it."""
    left = one.end.median / one.start.median
    return say(
        "{median} ({low} to {high}), {left:.0%} of the start; {rich:.2g} % of the dry matter",
        median=units.mass(one.end.median), low=units.mass(one.end.low), high=units.mass(one.end.high), left=left,
        rich=100.0 * one.of_dry.median,
    )  # fmt: skip
