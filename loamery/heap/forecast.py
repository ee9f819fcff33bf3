"""What becomes of a heap, with the band of what is not known: its materials, the model's numbers, the weather."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Band
from loamery.heap import layout as at
from loamery.heap.climate import Normals
from loamery.heap.cluster import run_heaps
from loamery.heap.hygiene import HygieneRule, HygieneStatus, hygiene_rules, hygiene_status, judge
from loamery.heap.matter import Part, middle, stuff_draws
from loamery.heap.model import GEOMETRY, simulate
from loamery.heap.parameters import drawn_parameters
from loamery.heap.readiness import oxygen_uptake, ready_day
from loamery.heap.result import EnsembleRun, HeapRun
from loamery.heap.spec import Geometry, HeapSpec, Stuff
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import band, percentiles

Array = NDArray[np.float64]
Progress = Callable[[str], None]
MOST_DRAWS, CELLS, SHORTEST_DAYS, LONGEST_DAYS = 2000, 14, 5, 730
SHELTERS = ("open", "boards", "insulated")
WEEK = 7


@dataclass(frozen=True)
class HeapPlan:
    """A heap that somebody means to build, or has built.

    Parameters
    ----------
    parts : the materials with their masses; only their proportions count.
    start : day it is built.
    shape : ``pile`` or ``bin``.
    shelter : of a bin ``open`` (wire, slats), ``boards`` or ``insulated``.
    covered : whether rain is kept off.
    water_kg : added with the masses of `parts`.
    compost_share : of the dry matter, finished compost mixed in.
    turn_days, waterings : days from the start; (day, kg).
    """

    parts: tuple[Part, ...]
    start: date
    shape: Geometry = "pile"
    volume_m3: float = 1.0
    shelter: str = "open"
    covered: bool = False
    start_temp_c: float | None = None
    water_kg: float = 0.0
    compost_share: float = 0.0
    turn_days: tuple[float, ...] = ()
    waterings: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        if self.shelter not in SHELTERS:
            raise InputError(
                say("walls “{shelter}”", shelter=self.shelter),
                expected=", ".join(SHELTERS),
                remedy=say("choose one of these"),
            )
        if self.shape not in ("pile", "bin"):
            raise InputError(
                say("shape “{shape}”", shape=self.shape),
                expected=say("pile or bin"),
                remedy=say("choose one of the two"),
            )
        self._not_soup()

    def _not_soup(self) -> None:
        whole = sum(one.kg for one in self.parts) + self.water_kg
        held = sum(one.kg * one.composition.median("moisture") for one in self.parts if "moisture" in one.composition)
        most = coefficient("heap_moisture_most").value
        if whole > 0.0 and (held + self.water_kg) / whole > most:
            raise InputError(
                say("{held:.0%} moisture with {water_kg:g} kg of water", held=(held + self.water_kg) / whole, water_kg=self.water_kg), expected=say("at most {most:.0%}: more is soup", most=most),
                remedy=say("give less water, or add dry material"),
            )  # fmt: skip

    def spec(self, stuff: Stuff, weather: Any, changes: Mapping[str, float] | None = None) -> HeapSpec:
        """Return the heap as the model takes it."""
        walled = self.shape == "bin"
        closed = coefficient("shelter_closed_gas").value
        gas = coefficient("shelter_open_gas").value if self.shelter == "open" else closed
        return HeapSpec(
            stuff,
            self.shape,
            volume_m3=self.volume_m3,
            start_temp_c=self.start_temp_c,
            wall_r=coefficient(f"shelter_{self.shelter}").value if walled else 0.0,
            wall_open=gas if walled else 0.0,
            cover_r=coefficient("shelter_insulated").value if self.shelter == "insulated" else 0.0,
            cover_open=1.0,
            rain_share=0.0 if self.covered else 1.0,
            turn_days=self.turn_days,
            waterings=self.waterings,
            weather=weather,
            changes=changes or {},
        )

    @property
    def middle(self) -> Stuff:
        """Return what it is built of at the medians of its materials."""
        return middle(self.parts, water_kg=self.water_kg, compost_share=self.compost_share)


@dataclass(frozen=True, eq=False)
class Forecast:
    """What becomes of a heap.

    Parameters
    ----------
    day : days from the start, shape (times,).
    depth_m : middle of each cell below the surface as built, from the outside inwards, shape (cells,).
    temp_c, o2_frac, moisture : 5th, 50th and 95th percentile, shape (3, times, cells).
    totals : bands over time, shape (3, times): mass_kg, volume_m3, nitrogen_kg, organic_kg, warmest_c, moisture.
    ready : day it is ready; infinite ends mean later than simulated.
    run : the run with everything at its median.
    n_of_dry : nitrogen of the dry matter at the end.
    hygiene : of the middle run, by rule; met the share of draws in which all of the matter kept it, probe in which a
        thermometer in the middle says so, share of the matter that kept it, coldest the longest time of the coldest part.
    """

    plan: HeapPlan
    day: Array
    depth_m: Array
    temp_c: Array
    o2_frac: Array
    moisture: Array
    totals: Mapping[str, Array]
    ready: Band
    ready_share: float
    peak_c: Band
    peak_day: Band
    days_above_55: Band
    run: HeapRun
    hygiene: tuple[HygieneStatus, ...]
    met: tuple[float, ...]
    probe: tuple[float, ...]
    share: tuple[Band, ...]
    coldest: tuple[Band, ...]
    n_of_dry: Band
    draws: int

    def total(self, name: str, unit: str, when: int = -1) -> Band:
        """Return the band of one total at a record, the last when not named."""
        low, median, high = (float(one) for one in self.totals[name][:, when])
        return Band(median, low, high, unit)

    def kept(self, name: str) -> Band:
        """Return what is left of a total at the end, as a share of the start."""
        low, median, high = (float(one) for one in self.totals[f"{name}_share"][:, -1])
        return Band(median, low, high, "1")

    def on(self, day: float) -> date:
        """Return the date of a day of the heap."""
        return self.plan.start + timedelta(days=round(day))


def forecast(
    plan: HeapPlan,
    normals: Normals,
    days: int = 120,
    draws: int = 100,
    seed: int = 1,
    *,
    rules: Sequence[HygieneRule] | None = None,
    changes: Sequence[Mapping[str, float]] | None = None,
    centre: Mapping[str, float] | None = None,
    weigh: Callable[[EnsembleRun], Array] | None = None,
    scheduler: Any = None,
    progress: Progress = lambda _: None,
) -> Forecast:
    """Return what becomes of a heap, with 90 % bands.

    Parameters
    ----------
    normals : of the place.
    days : simulated, 5 to 730.
    draws : members of the ensemble, 3 to 2000.
    rules : of hygiene; all of the data when None.
    changes : parameters of each draw in place of those drawn within their published ranges, as `calibrate` gives them.
    centre : parameters of the middle run.
    weigh : says how far each member is believed, as a calibration's `weights_of`; all alike when None.
    scheduler : address of a dask scheduler, or a client of one, whose workers run the ensemble; this machine when None.

    Raises
    ------
    InputError : a material, size or number that cannot be used.
    """
    _refuse(days, draws)
    progress(f"running {draws} heaps")
    specs = members(plan, normals, days, draws, seed, changes=changes)
    run = run_heaps(specs, days, CELLS, every_days=0.5, scheduler=scheduler, progress=progress)
    if weigh is not None:
        run = run.resampled(weigh(run))
    central = simulate(plan.spec(plan.middle, normals.weather(plan.start, days), centre), days, CELLS, every_days=0.5)
    progress("reading the runs")
    return _read(plan, run, central, tuple(hygiene_rules()) if rules is None else tuple(rules))


def members(
    plan: HeapPlan, normals: Normals, days: int, draws: int, seed: int = 1,
    *, changes: Sequence[Mapping[str, float]] | None = None,
) -> list[HeapSpec]:  # fmt: skip
    """Return the heaps of an ensemble: drawn materials, numbers of the model and weather, the same for the same seed."""
    numbers = [dict(one) for one in changes] if changes is not None else drawn_parameters(draws, seed)
    stuff = stuff_draws(plan.parts, draws, seed, water_kg=plan.water_kg, compost_share=plan.compost_share)
    weather = normals.draws(plan.start, days, draws, seed)
    drawn = (numbers[i % len(numbers)] for i in range(draws))
    return [plan.spec(*one) for one in zip(stuff, weather, drawn, strict=True)]


def _refuse(days: int, draws: int) -> None:
    for name, value, low, high in (("days", days, SHORTEST_DAYS, LONGEST_DAYS), ("draws", draws, 3, MOST_DRAWS)):
        if not low <= value <= high:
            raise InputError(
                say("{value} {name}", value=value, name=name),
                expected=say("{low} to {high}", low=low, high=high),
                remedy=say("change the number of {name}", name=name),
            )


def depths_m(spec: HeapSpec, cells: int) -> Array:
    """Return the depth of each cell's middle below the surface as built, from the middle of the heap outwards, m."""
    from loamery.heap.mesh import cell_shares

    power = GEOMETRY[spec.geometry] + 1
    faces = np.concatenate([[0.0], np.cumsum(cell_shares(GEOMETRY[spec.geometry], cells))]) ** (1.0 / power)
    return np.asarray(reach_m(spec) * (1.0 - 0.5 * (faces[1:] + faces[:-1])))


