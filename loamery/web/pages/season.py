"""The season as a picture that can be changed: what goes where in which week, and what moves when an amount moves."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from loamery.evidence.palette import Swatch
from loamery.evidence.picture import stuff_swatches
from loamery.finding import by_severity
from loamery.season.change import SPREADING, BedState, Effects, Move, changed
from loamery.season.holding import Held
from loamery.season.plan import Action, SeasonPlan
from loamery.units import show
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import NUTRIENT_NAMES, colon, crop, named, quantity_name, stuff_name, task_words, use_name
from loamery.web.pages.today import bought_amounts
from loamery.web.pages.words import Shown

WEEK, GUTTER, TALL, LEAST, HEAD, GAP = 34.0, 138.0, 52.0, 3.0, 34.0, 12.0
"""Picture in px: width of a week, of the names beside, height of the greatest amount, of none, of the head, between rows."""
LANE, BATCH = 15.0, 20.0
LETTERS = 6.0
"""Width of an average letter of a crop's name, px; a name that does not fit is left out."""
TOLD, NEAR = 0.005, 0.25
"""Changes below the first are not told, nor ceilings that stay below the second share."""
Moves = Mapping[int, tuple[float, int]]


def season(sight: Sight, bed: str = "") -> dict[str, Any]:
    """Return what the page of the season shows.

    Parameters
    ----------
    bed : whose amounts are listed for typing.
    """
    plan, moves = sight.solved, sight.moves
    if plan is None:
        return {"reason": sight.reckoned.failure}
    looks = stuff_swatches(plan)
    scale = TALL / math.sqrt(max((one.kg for one in plan.actions if one.task in SPREADING), default=1.0))
    rows, height = _rows(sight, plan, looks, moves, scale)
    factor, unit = show(1.0, "mass", sight.words.system)
    now = plan.calendar.week_of(sight.on)
    return {
        "rows": rows,
        "width": GUTTER + WEEK * plan.calendar.weeks,
        "height": height,
        "weeks": _weeks(plan),
        "now": None if not 0 <= now < plan.calendar.weeks else GUTTER + WEEK * (now + (sight.on.weekday() / 7)),
        "key": [replace(one, name=stuff_name(one.name)) for one in looks.values()],
        "facts": {
            "week": WEEK, "gutter": GUTTER, "tall": TALL, "least": LEAST, "scale": scale, "factor": factor, "unit": unit,
            "step": round(1.0 / factor if factor > 1 else 1.0, 3),
            "weeks": [sight.words.week(plan.calendar.monday(week)) for week in range(plan.calendar.weeks)],
        },
        "typed": _typed(sight, plan, moves, bed),
        "effects": effects(sight),
        "unit": unit,
        "hours": sight.charts("hours"),
        "summary": summary(sight, plan),
        "solved": {"scenarios": plan.scenarios, "seconds": sight.words.number(plan.seconds, 2), "gap": Shown(sight.words.hours(plan.gaps.get("cost", 0.0)), "", "season/gap")},
        "buys": [
            {"day": sight.words.week(one.day), "what": stuff_name(one.stuff_name), "amounts": bought_amounts(sight, index, one)}
            for index, one in enumerate(plan.actions) if one.task == "buy"
        ],
        "since": sight.words.day(plan.calendar.monday(plan.from_week)) if plan.from_week else "",
        "findings": [one for one in by_severity(plan.findings) if one.severity != "note"][:12],
    }  # fmt: skip


def summary(sight: Sight, plan: SeasonPlan) -> dict[str, Any]:
    """Return the plan in a few numbers."""
    words = sight.words
    facts = {
        "fetched": (_("Fetched"), words.mass(sum(one.collected_kg for one in plan.materials))),
        "heaps": (_("Heaps built"), str(len(plan.batches))),
        "hours": (_("Work"), words.hours(sum(plan.hours))),
        "busiest": (_("Busiest week"), words.hours(max(plan.hours, default=0.0))),
        "money": (_("Money"), f"{words.number(plan.money, 3)} {plan.garden.info.currency}"),
    }
    return {
        "weeks": plan.calendar.weeks,
        "start": words.day(plan.calendar.start),
        "facts": [{"label": label, "shown": Shown(text, "", f"season/{key}")} for key, (label, text) in facts.items()],
    }


def held_rows(sight: Sight, held: Sequence[Held]) -> list[dict[str, str]]:
    """Return the amounts fixed by hand as people read them, each at its place in the list."""
    beds = {one.id: one.name for one in sight.garden.beds}
    rows = []
    for one in held:
        where = task_words(one.use, stuff_name(one.stuff_name), beds.get(one.bed, one.bed))
        rows.append({"what": where, "amount": sight.words.mass(one.kg), "day": sight.words.week(one.day)})
    return rows


def _weeks(plan: SeasonPlan) -> list[dict[str, Any]]:
    before, out = 0, []
    for week in range(plan.calendar.weeks):
        day = plan.calendar.monday(week)
        out.append(
            {"x": GUTTER + WEEK * week, "day": day.day, "month": date_format(day, "F") if day.month != before else ""}
        )
        before = day.month
    return out


