"""Every bounded quantity of a blend as total over total, which makes every bound linear in the masses.

A quantity q is sum(top_i m_i) + top_water W over sum(bottom_i m_i) + bottom_water W, with W the added water. Since the
bottom is positive, q >= r is the same as sum((top_i - r bottom_i) m_i) + (top_water - r bottom_water) W >= 0. For free
air space this is exact when volumes add: top is bulk volume less the volume of water and solids, bottom is bulk volume.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.blend.bounds import LABELS
from loamery.blend.ingredient import Matter
from loamery.blend.mix import total
from loamery.reference import coefficient
from loamery.say import say

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Ratio:
    """A quantity of a blend as total over total.

    Parameters
    ----------
    key, label : its name in code and in words.
    top, bottom : amounts per kg as received, shape (ingredients, draws).
    top_water, bottom_water : amounts per kg of added water.
    """

    key: str
    label: str
    top: Array
    bottom: Array
    top_water: float = 0.0
    bottom_water: float = 0.0

    def value(self, mass_kg: ArrayLike, water_kg: ArrayLike = 0.0) -> Array:
        """Return the quantity for masses of shape (ingredients,) or (ingredients, draws); shape (draws,)."""
        water = np.asarray(water_kg, dtype=np.float64)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(
                (total(mass_kg, self.top) + self.top_water * water)
                / (total(mass_kg, self.bottom) + self.bottom_water * water)
            )

    def margin(self, goal: float) -> tuple[Array, float]:
        """Return the coefficients of top - goal x bottom: per kg of each ingredient, and per kg of water."""
        return self.top - goal * self.bottom, self.top_water - goal * self.bottom_water


def ratios(matter: Matter, packing: float = 1.0) -> dict[str, Ratio]:
    """Return every quantity that the ingredients allow to compute, by key.

    Parameters
    ----------
    packing : bulk volume of the mixture per sum of the volumes of its parts.
    """
    makers: dict[str, Callable[[Matter, float], tuple[Array, Array, float, float] | None]] = {
        "cn": _cn, "moisture": _moisture, "free_air_space": _free_air_space, "bulk_density": _bulk_density,
        "fines": _fines, "nitrogen": _nitrogen, "salt": _salt,
    }  # fmt: skip
    made = {key: maker(matter, packing) for key, maker in makers.items()}
    return {key: Ratio(key, LABELS[key], *parts) for key, parts in made.items() if parts is not None}


def share_ratio(matter: Matter, name: str, by_volume: bool) -> Ratio | None:
    """Return the share of one ingredient in the mass (water left out) or in the volume of a blend."""
    if by_volume and matter.bulk_density is None:
        return None
    bottom = 1.0 / matter.bulk_density if by_volume and matter.bulk_density is not None else np.ones(matter.dry.shape)
    top = np.where((np.array(matter.names) == name)[:, None], bottom, 0.0)
    kind = "volume" if by_volume else "mass"
    return Ratio(
        f"{kind}_share/{name}",
        say("share of {name} by volume", name=name) if by_volume else say("share of {name} by mass", name=name),
        top,
        bottom,
    )


Parts = tuple[Array, Array, float, float]


def _cn(matter: Matter, packing: float) -> Parts:
    return matter.dry * matter.c_dm, matter.dry * matter.n_dm, 0.0, 0.0


def _moisture(matter: Matter, packing: float) -> Parts:
    return matter.moisture, np.ones_like(matter.moisture), 1.0, 1.0


def _free_air_space(matter: Matter, packing: float) -> Parts | None:
    condensed = matter.condensed_m3
    if matter.bulk_density is None or condensed is None:
        return None
    bulk = packing / matter.bulk_density
    return bulk - condensed, bulk, -1.0 / coefficient("rho_water").value, 0.0


def _bulk_density(matter: Matter, packing: float) -> Parts | None:
    if matter.bulk_density is None:
        return None
    return np.ones_like(matter.moisture), packing / matter.bulk_density, 1.0, 0.0


def _fines(matter: Matter, packing: float) -> Parts | None:
    return None if matter.fines is None else (matter.dry * matter.fines, matter.dry, 0.0, 0.0)


def _nitrogen(matter: Matter, packing: float) -> Parts:
    return matter.dry * matter.n_dm, matter.dry, 0.0, 0.0


def _salt(matter: Matter, packing: float) -> Parts | None:
    return None if matter.ec is None else (matter.dry * matter.ec, matter.dry, 0.0, 0.0)
