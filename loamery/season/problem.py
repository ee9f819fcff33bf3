"""The season as arrays: what there is, where it may go, what it gives, and what each bed needs and may take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import DAYS_PER_WEEK
from loamery.garden.model import Garden, Good, Heap, Supply
from loamery.heap.published import lead_time_weeks
from loamery.season.allowed import allowed_weeks
from loamery.season.believed import AS_PUBLISHED, Believed
from loamery.season.bought import left_to_buy
from loamery.season.calendar import Calendar
from loamery.season.from_bed import Seasons, seasons_of
from loamery.season.needs import BedNeed
from loamery.season.recipes import Recipe
from loamery.season.scenarios import SCENARIOS, Scenarios, make_scenarios
from loamery.season.so_far import SoFar, Standing, standing_heaps, take_stock, uses_done
from loamery.season.spreads import Spread, spreads_of
from loamery.season.stuff import Stuff, castings_stuff, castings_yield_dry, compost_stuff
from loamery.units import to_si
from loamery.worms.published import castings_share
from loamery.worms.published import lead_time_weeks as castings_weeks

Array = NDArray[np.float64]
CHECK_EVERY_WEEKS = 4
"""How often nitrogen supply is held against demand; a grid, not a coefficient."""
BUILD_EVERY_WEEKS = 2
"""Heaps are built every other week, which halves the yes-or-no decisions and suits working days."""


@dataclass(frozen=True)
class HeapPlaces:
    """Heaps of the same size, which the programme counts instead of telling apart."""

    capacity_m3: float
    heaps: tuple[Heap, ...]


def heap_places(heaps: Sequence[Heap]) -> tuple[HeapPlaces, ...]:
    """Return the heaps grouped by size, the largest first."""
    sizes = sorted({one.capacity_m3 for one in heaps}, reverse=True)
    return tuple(HeapPlaces(size, tuple(one for one in heaps if one.capacity_m3 == size)) for size in sizes)


@dataclass(frozen=True)
class Problem:
    """Everything the programme needs.

    Parameters
    ----------
    places : heaps grouped by size.
    raw : raw materials; stuffs : raw materials, composts, castings and composts of standing heaps, in this order.
    lots : supplies with the index of their material and kg per week, shape (lots, weeks); goods : bought by the sack.
    store_kg : of each stuff on the first day, (stuffs,).
    spreads : ways to use stuff on beds; allowed : mask of shape (spreads, beds, weeks).
    recipes, composts, compost_yield : heap recipes, their compost, kg compost per kg of ingredients.
    buildable : weeks in which heaps are started, (weeks,).
    ready : 1 where a batch of a recipe built in a week has given compost by the end of a week, (recipes, weeks, weeks).
    lead_weeks : the weeks that takes, (recipes, weeks).
    castings : of the mixture the worms may get, None without a worm bed; castings_yield : kg castings per kg of each
        raw material, 0 for what worms do not get; castings_ready as `ready`.
    standing : heaps built already; so_far : everything that was done already.
    seasons : kinds of season the draws belong to. scenarios : draws the plan is made for.
    room : by block of rows, how much of its limit may be used; all of it where none is named.
    held : amounts a person fixed, kg, (spreads, beds, weeks), not a number where the plan is free; None where nothing is fixed.
    """

    garden: Garden
    calendar: Calendar
    needs: tuple[BedNeed, ...]
    raw: tuple[Stuff, ...]
    stuffs: tuple[Stuff, ...]
    places: tuple[HeapPlaces, ...]
    lots: tuple[Supply, ...]
    lot_material: NDArray[np.int64]
    lot_kg: Array
    goods: tuple[Good, ...]
    store_kg: Array
    spreads: tuple[Spread, ...]
    allowed: NDArray[np.bool_]
    recipes: tuple[Recipe, ...]
    composts: tuple[Stuff, ...]
    compost_yield: Array
    buildable: NDArray[np.bool_]
    ready: Array
    lead_weeks: Array
    castings: Stuff | None
    castings_yield: Array
    castings_ready: Array
    standing: tuple[Standing, ...]
    so_far: SoFar
    seasons: Seasons
    scenarios: Scenarios
    room: Mapping[str, float] = field(default_factory=dict)
    held: Array | None = None

    @property
    def open_weeks(self) -> NDArray[np.bool_]:
        """Return the weeks that are planned, shape (weeks,); the others are past."""
        return np.arange(self.calendar.weeks) >= self.so_far.week

    @property
    def fixed(self) -> NDArray[np.bool_]:
        """Return where a person fixed what is spread, shape (spreads, beds, weeks)."""
        return np.zeros(self.allowed.shape, dtype=bool) if self.held is None else np.isfinite(self.held)

    @property
    def spreading(self) -> NDArray[np.bool_]:
        """Return where something may still be spread, or was, shape (spreads, beds, weeks)."""
        return np.asarray((self.allowed & self.open_weeks) | (self.so_far.spread > 0))

    @property
    def checks(self) -> NDArray[np.int64]:
        """Return the weeks at whose end nitrogen is held against demand; the last week is one of them."""
        last = self.calendar.weeks - 1
        return np.unique(np.append(np.arange(CHECK_EVERY_WEEKS - 1, last, CHECK_EVERY_WEEKS), last))

    @property
    def area_m2(self) -> Array:
        """Return the area of each bed."""
        return np.array([need.bed.area_m2 for need in self.needs])

    @property
    def shares(self) -> Array:
        """Return the share of each raw material in each recipe, shape (raw, recipes)."""
        rows = [[dict(one.shares).get(stuff.id, 0.0) for one in self.recipes] for stuff in self.raw]
        return np.array(rows).reshape(len(self.raw), len(self.recipes))

    @property
    def good_material(self) -> NDArray[np.int64]:
        """Return the index of the material of each good."""
        order = {one.id: index for index, one in enumerate(self.raw)}
        return np.array([order[one.material] for one in self.goods], dtype=np.int64)

    @property
    def spread_stuff(self) -> NDArray[np.int64]:
        """Return the index of the stuff of each spread."""
        order = {one.id: index for index, one in enumerate(self.stuffs)}
        return np.array([order[one.stuff.id] for one in self.spreads], dtype=np.int64)


def make_problem(
    garden: Garden,
    calendar: Calendar,
    needs: Sequence[BedNeed],
    raw: Sequence[Stuff],
    recipes: Sequence[Recipe],
    *,
    believed: Believed = AS_PUBLISHED,
    scenarios: int = SCENARIOS,
    since: date | None = None,
) -> Problem:
    """Return the season as arrays.

    Parameters
    ----------
    raw : one stuff for each material of the garden.
    recipes : what heaps may be built from.
    believed : what simulators found, in place of published factors.
    scenarios : for how many draws the plan is made.
    since : first day that is planned, in mid-season; the first day of the season when None.
    """
    since = since or calendar.start
    seasons = seasons_of(garden, calendar, needs)
    needs = _soils(needs, believed, seasons)
    standing, findings = standing_heaps(garden, calendar, raw, since, believed)
    made = _composts(raw, recipes, believed)
    eaten = np.array([_offered(garden, one) if _fed(garden, one) else 0.0 for one in raw])
    castings = castings_stuff([(one, kg / eaten.sum()) for one, kg in zip(raw, eaten, strict=True) if kg > 0]) if eaten.any() else None  # fmt: skip
    castings_yield = np.array(
        [float(kg > 0) * _castings_yield(believed) * np.median(one.dry) for one, kg in zip(raw, eaten, strict=True)]
    )
    products = [*(stuff for stuff, _ in made), *([castings] if castings else []), *(one.compost for one in standing)]
    stuffs = (*raw, *products)
    spreads = spreads_of(stuffs, calendar, garden.info, seasons, uses_done(garden, since))
    order = {one.id: index for index, one in enumerate(stuffs)}
    lots, places = tuple(one for one in garden.supplies if one.kg_per_week > 0), heap_places(garden.heaps)
    store_kg = np.array([sum(one.kg for one in garden.stores if one.material == key) for key in order], dtype=float)
    lead = np.array([_lead_weeks(one, calendar, believed) for one in recipes]).reshape(len(recipes), calendar.weeks)
    so_far = take_stock(
        garden,
        calendar,
        since,
        raw=raw,
        stuffs=stuffs,
        spreads=[(one.stuff.id, one.use) for one in spreads],
        places=[[heap.id for heap in place.heaps] for place in places],
        store_kg=store_kg,
        standing=standing,
        castings_yield=castings_yield if castings else np.zeros(len(raw)),
        findings=findings,
    )
    return Problem(
        garden=garden,
        calendar=calendar,
        needs=tuple(needs),
        raw=tuple(raw),
        stuffs=stuffs,
        places=places,
        lots=lots,
        lot_material=np.array([order[one.material] for one in lots], dtype=np.int64),
        lot_kg=np.array([_weekly(one, calendar) for one in lots]).reshape(len(lots), calendar.weeks),
        goods=left_to_buy(garden, calendar, since),
        store_kg=store_kg,
        spreads=spreads,
        allowed=allowed_weeks(spreads, needs, calendar, garden),
        recipes=tuple(recipes),
        composts=tuple(stuff for stuff, _ in made),
        compost_yield=np.array([share for _, share in made]),
        buildable=np.arange(calendar.weeks) % BUILD_EVERY_WEEKS == so_far.week % BUILD_EVERY_WEEKS,
        ready=np.array([_ready(weeks) for weeks in lead]).reshape(len(recipes), calendar.weeks, calendar.weeks),
        lead_weeks=lead,
        castings=castings,
        castings_yield=castings_yield,
        castings_ready=_ready(np.full(calendar.weeks, castings_weeks())),
        standing=standing,
        so_far=so_far,
        seasons=seasons,
        scenarios=make_scenarios(garden, seasons, needs, spreads, raw, scenarios),
        room=believed.room,
    )


def _soils(needs: Sequence[BedNeed], believed: Believed, seasons: Seasons) -> list[BedNeed]:
    """Return needs with the nitrogen of their soils: what a simulator told, or the middle of what the bed model says."""
    middle = np.median(seasons.soil_n_kg_m2, axis=0)
    told = [believed.soil_n_kg_m2.get(one.bed.id, middle[row]) for row, one in enumerate(needs)]
    return [replace(one, n_soil_kg_m2=np.asarray(soil, dtype=float)) for one, soil in zip(needs, told, strict=True)]


def _castings_yield(believed: Believed) -> float:
    scale = 1.0 if believed.castings_share is None else believed.castings_share / castings_share()
    return scale * castings_yield_dry()


def _composts(raw: Sequence[Stuff], recipes: Sequence[Recipe], believed: Believed) -> list[tuple[Stuff, float]]:
    by_id = {one.id: one for one in raw}
    return [
        compost_stuff(
            one.id, one.compost_name, [(by_id[key], share) for key, share in one.shares], believed.lost.get(one.id)
        )
        for one in recipes
    ]


def _fed(garden: Garden, stuff: Stuff) -> bool:
    return "worm_bed" in stuff.uses and bool(garden.worm_beds)


def _offered(garden: Garden, stuff: Stuff) -> float:
    return sum(
        one.kg_per_week * ((one.last - one.first).days + 1) for one in garden.supplies if one.material == stuff.id
    )


def _weekly(supply: Supply, calendar: Calendar) -> Array:
    """Return what a donor can give in each week, a week with only some of its days in part."""
    out = np.zeros(calendar.weeks)
    for week in range(calendar.weeks):
        first = max(supply.first, calendar.monday(week))
        last = min(supply.last, calendar.monday(week + 1) - timedelta(days=1))
        out[week] = supply.kg_per_week * max((last - first).days + 1, 0) / DAYS_PER_WEEK
    return out


def _lead_weeks(recipe: Recipe, calendar: Calendar, believed: Believed) -> Array:
    published = np.array([lead_time_weeks(float(temp)) for temp in calendar.temp_c])
    return np.broadcast_to(np.asarray(believed.lead_weeks.get(recipe.id, published), dtype=float), published.shape)


def _ready(lead_weeks: Array) -> Array:
    weeks = lead_weeks.size
    done = np.arange(weeks)[:, None] + np.ceil(lead_weeks)[:, None]
    return np.asarray((np.arange(weeks)[None, :] >= done).astype(float))


def depth_m_per_kg_m2(stuff: Stuff) -> float:
    """Return the depth of a layer of one kilogram on a square metre, m."""
    return 1.0 / float(np.median(stuff.density))


def bucket_kg(stuff: Stuff, garden: Garden) -> float:
    """Return what a bucket of a stuff weighs, kg."""
    return to_si(garden.info.bucket_l, "L") * float(np.median(stuff.density))
