"""How thick a layer of mulch may be before it goes airless, heats, or keeps the rain out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Band
from loamery.heap.climate import Normals
from loamery.heap.layout import RAIN_SUM
from loamery.heap.matter import Part, fines_of, fullest_kg_m3, litre_weight, stuff_draws
from loamery.heap.model import ensemble
from loamery.heap.mulch_rain import conductivity, standing_water_m
from loamery.heap.parameters import drawn_parameters
from loamery.heap.result import EnsembleRun
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather
from loamery.reference import coefficient

Array = NDArray[np.float64]
DEPTHS_M = (0.01, 0.02, 0.03, 0.05, 0.075, 0.10, 0.15, 0.20, 0.30)
REASONS = ("airless", "heats", "seals")
CELLS, DAYS, MOST_DRAWS, TABLE_DRAWS = 8, 21, 200, 16
MOST_MONTH_MM, MM_PER_M, S_PER_MIN = 1000.0, 1000.0, 60.0
ANY_DAY = date(2027, 7, 1)
"""Normals that are the same all year round look alike from any day."""
COARSE_SHARES = (0.0, 0.25, 0.5, 0.75)
"""Shares of coarse chips by volume in the table of depth against fines."""
HALF = 0.5


@dataclass(frozen=True)
class TableRow:
    """One mix of the table of depth against share of fines.

    Parameters
    ----------
    chips : share of coarse chips by volume, loose.
    fines : share of the dry matter finer than 2 mm.
    limit : greatest depth, m.
    verdicts : for each depth of DEPTHS_M ``fine`` or the reason that most draws fail for.
    """

    chips: float
    fines: float
    limit: Band
    verdicts: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """Return the row ready for JSON."""
        return {**vars(self), "limit": self.limit.as_dict(), "verdicts": list(self.verdicts)}


@dataclass(frozen=True)
class MulchLimit:
    """How thick a mulch may be.

    Parameters
    ----------
    limit : greatest depth that stays airy and cool and lets the rain in, m, with its 90 % band.
    first : which fault comes first, with the share of draws in which it does; ``none`` when none comes up to the thickest depth.
    by_reason : greatest depth for each fault alone, m.
    least_o2, rise : lowest oxygen, volume fraction, and warming above the air, K, by depth of `depths_m`, median of the draws.
    conductivity_m_s : for water.
    shower_mm : the shower it should let in; month_mm the rain of a month in the runs.
    table : depth against share of fines, thinned with chips.
    """

    materials: tuple[str, ...]
    limit: Band
    first: Mapping[str, float]
    by_reason: Mapping[str, Band]
    depths_m: tuple[float, ...]
    least_o2: tuple[float, ...]
    rise_k: tuple[float, ...]
    conductivity_m_s: Band
    fines: float
    air_c: float
    shower_mm: float
    month_mm: float
    draws: int
    table: tuple[TableRow, ...] = ()

    def as_dict(self) -> dict[str, object]:
        """Return the answer ready for JSON."""
        return {
            **vars(self),
            "limit": self.limit.as_dict(),
            "by_reason": {key: one.as_dict() for key, one in self.by_reason.items()},
            "conductivity_m_s": self.conductivity_m_s.as_dict(),
            "table": [one.as_dict() for one in self.table],
        }


def mulch_limit(
    parts: Sequence[Part],
    air_c: float = 20.0,
    draws: int = 40,
    seed: int = 1,
    *,
    chips: Part | None = None,
    rain_m_s: float | None = None,
    month_mm: float | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> MulchLimit:
    """Return how thick a mulch of a material or mix may be.

    Parameters
    ----------
    air_c : mean air temperature while it lies fresh.
    draws : 3 to 200.
    chips : coarse chips to thin it with, for the table of depth against fines; no table when None.
    rain_m_s : the shower it should let in, for `mulch_design_minutes`; `mulch_design_rain` when None.
    month_mm : rain of a month while it lies fresh, on some days only; `mulch_month_rain` when None.

    Raises
    ------
    InputError : a number out of bounds, or a material that lacks a figure.
    """
    for name, value, low, high in (("air temperature", air_c, -10.0, 45.0), ("draws", draws, 3, MOST_DRAWS)):
        if not low <= value <= high:
            raise InputError(f"{name} {value:g}", expected=f"{low:g} to {high:g}", remedy=f"change the {name}")
    rain = coefficient("mulch_design_rain").value if rain_m_s is None else rain_m_s
    wet = coefficient("mulch_month_rain").value if month_mm is None else month_mm
    if not 0.0 < rain < 1e-3:
        raise InputError(f"rain of {rain:g} m/s", expected="above 0 and below 0.001", remedy="correct the design rain")
    if not 0.0 <= wet <= MOST_MONTH_MM:
        raise InputError(f"{wet:g} mm a month", expected=f"0 to {MOST_MONTH_MM:g}", remedy="correct the rain")
    site = _Site(air_c, rain, wet)
    progress("running layers of the material")
    own = _Trial(parts, site, draws, seed)
    rows = []
    for share in COARSE_SHARES if chips is not None else ():
        progress(f"running layers with {share:.0%} chips")
        rows.append(_row(_thinned(parts, chips, share), share, site, min(draws, TABLE_DRAWS), seed))  # type: ignore[arg-type]
    return MulchLimit(
        materials=tuple(one.composition.material for one in parts),
        limit=_band(own.whole),
        first=own.first(),
        by_reason={key: _band(value) for key, value in own.depth.items()},
        depths_m=DEPTHS_M,
        least_o2=tuple(float(one) for one in np.median(own.least_o2, axis=0)),
        rise_k=tuple(float(one) for one in np.median(own.rise, axis=0)),
        conductivity_m_s=_band(own.water, "m/s"),
        shower_mm=MM_PER_M * rain * S_PER_MIN * coefficient("mulch_design_minutes").value,
        month_mm=wet,
        fines=fines_of(parts),
        air_c=air_c,
        draws=draws,
        table=tuple(rows),
    )


def _band(values: Array, unit: str = "m") -> Band:
    low, median, high = np.quantile(values, (0.05, 0.5, 0.95))
    return Band(float(median), float(low), float(high), unit)


@dataclass(frozen=True)
class _Site:
    """Where a mulch lies: mean air, the shower to let in (m/s), rain of a month (mm)."""

    air_c: float
    shower_m_s: float
    month_mm: float

    def weather(self, draws: int, seed: int) -> list[Weather]:
        """Return seeded showers under air of one temperature, so that warming is the mulch's own."""
        place = Normals.constant(self.air_c, self.month_mm)
        fallen = [np.diff(one.table[:, RAIN_SUM]) for one in place.draws(ANY_DAY, DAYS, draws, seed)]
        return [Weather.daily(np.full(DAYS, self.air_c), one) for one in fallen]


