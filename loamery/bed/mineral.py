"""One day of mineral nitrogen: ammonium to nitrate, crop uptake, gas, leaching, and the acid or lime each makes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.parameters import Parameters
from loamery.reference import coefficient
from loamery.units import atomic_weight, to_si

Array = NDArray[np.float64]


def nitrogen_kg_mol() -> float:
    """Return the mass of a mole of nitrogen, kg."""
    return float(to_si(atomic_weight("N"), "g"))


@dataclass(frozen=True, eq=False)
class MineralDay:
    """What one day did to mineral nitrogen, kg N per m2, shape (beds, draws); acid in mol of H+ per m2."""

    ammonium: Array
    nitrate: Array
    nitrified: Array
    taken_ammonium: Array
    taken_nitrate: Array
    gas: Array
    leached: Array
    acid_mol: Array


def mineral_day(
    ammonium: Array, nitrate: Array, given: Array, tied: Array, asked: Array, numbers: Parameters, pace: Array,
    warmth: Array, filled: Array, ph: Array, leach: Array,
) -> MineralDay:  # fmt: skip
    """Return mineral nitrogen a day later.

    Parameters
    ----------
    ammonium, nitrate : in the morning. given, tied : ammonium set free by decay, mineral nitrogen taken by decomposers.
    asked : what the crop wants that day. pace : warmth times moisture. warmth : alone.
    filled : share of the pores with water. leach : share of the nitrate that drains away.

    Notes
    -----
    Equations 16 to 22 of docs/bed-model.md; ammonium and nitrate never fall below zero.
    """
    start_ammonium = ammonium + given
    tied_ammonium = np.minimum(tied, start_ammonium)
    left, nitrate = start_ammonium - tied_ammonium, nitrate - (tied - tied_ammonium)
    nitrate = np.maximum(nitrate, 0.0)
    nitrified = left * -np.expm1(-numbers["bed_nitrification"] * pace * reaction_factor(ph))
    left, nitrate = left - nitrified, nitrate + nitrified
    pool = left + nitrate
    taken = np.minimum(asked, numbers["bed_plant_take_most"] * pool)
    from_ammonium = taken * left / np.maximum(pool, 1e-15)
    from_nitrate = taken - from_ammonium
    left, nitrate = left - from_ammonium, nitrate - from_nitrate
    gas = nitrate * -np.expm1(-numbers["bed_denitrification"] * warmth * wet_factor(filled))
    nitrate = nitrate - gas
    leached = nitrate * leach
    tied_nitrate = tied - tied_ammonium
    protons = 2.0 * nitrified - given + tied_ammonium - tied_nitrate + from_ammonium - from_nitrate - gas
    return MineralDay(
        left, nitrate - leached, nitrified, from_ammonium, from_nitrate, gas, leached, protons / nitrogen_kg_mol()
    )


def reaction_factor(ph: ArrayLike) -> Array:
    """Return the speed of nitrification at a soil pH against that in a neutral soil."""
    low, full = coefficient("bed_nitrification_ph_low").value, coefficient("bed_nitrification_ph_full").value
    least = coefficient("bed_nitrification_least").value
    share = np.clip((np.asarray(ph, dtype=np.float64) - low) / (full - low), 0.0, 1.0)
    return np.asarray(least + (1.0 - least) * share)


def wet_factor(filled: ArrayLike) -> Array:
    """Return how far a soil is water-logged: 0 up to coefficient ``bed_denitrification_wfps``, 1 when full."""
    above = coefficient("bed_denitrification_wfps").value
    return np.asarray(np.clip((np.asarray(filled, dtype=np.float64) - above) / (1.0 - above), 0.0, 1.0))


def ammonia_share(ph: ArrayLike, temp_c: ArrayLike) -> Array:
    """Return the share of ammoniacal nitrogen that is free ammonia.

    Source
    ------
    Emerson et al. 1975: pKa = 0.09018 + 2729.92 / T (recalled).
    """
    pka = 0.09018 + 2729.92 / (np.asarray(temp_c, dtype=np.float64) + 273.15)
    return np.asarray(1.0 / (1.0 + 10.0 ** (pka - np.asarray(ph, dtype=np.float64))))


def surface_ammonium_day(
    held: Array, numbers: Parameters, material_ph: Array, air_c: Array, water_mm: Array
) -> tuple[Array, Array]:
    """Return what of the ammonium on the surface is lost to the air and what enters the soil in a day, kg N per m2.

    Parameters
    ----------
    held : on the surface. material_ph : of what it lies in. air_c : that day. water_mm : rain and watering.

    Notes
    -----
    Two first-order losses that share what goes, equation 23 of docs/bed-model.md.
    """
    usual = ammonia_share(8.0, 20.0)
    away = numbers["bed_volatilisation"] * ammonia_share(material_ph, air_c) / usual * (air_c > 0.0)
    inward = numbers["bed_surface_entry"] + water_mm / coefficient("bed_entry_rain").value
    gone = held * -np.expm1(-(away + inward))
    lost = gone * away / (away + inward)
    return lost, gone - lost
