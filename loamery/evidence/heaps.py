"""Heaps: every batch with its recipe, its water, when it is ready, and how near its limits it is."""

from __future__ import annotations

from collections.abc import Sequence

from loamery.blend.result import LimitState
from loamery.evidence.block import Block, Column, Grid, Line, Notice, Para, Say, Section, Table
from loamery.evidence.cautions import general_cautions
from loamery.evidence.text import Units, buckets_text, day_text, listing, share_text
from loamery.finding import by_severity
from loamery.names import quantities
from loamery.season.plan import Batch, SeasonPlan
from loamery.season.recipes import Recipe
from loamery.units import from_si
from loamery.words import NBSP, number, range_text, unit_words

VALUE_LABELS = {
    "cn": "C:N ratio",
    "moisture": "Moisture",
    "free_air_space": "Free air space",
    "bulk_density": "Bulk density",
    "fines": "Fines, share of dry matter",
    "nitrogen": "Nitrogen of dry matter",
    "salt": "Salt (conductivity)",
}
FIRST_CAUTIONS = ("hot-heap-steam", "bioaerosol-dust")
"""Said at the head of the heaps; the others stand with the collected cautions."""
SLACK = 1e-9
NEAR_LIMIT = 0.1
"""A limit with less than this share of its range left is called near."""

OWN_LIMITS = ("total_kg", "mass_share")
"""Limits the recipe sets itself, not ones a heap asks for."""

BUILDING = (
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
        parts.append(Para("No heap is built this season."))
    if plan.batches:
        parts.append(Para(BUILDING, "soft"))
        parts.append(Grid([_batch(plan, one, units) for one in plan.batches]))
    used = {one.recipe.id: one.recipe for one in plan.batches}
    parts += [_recipe(plan, one, units, fresh=number_ == 0) for number_, one in enumerate(used.values())]
    return Section("Heaps", "heaps", parts, fresh=True)


def _batch(plan: SeasonPlan, batch: Batch, units: Units) -> Section:
    rows: list[Sequence[Line]] = []
    for key, kg in sorted(batch.parts_kg.items(), key=lambda item: -item[1]):
        litres = from_si(kg / plan.compositions[key].median("bulk_density"), "L")
        buckets = max(round(2 * litres / plan.garden.info.bucket_l) / 2, 0.5)
        weight = Say(units.mass(kg), f"{batch.recipe.id}/blend/amount/{key}")
        rows.append((plan.garden.material(key).name, weight, units.litres(litres), buckets_text(buckets)))
    if batch.water_l > 0.5:
        buckets = max(round(2 * batch.water_l / plan.garden.info.bucket_l) / 2, 0.5)
        rows.append(("Water", units.mass(batch.water_l), units.litres(batch.water_l), buckets_text(buckets)))
    season = "" if batch.ready_week < plan.calendar.weeks else ", for next season"
    line: Line = (
        f"Build in the week of {day_text(batch.day)}, {units.amount(batch.volume_m3, 'heap volume')}. ",
        "It gives ",
        Say(f"{units.mass(batch.compost_kg)} of {batch.recipe.compost_name.lower()}", f"batch/{batch.id}"),
        f", ready about {day_text(batch.ready_day)}{season}.",
    )
    columns = (Column("Part", wide=2), Column("Weight", "right"), Column("Volume", "right"), Column("Buckets", "right"))
    number_ = batch.id.removeprefix("batch-")
    return Section(
        f"Batch {number_}: {batch.heap_name}",
        batch.id,
        (Para(line), Table(f"Parts of batch {number_}", columns, rows)),
        kicker=batch.recipe.compost_name,
    )


def _recipe(plan: SeasonPlan, recipe: Recipe, units: Units, *, fresh: bool) -> Section:
    blend = recipe.blend
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
    told = [f"{plan.garden.material(key).name.lower()} {share_text(share)}" for key, share in shares]
    parts: list[Block] = [Para(f"By weight: {listing(told)}; water is not counted.")]
    tables: list[Block] = []
    if values:
        columns = (Column("The blend", wide=1.7), Column("Value", "right", wide=1.2), Column("Band", "right"))
        tables.append(Table(f"What {recipe.compost_name.lower()} starts as", columns, values))
    if limits:
        note = "* share of the range, or of the limit where it has one side. Holds in: share of the cases drawn."
        columns = (Column("Limit", wide=2.1), Column("Room left *", wide=1), Column("Holds in", "right", wide=0.8))
        tables.append(Table(f"Limits of {recipe.compost_name.lower()} and how near they are", columns, limits, note))
    if tables:
        parts.append(Grid(tables))
    parts += [Notice(one) for one in blend.findings]
    return Section(recipe.compost_name, recipe.id, parts, fresh=fresh, kicker="Recipe")


def _limit(one: LimitState, plan: SeasonPlan, units: Units) -> str:
    if one.about == "bulk_density":
        side = "at least" if "at least" in one.name else "at most"
        return f"Bulk density {side} {units.amount(one.goal, 'density', 3)}"
    name = _plain(one.name, plan)
    return name[0].upper() + name[1:]


def _plain(name: str, plan: SeasonPlan) -> str:
    """Return a limit's name with the names of materials instead of their ids."""
    for one in plan.garden.materials:
        name = name.replace(f"/{one.id}", f" of {one.name.lower()}").replace(f" {one.id} ", f" {one.name.lower()} ")
    return name.replace("_", " ") if name.split(" ", 1)[0] not in quantities() else name


def _room(near: float, binds: bool) -> Line:
    if near < -SLACK:
        return Say(f"missed by {share_text(-near)}", strong=True)
    if binds:
        return Say("at its limit", strong=True)
    return f"{share_text(min(near, 1.0))}{', near' if near < NEAR_LIMIT else ''}"
