"""What became of a heap: its record, what can be asked of it, and its accounts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.heap import layout as at
from loamery.heap.spec import HeapSpec

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Balance:
    """One account of a run.

    Parameters
    ----------
    start, end : what the heap held, kg (J for energy).
    came, went : what came in or was formed, and what left or was used, by name.
    """

    name: str
    start: float
    end: float
    came: Mapping[str, float]
    went: Mapping[str, float]

    @property
    def error(self) -> float:
        """Return what does not add up, as a share of the largest figure of the account."""
        gap = self.start + sum(self.came.values()) - sum(self.went.values()) - self.end
        size = max(abs(one) for one in (self.start, self.end, *self.came.values(), *self.went.values()))
        return abs(gap) / size if size > 0.0 else 0.0


@dataclass(frozen=True, eq=False)
class HeapRun:
    """One heap over time.

    Parameters
    ----------
    day : times of the record, days, shape (times,).
    record : temperature, oxygen, the state, volume, shape (times, STATES + 3, cells), cells from the middle outwards.
    accounts : running accounts, shape (times, ACCOUNTS).
    steps, retaken : steps of the solution, and those that had to be taken again.
    """

    spec: HeapSpec
    day: Array
    record: Array
    accounts: Array
    steps: int
    retaken: int

    def state(self, row: int) -> Array:
        """Return one row of the state, kg or J per cell, shape (times, cells)."""
        return self.record[:, 2 + row]

    @property
    def temp_c(self) -> Array:
        """Return the temperature, °C, shape (times, cells)."""
        return self.record[:, 0]

    @property
    def o2_frac(self) -> Array:
        """Return the oxygen of the pore gas, volume fraction, shape (times, cells)."""
        return self.record[:, 1]

    @property
    def volume_m3(self) -> Array:
        """Return the volume, m3, shape (times, cells)."""
        return self.record[:, 2 + at.STATES]

    @property
    def organic_kg(self) -> Array:
        """Return the organic matter, kg, shape (times, cells)."""
        return np.asarray(sum(self.state(row) for row in at.DRY_ROWS))

    @property
    def dry_kg(self) -> Array:
        """Return the dry matter, kg, shape (times, cells)."""
        return self.organic_kg + self.spec.stuff.ash_dm * self.state(at.START)

    @property
    def moisture(self) -> Array:
        """Return the moisture, kg water per kg wet, shape (times, cells)."""
        water = self.state(at.WATER)
        return water / (water + self.dry_kg)

    @property
    def mean_moisture(self) -> Array:
        """Return the moisture of the whole heap, shape (times,)."""
        water = self.state(at.WATER).sum(axis=1)
        return np.asarray(water / (water + self.dry_kg.sum(axis=1)))

    @property
    def mass_kg(self) -> Array:
        """Return the mass as it lies, kg, shape (times,)."""
        return np.asarray((self.state(at.WATER) + self.dry_kg).sum(axis=1))

    @property
    def nitrogen_kg(self) -> Array:
        """Return organic and ammoniacal nitrogen, kg, shape (times,)."""
        return np.asarray((self.state(at.N_ORG) + self.state(at.N_AMM)).sum(axis=1))

    @property
    def carbon_kg(self) -> Array:
        """Return the carbon, kg, shape (times,)."""
        return np.asarray(sum(self._carbon_per_kg[row] * self.state(row).sum(axis=1) for row in at.DRY_ROWS))

    @property
    def _carbon_per_kg(self) -> dict[int, float]:
        from loamery.heap.model import heap_record

        h = heap_record(self.spec)[0]
        return {at.FAST: float(h["carbon_fast"]), at.SLOW: float(h["carbon_slow"]), at.RECAL: float(h["carbon_recal"])}

    @property
    def organic_loss(self) -> float:
        """Return the share of the organic matter, that fed included, lost by the end."""
        whole = self.organic_kg.sum(axis=1)
        fed = (1.0 - self.spec.stuff.ash_dm) * self.accounts[-1, at.MATTER_FED]
        return float(1.0 - whole[-1] / (whole[0] + fed))

    @property
    def dry_loss(self) -> float:
        """Return the share of the dry matter, that fed included, lost by the end."""
        whole = self.dry_kg.sum(axis=1)
        return float(1.0 - whole[-1] / (whole[0] + self.accounts[-1, at.MATTER_FED]))

    @property
    def mass_loss(self) -> float:
        """Return the share of the mass as received, that fed included, lost by the end."""
        fed = self.accounts[-1, at.MATTER_FED] + self.accounts[-1, at.WATER_FED]
        return float(1.0 - self.mass_kg[-1] / (self.mass_kg[0] + fed))

    @property
    def nitrogen_loss(self) -> float:
        """Return the share of the nitrogen, that fed included, lost by the end."""
        return float(1.0 - self.nitrogen_kg[-1] / (self.nitrogen_kg[0] + self.accounts[-1, at.N_FED]))

    @property
    def shrinkage(self) -> float:
        """Return the share of the volume, that fed included, lost by the end."""
        whole = self.volume_m3.sum(axis=1)
        fed = self.accounts[-1, at.MATTER_FED] + self.accounts[-1, at.WATER_FED]
        return float(1.0 - whole[-1] / (whole[0] + fed / self.spec.stuff.bulk_density_kg_m3))

    @property
    def hottest_c(self) -> Array:
        """Return the hottest cell's temperature, °C, shape (times,)."""
        return np.asarray(self.temp_c.max(axis=1))

    def peak(self) -> tuple[float, float]:
        """Return the highest temperature, °C, and its day."""
        at_peak = int(np.argmax(self.hottest_c))
        return float(self.hottest_c[at_peak]), float(self.day[at_peak])

    def core_days_above(self, temp_c: float) -> float:
        """Return the days on which some cell was above a temperature."""
        return float(_days_above(self.day, self.hottest_c[:, None], temp_c)[0])

    def volume_share_meeting(self, temp_c: float, days: float) -> float:
        """Return the share of the volume that stayed above a temperature for a number of days on end.

        Notes
        -----
        Cells are mixed by turning, so with turnings the share tells how much met the rule where it lay, between two
        turnings, and no more.
        """
        runs = _longest_run(self.day, self.temp_c, temp_c, self.spec.turn_days)
        return _share_at_least(self.volume_m3[0], runs, days)

    def days_below_oxygen(self, share: float) -> Array:
        """Return the days each cell spent below a share of oxygen, shape (cells,)."""
        return _days_above(self.day, -self.o2_frac, -share)

    def balances(self) -> dict[str, Balance]:
        """Return the accounts of carbon, nitrogen, water, oxygen and energy over the run."""
        b = self.accounts[-1]

        def held(row: int) -> tuple[float, float]:
            return float(self.state(row)[0].sum()), float(self.state(row)[-1].sum())

        heat, oxygen, water = held(at.HEAT), held(at.OXYGEN), held(at.WATER)
        energy_in = {"aerobic": b[at.HEAT_AEROBIC], "airless": b[at.HEAT_AIRLESS], "sun": b[at.HEAT_SUN],
                     "rain and watering": b[at.HEAT_WITH_WATER], "with matter": b[at.HEAT_WITH_MATTER],
                     "fed": b[at.HEAT_WITH_FEED]}  # fmt: skip
        energy_out = {"to air": b[at.HEAT_TO_AIR], "to ground": b[at.HEAT_TO_GROUND],
                      "with vapour": b[at.HEAT_WITH_VAPOUR], "with seepage": b[at.HEAT_WITH_SEEPAGE]}  # fmt: skip
        return {
            "carbon": Balance("carbon", self.carbon_kg[0], self.carbon_kg[-1], {"fed": b[at.CARBON_FED]},
                              {"with oxygen": b[at.CARBON_AIR], "airless": b[at.CARBON_AIRLESS]}),
            "nitrogen": Balance("nitrogen", self.nitrogen_kg[0], self.nitrogen_kg[-1], {"fed": b[at.N_FED]},
                                {"ammonia": b[at.N_AMMONIA], "seepage": b[at.N_SEEPED]}),
            "water": Balance("water", *water,
                             {"formed": b[at.WATER_FORMED], "rain": b[at.WATER_RAIN], "given": b[at.WATER_GIVEN],
                              "fed": b[at.WATER_FED]},
                             {"vapour": b[at.WATER_VAPOUR], "seepage": b[at.WATER_SEEPED]}),
            "oxygen": Balance("oxygen", *oxygen, {"in": b[at.OXYGEN_IN]}, {"used": b[at.OXYGEN_USED]}),
            "energy": Balance("energy", *heat, energy_in, energy_out),
            "matter": Balance("matter", self.dry_kg[0].sum(), self.dry_kg[-1].sum(), {"fed": b[at.MATTER_FED]},
                              {"lost": b[at.MATTER_LOST]}),
        }  # fmt: skip


