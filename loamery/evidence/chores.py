"""Chores by week: what to do, where, how much in weight, volume and buckets."""

from __future__ import annotations

from collections.abc import Sequence

from loamery.evidence.block import Block, Column, Figure, Line, Para, Say, Section, Table
from loamery.evidence.picture import hours_chart
from loamery.evidence.text import Units, buckets_text, hours_text, listing, week_text
from loamery.say import joined, say
from loamery.season.plan import Action, SeasonPlan
from loamery.season.sacks import sacks_text
from loamery.words import quantity_text

LEAST_WATER_L = 0.5
"""Less water than this is not worth a line."""


def chores_section(plan: SeasonPlan, units: Units) -> Section:
    """Return the chores of every week as a table to tick off, and the hours they take."""
    bucket = quantity_text(units.value(plan.garden.info.bucket_l / 1000.0, "volume"), units.name("volume"))
    intro = say(
        "Weights are as received, volumes loose. A bucket holds {bucket}; amounts are rounded up to half buckets. Fill a bucket "
        "only as far as you can lift it safely.",
        bucket=bucket,
    )
    rows: list[Sequence[Line] | Say] = []
    for week, actions in plan.chores().items():
        hours = plan.hours[week] if week < len(plan.hours) else 0.0
        rows.append(Say(joined(" · ", (week_text(actions[0].day), hours_text(hours)))))
        rows += [_row(one, units, _detail(plan, one, units)) for one in actions]
    parts: list[Block] = [Para(intro, "soft"), Figure(hours_chart(plan))]
    columns = (
        Column(say("Done"), tick=True, wide=0.5),
        Column(say("Chore"), wide=5.6),
        Column(say("Weight"), "right", wide=0.8),
        Column(say("Volume"), "right", wide=0.8),
        Column(say("Buckets"), "right", wide=0.7),
    )
    if rows:
        parts.append(Table(say("Chores by week"), columns, rows))
    else:
        parts.append(Para(say("There is nothing to do this season.")))
    return Section(say("Chores by week"), "chores", parts, fresh=True)


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
    what, place = one.stuff_name.lower(), one.target_name
    heads = {
        "buy": say("Buy {what}", what=what),
        "collect": say("Fetch {what} from {place}", what=what, place=place),
        "build": say("Build the heap in {place}", place=place),
        "turn": say("Turn the heap in {place}", place=place),
        "feed": say("Feed {what} to the worms in {place}", what=what, place=place),
        "mulch": say("Mulch {place} with {what}", what=what, place=place),
        "dig_in": say("Work {what} into {place}", what=what, place=place),
    }
    more = [_depth(one.depth_m, units)] if one.depth_m > 0 else []
    more += [detail] if detail else []
    return (heads[one.task], Say(joined(", ", ("", *more)) if more else "", soft=True))


def _detail(plan: SeasonPlan, one: Action, units: Units) -> str:
    """Return what more there is to say of an action; sacks and the parts of a heap in the grower's units."""
    if one.task == "buy":
        return sacks_text(one.sacks, units.mass(one.kg / one.sacks), one.cost, plan.garden.info.currency)
    batch = next((each for each in plan.batches if (each.heap, each.week) == (one.target, one.week)), None)
    if one.task != "build" or batch is None:
        return one.detail
    parts = sorted(batch.parts_kg.items(), key=lambda item: -item[1])
    told: list[str] = [joined(" ", (plan.garden.material(key).name.lower(), units.mass(kg))) for key, kg in parts]
    if batch.water_l > LEAST_WATER_L:
        told.append(say("water {litres}", litres=units.litres(batch.water_l)))
    return listing(told)


def _depth(depth_m: float, units: Units) -> str:
    """Return a depth in whole and half centimetres or quarter inches; below the first step it is a scatter."""
    value, step = units.value(depth_m, "depth"), 0.5 if units.system == "metric" else 0.25
    if value < step:
        return say("a thin scatter")
    return say("about {depth} deep", depth=quantity_text(round(value / step) * step, units.name("depth")))
