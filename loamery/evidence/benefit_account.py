"""What a garden's free material was good for, gathered from its records or, before there are any, from its plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loamery.bed.soil import SoilTest
from loamery.benefit.account import Use, Used
from loamery.finding import Finding
from loamery.garden.model import Garden
from loamery.lab.composition import Composition
from loamery.say import say
from loamery.season.first_season import first_season_nitrogen, garden_seasons
from loamery.season.from_bed import Seasons
from loamery.season.plan import SeasonPlan
from loamery.season.stuff import Stuff, castings_stuff, compost_stuff, raw_stuff
from loamery.words import number

Array = NDArray[np.float64]
Basis = Literal["records", "plan"]
NUTRIENTS = ("N", "P", "K")


@dataclass(frozen=True)
class Moved:
    """Masses as received, kg.

    Parameters
    ----------
    free, bought : by donor and material.
    uses : by material and use.
    """

    free: Mapping[tuple[str, str], float]
    bought: Mapping[tuple[str, str], float]
    uses: Mapping[tuple[str, Use], float]
    spent: float
    basis: Basis
    first: date
    last: date


@dataclass(frozen=True)
class Gathered:
    """Free material that was used, and the plant food in it.

    Parameters
    ----------
    lots : by donor, material and use.
    food : N, P, K that crops can use in the first season, kg as elements, for each lot, shape (draws,).
    """

    moved: Moved
    lots: tuple[Used, ...]
    food: tuple[Mapping[str, Array], ...] = field(repr=False)
    findings: tuple[Finding, ...] = ()

    def of(self, donor: str) -> list[int]:
        """Return the places of a donor's lots; of all of them for an empty name."""
        return [at for at, one in enumerate(self.lots) if donor in ("", one.donor)]

    def collected_kg(self, donor: str = "") -> float:
        """Return the free mass taken from a donor, or from all."""
        return sum(kg for (who, _), kg in self.moved.free.items() if donor in ("", who))

    def total_food(self, donor: str = "") -> dict[str, Array]:
        """Return N, P, K from a donor, or from all, kg, shape (draws,)."""
        return {key: np.asarray(sum((self.food[at][key] for at in self.of(donor)), np.zeros(1))) for key in NUTRIENTS}


def moved_by_records(garden: Garden) -> Moved | None:
    """Return what was really taken in and used, None when no load was ever written down."""
    if not garden.loads:
        return None
    free: dict[tuple[str, str], float] = {}
    bought: dict[tuple[str, str], float] = {}
    for one in garden.loads:
        side = bought if one.price_per_kg > 0 else free
        side[one.donor, one.material] = side.get((one.donor, one.material), 0.0) + one.kg
    uses: dict[tuple[str, Use], float] = {}

    def add(material: str, use: Use, kg: float) -> None:
        uses[material, use] = uses.get((material, use), 0.0) + kg

    for part in garden.batch_parts:
        add(part.material, "heap", part.kg)
    for given in garden.applications:
        if given.material is not None:
            add(given.material, given.use, given.kg)
    for feeding in garden.feedings:
        add(feeding.material, "worm_bed", feeding.kg)
    days = [
        *(one.on for one in garden.loads), *(one.on for one in garden.applications), *(one.on for one in garden.feedings)
    ]  # fmt: skip
    spent = sum(one.kg * one.price_per_kg for one in garden.loads)
    return Moved(free, bought, uses, spent, "records", min(days), max(days))


def moved_by_plan(plan: SeasonPlan) -> Moved:
    """Return what the plan would take in and use."""
    paid = {(one.donor, one.material) for one in plan.garden.supplies if one.price_per_kg > 0}
    free: dict[tuple[str, str], float] = {}
    bought: dict[tuple[str, str], float] = {}
    for one in plan.actions:
        if one.task == "collect":
            key = (one.target, one.stuff)
            side = bought if key in paid else free
            side[key] = side.get(key, 0.0) + one.kg
    uses: dict[tuple[str, Use], float] = {
        (one.material, use): kg  # type: ignore[misc]
        for one in plan.materials
        for use, kg in one.by_use_kg.items()
        if kg > 0.0 and use in ("heap", "worm_bed", "mulch", "dig_in")
    }
    return Moved(free, bought, uses, plan.money, "plan", plan.calendar.start, plan.calendar.end)