def _rows(
    sight: Sight, plan: SeasonPlan, looks: Mapping[str, Swatch], moves: Moves, scale: float
) -> tuple[list[dict[str, Any]], float]:  # fmt: skip
    """Return the rows of the picture from top to bottom, and its height."""
    y, rows = HEAD, []
    for bed in plan.beds:
        crops, lanes = _crops(plan, bed.need_data.plantings, y)
        floor = y + lanes * LANE + TALL + 4
        rows.append({"name": bed.name, "y": y, "crops": crops, "levers": _levers(sight, plan, bed.id, floor, looks, moves, scale),
                     "batches": [], "floor": floor})  # fmt: skip
        y = floor + GAP
    for heap in plan.garden.heaps:
        batches = [_batch(sight, plan, one, y, looks) for one in plan.batches if one.heap == heap.id]
        if batches:
            rows.append({"name": heap.name, "y": y, "crops": [], "levers": [], "batches": batches, "floor": y + BATCH})
            y += BATCH + GAP
    for box in plan.garden.worm_beds:
        fed = [one for one in plan.actions if one.task == "feed" and one.target == box.id]
        if fed:
            rows.append(
                {
                    "name": box.name,
                    "y": y,
                    "crops": [],
                    "levers": [],
                    "batches": _fed(sight, fed, y, looks),
                    "floor": y + BATCH,
                }
            )
            y += BATCH + GAP
    return rows, y


def _crops(plan: SeasonPlan, plantings: Sequence[Any], top: float) -> tuple[list[dict[str, Any]], int]:
    lanes: list[date] = []
    out = []
    for one in sorted(plantings, key=lambda each: each.planted):
        lane = next((at for at, busy in enumerate(lanes) if busy <= one.planted), len(lanes))
        lanes[lane : lane + 1] = [one.harvested]
        start = max((one.planted - plan.calendar.start).days / 7, 0.0)
        end = min((one.harvested - plan.calendar.start).days / 7, float(plan.calendar.weeks))
        wide, name = max((end - start) * WEEK - 2, 2.0), crop(one.crop)
        out.append({"x": round(GUTTER + start * WEEK, 1), "y": top + lane * LANE, "wide": round(wide, 1), "tall": LANE - 2,
                    "name": name, "fits": len(name) * LETTERS < wide - 6})  # fmt: skip
    return out, max(len(lanes), 1)


def _levers(
    sight: Sight, plan: SeasonPlan, bed: str, floor: float, looks: Mapping[str, Swatch], moves: Moves, scale: float
) -> list[dict[str, Any]]:  # fmt: skip
    """Return the bars of one bed that can be dragged; those of one week stand side by side."""
    mine = [(index, one) for index, one in enumerate(plan.actions) if one.target == bed and one.task in SPREADING]
    out = []
    for index, one in mine:
        same = [each for each, other in mine if other.week == one.week]
        wide = (WEEK - 4) / len(same)
        kg, week = moves.get(index, (one.kg, one.week))
        tall = max(LEAST, min(TALL, scale * math.sqrt(kg)))
        look = looks[one.stuff]
        shift = 2 + same.index(index) * wide
        out.append({
            "index": index, "kg": round(kg, 2), "week": week, "kg_was": round(one.kg, 2), "week_was": one.week, "floor": floor,
            "shift": round(shift, 1), "x": round(GUTTER + week * WEEK + shift, 1), "y": round(floor - tall, 1), "tall": round(tall, 1),
            "wide": round(wide - 1, 1), "colour": look.colour, "letters": look.letters if wide > 13 else "",
            "ink": "light" if look.on_colour == "#ffffff" else "dark", "top": floor - TALL,
            "words": task_words(one.task, stuff_name(one.stuff_name), one.target_name),
            "value": f"{sight.words.mass(kg)}, {sight.words.week(plan.calendar.monday(week))}",
            "now": round(show(kg, "mass", sight.words.system)[0], 1), "most": round(show(4 * one.kg, "mass", sight.words.system)[0]),
            "moved": index in moves,
        })  # fmt: skip
    return out


def _batch(sight: Sight, plan: SeasonPlan, one: Any, y: float, looks: Mapping[str, Swatch]) -> dict[str, Any]:
    end = min(one.ready_week, plan.calendar.weeks)
    x, wide = GUTTER + one.week * WEEK, max((end - one.week) * WEEK - 2, WEEK)
    total, at, parts = sum(one.parts_kg.values()), x + 1, []
    for key, kg in sorted(one.parts_kg.items(), key=lambda item: -item[1]):
        if key in looks:
            parts.append({"x": round(at, 1), "wide": round(2 * WEEK * kg / total, 1), "colour": looks[key].colour})
            at += 2 * WEEK * kg / total
    words = _("{compost}: {mass}, ready {day}").format(
        compost=one.recipe.compost_name, mass=sight.words.mass(one.compost_kg), day=sight.words.short_day(one.ready_day)
    )
    return {"x": x, "y": y, "wide": round(wide, 1), "tall": BATCH - 3, "parts": parts, "text_x": round(at + 5, 1),
            "name": one.recipe.compost_name if wide - 2 * WEEK > LETTERS * len(one.recipe.compost_name) else "", "words": words}  # fmt: skip


