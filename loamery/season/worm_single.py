"""What one feeding does to a worm bed: layers of the feed on its bedding, thin to thick, by the heap model."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.heap.model import ensemble
from loamery.heap.weather import Weather
from loamery.reference import coefficient
from loamery.season.worm_bed import EVERY_DAYS, WormBed, sheltered
from loamery.season.worm_course import WARM_BED_K
from loamery.uncertain import percentiles

Array = NDArray[np.float64]
DEPTHS_M = (0.01, 0.02, 0.03, 0.05, 0.075, 0.10, 0.15, 0.20)
DAYS, CELLS, FED_DAY, MOST_DRAWS = 14, 12, 1.0, 12
COLDEST_C = 0.0


@dataclass(frozen=True, eq=False)
class OneFeeding:
    """A bed after one feeding, by depth of the layer given (DEPTHS_M).

    Parameters
    ----------
    bed_c : of the bed before, and of the air over it all the while.
    draws : of the answer; only the first so many are run, the others follow them.
    day : days since the feeding, shape (times,).
    warmest_c : warmest spot, mean_c mean of the bed, shape (draws run, depths, times).
    unfed_warmest_c, unfed_mean_c : the highest of the same when nothing is fed, shape (draws run,).
    """

    bed_c: float
    draws: int
    day: Array
    warmest_c: Array
    mean_c: Array
    unfed_warmest_c: Array
    unfed_mean_c: Array

    def room_m(self) -> Array:
        """Return the depth of feed that stays cool enough, m, shape (draws,); infinite where the thickest does."""
        top, good = coefficient("worm_temp_max").value, coefficient("worm_temp_high").value
        if self.bed_c >= top:
            return np.zeros(self.draws)
        spot, mean = self.warmest_c.max(axis=2), self.mean_c.max(axis=2)
        room = [
            cool_depth_m(one, unfed, np.maximum(most, unfed + WARM_BED_K))
            for one, unfed, most in ((spot, self.unfed_warmest_c, top), (mean, self.unfed_mean_c, good))
        ]
        return np.resize(np.minimum(*room), self.draws)

    def band(self, name: str) -> Array:
        """Return the greatest of a temperature by depth, 90 % band, shape (3, depths)."""
        return percentiles(getattr(self, name).max(axis=2), 0)

    def as_dict(self) -> list[dict[str, object]]:
        """Return it ready for JSON."""
        bands = {"warmest": self.band("warmest_c"), "mean": self.band("mean_c")}
        return [
            {
                "depth_m": depth,
                **{
                    name: {"median": float(one[1, i]), "low": float(one[0, i]), "high": float(one[2, i]), "unit": "C"}
                    for name, one in bands.items()
                },
            }
            for i, depth in enumerate(DEPTHS_M)
        ]


def one_feeding(bed: WormBed, density_kg_m3: Array, bed_c: float) -> OneFeeding:
    """Return what one feeding of each depth does to a bed under air as warm as it is.

    Parameters
    ----------
    density_kg_m3 : of the feed as received, shape (draws,).
    bed_c : below freezing nothing ferments: the run is made at 0 °C.
    """
    temp, count = max(bed_c, COLDEST_C), min(bed.draws, MOST_DRAWS)
    air = sheltered(Weather.constant(temp, DAYS + 1))
    specs = [
        bed.spec(draw, air, [(FED_DAY, depth * float(density_kg_m3[draw]))])
        for draw in range(count)
        for depth in (0.0, *DEPTHS_M)
    ]
    run = ensemble(specs, DAYS, CELLS, every_days=EVERY_DAYS)
    share = run.dry_kg / run.dry_kg.sum(axis=2, keepdims=True)
    shape = (count, len(DEPTHS_M) + 1, run.day.size)
    warmest, mean = run.temp_c.max(axis=2).reshape(shape), (run.temp_c * share).sum(axis=2).reshape(shape)
    unfed = (one[:, 0].max(axis=1) for one in (warmest, mean))
    return OneFeeding(bed_c, bed.draws, run.day - FED_DAY, warmest[:, 1:], mean[:, 1:], *unfed)


def cool_depth_m(warmest: Array, unfed: Array, most: Array) -> Array:
    """Return the depth at which the feed would pass a temperature, m; infinite where the thickest layer stays cool.

    Parameters
    ----------
    warmest : by draw and depth, °C. unfed : without feed, most : what may not be passed, shape (draws,).
    """
    depths = np.array((0.0, *DEPTHS_M))
    out = np.full(warmest.shape[0], np.inf)
    for i, row in enumerate(np.concatenate([unfed[:, None], warmest], axis=1)):
        over = np.flatnonzero(row > most[i])
        if over.size:
            k = int(over[0])
            out[i] = depths[k - 1] + (most[i] - row[k - 1]) / (row[k] - row[k - 1]) * (depths[k] - depths[k - 1])
    return out
