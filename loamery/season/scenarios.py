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
from loamery.season.from_bed import SEASONS, Seasons
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
    lying_kg_m2, drained : of `Seasons`, (scenarios, beds, weeks).
    catch_up : how much faster than its course a crop can take up what it missed, (scenarios,).
    arrives : share of a spread's stuff that can be counted on, (scenarios, spreads).
    """

    picked: NDArray[np.int64]
    soil_n_kg_m2: Array
    lying_kg_m2: Array
    drained: Array
    catch_up: Array
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
    draw nearest to the middle of each part is taken whose season is not taken yet: a few scenarios then cover rich and poor
    draws and all the seasons in their true proportions.
    """
    rich = sum((_rank(one.release.by_the_end) for one in spreads), start=np.zeros(garden.info.draws))
    season = seasons.of_draws(garden.info.draws)
    picked, free = [], np.full(SEASONS, -(-count // SEASONS))
    for part in np.array_split(np.argsort(rich, kind="stable"), count):
        place = np.abs(np.arange(part.size) - 0.5 * (part.size - 1))
        one = part[np.lexsort((place, free[season[part]] == 0))[0]]
        free[season[one]] -= 1
        picked.append(one)
    return draws_as_scenarios(garden, seasons, needs, spreads, raw, np.array(picked, dtype=np.int64))


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
    season = seasons.of_draws(garden.info.draws)[picked]
    return Scenarios(
        picked=picked,
        soil_n_kg_m2=soil[season] + told,
        lying_kg_m2=seasons.lying_kg_m2[season],
        drained=seasons.drained[season],
        catch_up=seasons.numbers["bed_catch_up"][season],
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