def reach_m(spec: HeapSpec) -> float:
    """Return the way from the middle (or the ground) to the surface as built, m."""
    if spec.geometry == "layer":
        return spec.depth_m
    if spec.geometry == "bin":
        return spec.bin_radius_m
    return float((3.0 * spec.volume_m3 / (2.0 * np.pi)) ** (1.0 / 3.0))


def _read(plan: HeapPlan, run: EnsembleRun, central: HeapRun, rules: tuple[HygieneRule, ...]) -> Forecast:
    warmest = run.temp_c.max(axis=2)
    peaks, ready = warmest.max(axis=1), ready_days(run)
    statuses = [_member(run, m, rules) for m in range(len(run.specs))]
    late = float(run.day[-1])
    finite = np.where(np.isfinite(ready), ready, np.inf)
    low, median, high = percentiles(finite, between=False)
    flip = slice(None, None, -1)
    return Forecast(
        plan=plan,
        day=run.day,
        depth_m=depths_m(central.spec, run.temp_c.shape[2])[flip],
        temp_c=percentiles(run.temp_c, 0)[:, :, flip],
        o2_frac=percentiles(run.o2_frac, 0)[:, :, flip],
        moisture=percentiles(run.moisture, 0)[:, :, flip],
        totals=_totals(run, warmest),
        ready=Band(float(median), float(low), float(high), "day"),
        ready_share=float(np.mean(ready <= late)),
        peak_c=band(peaks, "C"),
        peak_day=band(run.day[warmest.argmax(axis=1)], "day"),
        days_above_55=band(run.core_days_above(55.0), "day"),
        run=central,
        hygiene=hygiene_status(central, rules),
        met=tuple(float(np.mean([one[r].state == "met" for one in statuses])) for r in range(len(rules))),
        probe=tuple(float(np.mean([one[r].probe for one in statuses])) for r in range(len(rules))),
        share=tuple(band([one[r].share for one in statuses], "1") for r in range(len(rules))),
        coldest=tuple(band([one[r].coldest_days for one in statuses], "day") for r in range(len(rules))),
        n_of_dry=band(_nitrogen_kg(run)[:, -1] / run.dry_kg[:, -1].sum(axis=1), "1"),
        draws=len(run.specs),
    )


