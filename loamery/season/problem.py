"""The season as arrays: what there is, where it may go, what it gives, and what each bed needs and may take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import DAYS_PER_WEEK, mulch_left, net_nitrogen_share, release_progress
from loamery.garden.model import Garden, Heap, Supply, Use
from loamery.heap.published import lead_time_weeks
from loamery.reference import coefficient, table
from loamery.season.calendar import Calendar
from loamery.season.needs import BedNeed
from loamery.season.recipes import Recipe
from loamery.season.stuff import Stuff, castings_stuff, castings_yield_dry, compost_stuff
from loamery.units import to_si
from loamery.worms.published import lead_time_weeks as castings_weeks

Array = NDArray[np.float64]
CHECK_EVERY_WEEKS = 4
"""How often nitrogen supply is held against demand; a grid, not a coefficient."""


@dataclass(frozen=True)
class Spread:
    """One way to use one stuff on a bed, with what a kilogram of it gives.

    Parameters
    ----------
    n_kg_kg : nitrogen available by the end of a week when spread in a week, shape (weeks, weeks).
    p_kg_kg, k_kg_kg : available in the season.
    left : share of a mulch still lying there, shape (weeks, weeks); zeros for material dug in.
    decayed : share of a mulch that has decayed into the soil by the end of the season; 1 for material dug in.
    """

    stuff: Stuff
    use: Use
    n_kg_kg: Array
    p_kg_kg: float
    k_kg_kg: float
    left: Array
    decayed: float

    @property
    def name(self) -> str:
        """Return a name unique in the season."""
        return f"{self.stuff.id} / {self.use}"

    def reaching(self, key: str) -> float:
        """Return the share of a substance that reaches the soil this season: salts and potassium wash out at once."""
        return 1.0 if key in ("K", "salt") else self.decayed


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
    raw : raw materials; lots : supplies with the index of their material and kg per week, shape (lots, weeks).
    spreads : ways to use stuff on beds; allowed : mask of shape (spreads, beds, weeks).
    recipes, composts, compost_yield : heap recipes, their compost, kg compost per kg of ingredients.
    ready : 1 where a batch built in a week (row) has given compost by the end of a week (column), shape (weeks, weeks).
    castings : of the mixture the worms may get, None without a worm bed; castings_yield : kg castings per kg of each
        raw material, 0 for what worms do not get; castings_ready as `ready`.
    """

    garden: Garden
    calendar: Calendar
    needs: tuple[BedNeed, ...]
    raw: tuple[Stuff, ...]
    places: tuple[HeapPlaces, ...]
    lots: tuple[Supply, ...]
    lot_material: NDArray[np.int64]
    lot_kg: Array
    spreads: tuple[Spread, ...]
    allowed: NDArray[np.bool_]
    recipes: tuple[Recipe, ...]
    composts: tuple[Stuff, ...]
    compost_yield: Array
    ready: Array
    castings: Stuff | None
    castings_yield: Array
    castings_ready: Array

    @property
    def checks(self) -> NDArray[np.int64]:
        """Return the weeks at whose end nitrogen is held against demand; the last week is one of them."""
        last = self.calendar.weeks - 1
        return np.unique(np.append(np.arange(CHECK_EVERY_WEEKS - 1, last, CHECK_EVERY_WEEKS), last))


def make_problem(
    garden: Garden, calendar: Calendar, needs: Sequence[BedNeed], raw: Sequence[Stuff], recipes: Sequence[Recipe]
) -> Problem:
    """Return the season as arrays.

    Parameters
    ----------
    raw : one stuff for each material of the garden.
    recipes : what heaps may be built from.
    """
    by_id = {one.id: one for one in raw}
    made = [
        compost_stuff(one.id, one.compost_name, [(by_id[key], share) for key, share in one.shares]) for one in recipes
    ]
    eaten = [float("worm_bed" in one.uses and bool(garden.worm_beds)) * _offered(garden, one) for one in raw]
    feeds = [(one, kg / sum(eaten)) for one, kg in zip(raw, eaten, strict=True) if kg > 0]
    castings = castings_stuff(feeds) if feeds else None
    everything = [*raw, *(stuff for stuff, _ in made), *([castings] if castings else [])]
    spreads = tuple(
        _spread(one, use, calendar) for one in everything for use in ("mulch", "dig_in") if _spreadable(one, use)
    )
    lots = tuple(one for one in garden.supplies if one.kg_per_week > 0)
    order = {one.id: index for index, one in enumerate(raw)}
    return Problem(
        garden=garden,
        calendar=calendar,
        needs=tuple(needs),
        raw=tuple(raw),
        places=heap_places(garden.heaps),
        lots=lots,
        lot_material=np.array([order[one.material] for one in lots], dtype=np.int64),
        lot_kg=np.array([_weekly(one, calendar) for one in lots]).reshape(len(lots), calendar.weeks),
        spreads=spreads,
        allowed=np.array(
            [[_allowed_weeks(one, need, calendar, garden) for need in needs] for one in spreads], dtype=bool
        ),
        recipes=tuple(recipes),
        composts=tuple(stuff for stuff, _ in made),
        compost_yield=np.array([share for _, share in made]),
        ready=_ready([lead_time_weeks(float(temp)) for temp in calendar.temp_c]),
        castings=castings,
        castings_yield=np.array(
            [float(kg > 0) * castings_yield_dry() * np.median(one.dry) for one, kg in zip(raw, eaten, strict=True)]
        ),
        castings_ready=_ready([castings_weeks()] * calendar.weeks),
    )