@dataclass(frozen=True, eq=False)
class EnsembleRun:
    """Many heaps over time.

    Parameters
    ----------
    day : shape (times,).
    record : temperature, oxygen, moisture, volume, dry mass, ammoniacal nitrogen, shape (members, times, RECORDED, cells).
    accounts : shape (members, times, ACCOUNTS).
    """

    specs: tuple[HeapSpec, ...]
    day: Array
    record: Array
    accounts: Array

    @property
    def temp_c(self) -> Array:
        """Return the temperature, °C, shape (members, times, cells)."""
        return self.record[:, :, 0]

    @property
    def o2_frac(self) -> Array:
        """Return the oxygen, volume fraction, shape (members, times, cells)."""
        return self.record[:, :, 1]

    @property
    def moisture(self) -> Array:
        """Return the moisture, kg/kg wet, shape (members, times, cells)."""
        return self.record[:, :, 2]

    @property
    def volume_m3(self) -> Array:
        """Return the volume, m3, shape (members, times, cells)."""
        return self.record[:, :, 3]

    @property
    def dry_kg(self) -> Array:
        """Return the dry matter, kg, shape (members, times, cells)."""
        return self.record[:, :, 4]

    @property
    def ammonium_kg(self) -> Array:
        """Return the ammoniacal nitrogen, kg, shape (members, times, cells)."""
        return self.record[:, :, 5]

    @property
    def water_kg(self) -> Array:
        """Return the water, kg, shape (members, times, cells)."""
        return np.asarray(self.dry_kg * self.moisture / (1.0 - self.moisture))

    def resampled(self, weights: Array) -> EnsembleRun:
        """Return as many members, each as often as its weight asks (systematic resampling, so nothing is left to chance)."""
        count = len(self.specs)
        marks = (np.arange(count) + 0.5) / count
        picked = np.minimum(np.searchsorted(np.cumsum(weights), marks), count - 1)
        specs = tuple(self.specs[i] for i in picked)
        return EnsembleRun(specs, self.day, self.record[picked], self.accounts[picked])

    def core_days_above(self, temp_c: float) -> Array:
        """Return the days on which some cell was above a temperature, shape (members,)."""
        return _days_above(self.day, self.temp_c.max(axis=2).T, temp_c)