class _Trial:
    """Layers of one mix at every depth, for every draw."""

    def __init__(self, parts: Sequence[Part], site: _Site, draws: int, seed: int) -> None:
        stuff, numbers = stuff_draws(parts, draws, seed), drawn_parameters(draws, seed)
        wet = [_soaked(one, fines_of(parts), each["field_capacity"]) for one, each in zip(stuff, numbers, strict=True)]
        run = _layers(wet, numbers, site, seed)
        shape = (draws, len(DEPTHS_M))
        low = coefficient("heap_low_oxygen").value
        self.least_o2 = run.o2_frac.min(axis=(1, 2)).reshape(shape)
        self.rise = run.temp_c.max(axis=(1, 2)).reshape(shape) - site.air_c
        airless = _longest_below(run, low).reshape(shape)
        self.water = conductivity(fines_of(parts), draws, seed)
        most_days, most_rise = coefficient("mulch_airless_days").value, coefficient("mulch_rise_max").value
        self.depth = {
            "airless": _crossing(airless, most_days),
            "heats": _crossing(self.rise, most_rise),
            "seals": _crossing(self._standing(wet, site), coefficient("mulch_ponding").value),
        }
        self.whole = np.min(np.stack(list(self.depth.values())), axis=0)

    def _standing(self, wet: Sequence[Stuff], site: _Site) -> Array:
        """Return the water that stands on each layer in the design shower, m, shape (draws, depths)."""
        air = np.array([1.0 - one.bulk_density_kg_m3 / fullest_kg_m3(one.moisture, one.ash_dm) for one in wet])
        minutes = coefficient("mulch_design_minutes").value
        return standing_water_m(DEPTHS_M, self.water[:, None], air[:, None], site.shower_m_s, minutes)

    def first(self) -> dict[str, float]:
        """Return how often each fault comes first."""
        stacked = np.stack([self.depth[key] for key in REASONS])
        which = np.where(self.whole >= DEPTHS_M[-1], len(REASONS), stacked.argmin(axis=0))
        return {key: float(np.mean(which == i)) for i, key in enumerate((*REASONS, "none"))}

    def verdicts(self) -> tuple[str, ...]:
        """Return for each depth what most draws say."""
        out = []
        for depth in DEPTHS_M:
            failed = {key: float(np.mean(value < depth)) for key, value in self.depth.items()}
            worst = max(failed, key=lambda key: failed[key])
            out.append(worst if float(np.mean(self.whole < depth)) > HALF else "fine")
        return tuple(out)


