"""What a mixture is like: pure functions on masses and compositions, all on totals.

The first axis of every array is the materials; a second axis, where there is one, is the draws. A ratio of a blend is
always total over total. It is never the average of the ratios: a material with little nitrogen would count as much as
one with a lot.

>>> from loamery.blend.mix import blend_cn
>>> round(float(blend_cn([10.0, 6.8], [0.77, 0.35], [0.45, 0.50], [0.024, 0.0075])), 1)
36.7
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.reference import coefficient

Array = NDArray[np.float64]


def total(mass_kg: ArrayLike, per_kg: ArrayLike) -> Array:
    """Return the sum over materials of mass times an amount per kilogram.

    Parameters
    ----------
    mass_kg : as received, shape (materials,) or (materials, draws).
    per_kg : amount per kg as received, same leading shape; a number counts for every material.

    Returns
    -------
    Array of shape () or (draws,).
    """
    mass, amount = np.asarray(mass_kg, dtype=np.float64), np.asarray(per_kg, dtype=np.float64)
    if mass.ndim == 1 and amount.ndim == 2:
        mass = mass[:, None]
    if amount.ndim == 1 and mass.ndim == 2:
        amount = amount[:, None]
    return np.asarray((mass * amount).sum(axis=0))


def dry_share(moisture: ArrayLike) -> Array:
    """Return kg dry matter per kg as received."""
    return 1.0 - np.asarray(moisture, dtype=np.float64)


def blend_moisture(mass_kg: ArrayLike, moisture: ArrayLike, added_water_kg: ArrayLike = 0.0) -> Array:
    """Return the moisture of a blend, kg water per kg as built.

    Parameters
    ----------
    mass_kg : as received, shape (materials,).
    moisture : kg/kg as received, shape (materials,) or (materials, draws).
    added_water_kg : water poured on, kg.

    Source
    ------
    Richard and Trautmann, Cornell Waste Management Institute, "Getting the right mix": G = sum(Q M)/sum(Q).
    """
    water = np.asarray(added_water_kg, dtype=np.float64)
    return np.asarray((total(mass_kg, moisture) + water) / (total(mass_kg, 1.0) + water))


def blend_cn(mass_kg: ArrayLike, moisture: ArrayLike, c_dm: ArrayLike, n_dm: ArrayLike) -> Array:
    """Return the C:N of a blend: carbon in all of it over nitrogen in all of it.

    Parameters
    ----------
    mass_kg : as received, shape (materials,).
    moisture : kg/kg as received.
    c_dm, n_dm : kg/kg dry matter.

    Source
    ------
    Richard and Trautmann, Cornell Waste Management Institute, formula page: R = sum(Q C (100-M))/sum(Q N (100-M)).
    """
    dry = dry_share(moisture)
    return np.asarray(total(mass_kg, dry * np.asarray(c_dm)) / total(mass_kg, dry * np.asarray(n_dm)))


def blend_concentration(mass_kg: ArrayLike, moisture: ArrayLike, share_dm: ArrayLike) -> Array:
    """Return a dry-basis concentration (N, ash, fines, salt) of a blend, weighted by dry mass."""
    dry = dry_share(moisture)
    return np.asarray(total(mass_kg, dry * np.asarray(share_dm)) / total(mass_kg, dry))


def blend_volume_m3(mass_kg: ArrayLike, bulk_density: ArrayLike, packing: float = 1.0) -> Array:
    """Return the volume of a blend, m3: volumes add; added water fills pores and takes no room of its own.

    Parameters
    ----------
    bulk_density : kg/m3 as received.
    packing : volume of the mixture per sum of the volumes (1: nothing is lost to fines in the pores of the coarse).
    """
    return packing * total(mass_kg, 1.0 / np.asarray(bulk_density, dtype=np.float64))


def blend_bulk_density(
    mass_kg: ArrayLike, bulk_density: ArrayLike, added_water_kg: ArrayLike = 0.0, packing: float = 1.0
) -> Array:
    """Return the wet bulk density of a blend, kg/m3: total mass over total volume."""
    mass = total(mass_kg, 1.0) + np.asarray(added_water_kg, dtype=np.float64)
    return np.asarray(mass / blend_volume_m3(mass_kg, bulk_density, packing))


def condensed_m3_per_kg(moisture: ArrayLike, om_dm: ArrayLike, ash_dm: ArrayLike) -> Array:
    """Return the volume of water and solids without any air, m3 per kg as received.

    Source
    ------
    The bracket of the free-air-space formula (Haug 1993; Richard et al. 2004; recalled): w/rho_water +
    (1-w)(OM/rho_om + ash/rho_ash), densities in coefficients.csv.
    """
    wet = np.asarray(moisture, dtype=np.float64)
    rho_om, rho_ash = coefficient("rho_organic").value, coefficient("rho_ash").value
    solids = np.asarray(om_dm) / rho_om + np.asarray(ash_dm) / rho_ash
    return np.asarray(wet / coefficient("rho_water").value + (1.0 - wet) * solids)


def free_air_space(bulk_density: ArrayLike, moisture: ArrayLike, om_dm: ArrayLike, ash_dm: ArrayLike) -> Array:
    """Return the air-filled share of the volume: 1 - rho_wet (w/rho_water + (1-w)(OM/rho_om + ash/rho_ash)).

    Parameters
    ----------
    bulk_density : kg/m3 as received.
    moisture : kg/kg as received.
    om_dm, ash_dm : kg/kg dry matter.

    Returns
    -------
    m3 air per m3; below 0 when the figures cannot all be true (denser than solid matter and water).
    """
    return np.asarray(1.0 - np.asarray(bulk_density) * condensed_m3_per_kg(moisture, om_dm, ash_dm))


def blend_free_air_space(
    mass_kg: ArrayLike,
    moisture: ArrayLike,
    om_dm: ArrayLike,
    ash_dm: ArrayLike,
    bulk_density: ArrayLike,
    added_water_kg: ArrayLike = 0.0,
    packing: float = 1.0,
) -> Array:
    """Return the free air space of a blend: 1 - (water and solids, m3)/(bulk volume, m3).

    Notes
    -----
    With rho_wet = total mass / total volume this is the formula of ``free_air_space`` on totals, without rounding.
    """
    condensed = total(mass_kg, condensed_m3_per_kg(moisture, om_dm, ash_dm))
    condensed = condensed + np.asarray(added_water_kg) / coefficient("rho_water").value
    return np.asarray(1.0 - condensed / blend_volume_m3(mass_kg, bulk_density, packing))


def densest_volume_m3(
    mass_kg: ArrayLike,
    moisture: ArrayLike,
    om_dm: ArrayLike,
    ash_dm: ArrayLike,
    bulk_density: ArrayLike,
    fines: ArrayLike,
) -> Array:
    """Return the least volume to which a blend can settle if fines fill every pore of the coarse, m3.

    Parameters
    ----------
    fines : share of each material finer than 2 mm; it divides the material's volume into fine and coarse.

    Source
    ------
    Westman and Hugill 1930, J. Am. Ceram. Soc. 13:767, two sizes (recalled): the larger of 'coarse skeleton, fines in
    its pores' and 'fines as a body, coarse pieces embedded in it'.
    """
    share = np.asarray(fines, dtype=np.float64)
    bulk = 1.0 / np.asarray(bulk_density, dtype=np.float64)
    solid = condensed_m3_per_kg(moisture, om_dm, ash_dm)
    skeleton = total(mass_kg, (1.0 - share) * bulk)
    embedded = total(mass_kg, share * bulk) + total(mass_kg, (1.0 - share) * solid)
    return np.maximum(skeleton, embedded)


def ph_by_protons(mass_kg: ArrayLike, moisture: ArrayLike, ph: ArrayLike) -> Array:
    """Return -log10 of the dry-mass mean of hydrogen-ion activity; advisory, it ignores buffering."""
    return np.asarray(-np.log10(blend_concentration(mass_kg, moisture, 10.0 ** -np.asarray(ph, dtype=np.float64))))


def ph_by_mass(mass_kg: ArrayLike, moisture: ArrayLike, ph: ArrayLike) -> Array:
    """Return the dry-mass mean of pH: what equal buffering per kg dry matter would give; advisory."""
    return blend_concentration(mass_kg, moisture, ph)


def second_mass_kg(
    first_kg: ArrayLike, top1: ArrayLike, bottom1: ArrayLike, top2: ArrayLike, bottom2: ArrayLike, goal: ArrayLike
) -> Array:
    """Return how much of a second material brings total top over total bottom to a goal, kg.

    Parameters
    ----------
    top1, bottom1, top2, bottom2 : the two amounts per kg as received of each material, whose totals form the ratio.
    goal : the ratio wanted.

    Returns
    -------
    kg as received; negative or not finite when no amount of the second material can do it.
    """
    first, aim = np.asarray(first_kg, dtype=np.float64), np.asarray(goal, dtype=np.float64)
    need = first * (aim * np.asarray(bottom1) - np.asarray(top1))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(need / (np.asarray(top2) - aim * np.asarray(bottom2)))


def second_mass_for_moisture_kg(
    first_kg: ArrayLike, moisture1: ArrayLike, moisture2: ArrayLike, goal: ArrayLike
) -> Array:
    """Return Q2 = Q1 (G - M1)/(M2 - G), kg: how much of a second material brings the moisture to a goal.

    Source
    ------
    Richard and Trautmann, Cornell Waste Management Institute, moisture page.
    """
    return second_mass_kg(first_kg, moisture1, 1.0, moisture2, 1.0, goal)


def second_mass_for_cn_kg(
    first_kg: ArrayLike,
    moisture: tuple[ArrayLike, ArrayLike],
    c_dm: tuple[ArrayLike, ArrayLike],
    n_dm: tuple[ArrayLike, ArrayLike],
    goal: ArrayLike,
) -> Array:
    """Return how much of a second material brings the C:N to a goal, kg.

    Parameters
    ----------
    moisture, c_dm, n_dm : of the first and of the second material.

    Source
    ------
    Richard and Trautmann, Cornell Waste Management Institute, C/N page:
    Q2 = Q1 N1 (R - C1/N1)(100-M1) / (N2 (C2/N2 - R)(100-M2)).
    """
    dry = dry_share(moisture[0]), dry_share(moisture[1])
    top = [dry[i] * np.asarray(c_dm[i]) for i in (0, 1)]
    bottom = [dry[i] * np.asarray(n_dm[i]) for i in (0, 1)]
    return second_mass_kg(first_kg, top[0], bottom[0], top[1], bottom[1], goal)


def water_for_moisture_kg(mass_kg: ArrayLike, moisture: ArrayLike, goal: ArrayLike) -> Array:
    """Return the water to add so that a mixture reaches a moisture, kg; negative when it is wetter already.

    Parameters
    ----------
    mass_kg : as received, shape (materials,).
    goal : kg/kg as built, below 1.
    """
    aim = np.asarray(goal, dtype=np.float64)
    return np.asarray((aim * total(mass_kg, 1.0) - total(mass_kg, moisture)) / (1.0 - aim))
