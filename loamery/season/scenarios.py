"""The scenarios a plan is made for: a few draws that stand for all of them.

A scenario is one draw of everything at once: what the materials hold and release, how much of phosphorus and potassium is
available, what the soil itself gives, warmth and rain of the season, and how much of what was promised arrives.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import Garden
from loamery.reference import coefficient
from loamery.season.from_bed import Seasons
from loamery.season.needs import BedNeed
from loamery.season.spreads import Spread
from loamery.season.stuff import RAW, Stuff
from loamery.uncertain import from_range

Array = NDArray[np.float64]
SCENARIOS = 16
"""How many scenarios a plan is made for where nobody says otherwise."""


@dataclass(frozen=True)
class Scenarios:
    """Draws that a plan is made for.

    Parameters
    ----------
    picked : numbers of the draws, shape (scenarios,).
    soil_n_kg_m2 : the soil's own nitrogen by the end of each week, (scenarios, beds, weeks).
    arrives : share of a spread's stuff that can be counted on, (scenarios, spreads).
    """

    picked: NDArray[np.int64]
    soil_n_kg_m2: Array
    arrives: Array

    @property
    def count(self) -> int:
        """Return how many there are."""
        return int(self.picked.size)


def make_scenarios(
    garden: Garden,
    seasons: Seasons,
    needs: Sequence[BedNeed],
    spreads: Sequence[Spread],
    raw: Sequence[Stuff],
    count: int,
) -> Scenarios:
    """Return scenarios for a plan.

    Parameters
    ----------
    count : how many; 1 is the middle of the draws.

    Notes
    -----
    The draws are put in order of how much nitrogen they give in all, cut into equally many for each scenario, and the
    middle one of each part is taken: a few scenarios then cover rich and poor draws in their true proportions.
    """
    rich = sum((_rank(one.release.amount.sum(axis=0)) for one in spreads), start=np.zeros(garden.info.draws))
    order = np.argsort(rich, kind="stable")
    picked = order[((np.arange(count) + 0.5) * order.size / count).astype(int)]
    return draws_as_scenarios(garden, seasons, needs, spreads, raw, picked)


def draws_as_scenarios(
    garden: Garden,
    seasons: Seasons,
    needs: Sequence[BedNeed],
    spreads: Sequence[Spread],
    raw: Sequence[Stuff],
    picked: NDArray[np.int64],
) -> Scenarios:
    """Return the draws of given numbers as scenarios."""
    soil = seasons.soil_n_kg_m2
    # what each bed's need says of its soil is the middle; a simulator may have told otherwise
    told = np.stack([one.n_soil_kg_m2 for one in needs]) - np.median(soil, axis=0)
    share = {one.id: _arrives(garden, one)[picked] for one in raw}
    arrives = [_arrival(one.stuff, share, picked.size) for one in spreads]
    return Scenarios(
        picked=picked,
        soil_n_kg_m2=soil[seasons.of_draws(garden.info.draws)[picked]] + told,
        arrives=np.array(arrives).reshape(len(spreads), picked.size).T,
    )


def _rank(values: Array) -> Array:
    """Return the order of draws as shares, 0 for all when they do not differ."""
    return np.argsort(np.argsort(values)) / values.size if np.ptp(values) > 0 else np.zeros(values.size)


def _arrives(garden: Garden, stuff: Stuff) -> Array:
    """Return draws of the share of a free material's promised amount that arrives; what is bought arrives."""
    promised = [one for one in garden.supplies if one.material == stuff.id]
    if not promised or any(one.price_per_kg > 0 for one in promised):
        return np.ones(garden.info.draws)
    one = coefficient("supply_arrives")
    draws = from_range("lognormal", one.low, one.high, one.value)
    return np.minimum(draws.draw(garden.info.draws, garden.info.seed, "arrives", stuff.id), 1.0)


def _arrival(stuff: Stuff, share: dict[str, Array], count: int) -> Array:
    if stuff.form == RAW:
        return share.get(stuff.id, np.ones(count))
    parts = [kg * share.get(key, np.ones(count)) for key, kg in stuff.made_of]
    return np.sum(parts, axis=0) if parts else np.ones(count)
