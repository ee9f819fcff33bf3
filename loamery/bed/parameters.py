"""The numbers the bed model rests on, as draws: every one a row of the coefficient files, with its 90 % range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.errors import UnknownName
from loamery.reference import Coefficient, coefficient
from loamery.say import say
from loamery.uncertain import Uncertain, from_range

Array = NDArray[np.float64]
DRAWN = (
    "bed_efficiency", "bed_efficiency_least", "bed_biomass_cn", "bed_biomass_death", "bed_humus_share",
    "bed_residual_rate", "bed_fast_ratio", "bed_fast_n_coffee", "bed_take_most", "bed_nitrification",
    "bed_denitrification", "bed_volatilisation", "bed_surface_entry", "bed_leach_efficiency", "bed_plant_take_most",
    "bed_catch_up", "bed_soil_n_days", "bed_soil_temp_days", "bed_lime_rate", "bed_lime_rate_coarse",
    "q10", "surface_contact_factor", "mulch_interface_share", "moisture_peak_wfps", "phbc_scale",
    "soil_n_supply_per_percent_som", "bed_salt_mobile", "bed_salt_exchange", "bed_soil_co2", "bed_salt_base",
    "bed_retention_scale", "bed_fast_n_manure",
)  # fmt: skip
"""Coefficients whose range the bands of a bed come from; all others are taken at their best value."""


@dataclass(frozen=True, eq=False)
class Parameters:
    """Draws of the model's coefficients.

    Parameters
    ----------
    values : by coefficient key, each of shape (draws,).
    draws : how many. seed : what they were drawn with.
    """

    values: Mapping[str, Array]
    draws: int
    seed: int = 1

    def __getitem__(self, key: str) -> Array:
        return self.values[key]

    def with_values(self, **changed: ArrayLike) -> Parameters:
        """Return the same draws with some coefficients set to given values.

        Raises
        ------
        UnknownName : no such coefficient is drawn.
        """
        for key in changed:
            if key not in self.values:
                raise UnknownName(
                    say("bed coefficient “{key}”", key=key), expected=", ".join(DRAWN), remedy=say("name one of these")
                )  # fmt: skip
        shaped = {
            key: np.broadcast_to(np.asarray(one, dtype=np.float64), (self.draws,)) for key, one in changed.items()
        }
        return replace(self, values={**self.values, **shaped})


def bed_parameters(draws: int, seed: int = 1) -> Parameters:
    """Return seeded draws of every coefficient of the bed model; one draw is the best values themselves.

    Parameters
    ----------
    draws : how many, 1 or more.
    """
    if draws == 1:
        return Parameters({key: np.array([coefficient(key).value]) for key in DRAWN}, 1, seed)
    return Parameters({key: spread_of(coefficient(key)).draw(draws, seed, "bed", key) for key in DRAWN}, draws, seed)


def spread_of(one: Coefficient) -> Uncertain:
    """Return the distribution of a coefficient: a share on the logit scale, everything else log-normal."""
    share = one.low > 0.0 and one.high < 1.0 and one.unit == "1"
    return from_range("logit" if share else "lognormal", one.low, one.high, one.value)
