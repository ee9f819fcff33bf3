"""Salt of a bed: drained water that carries it off, still water that keeps it back, and what the soil's own minerals dissolve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.parameters import Parameters
from loamery.reference import coefficient
from loamery.units import to_si

Array = NDArray[np.float64]
L_PER_M3 = 1000.0


@dataclass(frozen=True, eq=False)
class SaltDay:
    """What a day did to soluble salts, kg per m2: all that is there in the evening, its part in still water, what left and what dissolved."""

    salts: Array
    still: Array
    leached: Array
    dissolved: Array


def salt_day(
    salts: ArrayLike, still: ArrayLike, drained_mm: ArrayLike, held_mm: ArrayLike, least: ArrayLike, numbers: Parameters
) -> SaltDay:
    """Return soluble salts of a layer a day later.

    Parameters
    ----------
    salts, still : in the morning, all and in still water. drained_mm : water that leaves the layer. held_mm : water it holds.
    least : what the soil's minerals keep in solution. All salts in kg per m2.

    Notes
    -----
    Only a part of the water of a soil moves; the rest gives and takes salt by diffusion. So the first water carries off
    more than later water does, and the same water carries off more when it comes in showers than at once.

    Source
    ------
    Mobile and immobile water: van Genuchten & Wierenga 1976 (recalled), its mobile part one well mixed layer.
    """
    moves, there = numbers["bed_salt_mobile"], np.asarray(salts, dtype=np.float64)
    resting, drained = np.asarray(still, dtype=np.float64), np.asarray(drained_mm, dtype=np.float64)
    leached = np.asarray((there - resting) * -np.expm1(-drained / (moves * np.asarray(held_mm, dtype=np.float64))))
    left = there - leached
    even = (1.0 - moves) * left
    kept = even + (resting - even) * np.exp(-numbers["bed_salt_exchange"])
    dissolved = np.maximum(np.asarray(least, dtype=np.float64) - left, 0.0)
    return SaltDay(left + dissolved, kept + (1.0 - moves) * dissolved, leached, dissolved)


def own_conductivity(ph: ArrayLike, numbers: Parameters) -> Array:
    """Return the conductivity that a soil's own minerals and humus keep in a paste that was washed for long, S/m.

    Parameters
    ----------
    ph : of the soil.

    Notes
    -----
    Bicarbonate held by the soil's own carbon dioxide at its pH, at most as much as calcite lets dissolve, and a
    remainder of sulfate, nitrate and silica salts. Gypsum, which holds a paste near 2 dS/m, is not known of here.

    Source
    ------
    Carbonate equilibria at 25 °C without activities (constants in coefficients_salt.csv); 10 mol of charge per m3
    for each dS/m, Handbook 60 (recalled).
    """
    gas = numbers["bed_soil_co2"]
    by_ph = _power("carbonate_log_kh", "carbonate_log_k1") * gas * 10.0 ** np.asarray(ph, dtype=np.float64)
    charge_mol_m3 = L_PER_M3 * np.minimum(by_ph, 2.0 * calcite_calcium(gas))
    per_ds_m = coefficient("salt_charge_per_ec").value
    return np.asarray(to_si(1.0, "dS/m") * (charge_mol_m3 / per_ds_m + numbers["bed_salt_base"]))


def calcite_calcium(carbon_dioxide: ArrayLike) -> Array:
    """Return the calcium that calcite keeps in water under air with carbon dioxide, mol/L.

    Parameters
    ----------
    carbon_dioxide : share of the air by volume, at 1 bar.

    Source
    ------
    [Ca]3 = Ks K1 KH p / (4 K2), charge balance Ca = HCO3 / 2 (textbook of aquatic chemistry, recalled).
    """
    four = 4.0 * _power("carbonate_log_k2")
    return np.asarray(
        (_power("calcite_log_ks", "carbonate_log_k1", "carbonate_log_kh") * np.asarray(carbon_dioxide) / four)
        ** (1.0 / 3.0)
    )


def _power(*keys: str) -> float:
    return float(10.0 ** sum(coefficient(key).value for key in keys))
