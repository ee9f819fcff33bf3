"""Sacks that were bought already, and how many may still be."""

from __future__ import annotations

from datetime import date

from loamery.garden.model import Garden, Good
from loamery.garden.records import Load
from loamery.season.calendar import Calendar


def is_bought(garden: Garden, load: Load) -> bool:
    """Tell whether a load is sacks from a shop: the material is sold by the sack, and no supply names who it came from."""
    supplied = any((one.donor, one.material) == (load.donor, load.material) for one in garden.supplies)
    return not supplied and any(one.material == load.material for one in garden.goods)


def left_to_buy(garden: Garden, calendar: Calendar, since: date) -> tuple[Good, ...]:
    """Return what may still be bought in a season from a day on, each good with the sacks that are left of the most.

    Notes
    -----
    Where a material is sold in several sacks, a load counts for the one whose price for a kilogram is nearest.
    """
    bought = dict.fromkeys(range(len(garden.goods)), 0.0)
    for load in garden.loads:
        if calendar.start <= load.on < since and is_bought(garden, load):
            sold = [at for at, one in enumerate(garden.goods) if one.material == load.material]
            bought[min(sold, key=lambda at: abs(_per_kg(garden.goods[at]) - load.price_per_kg))] += load.kg
    left = [
        one.model_copy(update={"most": max(one.most - round(bought[at] / one.sack_kg), 0)})
        for at, one in enumerate(garden.goods)
    ]
    return tuple(one for one in left if one.most > 0)


def _per_kg(good: Good) -> float:
    return good.price / good.sack_kg
