"""Where the numbers of chores, weeks and the whole season come from."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from loamery.finding import Input, Trace
from loamery.season.mulch_depths import thicker_words
from loamery.season.plan import Action, SeasonPlan
from loamery.units import to_si
from loamery.web.pages.doing import done_chores
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import sacks_words, stuff_name, task_words

MOST_ROWS = 40


def chore_origin(sight: Sight, rest: str) -> Trace | None:
    """Return why a chore has its amount, or how its volume, buckets, hours, depth or water follow from it."""
    index, _slash, what = rest.partition("/")
    plan = sight.plan
    if plan is None or not index.isdecimal() or int(index) >= len(plan.actions):
        return None
    one = plan.actions[int(index)]
    if not what:
        return _amount(sight, plan, one, int(index))
    makers = {"volume": _volume, "buckets": _buckets, "hours": _hours, "depth": _depth, "water": _water}
    if one.task == "buy":
        makers = {"sacks": _sacks, "cost": _cost, "hours": _hours}
    return makers[what](sight, plan, one, int(index)) if what in makers else None


def _amount(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace:
    words = sight.words
    inputs = []
    if one.task == "buy":
        return _bought(sight, one, index)
    if one.kg > 0:
        inputs += [Input(_("Loose volume"), words.litres(one.volume_l), "", f"chore/{index}/volume"),
                   Input(_("Work"), words.hours(one.hours), "", f"chore/{index}/hours")]  # fmt: skip
    for key in "NPK":
        if f"bed/{one.target}/supply/{key}" in plan.ledger:
            inputs.append(
                Input(_("What the bed gets of {what}").format(what=key), "", "", f"bed/{one.target}/supply/{key}")
            )
    if index in sight.moves:
        inputs.append(Input(_("Changed by hand"), words.mass(sight.moves[index][0])))
    note = _("Made for {count} draws of what is not known. Another plan could save at most {hours} of work.").format(
        count=plan.scenarios, hours=words.hours(plan.gaps.get("cost", 0.0))
    )
    return Trace(
        f"chore/{index}", _title(one), words.mass(one.kg),
        _("the solver chose it: of all plans that keep every ceiling and supply, the one with the least shortfall, work and cost"),
        tuple(inputs), (), note,
    )  # fmt: skip


def _bought(sight: Sight, one: Action, index: int) -> Trace:
    inputs = (
        Input(_("Sacks"), str(one.sacks), "", f"chore/{index}/sacks"),
        Input(_("One sack"), sight.words.mass(one.kg / one.sacks), _("as written down")),
        Input(_("Work"), sight.words.hours(one.hours), "", f"chore/{index}/hours"),
    )
    rule = _("sacks × what one weighs; what is left over waits in store")
    return Trace(f"chore/{index}", _title(one), sight.words.mass(one.kg), rule, inputs)


def _sacks(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace:
    use = next(each for each in plan.materials if each.material == one.stuff)
    inputs = (Input(_("What the plan takes of them in the season"), sight.words.mass(use.bought_kg)),)
    rule = _("the solver chose how much; sacks are whole, each bought in the first week that takes from it")
    return Trace(f"chore/{index}/sacks", _title(one), sacks_words(one.sacks), rule, inputs)


def _cost(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace:
    currency = plan.garden.info.currency
    price = f"{sight.words.number(one.cost / one.sacks)} {currency}"
    inputs = (
        Input(_("Sacks"), str(one.sacks), "", f"chore/{index}/sacks"),
        Input(_("Price of a sack"), price, _("as written down")),
    )
    rule = _("sacks × the price of one")
    return Trace(f"chore/{index}/cost", _title(one), f"{sight.words.number(one.cost)} {currency}", rule, inputs)


def _title(one: Action) -> str:
    return task_words(one.task, stuff_name(one.stuff_name), one.target_name)


def _weight(sight: Sight, one: Action, index: int) -> Input:
    return Input(_("Weight"), sight.words.mass(one.kg), "", f"chore/{index}")


def _volume(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace:
    inputs = [_weight(sight, one, index)]
    density = f"composition/{one.stuff}/bulk_density"
    if density in plan.ledger:
        inputs.append(Input(_("Loose bulk density"), plan.ledger[density].value, "", density))
    elif one.volume_l > 0:
        shown = sight.words.amount(one.kg / to_si(one.volume_l, "L"), "density")
        inputs.append(Input(_("Loose bulk density"), shown, _("of finished compost, published")))
    return Trace(
        f"chore/{index}/volume",
        _title(one),
        sight.words.litres(one.volume_l),
        _("weight ÷ loose bulk density"),
        tuple(inputs),
    )


def _buckets(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace:
    inputs = (
        Input(_("Loose volume"), sight.words.litres(one.volume_l), "", f"chore/{index}/volume"),
        Input(_("One bucket"), sight.words.litres(plan.garden.info.bucket_l), _("set for the garden")),
    )
    rule = _("loose volume ÷ size of a bucket, rounded up to halves")
    return Trace(f"chore/{index}/buckets", _title(one), sight.words.buckets(one.buckets), rule, inputs)


def _hours(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace:
    rule = _(
        "minutes that fetching, lifting, building and spreading take by weight and by trip, as published or judged"
    )
    return Trace(
        f"chore/{index}/hours", _title(one), sight.words.hours(one.hours), rule, (_weight(sight, one, index),),
        note=_("Your own pace may differ; what you write down about it is not used yet."),
    )  # fmt: skip


def _depth(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace:
    area = next((each.area_m2 for each in plan.garden.beds if each.id == one.target), 0.0)
    inputs = [
        Input(_("Loose volume"), sight.words.litres(one.volume_l), "", f"chore/{index}/volume"),
        Input(_("Area"), sight.words.amount(area, "area"), _("as written down")),
    ]
    ways = plan.levers.ways if plan.levers else ()
    way = next((each for each in ways if (each.stuff, each.use) == (one.stuff, "mulch")), None)
    if way is not None:
        why = thicker_words(way.mulch_fault) if way.mulch_fault else _("as published")
        inputs.append(Input(_("No more than"), sight.words.depth(way.depth_limit_m), why))
    rule = _("loose volume ÷ area it lies on")
    return Trace(f"chore/{index}/depth", _title(one), sight.words.depth(one.depth_m), rule, tuple(inputs))


def _water(sight: Sight, plan: SeasonPlan, one: Action, index: int) -> Trace | None:
    batch = next((each for each in plan.batches if (each.heap, each.week) == (one.target, one.week)), None)
    if batch is None:
        return None
    parts = tuple(
        Input(stuff_name(plan.garden.material(key).name), sight.words.mass(kg), "", f"composition/{key}/moisture")
        for key, kg in batch.parts_kg.items()
    )
    rule = _("what the recipe adds so that the heap is as moist as its bounds ask")
    return Trace(f"chore/{index}/water", _title(one), sight.words.litres(batch.water_l), rule, parts)


def week_origin(sight: Sight, rest: str) -> Trace | None:
    """Return the hours of a week as the sum of its chores: all of them, or those that are not done."""
    number, _slash, what = rest.partition("/")
    plan = sight.plan
    if plan is None or not number.isdecimal() or int(number) >= plan.calendar.weeks:
        return None
    week = int(number)
    done = done_chores(plan, sight.garden)
    mine = [
        (index, one)
        for index, one in enumerate(plan.actions)
        if one.week == week and not (what == "left" and index in done)
    ]
    total = sum(one.hours for _index, one in mine) if what == "left" else plan.hours[week]
    title = _("Work left in the week of {day}") if what == "left" else _("Work in the week of {day}")
    inputs = tuple(
        Input(_title(one), sight.words.hours(one.hours), "", f"chore/{index}/hours") for index, one in mine[:MOST_ROWS]
    )
    return Trace(
        f"week/{rest}",
        title.format(day=sight.words.short_day(plan.calendar.monday(week))),
        sight.words.hours(total),
        _("the hours of its chores added up"),
        inputs,
    )


def season_origin(sight: Sight, what: str) -> Trace | None:
    """Return where a number of the season's summary comes from, None where there is no such number."""
    plan = sight.plan
    makers = {
        "fetched": _fetched,
        "heaps": _heaps,
        "hours": _all_hours,
        "busiest": _busiest,
        "money": _money,
        "gap": _gap,
        "moved": _moved,
    }
    return makers[what](sight, plan) if plan is not None and what in makers else None  # fmt: skip


