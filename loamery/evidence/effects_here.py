"""What a material may do in one garden: salt, plant food in excess, nitrogen tied up, acid and lime, crust and heat, with limits."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.evidence.text import Units, listing
from loamery.garden.model import Fertiliser, Garden
from loamery.heap.matter import Part
from loamery.heap.mulch_limit import MulchLimit, mulch_limit
from loamery.lab.composition import Composition
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.season.calendar import Calendar, calendar_of
from loamery.season.first_season import first_season_nitrogen
from loamery.season.from_bed import seasons_of
from loamery.season.mulch_depths import MULCH_DRAWS, mulch_site
from loamery.season.needs import BedNeed, bed_need
from loamery.season.prepare import Prepared
from loamery.season.stuff import Stuff, raw_stuff
from loamery.uncertain import band
from loamery.units import to_si
from loamery.words import NBSP, number, quantity_text

Array = NDArray[np.float64]
HEATING_GROUPS = ("green", "brown", "manure", "compost")
REASON_WORDS = {"airless": say("goes airless"), "heats": say("heats up"), "seals": say("keeps the rain out")}
CEILING_WORDS = {"P": say("Phosphorus"), "K": say("Potassium"), "salt": say("Salt")}
ONLY_IF_TESTED = say("only where a soil test asks for lime")
TRIAL_RATE_KG_M2 = 1.0
"""The amount that effects are told for, kg as received on a square metre."""


@dataclass(frozen=True)
class Effect:
    """One thing a material may do here.

    Parameters
    ----------
    what : in a word or two. says : what it does, with figures. limit : the most that does no harm here, empty where none.
    """

    what: str
    says: str
    limit: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Here:
    """One garden, as far as a material's sheet needs it.

    Parameters
    ----------
    beside : other materials it is compared with, by id; bought : a fertiliser of the grower's choice.
    mulch : how thick a layer may be, None where the model has no figures for it or it is no mulch.
    worked_in_n, on_top_n : nitrogen that a kilogram gives the soil in its first season by the bed model, kg per kg, (draws,).
    """

    garden: Garden
    stuff: Stuff
    needs: Mapping[str, BedNeed]
    beside: Mapping[str, Composition]
    bought: Fertiliser | None
    mulch: MulchLimit | None
    worked_in_n: Array
    on_top_n: Array


def look_around(
    prepared: Prepared, material: str, bought: Fertiliser | None, tell: Callable[[str], None] = lambda _: None
) -> Here:
    """Return what the sheet of a material needs to know of its garden."""
    garden = prepared.garden
    calendar = calendar_of(garden)
    stuff = raw_stuff(garden.material(material), prepared.compositions[material])
    needs = {one.id: _need(prepared, one.id, calendar) for one in garden.beds}
    seasons = seasons_of(garden, calendar, list(needs.values()))
    inside, above = (first_season_nitrogen(stuff, seasons, on_surface=one) for one in (False, True))
    beside = {key: one for key, one in prepared.compositions.items() if key != material}
    tell(say("looking for the thickest mulch"))
    mulch = _mulch(garden, stuff, prepared.compositions[material])
    return Here(garden, stuff, needs, beside, bought, mulch, inside, above)


def _need(prepared: Prepared, bed: str, calendar: Calendar) -> BedNeed:
    return bed_need(prepared.garden, prepared.garden.bed(bed), prepared.soils[bed], calendar)


def _mulch(garden: Garden, stuff: Stuff, composition: Composition) -> MulchLimit | None:
    if "mulch" not in stuff.uses or stuff.group not in HEATING_GROUPS:
        return None
    warm, month_mm = mulch_site(garden)
    try:
        return mulch_limit((Part(composition, 1.0),), warm, MULCH_DRAWS, garden.info.seed, month_mm=month_mm)
    except InputError:
        return None


def effects_here(here: Here, composition: Composition, units: Units) -> list[Effect]:
    """Return what a material may do in this garden, each with the limit computed for it."""
    return [
        *_ceilings(here, units),
        _nitrogen(here, units),
        _acid(here, composition, units),
        *_layer(here, units),
    ]


def _ceilings(here: Here, units: Units) -> Iterator[Effect]:
    """Yield the two things that limit this material first, each on the bed where it does."""
    stuff, found = here.stuff, []
    holds: dict[str, Array] = {"P": stuff.p, "K": stuff.k, "salt": stuff.salts, **stuff.trace}
    for need in here.needs.values():
        for key, ceiling in need.ceilings.items():
            high = float(np.quantile(holds[key], 0.9)) if key in holds else 0.0
            if high > 0.0:
                found.append((ceiling.limit_kg_m2 / high, key, need, ceiling))
    told: set[str] = set()
    for most, key, need, ceiling in sorted(found, key=lambda one: one[0]):
        if key in told:
            continue
        told.add(key)
        yield Effect(
            CEILING_WORDS.get(key, key.capitalize()),
            say("reaches its ceiling first on {bed}: {reason}", bed=need.bed.name, reason=ceiling.because),
            say("at most {rate} in a season", rate=_rate(max(most, 0.0), units)),
            ceiling.sources,
        )
        if len(told) == 2:
            return


def _rate(kg_m2: float, units: Units) -> str:
    """Return an amount on an area in the person's units."""
    if units.system == "us":
        return quantity_text(kg_m2 / to_si(1.0, "lb/ft2"), "lb/ft2", 2)
    return quantity_text(kg_m2, "kg/m2", 2)


