"""What heaps may be built from: a few robust blends of what the garden has at the same time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loamery.blend.bounds import Bounds
from loamery.blend.ingredient import Ingredient
from loamery.blend.result import BlendResult
from loamery.blend.solve import solve_blend
from loamery.errors import InputError, NoPlan
from loamery.finding import Finding
from loamery.garden.model import Garden
from loamery.lab.composition import Composition
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.season.calendar import Calendar
from loamery.season.stuff import Stuff
from loamery.units import to_si

MOST_SETS, MOST_RECIPES, SCENARIOS = 2, 6, 80
KEEPS_WEEKS = 2
"""How widely recipes are searched; more costs time and seldom changes the plan."""
RECIPE_KG = 100.0
"""Recipes are solved for this mass; only the shares are used."""
PIN = 0.03
"""How far a share may move when a blend is pinned to the most reliable one."""
LEAST_SHARE = 0.04
"""A material below this share of a recipe is not worth carrying."""


@dataclass(frozen=True)
class Recipe:
    """A blend that heaps may be built from.

    Parameters
    ----------
    shares : material id and its share of the ingredients' mass, water not counted.
    water_kg_kg : water to add for each kg of ingredients.
    density_kg_m3 : of the moistened blend.
    blend : the blend as solved, with its bounds and traces.
    """

    id: str
    name: str
    shares: tuple[tuple[str, float], ...]
    water_kg_kg: float
    density_kg_m3: float
    blend: BlendResult

    @property
    def compost_name(self) -> str:
        """Return the name of the compost it becomes."""
        return f"Compost {self.id.removeprefix('recipe-')}"


def make_recipes(
    garden: Garden, calendar: Calendar, raw: Sequence[Stuff], compositions: Mapping[str, Composition]
) -> tuple[tuple[Recipe, ...], tuple[Finding, ...]]:
    """Return the recipes a heap may be built from, and what could not be blended.

    Parameters
    ----------
    raw : the garden's materials; those without the use ``heap`` are left out.
    compositions : by material id.

    Notes
    -----
    For every set of materials that is at hand together, one blend closest to the preferred ranges and one that uses
    most of each of its nitrogen-rich materials. Bounds hold in 90 % of draws (see `loamery.blend.solve`).
    """
    found: dict[tuple[tuple[str, float], ...], BlendResult] = {}
    failures: dict[str, Finding] = {}
    names = {one.id: one.name for one in raw}
    asked: set[tuple[str, ...]] = set()
    for at_hand in _sets_at_hand(garden, calendar, raw):
        for chosen, objective in _questions([one for one in raw if one.id in at_hand]):
            if (key := (objective, *(one.id for one in chosen))) in asked:
                continue
            asked.add(key)
            try:
                blend = _plain_blend(garden, chosen, objective, compositions)
            except NoPlan as why:
                failures.setdefault(str(why), _no_blend(why, [one.name for one in chosen]))
            else:
                found.setdefault(_shares(blend), blend)
    numbered = list(enumerate(found.items(), start=1))[:MOST_RECIPES]
    recipes = tuple(_recipe(number, shares, blend, names) for number, (shares, blend) in numbered)
    return recipes, () if recipes else tuple(failures.values())


def _plain_blend(
    garden: Garden, chosen: Sequence[Stuff], objective: str, compositions: Mapping[str, Composition]
) -> BlendResult:
    """Return a blend without pinches: what is below a share worth carrying is left out and the rest solved again."""
    blend = _blend(garden, chosen, objective, compositions)
    if blend.most_reliable is not None:
        return _reliable(garden, chosen, blend, compositions)
    total = sum(one.kg for one in blend.portions)
    worth = {one.name for one in blend.portions if one.kg / total >= LEAST_SHARE}
    if len(worth) == len(chosen):
        return blend
    try:
        return _blend(garden, [one for one in chosen if one.id in worth], objective, compositions)
    except (NoPlan, InputError):
        return blend


def _reliable(
    garden: Garden, chosen: Sequence[Stuff], blend: BlendResult, compositions: Mapping[str, Composition]
) -> BlendResult:
    """Return the blend that keeps its bounds most often, where none keeps them as often as asked."""
    kept = {key: kg for key, kg in (blend.most_reliable or {}).items() if any(one.id == key for one in chosen)}
    total = sum(kept.values())
    shares = {key: (kg / total - PIN, kg / total + PIN) for key, kg in kept.items() if kg / total >= LEAST_SHARE}
    used = [one for one in chosen if one.id in shares]
    bounds = replace(
        _bounds(used), shares={key: (max(low, 0.0), min(high, 1.0)) for key, (low, high) in shares.items()}
    )
    try:
        return _blend(garden, used, "closest", compositions, bounds)
    except (NoPlan, InputError):
        return blend


def _blend(
    garden: Garden,
    chosen: Sequence[Stuff],
    objective: str,
    compositions: Mapping[str, Composition],
    bounds: Bounds | None = None,
) -> BlendResult:
    bucket_l = garden.info.bucket_l
    ingredients = [Ingredient.from_composition(compositions[one.id], name=one.id, vessel_l=bucket_l) for one in chosen]
    return solve_blend(
        ingredients,
        bounds or replace(_bounds(chosen), shares=_at_most(garden, chosen)),
        total_kg=RECIPE_KG,
        objective=objective,
        n_scenarios=SCENARIOS,
        seed=garden.info.seed,
    )


def _questions(at_hand: Sequence[Stuff]) -> list[tuple[list[Stuff], str]]:
    """Return which materials to blend and to what end.

    Notes
    -----
    Everything together; each nitrogen-rich one that keeps, with all the browns; everything, with most of each rich one.
    """
    rich = [one for one in at_hand if one.group in ("green", "manure")]
    rich.sort(key=lambda one: float(-np.median(one.nitrogen)))
    lean = [one for one in at_hand if one not in rich]
    alone = [([one, *lean], "closest") for one in rich if one.storage_weeks >= KEEPS_WEEKS] if lean else []
    return [*alone, (list(at_hand), "closest"), *((list(at_hand), f"use_most:{one.id}") for one in rich)]


def _at_most(garden: Garden, chosen: Sequence[Stuff]) -> dict[str, tuple[None, float]]:
    """Return the largest share of the smallest heap that what comes in while it keeps can make up."""
    density = 1.0 / float(np.mean([1.0 / np.median(one.density) for one in chosen]))
    least_kg = coefficient("heap_min_volume").value * density
    out = {}
    for one in chosen:
        weekly = sum(supply.kg_per_week for supply in garden.supplies if supply.material == one.id)
        share = weekly * max(one.storage_weeks, 1.0) / least_kg
        if share < 1.0:
            out[one.id] = (None, share)
    return out


def _sets_at_hand(garden: Garden, calendar: Calendar, raw: Sequence[Stuff]) -> list[tuple[str, ...]]:
    """Return the different sets of heap materials that are at hand in some week, the most frequent first."""
    counts: dict[tuple[str, ...], int] = {}
    for week in range(calendar.weeks):
        at_hand = tuple(one.id for one in raw if _may_heat(one) and _at_hand(garden, calendar, one, week))
        if len(at_hand) > 1:
            counts[at_hand] = counts.get(at_hand, 0) + 1
    return sorted(counts, key=lambda key: -counts[key])[:MOST_SETS]


def _may_heat(stuff: Stuff) -> bool:
    """Tell whether a material is one that heaps are made of; ash and meals are seasoning and would sour or scorch."""
    return "heap" in stuff.uses and stuff.group in ("green", "brown", "manure")


def _at_hand(garden: Garden, calendar: Calendar, stuff: Stuff, week: int) -> bool:
    kept = int(stuff.storage_weeks)
    return any(
        calendar.week_of(one.first) <= week <= calendar.week_of(one.last) + kept
        for one in garden.supplies
        if one.material == stuff.id and one.kg_per_week > 0
    )


def _bounds(at_hand: Sequence[Stuff]) -> Bounds:
    """Return the published ranges, with the published limit for coffee grounds by volume."""
    most = coefficient("coffee_share_max").value
    return replace(
        Bounds.reasonable(), volume_shares={one.id: (None, most) for one in at_hand if one.kind == "coffee-spent"}
    )


def _shares(blend: BlendResult) -> tuple[tuple[str, float], ...]:
    total = sum(one.kg for one in blend.portions)
    kept = {one.name: one.kg / total for one in blend.portions if one.kg > 0}
    whole = sum(kept.values())
    return tuple((name, round(share / whole, 4)) for name, share in kept.items())


def _recipe(number: int, shares: tuple[tuple[str, float], ...], blend: BlendResult, names: Mapping[str, str]) -> Recipe:
    ingredients = sum(one.kg for one in blend.portions)
    whole = sum(share for _, share in shares)
    return Recipe(
        id=f"recipe-{number}",
        name=" + ".join(names[key].lower() for key, share in sorted(shares, key=lambda item: -item[1])),
        shares=tuple((key, share / whole) for key, share in shares),
        water_kg_kg=blend.water_kg / ingredients,
        density_kg_m3=blend.total_kg / to_si(blend.total_l or blend.total_kg, "L"),
        blend=blend,
    )


def _no_blend(why: NoPlan, at_hand: Sequence[str]) -> Finding:
    return Finding(
        "no_heap_blend",
        "warning",
        say("No heap can be blended from ") + joined(", ", (name.lower() for name in at_hand)) + ".",
        str(why),
        about="heap",
        proposal=joined("; ", why.remedies),
    )
