"""What material gives a bed by published factors: how far and how fast it decays, how a mulch thins, salts.

The season plan takes release from the bed model (`loamery.bed.kernels`); these factors stand where seasons are played quickly, and beside
the model as a check.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.reference import coefficient
from loamery.reference.lookup import figure
from loamery.units import to_si

Array = NDArray[np.float64]
DAYS_PER_WEEK = 7.0


@dataclass(frozen=True)
class Decay:
    """How a material decays in warm moist soil.

    Parameters
    ----------
    decomposed_frac : share of dry matter decomposed in one season; decomposed_low and _high its 90 % range.
    rate_per_day : first-order rate at 25 °C.
    lag_days : days at 25 °C before release starts.
    p_share, k_share : share of total P and K that the crops can use in the first season.
    sources : source keys.
    """

    decomposed_frac: float
    decomposed_low: float
    decomposed_high: float
    rate_per_day: float
    lag_days: float
    p_share: float
    k_share: float
    sources: tuple[str, ...]


def decay_of(kind: str) -> Decay:
    """Return how a reference material decays, from its own rows or, where it has none, from the values of compost.

    Parameters
    ----------
    kind : slug of materials.csv.
    """
    defaults = {
        "decomposed_fraction": "decay_share_compost",
        "decay_rate_25c": "k_compost",
        "P_available_share": "p_availability",
        "K_available_share": "k_availability",
    }
    values: dict[str, float] = {}
    sources: list[str] = []
    ends: dict[str, tuple[float, float]] = {}
    for name, default in defaults.items():
        found = figure("material_values", kind, name)
        one = coefficient(default)
        values[name] = found.value if found else one.value
        ends[name] = (found.low, found.high) if found else (one.low, one.high)
        sources += list(found.sources) if found else [one.source]
    lag = figure("material_values", kind, "release_lag")
    return Decay(
        decomposed_frac=values["decomposed_fraction"],
        decomposed_low=ends["decomposed_fraction"][0],
        decomposed_high=ends["decomposed_fraction"][1],
        rate_per_day=values["decay_rate_25c"],
        lag_days=lag.value if lag else 0.0,
        p_share=values["P_available_share"],
        k_share=values["K_available_share"],
        sources=tuple(dict.fromkeys(sources)),
    )


def warmth(temp_c: ArrayLike) -> Array:
    """Return the speed of decay at a temperature against that at 25 °C.

    Parameters
    ----------
    temp_c : soil temperature, °C.

    Returns
    -------
    Factor, 0 below freezing, same shape.

    Source
    ------
    Q10 form, k = kref Q10^((T - Tref)/10); Q10 in coefficients.csv (Stanford et al. 1973, recalled).
    """
    temp = np.asarray(temp_c, dtype=np.float64)
    factor = coefficient("q10").value ** ((temp - coefficient("q10_temp_ref").value) / 10.0)
    return np.asarray(np.where(temp > 0.0, factor, 0.0))


def mulch_left(decay: Decay, weekly_temp_c: ArrayLike) -> Array:
    """Return how much of a mulch applied in one week still lies there at the end of a later week.

    Parameters
    ----------
    decay : of the material.
    weekly_temp_c : mean soil temperature of each week, °C, shape (weeks,).

    Returns
    -------
    Array of shape (weeks, weeks): row = week of application, column = end of a week; 0 before application.

    Source
    ------
    First order in thermal time, 1 - D (1 - exp(-k max(tau - lag, 0))); it touches the soil with its underside only, contact
    factor from Parker 1962, SSSAP 26:559 (PARKER62).
    """
    days = DAYS_PER_WEEK * warmth(weekly_temp_c)
    weeks = np.arange(days.size)
    until = np.concatenate([[0.0], np.cumsum(days)])
    tau = until[None, 1:] - until[:-1, None]  # thermal days from the start of week a to the end of week t
    rate = decay.rate_per_day * coefficient("surface_contact_factor").value
    gone = decay.decomposed_frac * -np.expm1(-rate * np.maximum(tau - decay.lag_days, 0.0))
    return np.where(weeks[None, :] >= weeks[:, None], 1.0 - gone, 0.0)


def salt_rise(salt_kg_m2: ArrayLike, soil_depth_m: float, bulk_density_kg_m3: float) -> Array:
    """Return how much dissolved salt raises the conductivity of a saturated soil paste, before any leaching.

    Parameters
    ----------
    salt_kg_m2 : soluble salts added.
    soil_depth_m, bulk_density_kg_m3 : of the layer they mix into.

    Returns
    -------
    Rise of ECe, S/m.

    Source
    ------
    640 mg/L of salts for each dS/m (US Salinity Laboratory, Handbook 60, recalled); saturation water in coefficients.
    """
    water_l_m2 = bulk_density_kg_m3 * soil_depth_m * coefficient("saturation_water").value
    grams_per_l = np.asarray(salt_kg_m2, dtype=np.float64) / to_si(1.0, "g") / water_l_m2
    return np.asarray(to_si(1.0, "dS/m") * grams_per_l / coefficient("salt_per_ec").value)


def salts_of(ec_si: ArrayLike) -> Array:
    """Return the soluble salts of a material from the conductivity of its 1:5 extract.

    Parameters
    ----------
    ec_si : conductivity of the 1:5 extract, S/m.

    Returns
    -------
    kg salts per kg dry matter.
    """
    grams_per_l = np.asarray(ec_si, dtype=np.float64) / to_si(1.0, "dS/m") * coefficient("salt_per_ec").value
    return np.asarray(grams_per_l * coefficient("extract_water_per_dry").value * to_si(1.0, "g"))
