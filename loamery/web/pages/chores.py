"""From a chore of the plan to the record that says it was done."""

from __future__ import annotations

from datetime import date
from typing import Any

from loamery.season.bought import is_bought
from loamery.season.plan import Action
from loamery.web.pages.sight import Sight

Values = dict[str, Any]


def deed_of(sight: Sight, action: Action, on: date) -> tuple[str, Values | None, list[Values]]:
    """Return the kind of record, its values as planned, and what goes with it (the parts of a heap).

    Notes
    -----
    Values are None where there is nothing the work could be done to: no heap stands that could be turned. Sacks have no
    ``donor`` the first time: only a person knows the shop.
    """
    if action.task == "collect":
        return "loads", {"id": free_key(sight, "loads", f"{action.stuff}-{on:%Y%m%d}"), "donor": action.target,
                         "material": action.stuff, "on": on, "kg": _kg(action)}, []  # fmt: skip
    if action.task == "buy":
        return "loads", _bought(sight, action, on), []
    if action.task == "feed":
        return "feedings", {"worm_bed": action.target, "material": action.stuff, "on": on, "kg": _kg(action)}, []
    if action.task == "turn":
        standing = _standing(sight, action.target, on)
        return "turnings", {"batch": standing, "on": on} if standing else None, []
    if action.task == "build":
        return _building(sight, action, on)
    return "applications", _spreading(sight, action, on), []


def _kg(action: Action) -> float:
    return round(action.kg, 2)


def _bought(sight: Sight, action: Action, on: date) -> Values:
    """Return the load that sacks are written down as; its donor is the shop of the last time, left out where there was none."""
    loads, garden = sight.garden.loads, sight.garden
    before = [one for one in loads if one.material == action.stuff and is_bought(garden, one)]
    shop = {"donor": max(before, key=lambda one: one.on).donor} if before else {}
    return {
        "id": free_key(sight, "loads", f"{action.stuff}-{on:%Y%m%d}"),
        **shop,
        "material": action.stuff,
        "on": on,
        "kg": _kg(action),
        "price_per_kg": round(action.cost / action.kg, 4),
    }


def _standing(sight: Sight, heap: str, on: date) -> str:
    """Return the heap that stands in a place on a day, empty when there is none."""
    found = [
        one
        for one in sight.garden.batches
        if one.heap == heap and one.built <= on and (one.emptied is None or on <= one.emptied)
    ]
    return max(found, key=lambda one: one.built).id if found else ""


def _building(sight: Sight, action: Action, on: date) -> tuple[str, Values, list[Values]]:
    key = free_key(sight, "batches", f"{action.target}-{on:%Y%m%d}")
    planned = next(
        (
            one
            for one in (sight.plan.batches if sight.plan else ())
            if (one.heap, one.week) == (action.target, action.week)
        ),
        None,
    )
    water = round(planned.water_l, 1) if planned else 0.0
    values = {"id": key, "heap": action.target, "built": on, "water_kg": water}
    parts = [
        {"batch": key, "material": material, "kg": round(kg, 2)}
        for material, kg in (planned.parts_kg.items() if planned else ())
        if kg > 0
    ]
    return "batches", values, parts


def _spreading(sight: Sight, action: Action, on: date) -> Values:
    values: Values = {"bed": action.target, "on": on, "kg": _kg(action), "use": action.task}
    if action.depth_m > 0:
        values["depth_m"] = round(action.depth_m, 4)
    raw = {one.id for one in sight.garden.materials}
    recipes = {one.id for one in sight.plan.recipes} if sight.plan else set()
    if action.stuff in raw:
        return {**values, "material": action.stuff}
    if action.stuff in recipes and sight.garden.batches:
        done = [one for one in sight.garden.batches if one.built <= on]
        return {**values, "batch": min(done or sight.garden.batches, key=lambda one: one.built).id}
    if sight.garden.worm_beds:
        return {**values, "worm_bed": sight.garden.worm_beds[0].id}
    return values


def free_key(sight: Sight, kind: str, wanted: str) -> str:
    """Return a short name that no record of the kind has."""
    plain = wanted[:55].strip("-")
    taken = {one.id for one in getattr(sight.garden, kind)}
    return next(one for one in (plain, *(f"{plain}-{n}" for n in range(2, len(taken) + 3))) if one not in taken)
