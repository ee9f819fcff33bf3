"""What a run of the bed tells: flows by week, stocks between them, and the accounts that must close."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loamery.bed.day import State

Array = NDArray[np.float64]
FLOWS = (
    "organic_n_in", "mineral_n_in", "carbon_in", "salts_in", "alkali_in", "given", "tied", "soil_release", "nitrified",
    "taken_ammonium", "taken_nitrate", "gas", "leached", "volatilised", "borrowed", "respired", "rain_mm", "watered_mm",
    "run_off_mm", "used_mm", "drained_mm", "salts_leached", "salts_dissolved",
)  # fmt: skip
STOCKS = (
    "ammonium", "nitrate", "surface_ammonium", "material_n", "decomposer_n", "soil_n", "material_carbon",
    "decomposer_carbon", "soil_carbon", "salts", "depletion_mm", "temp_c", "ph", "ec_si", "acid_mol", "alkali_mol",
    "wanted",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class BedRun:
    """The course of one or several beds.

    Parameters
    ----------
    flow : by name, sums of each week, shape (weeks, beds, draws), kg per m2 (N, C, salts), mm (water), mol (alkali).
    stock : by name, at the start and after each week, shape (weeks + 1, beds, draws).
    net_n : nitrogen each portion gave the soil in each week, below zero what it took, its own mineral nitrogen left
        out, shape (weeks, portions, beds, draws), kg per m2.
    carbon_left : of each portion, kg per m2, shape (weeks + 1, portions, beds, draws).
    carbon_given : of each portion by the start of each week, same shape without the first axis's last entry.
    lime_left : carbonate and ash of each portion not yet dissolved, mol per m2, shape of `carbon_left`.
    doses : kg as received per m2, shape (portions, beds, weeks). names : of the portions.
    """

    flow: Mapping[str, Array]
    stock: Mapping[str, Array]
    net_n: Array
    carbon_left: Array
    carbon_given: Array
    lime_left: Array
    doses: Array
    names: tuple[str, ...] = ()

    @property
    def weeks(self) -> int:
        """Return how many weeks were run."""
        return int(self.net_n.shape[0])

    @property
    def taken(self) -> Array:
        """Return nitrogen taken up by the crop in each week, kg per m2, shape (weeks, beds, draws)."""
        return self.flow["taken_ammonium"] + self.flow["taken_nitrate"]

    @property
    def mineral_n(self) -> Array:
        """Return ammonium and nitrate in the root zone, kg per m2, shape (weeks + 1, beds, draws)."""
        return self.stock["ammonium"] + self.stock["nitrate"]

    @property
    def decayed_share(self) -> Array:
        """Return the share of each portion's carbon that has left it, shape (weeks, portions, beds, draws)."""
        given = self.carbon_given[1:]
        return np.where(given > 0, 1.0 - self.carbon_left[1:] / np.maximum(given, 1e-15), 0.0)

    def nitrogen_gap(self) -> Array:
        """Return nitrogen that the account misses at the end of each week, kg per m2; zero but for rounding."""
        stocks = ("ammonium", "nitrate", "surface_ammonium", "material_n", "decomposer_n", "soil_n")
        held = np.sum([self.stock[name] for name in stocks], axis=0)
        came = self.flow["organic_n_in"] + self.flow["mineral_n_in"] + self.flow["borrowed"]
        went = self.taken + self.flow["gas"] + self.flow["leached"] + self.flow["volatilised"]
        return np.asarray(np.cumsum(came - went, axis=0) - (held[1:] - held[0]))

    def carbon_gap(self) -> Array:
        """Return carbon that the account misses at the end of each week, kg per m2."""
        held = np.sum([self.stock[name] for name in ("material_carbon", "decomposer_carbon", "soil_carbon")], axis=0)
        moved = self.flow["carbon_in"] - self.flow["respired"]
        return np.asarray(np.cumsum(moved, axis=0) - (held[1:] - held[0]))

    def water_gap(self) -> Array:
        """Return water that the account misses at the end of each week, mm."""
        came = self.flow["rain_mm"] + self.flow["watered_mm"] - self.flow["run_off_mm"]
        moved = came - self.flow["used_mm"] - self.flow["drained_mm"]
        held = -self.stock["depletion_mm"]
        return np.asarray(np.cumsum(moved, axis=0) - (held[1:] - held[0]))

    def salt_gap(self) -> Array:
        """Return salts that the account misses at the end of each week, kg per m2."""
        moved = self.flow["salts_in"] + self.flow["salts_dissolved"] - self.flow["salts_leached"]
        return np.asarray(np.cumsum(moved, axis=0) - (self.stock["salts"][1:] - self.stock["salts"][0]))


@dataclass(eq=False)
class Recorder:
    """Sums days into weeks while a run goes on."""

    weeks: int
    portions: int
    beds: int
    draws: int
    flow: dict[str, Array] = field(init=False)
    stock: dict[str, Array] = field(init=False)
    net_n: Array = field(init=False)
    left: Array = field(init=False)
    given: Array = field(init=False)
    lime: Array = field(init=False)

    def __post_init__(self) -> None:
        shape = (self.beds, self.draws)
        self.flow = {name: np.zeros((self.weeks, *shape)) for name in FLOWS}
        self.stock = {name: np.zeros((self.weeks + 1, *shape)) for name in STOCKS}
        self.net_n = np.zeros((self.weeks, self.portions, *shape))
        self.left = np.zeros((self.weeks + 1, self.portions, *shape))
        self.given = np.zeros((self.weeks + 1, self.portions, *shape))
        self.lime = np.zeros((self.weeks + 1, self.portions, *shape))

    def gift(self, week: int, index: int, came: Mapping[str, Array]) -> None:
        """Add what a dose brought."""
        for name, amount in came.items():
            self.flow[name][week] += amount
        self.given[week + 1 :, index] += came["carbon_in"]

    def flows(self, week: int, day: Mapping[str, Array]) -> None:
        """Add the flows of a day."""
        for name, amount in day.items():
            if name == "net":
                self.net_n[week] += amount
            else:
                self.flow[name][week] += amount

    def stocks(self, index: int, state: State) -> None:
        """Write down the state at the start (0) or after a week."""
        stock = state.stock
        carbon = stock.carbon.sum(axis=0)
        self.left[index], self.lime[index] = carbon, stock.lime
        told = {
            "surface_ammonium": stock.ammonium.sum(axis=0),
            "material_n": stock.nitrogen.sum(axis=(0, 1)),
            "decomposer_n": stock.living.sum(axis=0) / state.decomposer_cn,
            "material_carbon": carbon.sum(axis=0),
            "decomposer_carbon": stock.living.sum(axis=0),
        }
        for name in STOCKS:
            self.stock[name][index] = told[name] if name in told else getattr(state, name)

    def finish(self, doses: Array, names: tuple[str, ...]) -> BedRun:
        """Return the run."""
        return BedRun(self.flow, self.stock, self.net_n, self.left, self.given, self.lime, doses, names)