def _fetched(sight: Sight, plan: SeasonPlan) -> Trace:
    used = [one for one in plan.materials if one.collected_kg > 0]
    inputs = [
        Input(stuff_name(one.name), sight.words.mass(one.collected_kg), "", f"material/{one.material}/fetched")
        for one in used
    ]
    total = sight.words.mass(sum(one.collected_kg for one in used))
    return _season("fetched", _("Fetched in the season"), total, _("what the plan fetches of each material, added up"), inputs)  # fmt: skip


def _heaps(sight: Sight, plan: SeasonPlan) -> Trace:
    inputs = [
        Input(f"{one.heap_name}, {sight.words.short_day(one.day)}", sight.words.mass(one.compost_kg), _("compost it gives"), f"batch/{one.id}")
        for one in plan.batches
    ]  # fmt: skip
    rule = _(
        "heaps the solver builds: each at least as big as what heats, at most as big as its place, within its recipe's bounds"
    )
    return _season("heaps", _("Heaps built"), str(len(plan.batches)), rule, inputs)


def _all_hours(sight: Sight, plan: SeasonPlan) -> Trace:
    total = sight.words.hours(sum(plan.hours))
    return _season("hours", _("Work in the season"), total, _("the hours of all weeks added up"), _weeks(sight, plan))