def _days_above(day: Array, values: Array, level: float) -> Array:
    """Return the time above a level along axis 0, straight lines between records."""
    low, high = np.minimum(values[:-1], values[1:]), np.maximum(values[:-1], values[1:])
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = (high - level) / (high - low)
    part = np.where(low >= level, 1.0, np.where(high <= level, 0.0, crossing))
    return np.asarray((part * np.diff(day)[:, None]).sum(axis=0))


def _longest_run(day: Array, temp: Array, level: float, breaks: tuple[float, ...]) -> Array:
    longest, current = np.zeros(temp.shape[1]), np.zeros(temp.shape[1])
    for k in range(1, day.size):
        if any(day[k - 1] <= one < day[k] for one in breaks):
            current = np.zeros(temp.shape[1])
            continue
        before, after, span = temp[k - 1], temp[k], day[k] - day[k - 1]
        with np.errstate(divide="ignore", invalid="ignore"):
            hot = span * np.abs(np.where(before >= level, before, after) - level) / np.abs(after - before)
        # straight lines between records: a stretch begins and ends where they cross the level
        part = np.where(
            (before >= level) & (after >= level), span, np.where((before < level) & (after < level), 0.0, hot)
        )
        current = np.where(before >= level, current, 0.0) + part
        longest = np.maximum(longest, current)
        current = np.where(after >= level, current, 0.0)
    return longest


def _share_at_least(volume: Array, values: Array, level: float) -> float:
    """Return the share of the volume in which a value is at least a level, straight lines between the middles of cells."""
    edges = np.concatenate([[0.0], np.cumsum(volume)]) / volume.sum()
    places = np.linspace(0.0, 1.0, 2001)
    return float(np.mean(np.interp(places, 0.5 * (edges[1:] + edges[:-1]), values) >= level - 1e-6))
