"""What the crops of a bed ask for day by day: nitrogen, water, and the bases they carry off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from loamery.bed.demand import crop_demand, uptake_share
from loamery.bed.matter import CHARGES
from loamery.errors import UnknownName
from loamery.garden.model import Planting
from loamery.reference import coefficient, table
from loamery.reference.lookup import figure
from loamery.say import say
from loamery.units import atomic_weight, to_si

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Crop:
    """The crops of one or several beds over the days of a run, per m2 of bed.

    Parameters
    ----------
    nitrogen_kg_m2 : taken up by the end of each day if there is enough, cumulative, shape (beds, days + 1).
    cover : share of the ground under leaves, 0 to 1, shape (beds, days).
    water_factor : crop coefficient under full leaves, shape (beds, days).
    base_mol_m2 : excess of bases the harvest carries off, cumulative, mol of charge, shape (beds, days + 1).
    p_kg_m2, k_kg_m2 : removed by the end of each day, cumulative, shape (beds, days + 1).
    root_depth_m : of each bed, shape (beds,).
    """

    nitrogen_kg_m2: Array
    cover: Array
    water_factor: Array
    base_mol_m2: Array
    p_kg_m2: Array
    k_kg_m2: Array
    root_depth_m: Array

    @property
    def days(self) -> int:
        """Return how many days it covers."""
        return int(self.cover.shape[1])


def bare(days: int, beds: int = 1) -> Crop:
    """Return beds with nothing growing on them."""
    none, also = np.zeros((beds, days + 1)), np.zeros((beds, days))
    depth = np.full(beds, coefficient("bed_root_zone").value)
    return Crop(none, also, also, none, none, none, depth)


def crops(plantings: Sequence[Sequence[Planting]], start: date, days: int) -> Crop:
    """Return what the crops of several beds ask for.

    Parameters
    ----------
    plantings : of each bed. start : first day of the run.

    Raises
    ------
    UnknownName : a crop that crops.csv does not hold.
    """
    grown = [_bed(one, start, days) for one in plantings]
    names = ("nitrogen_kg_m2", "cover", "water_factor", "base_mol_m2", "p_kg_m2", "k_kg_m2", "root_depth_m")
    return Crop(**{name: np.stack([one[name] for one in grown]) for name in names})


def _bed(plantings: Sequence[Planting], start: date, days: int) -> dict[str, Array]:
    out = {name: np.zeros(days + 1) for name in ("nitrogen_kg_m2", "base_mol_m2", "p_kg_m2", "k_kg_m2")}
    cover, water = np.zeros(days), np.zeros(days)
    for one in plantings:
        _known(one.crop)
        demand = crop_demand(one)
        course = _course(one, start, days)
        gained = np.maximum(course - course[0], 0.0) * one.share
        for name, total in (
            ("nitrogen_kg_m2", demand.n_kg_m2),
            ("p_kg_m2", demand.p_kg_m2),
            ("k_kg_m2", demand.k_kg_m2),
        ):
            out[name] += gained * total
        out["base_mol_m2"] += gained * demand.yield_kg_m2 * removed_bases(one.crop)
        leaves = one.share * _leaves(one, start, days)
        cover += leaves
        water += leaves * _water_factor(one.crop)
    water = np.where(cover > 0, water / np.maximum(cover, 1e-12), coefficient("bed_kc_default").value)
    return {**out, "cover": np.minimum(cover, 1.0), "water_factor": water, "root_depth_m": np.array(_roots(plantings))}


def _known(slug: str) -> None:
    names = [row["slug"] for row in table("crops")]
    if slug not in names:
        from difflib import get_close_matches

        near = get_close_matches(slug, names, 3) or names[:5]
        raise UnknownName(
            say("crop “{slug}”", slug=slug),
            expected=say("such as {listed}", listed=", ".join(near)),
            remedy=say("use a name from crops.md"),
        )


def _course(planting: Planting, start: date, days: int) -> Array:
    """Return the share of its uptake a planting has reached at the start of each day and at the end of the last."""
    length = max((planting.harvested - planting.planted).days, 1)
    since = (start - planting.planted).days + np.arange(days + 1)
    return uptake_share(since / length)


def _leaves(planting: Planting, start: date, days: int) -> Array:
    """Return the share of its ground a planting covers: it grows as uptake does, twice as early, and ends at harvest."""
    length = max((planting.harvested - planting.planted).days, 1)
    since = (start - planting.planted).days + np.arange(days) + 0.5
    standing = (since >= 0) & (since <= length)
    return np.where(standing, uptake_share(np.minimum(LEAVES_AHEAD * since / length, 1.0)), 0.0)


LEAVES_AHEAD = 2.0
"""Leaves close the ground in about half the time a crop stands."""


def _water_factor(slug: str) -> float:
    found = figure("crop_values", slug, "kc_mid")
    return found.value if found else coefficient("bed_kc_default").value


def removed_bases(slug: str) -> float:
    """Return the excess of bases in a kilogram of harvest, mol of charge: what it takes from the soil's lime.

    Notes
    -----
    Nitrogen is left out: the account of protons follows ammonium and nitrate by themselves.
    """
    total = 0.0
    for key in ("Ca", "Mg", "K", "P"):
        found = figure("crop_values", slug, f"removal_{key}")
        if found is not None:
            total += CHARGES[key] * to_si(found.value, found.unit) / to_si(atomic_weight(key), "g")
    return total


def _roots(plantings: Sequence[Planting]) -> float:
    """Return the depth roots reach, weighted by share and capped at what is counted for a bed."""
    known = [(one.share, figure("crop_values", one.crop, "root_depth")) for one in plantings]
    depths = [(share, to_si(one.value, one.unit)) for share, one in known if one is not None]
    if not depths:
        return coefficient("bed_root_zone").value
    mean = sum(share * depth for share, depth in depths) / sum(share for share, _ in depths)
    return float(min(mean, coefficient("bed_root_zone_most").value))
