"""Heaps: every batch with its recipe, its water, when it is ready, and how near its limits it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loamery.blend.result import LimitState
from loamery.evidence.block import Block, Column, Grid, Line, Notice, Para, Say, Section, Table
from loamery.evidence.cautions import general_cautions
from loamery.evidence.text import Units, buckets_text, day_text, listing, share_text
from loamery.finding import by_severity
from loamery.say import Said, capital, say
from loamery.season.plan import Batch, SeasonPlan
from loamery.season.recipes import Recipe
from loamery.units import from_si
from loamery.words import NBSP, number, range_text, unit_words

VALUE_LABELS = {
    "cn": say("C:N ratio"),
    "moisture": say("Moisture"),
    "free_air_space": say("Free air space"),
    "bulk_density": say("Bulk density"),
    "fines": say("Fines, share of dry matter"),
    "nitrogen": say("Nitrogen of dry matter"),
    "salt": say("Salt (conductivity)"),
}
FIRST_CAUTIONS = ("hot-heap-steam", "bioaerosol-dust")
"""Said at the head of the heaps; the others stand with the collected cautions."""
SLACK = 1e-9
NEAR_LIMIT = 0.1
"""A limit with less than this share of its range left is called near."""

OWN_LIMITS = ("total_kg", "mass_share")
"""Limits the recipe sets itself, not ones a heap asks for."""

BUILDING = say(
    "Parts are listed by weight, in buckets rounded to halves. Put coarse brown stuff at the bottom, mix the rest as you build, and "
    "water layer by layer until a handful squeezed hard just gives a drop (common practice, no source)."
)


def heaps_section(plan: SeasonPlan, units: Units) -> Section:
    """Return the batches, the recipes they follow, and the cautions of hot heaps."""
    parts: list[Block] = []
    if plan.batches:
        parts += [Notice(one) for one in general_cautions(["heap"]) if one.code in FIRST_CAUTIONS]
    about = [one for one in by_severity(plan.findings) if one.about == "heap"]
    parts += [Notice(one) for one in about]
    if not plan.batches and not about:
        parts.append(Para(say("No heap is built this season.")))
    if plan.batches:
        parts.append(Para(BUILDING, "soft"))
        parts.append(Grid([_batch(plan, one, units) for one in plan.batches]))
    used = {one.recipe.id: one.recipe for one in plan.batches}
    parts += [_recipe(plan, one, units, fresh=number_ == 0) for number_, one in enumerate(used.values())]
    return Section(say("Heaps"), "heaps", parts, fresh=True)


def _batch(plan: SeasonPlan, batch: Batch, units: Units) -> Section:
    rows: list[Sequence[Line]] = []
    for key, kg in sorted(batch.parts_kg.items(), key=lambda item: -item[1]):
        litres = from_si(kg / plan.compositions[key].median("bulk_density"), "L")
        buckets = max(round(2 * litres / plan.garden.info.bucket_l) / 2, 0.5)
        weight = Say(units.mass(kg), f"{batch.recipe.id}/blend/amount/{key}")
        rows.append((plan.garden.material(key).name, weight, units.litres(litres), buckets_text(buckets)))
    if batch.water_l > 0.5:
        buckets = max(round(2 * batch.water_l / plan.garden.info.bucket_l) / 2, 0.5)
        rows.append((say("Water"), units.mass(batch.water_l), units.litres(batch.water_l), buckets_text(buckets)))
    ready = day_text(batch.ready_day)
    line: Line = (
        say(
            "Build in the week of {day}, {volume}. ",
            day=day_text(batch.day), volume=units.amount(batch.volume_m3, "heap volume"),
        ),
        say("It gives "),
        Say(
            say("{mass} of {compost}", mass=units.mass(batch.compost_kg), compost=batch.recipe.compost_name.lower()),
            f"batch/{batch.id}",
        ),
        say(", ready about {day}.", day=ready)
        if batch.ready_week < plan.calendar.weeks
        else say(", ready about {day}, for next season.", day=ready),
    )  # fmt: skip
    columns = (
        Column(say("Part"), wide=2),
        Column(say("Weight"), "right"),
        Column(say("Volume"), "right"),
        Column(say("Buckets"), "right"),
    )
    number_ = batch.id.removeprefix("batch-")
    return Section(
        say("Batch {number}: {heap}", number=number_, heap=batch.heap_name),
        batch.id,
        (Para(line), Table(say("Parts of batch {number}", number=number_), columns, rows)),
        kicker=batch.recipe.compost_name,
    )


def _recipe(plan: SeasonPlan, recipe: Recipe, units: Units, *, fresh: bool) -> Section:
    blend, compost = recipe.blend, recipe.compost_name.lower()
    values: list[Sequence[Line]] = []
    for key, value in blend.values.items():
        band = units.band(value)
        values.append(
            (
                VALUE_LABELS.get(key, key),
                Say(f"{number(band.median)}{NBSP}{unit_words(band.unit)}".strip(), f"{recipe.id}/blend/{key}"),
                range_text(band),
            )
        )
    limits: list[Sequence[Line]] = [
        (_limit(one, plan, units), _room(one.near, one.binds), share_text(one.kept))
        for one in blend.limits
        if not one.about.startswith(OWN_LIMITS)
    ]
    shares = sorted(recipe.shares, key=lambda item: -item[1])
    told: list[str] = [
        say("{name} {amount}", name=plan.garden.material(key).name.lower(), amount=share_text(share))
        for key, share in shares
    ]
    parts: list[Block] = [Para(say("By weight: {parts}; water is not counted.", parts=listing(told)))]
    tables: list[Block] = []
    if values:
        columns = (
            Column(say("The blend"), wide=1.7),
            Column(say("Value"), "right", wide=1.2),
            Column(say("Band"), "right"),
        )
        tables.append(Table(say("What {compost} starts as", compost=compost), columns, values))
    if limits:
        note = say("* share of the range, or of the limit where it has one side. Holds in: share of the cases drawn.")
        columns = (
            Column(say("Limit"), wide=2.1),
            Column(say("Room left *"), wide=1),
            Column(say("Holds in"), "right", wide=0.8),
        )
        tables.append(Table(say("Limits of {compost} and how near they are", compost=compost), columns, limits, note))
    if tables:
        parts.append(Grid(tables))
    parts += [Notice(one) for one in blend.findings]
    return Section(recipe.compost_name, recipe.id, parts, fresh=fresh, kicker=say("Recipe"))


def _limit(one: LimitState, plan: SeasonPlan, units: Units) -> str:
    if one.about == "bulk_density":
        goal = units.amount(one.goal, "density", 3)
        if "at least" in one.name:
            return say("Bulk density at least {goal}", goal=goal)
        return say("Bulk density at most {goal}", goal=goal)
    return capital(_plain(one.name, {each.id: each.name.lower() for each in plan.garden.materials}))


def _plain(text: str, names: Mapping[str, str]) -> str:
    """Return a limit's name with the names of materials instead of their ids."""
    if isinstance(text, Said) and text.message:
        values = {key: _plain(value, names) if isinstance(value, str) else value for key, value in text.values.items()}
        return say(text.message, **values)
    return names.get(text, text)


def _room(near: float, binds: bool) -> Line:
    if near < -SLACK:
        return Say(say("missed by {share}", share=share_text(-near)), strong=True)
    if binds:
        return Say(say("at its limit"), strong=True)
    room = share_text(min(near, 1.0))
    return say("{share}, near", share=room) if near < NEAR_LIMIT else room
