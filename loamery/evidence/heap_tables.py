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
    turned = f", turned {rule.turnings} times while hot" if rule.turnings else ""
    return f"{temp_text(rule.temp_c, units.system)} for {rule.hold_days:g} days{turned}"


def _laws(rules: Sequence[HygieneRule]) -> str:
    by_law: dict[str, list[str]] = {}
    for one in rules:
        by_law.setdefault(SHORT.get(one.instrument, one.instrument), []).append(one.way)
    ways = list(dict.fromkeys(way for several in by_law.values() for way in several))
    return f"{listing(list(by_law))}: {' or '.join(ways)}"


def share_band(one: Band) -> str:
    """Return a share with its band in percent."""
    ends = f"{100.0 * one.low:.0f} to {100.0 * one.high:.0f}"
    return f"{one.median:.0%} ({ends})" if one.high > one.low else f"{one.median:.0%}"


def days_band(one: Band) -> str:
    """Return days with their band."""
    return f"{one.median:.1f} ({one.low:.1f} to {one.high:.1f})" if one.high > 0.0 else "none"


def remedy_rows(told: Forecast, tried: Sequence[Remedy], units: Units) -> tuple[list[str], list[tuple[str, ...]]]:
    """Return the head and the rows of what changes would do; of rules of which one is enough, the one best kept."""
    columns: dict[str, list[int]] = {}
    for place, one in enumerate(told.hygiene):
        free = sum(
            other.rule.instrument == one.rule.instrument and other.rule.way == one.rule.way for other in told.hygiene
        )
        name = (
            f"{SHORT.get(one.rule.instrument, one.rule.instrument)}, best of {free}"
            if free > 1
            else asks_text(one.rule, units)
        )
        columns.setdefault(name, []).append(place)
    rows = [(one.change, *(_best(one, places) for places in columns.values())) for one in tried]
    return ["change", *columns], rows


def _best(one: Remedy, places: Sequence[int]) -> str:
    return share_band(max((one.share[place] for place in places), key=lambda share: (share.median, share.high)))


def facts(told: Forecast, units: Units) -> list[tuple[str, str]]:
    """Return what comes of a heap as pairs of text."""
    late = f"later than {told.day[-1]:.0f} days"

    def day(value: float) -> str:
        return f"{told.on(value):%-d %B %Y} (day {value:.0f})" if value < float("inf") else late

    def temp(value: float) -> str:
        return temp_text(value, units.system)

    ready, end = day(told.ready.median), f"{told.day[-1]:.0f} days"
    ends = f"; earliest {day(told.ready.low)}" if told.ready.low < told.ready.median else ""
    peak, hot = told.peak_c, told.days_above_55
    left = (("mass_kg", "mass"), ("volume_m3", "volume"), ("organic_kg", "organic matter"))
    return [
        ("warmest", f"{temp(peak.median)} ({temp(peak.low)} to {temp(peak.high)}) on day {told.peak_day.median:.0f}"),
        (f"days with some part at {temp(HOT_C)} or more", f"{hot.median:.0f} ({hot.low:.0f} to {hot.high:.0f})"),
        ("ready (cool and quiet)", f"{ready}{ends}; in {told.ready_share:.0%} of runs within {end}"),
        *((f"{word} left after {end}", _left(told, key, units)) for key, word in left),
        *((f"{one.name} in it then", _food(one, units)) for one in foods_left(told)),
        (f"moisture after {end}", share_band(told.total("moisture", "1"))),
    ]  # fmt: skip


def _left(told: Forecast, key: str, units: Units) -> str:
    """Return what is left of a total as a share and as an amount."""
    kind = "heap volume" if key == "volume_m3" else "mass"
    amount = units.amount(told.total(key, "").median, kind)
    return f"{share_band(told.kept(key))}, {amount}"


def _food(one: Food, units: Units) -> str:
    """Return a nutrient at the end: its amount, what share of it is left, and how rich the dry matter is in it."""
    left = one.end.median / one.start.median
    ends = f"{units.mass(one.end.low)} to {units.mass(one.end.high)}"
    rich = f"{100.0 * one.of_dry.median:.2g} % of the dry matter"
    return f"{units.mass(one.end.median)} ({ends}), {left:.0%} of the start; {rich}"