def gather(
    garden: Garden, compositions: Mapping[str, Composition], soils: Mapping[str, SoilTest], moved: Moved
) -> Gathered:
    """Return the lots of free material with their plant food.

    Each use of a material is shared among those who gave it by what each gave.

    Parameters
    ----------
    compositions : by material id. soils : by bed id.
    """
    lots: list[tuple[str, str, Use, float]] = []
    findings: list[Finding] = []
    for material in dict.fromkeys(name for _, name in moved.free):
        lots += _shared(garden, material, moved, findings)
    stuffs = {
        one.id: raw_stuff(one, compositions[one.id])
        for one in garden.materials
        if any(one.id == lot[1] for lot in lots)
    }
    used = tuple(
        Used(donor, material, garden.material(material).kind, use, kg, kg * stuffs[material].nitrogen)
        for donor, material, use, kg in lots
    )
    food = tuple(_Kitchen(used, stuffs, garden_seasons(garden, soils)).food()) if used else ()
    return Gathered(moved, used, food, tuple(findings))


def _shared(garden: Garden, material: str, moved: Moved, findings: list[Finding]) -> list[tuple[str, str, Use, float]]:
    gave = {who: kg for (who, what), kg in moved.free.items() if what == material}
    taken = sum(gave.values()) + sum(kg for (_, what), kg in moved.bought.items() if what == material)
    uses = {use: kg for (what, use), kg in moved.uses.items() if what == material}
    used = sum(uses.values())
    # a plan may use what lies in store or comes by the sack; only records can lack a load
    if used > 1.02 * taken and moved.basis == "records":
        findings.append(
            Finding("benefit_more_used", "warning", say("More {material} was used than was ever taken in; only what was taken in counts.", material=garden.material(material).name.lower()),
                    say("{used}\u00a0kg used, {taken}\u00a0kg taken in", used=number(used), taken=number(taken)), ("PRACTICE",), proposal=say("enter the loads that are missing"))
        )  # fmt: skip
    factor = min(1.0, taken / used) if used > 0 else 0.0
    return [(who, material, use, kg * factor * much / taken) for who, much in gave.items() for use, kg in uses.items()]


@dataclass(frozen=True, eq=False)
class _Kitchen:
    """What a garden's materials give crops in their first season, each worked out once."""

    lots: Sequence[Used]
    stuffs: Mapping[str, Stuff]
    seasons: Seasons
    known: dict[tuple[str, bool], Array] = field(default_factory=dict)

    def food(self) -> Iterator[dict[str, Array]]:
        """Yield what each lot gives; heaps and worm beds as the one compost all of it makes."""
        made = {use: self._made(use) for use in ("heap", "worm_bed")}
        for one in self.lots:
            stuff = self.stuffs[one.material]
            if one.use in ("mulch", "dig_in"):
                yield self._usable(stuff, one.kg, on_surface=one.use == "mulch")
                continue
            share = made[one.use]
            held = {"N": stuff.nitrogen, "P": stuff.p, "K": stuff.k}
            yield {key: one.kg * held[key] * share[key] for key in NUTRIENTS}

    def _usable(self, stuff: Stuff, kg: float | Array, *, on_surface: bool) -> dict[str, Array]:
        key = (stuff.id, on_surface)
        if key not in self.known:
            self.known[key] = first_season_nitrogen(stuff, self.seasons, on_surface=on_surface)
        decay = stuff.decay
        return {"N": kg * self.known[key], "P": kg * stuff.p * decay.p_share, "K": kg * stuff.k * decay.k_share}

    def _made(self, use: str) -> dict[str, Array]:
        """Return the share of what went into heaps or worm beds that crops can use in the first season after."""
        mine = [one for one in self.lots if one.use == use]
        total = sum(one.kg for one in mine)
        if total <= 0.0:
            return {key: np.zeros(1) for key in NUTRIENTS}
        parts = [(self.stuffs[one.material], one.kg / total) for one in mine]
        product, gives = (castings_stuff(parts), 0.0) if use == "worm_bed" else compost_stuff("heaps", "Compost", parts)
        went_in = {
            key: np.asarray(sum(share * held for (_, share), held in zip(parts, _held(parts, key), strict=True)))
            for key in NUTRIENTS
        }
        # phosphorus stays whole in castings
        mass = np.asarray(gives if gives else went_in["P"] / np.maximum(product.p, 1e-12))
        usable = self._usable(product, mass, on_surface=False)
        return {key: usable[key] / np.maximum(went_in[key], 1e-12) for key in NUTRIENTS}


def _held(parts: Sequence[tuple[Stuff, float]], key: str) -> list[Array]:
    return [{"N": one.nitrogen, "P": one.p, "K": one.k}[key] for one, _ in parts]
