"""A worm bed fed week by week: how much it takes, found over whole runs of the heap model, and what becomes of it when fed so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.heap.weather import Weather
from loamery.reference import coefficient
from loamery.season.worm_bed import EVERY_DAYS, LEAST_KG, WEEK, BedRun, WormBed, run_bed
from loamery.uncertain import percentiles
from loamery.worms.feeding import appetite_kg
from loamery.worms.population import WormForecast, forecast_worms

Array = NDArray[np.float64]
Places = NDArray[np.int64]
ROUNDS, CUTS, CUT = 6, 4, 0.75
AIM, NEAR, LEAST_SCALE, MOST_SCALE = 0.93, 0.85, 0.35, 1.5
"""The search aims a little inside each limit, is content so near it, and never scales a feeding by more at once."""
DRAINS_BELOW = 0.01
WARM_BED_K = 1.0
"""A bed that is warmer than the good range already may not gain more than this."""
AIRY_LEAST = 0.5
"""Worms have to find air in so much of the bed."""
NOT_FED = "not fed"
CAPS, FAULTS = ("appetite", "depth", "pH"), ("heat", "moisture", "ammonia", "salt", "air")
LIMITS = (*CAPS, *FAULTS)


@dataclass(frozen=True, eq=False)
class Asked:
    """A worm bed and how it is to be fed; kg are per m2 of bed.

    Parameters
    ----------
    air : over the bed, of each draw. fed_on : days of feeding.
    worms_kg : live worms at the start. most_kg : greatest feeding by depth of its layer, shape (draws,).
    sour : draws whose pH worms do not stand.
    dry : dry matter of the feed as received, kg/kg.
    """

    bed: WormBed
    air: Sequence[Weather]
    weeks: int
    days: float
    worms_kg: float
    most_kg: Array
    sour: NDArray[np.bool_]
    dry: float
    seed: int

    @property
    def fed_on(self) -> Array:
        """Return the days of feeding."""
        return np.arange(0.0, WEEK * self.weeks - 1e-9, self.days)

    @property
    def week_of(self) -> Places:
        """Return the week of each feeding."""
        return (self.fed_on // WEEK).astype(np.int64)

    def only(self, draws: Places) -> Asked:
        """Return the same question for some draws."""
        air = [self.air[draw] for draw in draws]
        return replace(self, bed=self.bed.only(draws), air=air, most_kg=self.most_kg[draws], sour=self.sour[draws])

    def run(self, kg: Array, water_kg: Array) -> BedRun:
        """Return the bed when each draw is fed and watered as said."""
        return run_bed(self.bed, self.air, self.fed_on, kg, water_kg)

    def by_week(self, kg: Array) -> Array:
        """Return feedings summed by week, shape (..., weeks)."""
        out = np.zeros((*kg.shape[:-1], self.weeks))
        for place, week in enumerate(self.week_of):
            out[..., week] += kg[..., place]
        return out

    def population(self, weekly_kg: Array, weekly_c: Array) -> WormForecast:
        """Return the worms of 1 m2 when fed so."""
        temps = [float(np.clip(one, -40.0, 60.0)) for one in weekly_c]
        return forecast_worms(self.worms_kg, 1.0, [float(one) for one in weekly_kg], self.dry, temps, seed=self.seed)


@dataclass(frozen=True, eq=False)
class BedCourse:
    """A worm bed fed as planned, the same in every draw; bands (5th, 50th, 95th percentile) of shape (3, weeks).

    Parameters
    ----------
    feed_kg : greatest feed of each week, as received, that keeps the bed in the range of the worms; planned_kg the feed that does so in
        `worm_sure_share` of the runs, with which everything else here is run. water_kg : given by hand, median.
    bed_temp_c : mean of the bed; warmest_c its warmest spot in the week; moisture, ammonia (mg/g), salt (dS/m) their highest of the
        week, of the bed as a whole.
    airy : least share of the bed with air enough. inside : share of runs inside the range of the worms all week.
    limit : what sets the limit in most draws.
    day, daily_c, daily_warmest_c, daily_moisture : the same day by day, bands of shape (3, days). fed_on : days of feeding.
    """

    feed_kg: Array
    planned_kg: Array
    water_kg: Array
    bed_temp_c: Array
    warmest_c: Array
    moisture: Array
    ammonia_mg_g: Array
    salt_ds_m: Array
    airy: Array
    inside: Array
    limit: tuple[str, ...]
    day: Array
    daily_c: Array
    daily_warmest_c: Array
    daily_moisture: Array
    fed_on: Array

    def at(self, name: str, week: int, unit: str) -> Band:
        """Return one band in one week."""
        low, median, high = (float(one) for one in getattr(self, name)[:, week])
        return Band(median, low, high, unit)

    def as_dict(self) -> list[dict[str, object]]:
        """Return the weeks ready for JSON."""
        units = {"feed_kg": "kg", "bed_temp_c": "C", "warmest_c": "C", "moisture": "1", "ammonia_mg_g": "mg/g", "salt_ds_m": "dS/m", "airy": "1"}  # fmt: skip
        return [
            {
                "week": week, "limit": limit, "planned_kg": float(self.planned_kg[week]), "water_kg": float(self.water_kg[week]),
                "inside": float(self.inside[week]),
                **{name: self.at(name, week, unit).as_dict() for name, unit in units.items()},
            }
            for week, limit in enumerate(self.limit)
        ]  # fmt: skip


@dataclass(frozen=True, eq=False)
class Found:
    """The greatest feedings, kg per m2 as received, shape (draws, feedings), and what limits each, places in LIMITS."""

    kg: Array
    limit: Places
    water_kg: Array


def greatest_feedings(asked: Asked) -> Found:
    """Return the greatest feeding of each day and draw that keeps the bed in the range of the worms.

    Notes
    -----
    A search over whole runs: the bed unfed, then fed what worms eat, then each feeding scaled by how near its bed came to a limit,
    all of them at once, until each stands just inside the range or at what worms eat; up to ROUNDS runs of the draws that are not
    there yet. The bed is watered to `worm_bed_moisture` in every run by what it lacked in the one before.
    """
    shape = (asked.bed.draws, asked.fed_on.size)
    unfed = asked.run(np.zeros(shape), np.zeros((shape[0], asked.weeks)))
    water = _watered(asked, unfed, np.zeros((shape[0], asked.weeks)))
    most, limit = _most(asked, unfed)
    kg, open_draws = most.copy(), np.arange(shape[0])
    for _ in range(ROUNDS):
        some = asked.only(open_draws)
        run = some.run(kg[open_draws], water[open_draws])
        water[open_draws] = _watered(some, run, water[open_draws])
        press = _press(some, run, unfed.only(open_draws))
        worst = press.max(axis=0)
        scale = np.clip(AIM / np.maximum(worst, 1e-3), LEAST_SCALE, MOST_SCALE)
        new = np.minimum(most[open_draws], kg[open_draws] * scale)
        bound = new < 0.98 * most[open_draws]
        limit[open_draws] = np.where(bound, press.argmax(axis=0) + len(CAPS), limit[open_draws])
        there = (worst <= 1.0) & (~bound | (worst >= NEAR))
        kg[open_draws] = np.where(there, kg[open_draws], new)
        open_draws = open_draws[~there.all(axis=1)]
        if not open_draws.size:
            break
    return Found(kg, limit, water)


def _most(asked: Asked, unfed: BedRun) -> tuple[Array, Places]:
    """Return what no feeding may pass whatever the bed, and which of CAPS that is."""
    temps = np.median(unfed.weekly_c(), axis=0)
    alive = asked.population(np.full(asked.weeks, 1e4), temps).worms_kg[1]
    eaten = np.array([appetite_kg(float(alive[week]), float(temps[week]), asked.days) for week in asked.week_of])
    sour = np.where(asked.sour, 0.0, np.inf)
    shape = (asked.bed.draws, asked.fed_on.size)
    table = np.stack([np.broadcast_to(one, shape) for one in (eaten[None, :], asked.most_kg[:, None], sour[:, None])])
    return table.min(axis=0), table.argmin(axis=0)


def _watered(asked: Asked, run: BedRun, given: Array) -> Array:
    """Return the water of each week, kg, with which the bed is as moist as it should be once watered; never less than none.

    Notes
    -----
    A bed that drains before it is so moist is watered to what it holds.
    """
    holds = np.array([one.field_capacity for one in asked.bed.bedding], dtype=np.float64)
    want = np.minimum(coefficient("worm_bed_moisture").value, holds - DRAINS_BELOW)
    out, stay = np.zeros(given.shape), round(coefficient("worm_lead_weeks").value)
    more = np.zeros(given.shape[0])
    for week in range(given.shape[1]):
        if week % stay == 0:
            # the bed begins anew, moist
            more = np.zeros(given.shape[0])
            continue
        at = int(np.searchsorted(run.day, WEEK * week + EVERY_DAYS - 1e-6))
        lacks = run.dry_kg[:, at] * want / (1.0 - want) - run.water_kg[:, at] - more
        out[:, week] = np.maximum(given[:, week] + lacks, 0.0)
        more += out[:, week] - given[:, week]
    return out


def _spans(asked: Asked, run: BedRun, starts: Array) -> list[slice]:
    """Return for each start the records after it up to the next."""
    edges = np.searchsorted(run.day, np.append(starts, WEEK * asked.weeks), side="right")
    return [slice(int(one), max(int(two), int(one) + 1)) for one, two in pairwise(edges)]


def _press(asked: Asked, run: BedRun, unfed: BedRun) -> Array:
    """Return how near the bed comes to each limit for each feeding, 1 at the limit, shape (faults, draws, feedings).

    Notes
    -----
    Heat and air count until the feeding after the next; salt stays, so it counts until castings are taken out.
    """
    near = _nearness(run, unfed)
    each = np.stack([near[:, :, span].max(axis=2) for span in _spans(asked, run, asked.fed_on)], axis=2)
    heat, salt = FAULTS.index("heat"), FAULTS.index("salt")
    each[heat, :, :-1] = np.maximum(each[heat, :, :-1], each[heat, :, 1:])
    stretch = asked.week_of // round(coefficient("worm_lead_weeks").value)
    for one in np.unique(stretch):
        here = np.flatnonzero(stretch == one)
        each[salt][:, here] = np.maximum.accumulate(each[salt][:, here[::-1]], axis=1)[:, ::-1]
    return each


def _nearness(run: BedRun, unfed: BedRun) -> Array:
    """Return how far a bed has gone from where it would be unfed to each limit, 1 at the limit, shape (faults, draws, times)."""
    most = {key: coefficient(f"worm_{key}").value for key in ("temp_max", "temp_high", "moisture_high", "ammonia_max", "ec_max")}  # fmt: skip
    spot_room = np.maximum(most["temp_max"] - unfed.warmest_c, WARM_BED_K)
    mean_room = np.maximum(most["temp_high"] - unfed.mean_c, WARM_BED_K)
    heat = np.maximum((run.warmest_c - unfed.warmest_c) / spot_room, (run.mean_c - unfed.mean_c) / mean_room)
    kept = coefficient("worm_bed_moisture").value
    wet = (run.moisture - kept) / (most["moisture_high"] - kept)
    airless = np.where(unfed.airy < AIRY_LEAST, 0.0, (1.0 - run.airy) / (1.0 - AIRY_LEAST))
    return np.stack([heat, wet, run.ammonia_mg_g / most["ammonia_max"], run.salt_ds_m / most["ec_max"], airless])


def _wrong(run: BedRun, unfed: BedRun) -> NDArray[np.bool_]:
    """Return where a bed leaves the range of the worms because it was fed, shape (draws, times)."""
    return np.asarray((_nearness(run, unfed) > 1.0).any(axis=0))


def bed_course(asked: Asked, found: Found, area_m2: float) -> tuple[BedCourse, WormForecast]:
    """Return a bed fed the same in every draw, with what keeps it in range in `worm_sure_share` of them, and its worms.

    Parameters
    ----------
    area_m2 : of the bed; kg of the answer are for all of it.
    """
    planned, run, wrong = _settled(asked, found)
    spans = _spans(asked, run, WEEK * np.arange(asked.weeks, dtype=np.float64))
    weekly_c = run.weekly_c()
    told = asked.population(asked.by_week(planned), np.median(weekly_c, axis=0))
    daily = slice(None, None, round(1.0 / EVERY_DAYS))
    course = BedCourse(
        feed_kg=area_m2 * percentiles(asked.by_week(found.kg), 0),
        planned_kg=area_m2 * asked.by_week(planned),
        water_kg=area_m2 * np.median(found.water_kg, axis=0),
        bed_temp_c=percentiles(weekly_c, 0),
        warmest_c=_highest(run.warmest_c, spans),
        moisture=_highest(run.moisture, spans),
        ammonia_mg_g=_highest(run.ammonia_mg_g, spans),
        salt_ds_m=_highest(run.salt_ds_m, spans),
        airy=-_highest(-run.airy, spans)[::-1],
        inside=_inside(wrong, spans),
        limit=tuple(_limit(asked, found, week) for week in range(asked.weeks)),
        day=run.day[daily],
        daily_c=percentiles(run.mean_c[:, daily], 0),
        daily_warmest_c=percentiles(run.warmest_c[:, daily], 0),
        daily_moisture=percentiles(run.moisture[:, daily], 0),
        fed_on=asked.fed_on,
    )
    return course, _scaled(told, area_m2)


def _settled(asked: Asked, found: Found) -> tuple[Array, BedRun, NDArray[np.bool_]]:
    """Return a plan of feedings for all draws, its run, and where that leaves the range of the worms.

    Notes
    -----
    It starts at what enough draws stand at each feeding by itself; where too few stand the whole of it, that feeding and the one
    before are cut and all is run again.
    """
    sure = coefficient("worm_sure_share").value
    planned = np.quantile(found.kg[_suited(asked)], 1.0 - sure, axis=0, method="lower")
    unfed = asked.run(np.zeros(found.kg.shape), found.water_kg)
    for rounds in range(CUTS + 1):
        run = asked.run(np.broadcast_to(planned, found.kg.shape), found.water_kg)
        wrong = _wrong(run, unfed)
        over = (_inside(wrong, _spans(asked, run, asked.fed_on)) < sure) & (planned > LEAST_KG)
        if not over.any() or rounds == CUTS:
            break
        planned = planned * np.where(over | np.append(over[1:], False), CUT, 1.0)
    return planned, run, wrong


def _highest(values: Array, spans: Sequence[slice]) -> Array:
    return percentiles(np.stack([values[:, span].max(axis=1) for span in spans], axis=1), 0)


def _inside(wrong: NDArray[np.bool_], spans: Sequence[slice]) -> Array:
    return np.array([1.0 - wrong[:, span].any(axis=1).mean() for span in spans])


def _suited(asked: Asked) -> NDArray[np.bool_]:
    """Return the draws that set the plan: where some are too sour and most are not, those; a pH is measured before it is fed."""
    sour = float(asked.sour.mean())
    return ~asked.sour if sour <= 1.0 - coefficient("worm_sure_share").value else np.ones(asked.sour.size, dtype=bool)


def _limit(asked: Asked, found: Found, week: int) -> str:
    """Return what limits the draws that set the plan: those that stand least."""
    here = np.flatnonzero(asked.week_of == week)
    if not here.size:
        return NOT_FED
    suited = _suited(asked)
    kg = found.kg[suited][:, here]
    least = kg <= np.quantile(kg, 1.0 - coefficient("worm_sure_share").value, axis=0, method="lower") + LEAST_KG
    return LIMITS[int(np.bincount(found.limit[suited][:, here][least], minlength=len(LIMITS)).argmax())]


def _scaled(told: WormForecast, area_m2: float) -> WormForecast:
    return WormForecast(told.weeks, area_m2 * told.worms_kg, area_m2 * told.eaten_kg, area_m2 * told.castings_kg)
