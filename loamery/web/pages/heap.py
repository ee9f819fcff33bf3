"""Heaps and worm beds: what is foreseen beside what thermometer, hand and nose said."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from loamery.evidence.cautions import general_cautions
from loamery.garden.model import Garden, WormBed
from loamery.garden.records import Batch
from loamery.heap.forecast import Forecast
from loamery.reference import coefficient
from loamery.season.plan import Batch as PlannedBatch
from loamery.web.pages.doing import WEEK
from loamery.web.pages.learning import unlearnt, with_dots
from loamery.web.pages.origin_heaps import HOT_C, WORM_WARMTH, hot_days, longest_run
from loamery.web.pages.sight import Learnt, Sight
from loamery.web.pages.terms import FEELS, SMELLS, named, stuff_name
from loamery.web.pages.today import heap_name
from loamery.web.pages.words import Shown
from loamery.worms.published import feed_kg_per_week


def heaps(sight: Sight) -> dict[str, Any]:
    """Return the heaps that stand, those planned, and the worm beds."""
    standing = [one for one in sight.garden.batches if one.emptied is None]
    emptied = [one for one in sight.garden.batches if one.emptied is not None]
    planned = [one for one in sight.plan.batches if one.day >= sight.on] if sight.plan else []
    return {
        "standing": [_card(sight, one) for one in standing],
        "planned": [_planned_card(sight, one) for one in planned],
        "worms": [
            {"name": one.name, "href": reverse("pages:worms", args=[sight.slug, one.id]), "fed": _fed(sight, one)}
            for one in sight.garden.worm_beds
        ],
        "emptied": [_card(sight, one) for one in sorted(emptied, key=lambda one: one.built, reverse=True)[:12]],
        "cautions": [one for one in general_cautions(["heap"]) if one.code == "hot-heap-steam"],
    }


def _card(sight: Sight, one: Batch) -> dict[str, Any]:
    taken = sorted(
        (each for each in sight.garden.readings if each.batch == one.id and each.temp_c is not None),
        key=lambda each: each.on,
    )
    learnt = sight.reckoned.heaps.get(one.id)
    return {
        "name": heap_name(sight, one),
        "href": reverse("pages:heap", args=[sight.slug, one.id]),
        "age": (sight.on - one.built).days if one.emptied is None else None,
        "last": Shown(sight.words.temp(taken[-1].temp_c or 0.0), kept=sight.kept(taken[-1])) if taken else "",
        "last_on": sight.words.short_day(taken[-1].on) if taken else "",
        "ready": Shown(_ready(sight, learnt.told), "", f"heap/{one.id}/ready") if learnt else "",
        "gave": Shown(sight.words.mass(one.compost_kg), kept=sight.kept(one)) if one.compost_kg else "",
    }


def _planned_card(sight: Sight, one: PlannedBatch) -> dict[str, Any]:
    return {
        "name": _("{heap}, to build from {day}").format(heap=one.heap_name, day=sight.words.short_day(one.day)),
        "href": reverse("pages:heap", args=[sight.slug, f"plan-{one.id}"]),
        "parts": _planned_parts(sight, one),
        "gives": Shown(sight.words.mass(one.compost_kg), "", f"batch/{one.id}"),
        "ready": Shown(sight.words.day(one.ready_day), "", f"batch/{one.id}"),
    }


def heap(sight: Sight, batch: Batch | None, planned: PlannedBatch | None) -> dict[str, Any]:
    """Return what the page of one heap, built or planned, shows."""
    key = batch.id if batch else f"plan-{planned.id}" if planned else ""
    learnt = sight.reckoned.heaps.get(key)
    out: dict[str, Any] = {"key": key, "built": batch, "cautions": general_cautions(["heap"])}
    if batch is not None:
        out |= {"title": heap_name(sight, batch), "parts": _parts(sight, sight.garden, batch), **_log(sight, batch)}
    elif planned is not None:
        out |= {"title": _("{heap}, to build from {day}").format(heap=planned.heap_name, day=sight.words.day(planned.day)),
                "parts": _planned_parts(sight, planned), "log": [], "water": Shown(sight.words.litres(planned.water_l), "", f"batch/{planned.id}")}  # fmt: skip
    if learnt is not None:
        out |= foreseen(sight, learnt, key)
    if learnt is not None and batch is not None:
        waiting = unlearnt(sight.garden, batch, learnt)
        out["waiting"] = (
            sight.words.listing(dict.fromkeys(sight.words.day(one.on) for one in waiting)) if waiting else ""
        )
        out["charts"] = with_dots(sight.garden, batch, learnt, sight.words.system, out["charts"])
    return out


def foreseen(sight: Sight, learnt: Learnt, key: str) -> dict[str, Any]:
    """Return the forecast as facts and charts, readings beside it."""
    told = learnt.told
    here = f"heap/{key}"
    facts = [
        {"label": _("Warmest"), "shown": Shown(sight.words.temp(told.peak_c.median), _ends(sight, told), f"{here}/peak"),
         "word": _("around {day}").format(day=sight.words.short_day(told.on(told.peak_day.median)))},
        {"label": _("Days with some part at {temp} or more").format(temp=sight.words.temp(HOT_C)),
         "shown": Shown(sight.words.number(told.days_above_55.median, 2), sight.words.between(told.days_above_55), f"{here}/hot"), "word": ""},
        {"label": _("Ready, cool and quiet"), "shown": Shown(_ready(sight, told), "", f"{here}/ready"),
         "word": _("in the time looked at, in this share of the runs:"), "more": Shown(sight.words.share(told.ready_share), "", f"{here}/share")},
        {"label": _("Mass left at the end"), "shown": Shown(sight.words.share(told.kept("mass_kg").median), "", f"{here}/mass"), "word": ""},
    ]  # fmt: skip
    rules = [
        {
            "words": one.rule.words,
            "state": one.state,
            "share": Shown(sight.words.share(one.share), "", f"{here}/rule-{place}"),
            "needs": one.needs,
        }
        for place, one in enumerate(told.hygiene)
    ]
    return {
        "facts": facts,
        "charts": sight.charts(here),
        "learnt": learnt.words,
        "rules": rules,
    }


def _ends(sight: Sight, told: Forecast) -> str:
    low, high = sight.words.temp(told.peak_c.low), sight.words.temp(told.peak_c.high)
    return _("{low} to {high}").format(low=low, high=high)


def _ready(sight: Sight, told: Forecast) -> str:
    if told.ready.median == float("inf"):
        return _("later than {day}").format(day=sight.words.short_day(told.on(float(told.day[-1]))))
    return sight.words.day(told.on(told.ready.median))


def _parts(sight: Sight, garden: Garden, batch: Batch) -> list[dict[str, Any]]:
    found = [one for one in garden.batch_parts if one.batch == batch.id]
    return [
        {
            "name": stuff_name(garden.material(one.material).name),
            "kg": Shown(sight.words.mass(one.kg), kept=sight.kept(one)),
        }
        for one in sorted(found, key=lambda one: -one.kg)
    ]


def _planned_parts(sight: Sight, planned: PlannedBatch) -> list[dict[str, Any]]:
    return [
        {
            "name": stuff_name(sight.garden.material(key).name),
            "kg": Shown(sight.words.mass(kg), "", f"{planned.recipe.id}/blend/amount/{key}"),
        }
        for key, kg in sorted(planned.parts_kg.items(), key=lambda item: -item[1])
    ]


def _log(sight: Sight, batch: Batch) -> dict[str, Any]:
    """Return everything written down about a heap, the newest first, and the longest hot run measured."""
    rows: list[tuple[Any, str, Shown | None, str]] = []
    for one in sight.garden.readings:
        if one.batch == batch.id:
            place = sight.kept(one)
            found = [sight.words.temp(one.temp_c)] if one.temp_c is not None else []
            found += [_("at {depth}").format(depth=sight.words.depth(one.depth_m))] if one.depth_m is not None else []
            temp, said = Shown(" ".join(found), kept=place) if found else None, []
            said += [named(FEELS, one.feel)] if one.feel else []
            said += [named(SMELLS, one.smell)] if one.smell else []
            rows.append((one.on, _("Reading"), temp, ", ".join([*said, *([one.note] if one.note else [])])))
    rows += [(one.on, _("Turned"), None, one.note) for one in sight.garden.turnings if one.batch == batch.id]
    rows += [
        (one.on, _("Watered"), Shown(sight.words.litres(one.kg), kept=sight.kept(one)), "")
        for one in sight.garden.waterings
        if one.batch == batch.id
    ]
    rows.sort(key=lambda row: row[0], reverse=True)
    run = longest_run(hot_days(sight.garden, batch.id))
    return {
        "log": [
            {"day": sight.words.day(on), "what": what, "shown": shown, "more": more}
            for on, what, shown, more in rows[:60]
        ],
        "hot_run": Shown(ngettext("{count} day", "{count} days", run).format(count=run), "", f"run/{batch.id}"),
    }


def worm_bed(sight: Sight, one: WormBed) -> dict[str, Any]:
    """Return what the page of one worm bed shows."""
    fed = sorted(
        (each for each in sight.garden.feedings if each.worm_bed == one.id), key=lambda each: each.on, reverse=True
    )
    actions = enumerate(sight.plan.actions) if sight.plan else ()
    asked = [(index, each) for index, each in actions if each.task == "feed" and each.target == one.id]
    coming = [(index, each) for index, each in asked if each.day >= sight.on - WEEK][:8]
    here, (low, high) = sight.kept(one), (coefficient(key).value for key in WORM_WARMTH)
    return {
        "worm_bed": one,
        "area": Shown(sight.words.amount(one.area_m2, "area"), kept=here),
        "worms": Shown(sight.words.mass(one.worms_kg), kept=here) if one.worms_kg else None,
        "warmth": Shown(_("{low} to {high}").format(low=sight.words.temp(low), high=sight.words.temp(high)), "", f"worms/{one.id}/warmth"),
        "most": Shown(sight.words.mass(feed_kg_per_week(one)), "", f"worms/{one.id}"),
        "coming": [
            {"day": sight.words.week(each.day), "what": stuff_name(each.stuff_name), "kg": Shown(sight.words.mass(each.kg), "", f"chore/{index}")}
            for index, each in coming
        ],
        "fed": [
            {"day": sight.words.day(each.on), "what": stuff_name(sight.garden.material(each.material).name),
             "kg": Shown(sight.words.mass(each.kg), kept=sight.kept(each))}
            for each in fed[:12]
        ],
        "total": _fed(sight, one),
        "cautions": general_cautions(["worm_bed"]),
    }  # fmt: skip


def _fed(sight: Sight, one: WormBed) -> Shown:
    kg = sum(each.kg for each in sight.garden.feedings if each.worm_bed == one.id)
    return Shown(sight.words.mass(kg), "", f"record/feedings/{one.id}")