def _member(run: EnsembleRun, m: int, rules: Sequence[HygieneRule]) -> list[HygieneStatus]:
    dry, turns = run.dry_kg[m, 0], run.specs[m].turn_days
    done: dict[tuple[float, float, int], HygieneStatus] = {}  # several laws ask for the same
    for rule in rules:
        same = (rule.temp_c, rule.hold_days, rule.turnings)
        if same not in done:
            done[same] = judge(run.day, run.temp_c[m], dry / dry.sum(), turns, rule)
    return [done[one.temp_c, one.hold_days, one.turnings] for one in rules]


def _totals(run: EnsembleRun, warmest: Array) -> dict[str, Array]:
    dry = run.dry_kg.sum(axis=2)
    water = (run.dry_kg * run.moisture / (1.0 - run.moisture)).sum(axis=2)
    ash = np.array([one.stuff.ash_dm for one in run.specs])[:, None] * dry[:, :1]
    given = {
        "mass_kg": water + dry, "dry_kg": dry, "volume_m3": run.volume_m3.sum(axis=2), "nitrogen_kg": _nitrogen_kg(run),
        "organic_kg": dry - ash, "warmest_c": warmest, "moisture": water / (water + dry),
    }  # fmt: skip
    shares = {f"{key}_share": value / value[:, :1] for key, value in given.items() if key.endswith(("kg", "m3"))}
    return {key: percentiles(value, 0) for key, value in {**given, **shares}.items()}


def _nitrogen_kg(run: EnsembleRun) -> Array:
    """Return the nitrogen that the heaps hold, kg, shape (members, times)."""
    start = run.dry_kg[:, 0].sum(axis=1) * np.array([one.stuff.n_dm for one in run.specs])
    return np.asarray(start[:, None] - run.accounts[:, :, at.N_AMMONIA] - run.accounts[:, :, at.N_SEEPED])


def ready_days(run: EnsembleRun) -> Array:
    """Return the day on which each member is ready, infinity when it is not in the time simulated, shape (members,)."""
    dry = run.dry_kg.sum(axis=2)
    out = np.empty(len(run.specs))
    for m, spec in enumerate(run.specs):
        ash = spec.stuff.ash_dm * dry[m, 0]
        left = (dry[m] - ash) / (dry[m, 0] - ash)
        air = np.interp(run.day, np.arange(len(spec.weather.table)), spec.weather.table[:, at.AIR_C])
        above = run.temp_c[m].max(axis=1) - air
        out[m] = ready_day(run.day, _weekly(run.day, above), oxygen_uptake(spec, left))
    return out


def _weekly(day: Array, values: Array) -> Array:
    """Return the running mean over a week, so that one cold night does not count."""
    half = max(round(0.5 * WEEK / (day[1] - day[0])), 1)
    padded = np.pad(values, half, mode="edge")
    return np.convolve(padded, np.full(2 * half + 1, 1.0 / (2 * half + 1)), mode="valid")


def with_schedule(plan: HeapPlan, turns: Sequence[float], waterings: Sequence[tuple[float, float]]) -> HeapPlan:
    """Return the same heap with other days of turning and watering."""
    return replace(plan, turn_days=tuple(sorted(turns)), waterings=tuple(sorted(waterings)))