def _offered(garden: Garden, stuff: Stuff) -> float:
    return sum(
        one.kg_per_week * ((one.last - one.first).days + 1) for one in garden.supplies if one.material == stuff.id
    )


def _spreadable(stuff: Stuff, use: str) -> bool:
    return use in stuff.uses and (use != "mulch" or stuff.mulch_depth_m > 0)


def _spread(stuff: Stuff, use: Use, calendar: Calendar) -> Spread:
    on_surface = use == "mulch"
    progress = release_progress(stuff.decay, calendar.temp_c, on_surface=on_surface)
    organic = float(np.median(stuff.n_organic * net_nitrogen_share(stuff.decay, stuff.c_to_n, on_surface=on_surface)))
    started = np.triu(np.ones_like(progress))
    decayed = stuff.decay.decomposed_frac if on_surface else 1.0
    return Spread(
        stuff=stuff,
        use=use,
        n_kg_kg=float(np.median(stuff.n_mineral)) * started + organic * progress,
        p_kg_kg=float(np.median(stuff.p)) * stuff.decay.p_share * decayed,
        k_kg_kg=float(np.median(stuff.k)) * stuff.decay.k_share,
        left=mulch_left(stuff.decay, calendar.temp_c) if on_surface else np.zeros_like(progress),
        decayed=decayed,
    )


def _weekly(supply: Supply, calendar: Calendar) -> Array:
    """Return what a donor can give in each week, a week with only some of its days in part."""
    out = np.zeros(calendar.weeks)
    for week in range(calendar.weeks):
        first = max(supply.first, calendar.monday(week))
        last = min(supply.last, calendar.monday(week + 1) - timedelta(days=1))
        out[week] = supply.kg_per_week * max((last - first).days + 1, 0) / DAYS_PER_WEEK
    return out


def _ready(lead_weeks: Sequence[float]) -> Array:
    weeks = len(lead_weeks)
    done = np.arange(weeks)[:, None] + np.ceil(np.asarray(lead_weeks))[:, None]
    return np.asarray((np.arange(weeks)[None, :] >= done).astype(float))


def _allowed_weeks(spread: Spread, need: BedNeed, calendar: Calendar, garden: Garden) -> list[bool]:
    return [_allowed(spread, need, week, calendar, garden) for week in range(calendar.weeks)]


def _allowed(spread: Spread, need: BedNeed, week: int, calendar: Calendar, garden: Garden) -> bool:
    """Tell whether a stuff may go on a bed in a week.

    Notes
    -----
    Into the soil before planting or in the first days after it; as a mulch once the crop stands; raw manure only where
    no crop is in the ground within the interval of the jurisdiction.
    """
    if not need.plantings or week > max(calendar.week_of(one.harvested) for one in need.plantings):
        return False
    if spread.stuff.is_raw_manure and _in_manure_interval(need, week, calendar, garden):
        return False
    since = [week - calendar.week_of(one.planted) for one in need.plantings if _stands(one, week, calendar)]
    if spread.use == "dig_in":
        return all(weeks <= coefficient("dig_in_wait_weeks").value for weeks in since)
    return bool(since) and all(weeks >= coefficient("mulch_wait_weeks").value for weeks in since)


def _stands(planting: object, week: int, calendar: Calendar) -> bool:
    return calendar.week_of(planting.planted) <= week <= calendar.week_of(planting.harvested)  # type: ignore[attr-defined]


def manure_days(garden: Garden) -> int:
    """Return the days between raw manure and the harvest of a crop that touches the soil."""
    row = next(row for row in table("jurisdictions") if row["key"] == garden.info.jurisdiction)
    return int(row["manure_interval_days_contact"])


def _in_manure_interval(need: BedNeed, week: int, calendar: Calendar, garden: Garden) -> bool:
    spread_on = calendar.monday(week)
    until = spread_on + timedelta(days=manure_days(garden))
    return any(one.planted < until and one.harvested >= spread_on for one in need.plantings)


def depth_m_per_kg_m2(stuff: Stuff) -> float:
    """Return the depth of a layer of one kilogram on a square metre, m."""
    return 1.0 / float(np.median(stuff.density))


def bucket_kg(stuff: Stuff, garden: Garden) -> float:
    """Return what a bucket of a stuff weighs, kg."""
    return to_si(garden.info.bucket_l, "L") * float(np.median(stuff.density))