def _fed(sight: Sight, fed: Sequence[Action], y: float, looks: Mapping[str, Swatch]) -> list[dict[str, Any]]:
    out = []
    for one in fed:
        same = [each for each in fed if each.week == one.week]
        wide = (WEEK - 4) / len(same)
        x = GUTTER + one.week * WEEK + 2 + same.index(one) * wide
        part = {"x": round(x, 1), "wide": round(wide - 1, 1), "colour": looks[one.stuff].colour}
        words = (
            f"{task_words(one.task, stuff_name(one.stuff_name), one.target_name)}{colon()}{sight.words.mass(one.kg)}"
        )
        out.append(
            {
                "x": round(x, 1),
                "y": y,
                "wide": round(wide - 1, 1),
                "tall": BATCH - 6,
                "parts": [part],
                "text_x": 0,
                "name": "",
                "words": words,
            }
        )
    return out


def _typed(sight: Sight, plan: SeasonPlan, moves: Moves, bed: str) -> dict[str, Any]:
    """Return the amounts of one bed as fields to type into."""
    known = [one.id for one in plan.beds]
    chosen = bed if bed in known else known[0] if known else ""
    rows = []
    for index, one in enumerate(plan.actions):
        if one.target == chosen and one.task in SPREADING:
            kg, week = moves.get(index, (one.kg, one.week))
            rows.append({
                "index": index, "what": stuff_name(one.stuff_name), "use": use_name(one.task), "moved": index in moves, "week": week + 1,
                "amount": f"{show(kg, 'mass', sight.words.system)[0]:.1f}", "day": sight.words.week(plan.calendar.monday(week)),
            })  # fmt: skip
    return {"bed": chosen, "beds": [(one.id, one.name) for one in plan.beds], "rows": rows, "last": plan.calendar.weeks}


def effects(sight: Sight) -> dict[str, Any] | None:
    """Return what moves, None where nothing was changed or nothing can be reckoned."""
    plan, moves = sight.solved, sight.moves
    if plan is None or plan.levers is None or not moves:
        return None
    found = changed(plan, plan.levers, [Move(index, kg, week) for index, (kg, week) in moves.items()])
    beds = [
        _moved_bed(sight, before, after)
        for before, after in zip(found.before, found.after, strict=True)
        if before != after
    ]
    return {
        "beds": beds,
        "findings": by_severity(found.findings),
        "hours": _hours(sight, plan, found),
        "count": len(moves),
    }


def _moved_bed(sight: Sight, before: BedState, after: BedState) -> dict[str, Any]:
    rows = []
    for key in "NPK":
        most = max(before.supplied[key], after.supplied[key], before.need[key], TOLD) * 1.1
        rows.append({
            "name": named(NUTRIENT_NAMES, key), "before": sight.words.rate(before.supplied[key], f"bed/{after.bed}/supply/{key}"),
            "after": sight.words.rate(after.supplied[key], f"moved/{after.bed}/{key}"),
            "short": sight.words.rate(after.short[key], f"moved/{after.bed}/short-{key}") if after.short[key] > TOLD else None,
            "moved": abs(after.supplied[key] - before.supplied[key]) > TOLD, "over": False,
            "was": _wide(before.supplied[key], most), "is": _wide(after.supplied[key], most), "need": _wide(before.need[key], most),
        })  # fmt: skip
    for key, share in after.ceilings.items():
        was = before.ceilings[key]
        if abs(share - was) > TOLD and max(share, was) > NEAR:
            name = _("salts") if key == "salt" else quantity_name(key)
            most = max(share, was, 1.0) * 1.1
            rows.append({
                "name": _("Ceiling: {what}").format(what=name), "before": Shown(sight.words.share(was), "", f"bed/{after.bed}/share/{key}"),
                "after": Shown(sight.words.share(share), "", f"moved/{after.bed}/ceiling-{key}"), "short": None, "moved": True, "over": share > 1.0 + TOLD, "was": _wide(was, most), "is": _wide(share, most), "need": _wide(1.0, most),
            })  # fmt: skip
    return {
        "name": after.name,
        "rows": rows,
        "covered": [Shown(sight.words.share(one.covered), "", f"moved/{after.bed}/cover") for one in (before, after)],
    }


def _wide(value: float, most: float) -> float:
    return round(100.0 * min(max(value / most, 0.0), 1.0), 1)


def _hours(sight: Sight, plan: SeasonPlan, found: Effects) -> dict[str, Shown]:
    return {"before": Shown(sight.words.hours(sum(plan.hours)), "", "season/moved"),
            "after": Shown(sight.words.hours(sum(found.hours)), "", "season/moved")}  # fmt: skip