def _layers(stuff: Sequence[Stuff], numbers: Sequence[Mapping[str, float]], site: _Site, seed: int) -> EnsembleRun:
    specs = [
        HeapSpec(one, "layer", depth_m=depth, start_temp_c=site.air_c, weather=weather, changes=change)
        for one, change, weather in zip(stuff, numbers, site.weather(len(stuff), seed), strict=True)
        for depth in DEPTHS_M
    ]
    return ensemble(specs, DAYS, CELLS, every_days=0.25)


def _soaked(stuff: Stuff, fines: float, holds: float) -> Stuff:
    """Return a mulch after rain: its fines hold water up to field capacity, in their pores; coarse pieces shed it."""
    moisture = stuff.moisture + fines * max(holds - stuff.moisture, 0.0)
    density = stuff.bulk_density_kg_m3 * (1.0 - stuff.moisture) / (1.0 - moisture)
    most = fullest_kg_m3(moisture, stuff.ash_dm)
    return replace(stuff, moisture=moisture, bulk_density_kg_m3=min(density, most))


def _longest_below(run: EnsembleRun, share: float) -> Array:
    """Return the longest unbroken time any cell was short of oxygen, days, shape (members,)."""
    step = float(run.day[1] - run.day[0])
    short = np.any(np.less(run.o2_frac, share), axis=2)
    longest, current = np.zeros(len(run.specs)), np.zeros(len(run.specs))
    for k in range(1, run.day.size):
        current = np.where(short[:, k] & short[:, k - 1], current + step, 0.0)
        longest = np.maximum(longest, current)
    return longest


def _crossing(values: Array, limit: float) -> Array:
    """Return the depth at which values, shape (draws, depths), first pass a limit; straight lines between depths."""
    depths, out = np.array((0.0, *DEPTHS_M)), np.full(values.shape[0], DEPTHS_M[-1])
    padded = np.concatenate([np.zeros((values.shape[0], 1)), values], axis=1)
    for i, row in enumerate(padded):
        over = np.flatnonzero(row > limit)
        if over.size:
            k = int(over[0])
            part = (limit - row[k - 1]) / (row[k] - row[k - 1])
            out[i] = depths[k - 1] + part * (depths[k] - depths[k - 1])
    return out


def _thinned(parts: Sequence[Part], chips: Part, share: float) -> list[Part]:
    """Return a mix thinned with a share of chips by loose volume."""
    if share <= 0.0:
        return list(parts)
    volume = sum(one.kg / litre_weight(one.composition) for one in parts)
    kg = share / (1.0 - share) * volume * litre_weight(chips.composition)
    return [*parts, Part(chips.composition, kg)]


def _row(parts: Sequence[Part], share: float, site: _Site, draws: int, seed: int) -> TableRow:
    trial = _Trial(parts, site, draws, seed)
    return TableRow(share, fines_of(parts), _band(trial.whole), trial.verdicts())
