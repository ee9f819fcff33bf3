"""Where a number of a page comes from: the trace the models left, or one written here for a sum of records or a chore."""

from __future__ import annotations

from django.utils.translation import gettext as _

from loamery.finding import Input, Ledger, Trace
from loamery.web.pages.sight import Sight
from loamery.worms.published import feed_kg_per_week

MOST_ROWS = 40
HEAP_SOURCES = ("HAUG93",)


def origin(sight: Sight, key: str) -> tuple[Trace | None, Ledger]:
    """Return where a number comes from and everything it may lead on to; None where there is no such number."""
    ledger = sight.reckoned.ledger
    if key in ledger:
        return ledger[key], ledger
    head, _slash, rest = key.partition("/")
    makers = {"record": _records, "chore": _chore, "heap": _heap, "worms": _worms, "material": _material}
    made = makers[head](sight, rest) if head in makers else None
    return made, ledger


def _records(sight: Sight, rest: str) -> Trace | None:
    """Return the sum of the records behind a number."""
    part, about, *more = [*rest.split("/"), ""]
    words = sight.words
    columns = {"loads": "material", "applications": "bed", "feedings": "worm_bed", "harvests": "bed"}
    if part not in columns:
        return None
    rows = [one for one in getattr(sight.garden, part) if getattr(one, columns[part]) == about]
    if part == "harvests" and more and more[0]:
        rows = [one for one in rows if one.crop == more[0]]
    rows.sort(key=lambda one: one.on, reverse=True)
    total = sum(one.kg for one in rows)
    inputs = [
        Input(words.day(one.on), words.mass(one.kg), one.by or _("written down here")) for one in rows[:MOST_ROWS]
    ]
    if len(rows) > MOST_ROWS:
        rest_kg = sum(one.kg for one in rows[MOST_ROWS:])
        inputs.append(Input(_("{count} earlier records").format(count=len(rows) - MOST_ROWS), words.mass(rest_kg)))
    return Trace(
        f"record/{rest}", _("Sum of what was written down"), words.mass(total),
        _("the weights of {count} records added up, as they were written down").format(count=len(rows)), tuple(inputs),
    )  # fmt: skip


def _chore(sight: Sight, rest: str) -> Trace | None:
    """Return why a chore has its amount."""
    plan, words = sight.plan, sight.words
    if plan is None or not rest.isdigit() or int(rest) >= len(plan.actions):
        return None
    one = plan.actions[int(rest)]
    inputs = [Input(_("Weight"), words.mass(one.kg)), Input(_("Loose volume"), words.litres(one.volume_l)),
              Input(_("Work"), words.hours(one.hours))]  # fmt: skip
    if f"composition/{one.stuff}/bulk_density" in plan.ledger:
        inputs.append(Input(_("Bulk density"), "", trace=f"composition/{one.stuff}/bulk_density"))
    for key in "NPK":
        if f"bed/{one.target}/supply/{key}" in plan.ledger:
            inputs.append(
                Input(_("What the bed gets of {what}").format(what=key), "", trace=f"bed/{one.target}/supply/{key}")
            )
    note = _("Made for {count} draws of what is not known. Another plan could save at most {hours} of work.").format(
        count=plan.scenarios, hours=words.hours(plan.gaps.get("cost", 0.0))
    )
    return Trace(
        f"chore/{rest}", f"{one.stuff_name}, {one.target_name}", words.mass(one.kg),
        _("the solver chose it: of all plans that keep every ceiling and supply, the one with the least shortfall, work and cost"),
        tuple(inputs), (), note,
    )  # fmt: skip


def _heap(sight: Sight, rest: str) -> Trace | None:
    """Return how a figure of a heap forecast was reckoned."""
    key, _slash, what = rest.rpartition("/")
    learnt = sight.reckoned.heaps.get(key)
    if learnt is None:
        return None
    told, words = learnt.told, sight.words
    values = {
        "peak": (_("Warmest part of the heap"), words.temp(told.peak_c.median)),
        "hot": (_("Days with some hot part"), words.number(told.days_above_55.median, 2)),
        "ready": (_("Day the heap is ready"), words.day(told.on(told.ready.median)) if told.ready.median < float("inf") else _("later")),
        "mass": (_("Mass left"), words.share(told.kept("mass_kg").median)),
    }  # fmt: skip
    if what not in values:
        return None
    title, value = values[what]
    heap = told.plan
    inputs = [Input(sight.garden.material(one.composition.material).name, words.mass(one.kg)) for one in heap.parts]
    inputs += [Input(_("Water added"), words.mass(heap.water_kg)), Input(_("Volume"), words.amount(heap.volume_m3, "heap volume")),
               Input(_("Turnings"), str(len(heap.turn_days))), Input(_("Weather"), _("monthly normals of the garden and days that were measured"))]  # fmt: skip
    return Trace(
        f"heap/{rest}", title, value,
        _("heat, air, water and decay in {count} layers, run {runs} times with drawn materials, model numbers and weather; the middle run is shown").format(
            count=told.temp_c.shape[2], runs=told.draws),
        tuple(inputs), HEAP_SOURCES, " ".join(learnt.words) or _("No reading of this heap has been used yet."),
    )  # fmt: skip


def _worms(sight: Sight, rest: str) -> Trace | None:
    box = next((one for one in sight.garden.worm_beds if one.id == rest), None)
    if box is None:
        return None
    weighed = _("weighed") if box.worms_kg else _("not weighed: the usual stocking per area is assumed")
    inputs = (
        Input(_("Worms"), sight.words.mass(box.worms_kg), weighed),
        Input(_("Area"), sight.words.amount(box.area_m2, "area")),
    )
    return Trace(f"worms/{rest}", _("Most fresh food in a week"), sight.words.mass(feed_kg_per_week(box)),
                 _("a share of the worms' own mass each day, times seven"), inputs)  # fmt: skip


def _material(sight: Sight, rest: str) -> Trace | None:
    """Return what is offered of a material and what becomes of it in the plan."""
    use = next((one for one in sight.plan.materials if one.material == rest), None) if sight.plan else None
    if use is None:
        return None
    words = sight.words
    inputs = [
        Input(sight.garden.donor(one.donor).name, _("{amount} a week").format(amount=words.mass(one.kg_per_week)),
              _("{first} to {last}").format(first=words.short_day(one.first), last=words.short_day(one.last)))
        for one in sight.garden.supplies if one.material == rest
    ]  # fmt: skip
    value = _("{fetched} of {offered}").format(fetched=words.mass(use.collected_kg), offered=words.mass(use.offered_kg))
    return Trace(
        f"material/{rest}",
        use.name,
        value,
        _("what donors offer in each week of the season, and what the solver fetches of it"),
        tuple(inputs),
    )
