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
from loamery.say import joined, say
from loamery.season.traces import composition_traces
from loamery.units import from_si
from loamery.words import NBSP, number, range_text, unit_words

MOST_PAIRS = 24
"""Readings that stand in one entry; the rest are counted."""
SKILL_RULE = say(
    "in the band: readings within the 90 % band ÷ all readings; measured less foreseen: the median of reading − middle of the forecast; "
    "typical miss: √ of the mean of its squares"
)
SOIL_RULE = say(
    "the bed model run from the first test to the last, with what was spread, planted and measured of the weather; middle and 90 % band over draws of start, yields, materials, weather and numbers, the scatter of the later test added"
)

CHANGE_RULE = say("change = later − earlier test; more than scatter: beyond {limit} standard deviations", limit=1.64)


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
        ledger.add(_skill(f"skill/{key}", say("Skill of forecasts: {what}", what=key), one, pairs))
    for heap in facts.heaps:
        ledger.add(
            _pairs_only(
                f"skill/heap/{heap.batch.id}", say("Heap {heap}: foreseen and read", heap=heap.batch.id), heap.pairs
            )
        )
    for harvest in facts.harvests:
        ledger.add(_pairs_only(harvest_trace(harvest), say("{planting}: harvest", planting=harvest.name), [harvest]))
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
    return Trace(key, title, one.words, SKILL_RULE, tuple(_listed(pairs)), ("PRACTICE",), say("Wilson's interval for the share; readings of one thing hang together and count for less (design effect, Kish 1965, recalled)."))  # fmt: skip


def _pairs_only(key: str, title: str, pairs: Sequence[Pair]) -> Trace:
    held = sum(one.inside for one in pairs)
    return Trace(
        key,
        title,
        say("{held} of {count} within the 90{NBSP}% band", held=held, count=len(pairs), NBSP=NBSP),
        SKILL_RULE,
        tuple(_listed(pairs)),
        ("PRACTICE",),
    )


def _listed(pairs: Sequence[Pair]) -> Iterator[Input]:
    for one in pairs[:MOST_PAIRS]:
        foreseen = say("foreseen {middle} ({range}), measured {measured}{NBSP}{unit}", middle=number(one.foreseen.median), range=range_text(one.foreseen),
                       measured=number(one.measured), unit=one.foreseen.unit, NBSP=NBSP)  # fmt: skip
        yield Input(joined(", ", (one.name, one.when)), foreseen)
    if len(pairs) > MOST_PAIRS:
        yield Input(say("Further readings"), f"{len(pairs) - MOST_PAIRS}", "readings.csv")


def _soil(facts: Facts, one: SoilChange) -> Trace:
    unit, known = soil_unit(one.key), quantity(one.key)
    shown = unit_words(unit)
    before, after, scatter = (float(from_si(value, unit)) for value in (one.before, one.after, one.scatter))
    told = next((each for each in facts.soil_pairs if (each.of, each.key) == (one.bed, one.key)), None)
    spread = [each for each in facts.garden.applications if each.bed == one.bed and one.first <= each.on < one.last]
    gifts = say(
        "{kg}{NBSP}kg in {count} gifts", kg=number(sum(each.kg for each in spread)), count=len(spread), NBSP=NBSP
    )
    inputs = [
        Input(say("Test of {day}", day=one.first), f"{number(before)}{NBSP}{shown}", one.method),
        Input(say("Test of {day}", day=one.last), f"{number(after)}{NBSP}{shown}", one.method),
        Input(say("Scatter of a difference when nothing changed (one standard deviation)"), f"{number(scatter, 2)}{NBSP}{shown}", say("Horwitz' curve and sampling")),
        Input(say("Spread on the bed in between"), gifts, "applications.csv"),
    ]  # fmt: skip
    value = say("{before} to {after}{NBSP}{unit}", before=number(before), after=number(after), unit=shown, NBSP=NBSP)
    title = say("{name}: {what}", name=facts.garden.bed(one.bed).name, what=known.label)
    rule = CHANGE_RULE
    if told is not None:
        value += say(
            "; foreseen {middle} ({range})", middle=number(told.foreseen.median), range=range_text(told.foreseen)
        )
        rule += say(". Foreseen: {rule}", rule=SOIL_RULE)
    names = (
        ("review_p_shown", "review_k_shown", "review_yield_rsd", "review_sampling_rsd")
        if told is not None
        else ("review_sampling_rsd",)
    )
    sources = ("THOM", *dict.fromkeys(coefficient(name).source for name in names))
    return Trace(
        soil_trace(one),
        title,
        value,
        rule,
        tuple(inputs),
        sources,
    )