def _busiest(sight: Sight, plan: SeasonPlan) -> Trace:
    most = sight.words.hours(max(plan.hours, default=0.0))
    return _season("busiest", _("Work in the busiest week"), most, _("the greatest of all weeks"), _weeks(sight, plan))


def _weeks(sight: Sight, plan: SeasonPlan) -> list[Input]:
    return [
        Input(sight.words.week(sight.monday(week)), sight.words.hours(hours), "", f"week/{week}/hours")
        for week, hours in enumerate(plan.hours)
        if hours > 0
    ]


def _money(sight: Sight, plan: SeasonPlan) -> Trace:
    currency = plan.garden.info.currency
    inputs = [
        Input(stuff_name(one.name), f"{sight.words.number(one.spent)} {currency}", _("prices as written down"))
        for one in plan.materials
        if one.spent
    ]
    rest = _("weights and sacks × their prices; what donors give for nothing costs nothing")
    return _season("money", _("Money spent"), f"{sight.words.number(plan.money)} {currency}", rest, inputs)


def _gap(sight: Sight, plan: SeasonPlan) -> Trace:
    inputs = [Input(_("Draws of what is not known"), str(plan.scenarios)),
              Input(_("Work and money of the plan, as hours"), sight.words.hours(plan.values.get("cost", 0.0)))]  # fmt: skip
    rule = _(
        "work and money of this plan − the least that any plan could need, as the solver proved; money counts as hours"
    )
    return _season("gap", _("What another plan could save at most"), sight.words.hours(plan.gaps.get("cost", 0.0)), rule, inputs)  # fmt: skip


def _moved(sight: Sight, plan: SeasonPlan) -> Trace:
    before = sight.words.hours(sum(sight.solved.hours)) if sight.solved else ""
    rule = _("hours before + hours for each kilogram × the change of each amount")
    return _season("moved", _("Work after your changes"), sight.words.hours(sum(plan.hours)), rule, [Input(_("Before"), before)])  # fmt: skip


def _season(what: str, title: str, value: str, rule: str, inputs: Sequence[Input]) -> Trace:
    return Trace(f"season/{what}", title, value, rule, tuple(inputs))