def _nitrogen(here: Here, units: Units) -> Effect:
    sources = (coefficient("bed_biomass_cn").source, *here.stuff.decay.sources)
    inside, above = (band(TRIAL_RATE_KG_M2 * one, "g/m2", 1000.0) for one in (here.worked_in_n, here.on_top_n))
    shown, limit = units.rate(inside), ""
    low, high = (-shown.high, -shown.low) if inside.high < 0.0 else (shown.low, shown.high)
    rates = {
        "rate": _rate(TRIAL_RATE_KG_M2, units),
        "span": joined(NBSP, (_span(low, high), units.name("nutrient rate"))),
        "above": number(units.rate(above).median, 2),
    }
    if inside.high < 0.0:
        says = say("{rate} worked in ties up {span} of nitrogen in a season; on top about {above}", **rates)
        limit = say("on top, or through the heap, not worked in")
    elif inside.low < 0.0:
        says = say("{rate} worked in may tie up or give {span} of nitrogen in a season; on top about {above}", **rates)
        limit = say("do not count on it for hungry crops at once")
    else:
        says = say("{rate} worked in gives {span} of nitrogen in a season; on top about {above}", **rates)
    return Effect(say("Nitrogen"), says, limit, tuple(dict.fromkeys(sources)))


def _span(low: float, high: float) -> str:
    return say("{low} to {high}", low=number(low, 2), high=number(high, 2))


def _acid(here: Here, composition: Composition, units: Units) -> Effect:
    """Return what is known of a material's own acid or lime."""
    if "CCE" in composition:
        lime = composition["CCE"].band()
        says = say(
            "limes like {share} of its weight in pure lime ({span})",
            share=f"{number(lime.median, 2)}{NBSP}%",
            span=_span(lime.low, lime.high),
        )
        return Effect("pH", says, ONLY_IF_TESTED if lime.median > 20.0 else "", composition["CCE"].sources)
    if "pH" not in composition:
        unknown = say("not known: no report and no published figure")
        return Effect("pH", unknown, say("test the soil before and after"), ("PRACTICE",))
    own = composition["pH"].band()
    shown = {"middle": number(own.median, 2), "span": _span(own.low, own.high)}
    if own.low > 8.0:
        says = say("its own pH is {middle} ({span}): it raises that of soil", **shown)
        return Effect("pH", says, ONLY_IF_TESTED, composition["pH"].sources)
    sour = [
        need.bed.name for need in here.needs.values() if (value := need.test.value("pH")) is not None and value < 6.0
    ]
    says = say(
        "its own pH is {middle} ({span}); what it does to soil in the end follows its nitrogen, not its own pH", **shown
    )
    limit = say("watch {beds}, already sour", beds=listing(sour)) if sour and own.median < 6.0 else ""
    return Effect("pH", says, limit, composition["pH"].sources)


def _layer(here: Here, units: Units) -> Iterator[Effect]:
    if here.mulch is None:
        return
    found = here.mulch
    first = max((key for key in REASON_WORDS), key=lambda key: found.first.get(key, 0.0))
    if found.first.get("none", 0.0) > 0.5:
        deepest = units.amount(found.depths_m[-1], "depth")
        says = say("as mulch nothing comes up to {depth}", depth=deepest)
        yield Effect(say("Crust and heat"), says, "", ("PRACTICE",))
        return
    depth, low, high = (units.amount(one, "depth") for one in (found.limit.median, found.limit.low, found.limit.high))
    says = say(
        "as a fresh mulch it {reason} first; in the warmest month a layer of {depth} is the middle of what the model allows ({low} to {high})",
        reason=REASON_WORDS[first],
        depth=depth,
        low=low,
        high=high,
    )
    limit = say("{low} to be safe, or mix it with coarse chips", low=low)
    yield Effect(say("Crust and heat"), says, limit, ("JUDGE",))


def how_to_use(here: Here, effects: Sequence[Effect], units: Units) -> list[str]:
    """Return how a material may be used here, one line for each use the grower allows."""
    rates = [one.limit for one in effects if one.limit.endswith("in a season")]
    lines: list[str] = []
    if "mulch" in here.stuff.uses:
        depth = here.mulch.limit.low if here.mulch is not None else here.stuff.mulch_depth_m
        most = units.amount(min(depth, here.stuff.mulch_depth_m), "depth")
        lines.append(say("Mulch: up to {depth} thick, off the stems.", depth=most))
    if "dig_in" in here.stuff.uses:
        lines.append(say("Worked in: {rate}.", rate=rates[0]) if rates else say("Worked in: a thin layer."))
    if "heap" in here.stuff.uses:
        ratio = float(np.median(here.stuff.c_to_n))
        part = (
            say("mix with something richer in nitrogen")
            if ratio > 40
            else say("mix with leaves, chips or card")
            if ratio < 20
            else say("near what a heap wants by itself")
        )
        lines.append(say("Heap: C:N about {ratio}, {part}.", ratio=number(ratio, 2), part=part))
    if "worm_bed" in here.stuff.uses:
        lines.append(say("Worm bed: a little at a time, see “loamery worms”."))
    keeps = here.stuff.storage_weeks
    if keeps >= 40:
        return [*lines, say("Keeps for a season.")]
    return [*lines, say("Keeps {weeks} weeks.", weeks=number(keeps, 2)) if keeps != 1 else say("Keeps 1 week.")]
