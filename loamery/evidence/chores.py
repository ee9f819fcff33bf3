"""Chores by week: what to do, where, how much in weight, volume and buckets."""

from __future__ import annotations

from collections.abc import Sequence

from loamery.evidence.block import Block, Column, Figure, Line, Para, Say, Section, Table
from loamery.evidence.picture import hours_chart
from loamery.evidence.text import Units, buckets_text, hours_text, listing, week_text
from loamery.season.plan import Action, SeasonPlan
from loamery.season.sacks import sacks_text
from loamery.words import quantity_text

LEAST_WATER_L = 0.5
"""Less water than this is not worth a line."""


def chores_section(plan: SeasonPlan, units: Units) -> Section:
    """Return the chores of every week as a table to tick off, and the hours they take."""
    bucket = quantity_text(units.value(plan.garden.info.bucket_l / 1000.0, "volume"), units.name("volume"))
    intro = (
        f"Weights are as received, volumes loose. A bucket holds {bucket}; amounts are rounded up to half buckets. Fill a bucket "
        "only as far as you can lift it safely."
    )
    rows: list[Sequence[Line] | Say] = []
    for week, actions in plan.chores().items():
        hours = plan.hours[week] if week < len(plan.hours) else 0.0
        rows.append(Say(f"{week_text(actions[0].day)} · {hours_text(hours)}"))
        rows += [_row(one, units, _detail(plan, one, units)) for one in actions]
    parts: list[Block] = [Para(intro, "soft"), Figure(hours_chart(plan))]
    columns = (
        Column("Done", tick=True, wide=0.5),
        Column("Chore", wide=5.6),
        Column("Weight", "right", wide=0.8),
        Column("Volume", "right", wide=0.8),
        Column("Buckets", "right", wide=0.7),
    )
    if rows:
        parts.append(Table("Chores by week", columns, rows))
    else:
        parts.append(Para("There is nothing to do this season."))
    return Section("Chores by week", "chores", parts, fresh=True)


def _row(one: Action, units: Units, detail: str) -> Sequence[Line]:
    amounts, loose = one.kg > 0, one.kg > 0 and one.task != "buy"
    return (
        "",
        _words(one, units, detail),
        units.mass(one.kg) if amounts else "",
        units.litres(one.volume_l) if loose else "",
        buckets_text(one.buckets) if loose else "",
    )


def _words(one: Action, units: Units, detail: str) -> Line:
    what = one.stuff_name.lower()
    heads = {
        "buy": (f"Buy {what}", ""),
        "collect": (f"Fetch {what}", f" from {one.target_name}"),
        "build": ("Build the heap", f" in {one.target_name}"),
        "turn": ("Turn the heap", f" in {one.target_name}"),
        "feed": (f"Feed {what} to the worms", f" in {one.target_name}"),
        "mulch": (f"Mulch {one.target_name}", f" with {what}"),
        "dig_in": (f"Work {what}", f" into {one.target_name}"),
    }
    head, tail = heads[one.task]
    more = [_depth(one.depth_m, units)] if one.depth_m > 0 else []
    more += [detail] if detail else []
    return (head, tail, Say(f", {', '.join(more)}" if more else "", soft=True))


def _detail(plan: SeasonPlan, one: Action, units: Units) -> str:
    """Return what more there is to say of an action; sacks and the parts of a heap in the grower's units."""
    if one.task == "buy":
        return sacks_text(one.sacks, units.mass(one.kg / one.sacks), one.cost, plan.garden.info.currency)
    batch = next((each for each in plan.batches if (each.heap, each.week) == (one.target, one.week)), None)
    if one.task != "build" or batch is None:
        return one.detail
    parts = sorted(batch.parts_kg.items(), key=lambda item: -item[1])
    told = [f"{plan.garden.material(key).name.lower()} {units.mass(kg)}" for key, kg in parts]
    return listing([*told, *([f"water {units.litres(batch.water_l)}"] if batch.water_l > LEAST_WATER_L else [])])


def _depth(depth_m: float, units: Units) -> str:
    """Return a depth in whole and half centimetres or quarter inches; below the first step it is a scatter."""
    value, step = units.value(depth_m, "depth"), 0.5 if units.system == "metric" else 0.25
    if value < step:
        return "a thin scatter"
    return f"about {quantity_text(round(value / step) * step, units.name('depth'))} deep"
