"""Materials as the simulator takes them: what does not change in a run, and what a dose adds to a bed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from loamery.bed.day import State
from loamery.bed.decomposers import Portions
from loamery.bed.matter import POOLS, Matter
from loamery.bed.mineral import nitrogen_kg_mol
from loamery.bed.parameters import Parameters

Array = NDArray[np.float64]


class GivenMatter(Protocol):
    """A material and the way it is given."""

    @property
    def matter(self) -> Matter:
        """Return what a kilogram brings."""
        ...

    @property
    def on_surface(self) -> bool:
        """Tell whether it is left lying on the bed."""
        ...


def portions_of(portions: Sequence[GivenMatter], numbers: Parameters, draws: int) -> Portions:
    """Return what does not change of the materials of a run."""
    surface = np.array([one.on_surface for one in portions], dtype=bool).reshape(-1, 1, 1)
    shape = (len(portions), 1, draws)

    def rows(values: list[Array]) -> Array:
        return np.array([np.broadcast_to(one, (draws,)) for one in values]).reshape(shape)

    rate = np.stack([rows([one.matter.rate_per_day[pool] for one in portions]) for pool in range(POOLS)])
    lime = [numbers["bed_lime_rate_coarse" if one.matter.coarse else "bed_lime_rate"] for one in portions]
    return Portions(
        rate=rate,
        lag=rows([one.matter.lag_days for one in portions]),
        speed=np.where(surface, numbers["surface_contact_factor"], 1.0),
        reach=np.where(surface, numbers["mulch_interface_share"], 1.0),
        lime_rate=rows(lime),
        surface=surface,
    )


@dataclass(frozen=True, eq=False)
class Dose:
    """A kilogram of material, each array of shape (1, draws) or (3, 1, draws): what `give` multiplies."""

    carbon: Array
    nitrogen: Array
    ammonium: Array
    nitrate: Array
    alkalinity: Array
    lime: Array
    salts: Array
    ph: Array
    per_carbon_m: Array

    def give(self, state: State, index: int, kg_m2: Array, on_surface: bool) -> Mapping[str, Array]:
        """Add a dose to a bed, in place, and return what came in, by flow name, shape (beds, draws).

        Parameters
        ----------
        kg_m2 : as received, shape (beds, 1).
        """
        stock = state.stock
        carbon = kg_m2 * self.carbon
        there, new = stock.carbon[:, index].sum(axis=0), carbon.sum(axis=0)
        stock.age[index] *= there / np.maximum(there + new, 1e-15)
        stock.carbon[:, index] += carbon
        stock.nitrogen[:, index] += kg_m2 * self.nitrogen
        stock.alkalinity[index] += kg_m2 * self.alkalinity
        stock.lime[index] += kg_m2 * self.lime
        ammonium, nitrate, salts = kg_m2 * self.ammonium, kg_m2 * self.nitrate, kg_m2 * self.salts
        if on_surface:
            stock.ammonium[index] += ammonium
        else:
            state.ammonium += ammonium
        state.nitrate += nitrate
        state.salts += salts
        state.salts_still += salts * state.still_share
        state.alkali_mol += (ammonium - nitrate) / nitrogen_kg_mol()
        state.surface_ph[index] = self.ph
        state.thickness[index] = self.per_carbon_m
        return {
            "organic_n_in": kg_m2 * self.nitrogen.sum(axis=0),
            "mineral_n_in": ammonium + nitrate,
            "carbon_in": new,
            "salts_in": salts,
            "alkali_in": (ammonium - nitrate) / nitrogen_kg_mol(),
        }


def make_dose(portion: GivenMatter, draws: int) -> Dose:
    """Return a kilogram of a portion, broadcast over the draws."""
    one = portion.matter

    def row(values: Array) -> Array:
        return np.broadcast_to(values, (*values.shape[:-1], draws))[..., None, :]

    return Dose(
        carbon=row(one.carbon * one.pools),
        nitrogen=row(one.organic_n * one.pool_n),
        ammonium=row(one.ammonium_n),
        nitrate=row(one.nitrate_n),
        alkalinity=row(one.alkalinity),
        lime=row(one.lime),
        salts=row(one.salts),
        ph=row(one.ph),
        per_carbon_m=row(1.0 / np.maximum(one.carbon * one.density_kg_m3, 1e-6)),
    )
