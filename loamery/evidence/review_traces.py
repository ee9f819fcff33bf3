"""Where each figure of a season looked back on comes from: the readings it was held against, and what was foreseen of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loamery.bed.soil import soil_unit
from loamery.evidence.review_facts import Facts
from loamery.evidence.review_soil import SoilChange
from loamery.evidence.skill import Pair, Skill
from loamery.finding import Input, Ledger, Trace
from loamery.names import quantity
from loamery.reference import coefficient
from loamery.season.traces import composition_traces
from loamery.units import from_si
from loamery.words import NBSP, number, range_text, unit_words

MOST_PAIRS = 24
"""Readings that stand in one entry; the rest are counted."""
SKILL_RULE = (
    "in the band: readings within the 90 % band ÷ all readings; measured less foreseen: the median of reading − middle of the forecast; "
    "typical miss: √ of the mean of its squares"
)
SOIL_RULE = "the bed model run from the first test to the last, with what was spread, planted and measured of the weather; middle and 90 % band over draws of start, yields, materials, weather and numbers, the scatter of the later test added"


def review_ledger(facts: Facts, found: Mapping[str, Skill]) -> Ledger:
    """Return the traces of a season's evidence.

    Parameters
    ----------
    found : skill of each kind of forecast.
    """
    ledger = Ledger()
    for material, composition in facts.prepared.compositions.items():
        ledger.merge(composition_traces(composition, facts.garden.material(material).name))
    groups = {"heap temperature": facts.pairs, "harvest": facts.harvests}
    for key, one in found.items():
        pairs = groups.get(key) or [each for each in facts.soil_pairs if each.what == key]
        ledger.add(_skill(f"skill/{key}", f"Skill of forecasts: {key}", one, pairs))
    for heap in facts.heaps:
        ledger.add(_pairs_only(f"skill/heap/{heap.batch.id}", f"Heap {heap.batch.id}: foreseen and read", heap.pairs))
    for harvest in facts.harvests:
        ledger.add(_pairs_only(harvest_trace(harvest), f"{harvest.name}: harvest", [harvest]))
    for change in facts.soils:
        ledger.add(_soil(facts, change))
    return ledger


def harvest_trace(one: Pair) -> str:
    """Return the id of the trace of a harvest."""
    return f"harvest/{one.of}/{one.name}"


def soil_trace(one: SoilChange) -> str:
    """Return the id of the trace of a soil test figure that was read twice."""
    return f"soil-test/{one.bed}/{one.key}/{one.method}"


def _skill(key: str, title: str, one: Skill, pairs: Sequence[Pair]) -> Trace:
    return Trace(key, title, one.words, SKILL_RULE, tuple(_listed(pairs)), ("PRACTICE",), "Wilson's interval for the share; readings of one thing hang together and count for less (design effect, Kish 1965, recalled).")  # fmt: skip


def _pairs_only(key: str, title: str, pairs: Sequence[Pair]) -> Trace:
    held = sum(one.inside for one in pairs)
    return Trace(
        key,
        title,
        f"{held} of {len(pairs)} within the 90{NBSP}% band",
        SKILL_RULE,
        tuple(_listed(pairs)),
        ("PRACTICE",),
    )


def _listed(pairs: Sequence[Pair]) -> Iterator[Input]:
    for one in pairs[:MOST_PAIRS]:
        foreseen = f"foreseen {number(one.foreseen.median)} ({range_text(one.foreseen)}), measured {number(one.measured)}{NBSP}{one.foreseen.unit}"
        yield Input(f"{one.name}, {one.when}", foreseen)
    if len(pairs) > MOST_PAIRS:
        yield Input("Further readings", f"{len(pairs) - MOST_PAIRS}", "readings.csv")


def _soil(facts: Facts, one: SoilChange) -> Trace:
    unit, known = soil_unit(one.key), quantity(one.key)
    shown = unit_words(unit)
    before, after, scatter = (float(from_si(value, unit)) for value in (one.before, one.after, one.scatter))
    told = next((each for each in facts.soil_pairs if (each.of, each.key) == (one.bed, one.key)), None)
    spread = [each for each in facts.garden.applications if each.bed == one.bed and one.first <= each.on < one.last]
    inputs = [
        Input(f"Test of {one.first}", f"{number(before)}{NBSP}{shown}", one.method),
        Input(f"Test of {one.last}", f"{number(after)}{NBSP}{shown}", one.method),
        Input("Scatter of a difference when nothing changed (one standard deviation)", f"{number(scatter, 2)}{NBSP}{shown}", "Horwitz' curve and sampling"),
        Input("Spread on the bed in between", f"{number(sum(each.kg for each in spread))}{NBSP}kg in {len(spread)} gifts", "applications.csv"),
    ]  # fmt: skip
    value = f"{number(before)} to {number(after)}{NBSP}{shown}"
    if told is not None:
        value += f"; foreseen {number(told.foreseen.median)} ({range_text(told.foreseen)})"
    rule = "change = later − earlier test; more than scatter: beyond 1.64 standard deviations"
    rule += f". Foreseen: {SOIL_RULE}" if told is not None else ""
    names = (
        ("review_p_shown", "review_k_shown", "review_yield_rsd", "review_sampling_rsd")
        if told is not None
        else ("review_sampling_rsd",)
    )
    sources = ("THOM", *dict.fromkeys(coefficient(name).source for name in names))
    return Trace(
        soil_trace(one), f"{facts.garden.bed(one.bed).name}: {known.label}", value, rule, tuple(inputs), sources
    )
