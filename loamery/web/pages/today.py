"""Today: what there is to do this week, and what needs attention."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from loamery.finding import Finding, Severity, by_severity
from loamery.garden.records import Batch
from loamery.heap.hygiene import hygiene_rules
from loamery.reference import coefficient
from loamery.season.plan import Action
from loamery.web.pages.doing import done_chores, late_chores
from loamery.web.pages.origin_heaps import longest_run
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import for_web, sacks_words, stuff_name, task_words
from loamery.web.pages.words import Shown

MOST_FINDINGS = 6
THIN_M = 0.004
"""A layer below this cannot be laid evenly: it is called a scatter."""


@dataclass(frozen=True)
class Point:
    """One thing that needs attention: how grave, what, what to do, where to do it, and whether a model worded it."""

    severity: Severity
    text: str
    more: str = ""
    href: str = ""
    button: str = ""
    model: bool = False


def today(sight: Sight, week: int | None = None) -> dict[str, Any]:
    """Return what the page of today, or of another week of the plan, shows."""
    shown = sight.week() if week is None else week
    points = list(attention(sight))
    out: dict[str, Any] = {"points": points, "strip": strip(sight, shown, "pages:today"), "week": shown}
    plan = sight.plan
    if plan is None:
        return {**out, "chores": [], "late": [], "reason": sight.reckoned.failure}
    done = done_chores(plan, sight.garden)
    out["late"] = [chore(sight, index, plan.actions[index], done) for index in late_chores(plan, done, sight.on)]
    out["chores"] = [chore(sight, index, one, done) for index, one in enumerate(plan.actions) if one.week == shown]
    hours = plan.hours[shown]
    left = sum(one["hours"] for one in out["chores"] if not one["done"])
    return {
        **out,
        "monday": sight.words.week(sight.monday(shown)),
        "hours": Shown(sight.words.hours(hours), "", f"week/{shown}/hours"),
        "left": Shown(sight.words.hours(left), "", f"week/{shown}/left"),
        "is_now": shown == sight.week() and plan.calendar.week_of(sight.on) == shown,
        "next": next((one.week for one in plan.actions if one.week > shown), None),
    }


def chore(sight: Sight, index: int, one: Action, done: dict[int, Any]) -> dict[str, Any]:
    """Return one chore as it stands in a list."""
    words, plan = sight.words, sight.plan
    assert plan is not None
    deed = done.get(index)
    amounts = []
    trace = f"chore/{index}"
    if one.task == "buy":
        amounts = bought_amounts(sight, index, one)
    elif one.kg > 0:
        amounts = [
            Shown(words.mass(one.kg), "", trace),
            Shown(words.litres(one.volume_l), "", f"{trace}/volume"),
            Shown(words.buckets(one.buckets), "", f"{trace}/buckets"),
        ]
    more: list[dict[str, Any]] = []
    if one.depth_m > 0:
        thin = one.depth_m < THIN_M
        depth = Shown(words.depth(one.depth_m), "", f"{trace}/depth")
        more.append({"words": _("a thin scatter") if thin else _("layer"), "shown": None if thin else depth})
    batch = next((each for each in plan.batches if (each.heap, each.week) == (one.target, one.week)), None)
    if one.task == "build" and batch is not None:
        names = {each.id: each.name for each in plan.garden.materials}
        parts = sorted(batch.parts_kg.items(), key=lambda item: -item[1])
        blend = f"{batch.recipe.id}/blend/amount"
        more += [
            {"words": stuff_name(names[key]), "shown": Shown(words.mass(kg), "", f"{blend}/{key}")} for key, kg in parts
        ]
        if batch.water_l >= 1:
            more.append({"words": _("water"), "shown": Shown(words.litres(batch.water_l), "", f"{trace}/water")})
    if one.task == "turn":
        more.append({"words": _("take its temperature first; steam and a hot core can scald"), "shown": None})
    return {
        "index": index,
        "what": task_words(one.task, stuff_name(one.stuff_name), one.target_name),
        "more": more,
        "amounts": amounts,
        "hours": one.hours,
        "week": words.week(one.day),
        "done": bool(deed),
        "done_on": words.short_day(deed.on) if deed else "",
        "task": one.task,
    }  # fmt: skip


def bought_amounts(sight: Sight, index: int, one: Action) -> list[Shown]:
    """Return sacks, weight and price of something to buy."""
    trace, currency = f"chore/{index}", sight.garden.info.currency
    return [
        Shown(sacks_words(one.sacks), "", f"{trace}/sacks"),
        Shown(sight.words.mass(one.kg), "", trace),
        Shown(f"{sight.words.number(one.cost)} {currency}", "", f"{trace}/cost"),
    ]


def strip(sight: Sight, shown: int, page: str) -> list[dict[str, Any]]:
    """Return the weeks of the season as a strip of ticks that lead to their week."""
    plan = sight.plan
    if plan is None:
        return []
    now, before, out = plan.calendar.week_of(sight.on), 0, []
    for week in range(plan.calendar.weeks):
        monday = sight.monday(week)
        count = sum(one.week == week for one in plan.actions)
        words = ngettext("Week of {day}: {count} chore", "Week of {day}: {count} chores", count)
        out.append(
            {
                "url": f"{reverse(page, args=[sight.slug])}?week={week}",
                "here": week == shown,
                "kind": "done" if week < now else "busy" if count else "",
                "day": monday.day,
                "month": date_format(monday, "N").rstrip(".") if monday.month != before else "",
                "words": words.format(day=sight.words.short_day(monday), count=count),
            }
        )
        before = monday.month
    return out


def attention(sight: Sight) -> Iterator[Point]:
    """Yield what needs attention, the gravest first."""
    points = [*_state(sight), *_late(sight), *_heaps(sight), *_reports(sight), *_findings(sight)]
    order: list[Severity] = ["stop", "warning", "note"]
    yield from sorted(points, key=lambda one: order.index(one.severity))


def _state(sight: Sight) -> Iterator[Point]:
    season = reverse("pages:season", args=[sight.slug])
    if sight.plan is None and sight.reckoned.prepared is None:
        yield Point("note", _("There is no season plan yet."), "", season, _("Plan the season"))
    elif sight.plan is None:
        yield Point("warning", _("No plan could be made."), sight.reckoned.failure, season, _("See what is missing"))
    elif not sight.fresh:
        yield Point(
            "note", _("The records have changed since the plan was made."),
            _("The figures on these pages rest on the records as they were."), season, _("Plan again"),
        )  # fmt: skip


def _late(sight: Sight) -> Iterator[Point]:
    if sight.plan is None:
        return
    late = late_chores(sight.plan, done_chores(sight.plan, sight.garden), sight.on)
    if late:
        text = ngettext(
            "{count} chore of earlier weeks is open.", "{count} chores of earlier weeks are open.", len(late)
        )
        yield Point("note", text.format(count=len(late)), "", "#late", _("See them"))


def _heaps(sight: Sight) -> Iterator[Point]:
    for batch in sight.garden.batches:
        if batch.emptied is None and batch.built <= sight.on:
            yield from reading_due(sight, batch)
            yield from hygiene_open(sight, batch)


def reading_due(sight: Sight, batch: Batch) -> Iterator[Point]:
    """Yield a word when a heap should be measured again."""
    age = (sight.on - batch.built).days
    hot = coefficient("reading_hot_days").value
    every = coefficient("reading_every_hot_days" if age <= hot else "reading_every_days").value
    taken = [one.on for one in sight.garden.readings if one.batch == batch.id and one.on <= sight.on]
    last = max(taken, default=batch.built)
    if age > coefficient("reading_last_days").value or (sight.on - last).days < every:
        return
    name = heap_name(sight, batch)
    text = (
        _("{heap}: last measured {day}.").format(heap=name, day=sight.words.short_day(last))
        if taken
        else _("{heap}: not measured yet since it was built.").format(heap=name)
    )
    here = reverse("pages:here", args=[sight.slug])
    yield Point("warning" if age <= hot else "note", text, "", here, _("Write a reading down"))


def hygiene_open(sight: Sight, batch: Batch) -> Iterator[Point]:
    """Yield how far a hot heap is with the least time and temperature any rule asks for."""
    rule = min(hygiene_rules(), key=lambda one: (one.hold_days, one.temp_c))
    hot = {one.on for one in sight.garden.readings if one.batch == batch.id and (one.temp_c or 0.0) >= rule.temp_c}
    days = longest_run(hot)
    age = (sight.on - batch.built).days
    if not hot or days >= rule.hold_days or age > coefficient("reading_hot_days").value:
        return
    text = _("{heap}: {days} of {asked} days in a row at {temp} or more have been measured.")
    yield Point(
        "note",
        text.format(heap=heap_name(sight, batch), days=days, asked=f"{rule.hold_days:g}", temp=sight.words.temp(rule.temp_c)),
        _("A day without a reading does not count. Until then treat what comes of it as raw."),
        reverse("pages:heap", args=[sight.slug, batch.id]),
        _("See the heap"),
    )  # fmt: skip


def heap_name(sight: Sight, batch: Batch) -> str:
    """Return what people call the heap a batch stands in, with the day it was built."""
    name = next((one.name for one in sight.garden.heaps if one.id == batch.heap), batch.heap)
    return _("{heap}, built {day}").format(heap=name, day=sight.words.short_day(batch.built))


def _reports(sight: Sight) -> Iterator[Point]:
    if sight.prepared is None:
        return
    reports = [
        one for each in (*sight.prepared.reports.values(), *sight.prepared.soil_reports.values()) for one in each
    ]
    count = sum(len(one.questions) for one in reports)
    if count:
        text = ngettext(
            "{count} question about a laboratory report is open.",
            "{count} questions about laboratory reports are open.",
            count,
        )
        yield Point(
            "warning", text.format(count=count), _("The values behind them are not used until somebody answers."),
            reverse("pages:reports", args=[sight.slug]), _("Answer them"),
        )  # fmt: skip


def _findings(sight: Sight) -> Iterator[Point]:
    found: list[Finding] = [] if sight.plan is None else by_severity(sight.plan.findings)
    beds = {one.id for one in sight.garden.beds}
    grave = [one for one in found if one.severity != "note" and one.code not in ("question_open", "set_aside")]
    kinds: dict[str, list[Finding]] = {}
    for one in grave:
        kinds.setdefault(one.code, []).append(one)
    for one, *others in list(kinds.values())[:MOST_FINDINGS]:
        material = next((m for m in sight.garden.materials if m.name == one.about.split(" · ")[0]), None)
        bed = next((b for b in sight.garden.beds if b.name == one.about.split(" · ")[0]), None)
        href = ""
        if material:
            href = reverse("pages:material", args=[sight.slug, material.id])
        elif bed or one.about in beds:
            href = reverse("pages:bed", args=[sight.slug, bed.id if bed else one.about])
        more = ngettext("and {count} more like it", "and {count} more like it", len(others)).format(count=len(others))
        if others:
            href, button = reverse("pages:season", args=[sight.slug]) + "#said", more
        else:
            button = _("See it") if href else ""
        yield Point(one.severity, one.text, for_web(one.proposal), href, button, model=True)
