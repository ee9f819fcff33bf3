"""Do the answers depend on the cells and steps they are worked out with? ``python validation/check_heap_grid.py``.

Set of heaps: 90 drawn at random (a third each layers of 5 to 60 cm, bins and piles of 0.1 to 5 m3) within what the trade
calls workable: moisture 45 to 65 %, C:N 20 to 40, air space 30 to 65 %; any pools, pH, particle size of 1.5 to 20 mm,
walls, covers, vents; 60 days of restless weather with rain, none to three turnings, one watering. A second set goes
beyond it (moisture 40 to 72 %, air space from 20 %, N of 0.8 to 3.5 %, particles from 0.5 mm).

Every outcome is compared with twice the cells, and with a quarter of the tolerance and half of the longest step. The
difference is a share of the outcome, or of the size in FLOORS where the outcome is smaller (1 % of ten days is 2.4 hours).
Half, nineteen of twenty and all of the heaps have each their bound; a coarse grid must break them.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from loamery.heap import layout as at
from loamery.heap.model import CELLS, LONGEST_STEP_DAYS, TOLERANCE_K, simulate
from loamery.heap.result import HeapRun
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather

DAYS, HEAPS = 60, 90
NAMES = ("peak over the air, K", "days over 55 C", "dry loss", "water left, of dry", "N loss", "least O2, %")
FLOORS = np.array([10.0, 10.0, 0.1, 0.5, 0.1, 5.0])
BOUNDS = (0.2, 1.1, 10.0)
"""Median, 95 % and worst difference of any outcome, percent, in workable heaps; a tenth is left to rounding elsewhere."""


def drawn(seed: int, wide: bool) -> HeapSpec:
    """Return a heap drawn at random, workable or (``wide``) beyond it."""
    r = np.random.default_rng((5000 if wide else 9000) + seed)
    fast, slow, recal = r.dirichlet([4, 6, 4])
    moisture, ash = r.uniform(0.40, 0.72) if wide else r.uniform(0.45, 0.65), r.uniform(0.02, 0.25)
    full = moisture / 1000.0 + (1.0 - moisture) * ((1.0 - ash) / 1550.0 + ash / 2500.0)
    carbon, density = 0.52 * (1.0 - ash), (1.0 - r.uniform(0.20 if wide else 0.30, 0.65)) / full
    stuff = Stuff(
        moisture, density, carbon, r.uniform(0.008, 0.035) if wide else carbon / r.uniform(20.0, 40.0), ash, fast, slow, recal,
        particle_m=_even(r, 5e-4 if wide else 1.5e-3, 0.02), ph=r.uniform(5.5, 8.0), ammonium_share=r.uniform(0.0, 0.2),
        compost_share=r.uniform(0.0, 0.2),
    )  # fmt: skip
    shape = ("layer", "bin", "pile")[seed % 3]
    size = {"depth_m": _even(r, 0.05, 0.6)} if shape == "layer" else {"volume_m3": _even(r, 0.1, 5.0)}
    return HeapSpec(
        stuff, shape, **size, start_temp_c=r.uniform(8.0, 25.0), wall_r=r.uniform(0.0, 0.6), wall_open=r.uniform(0.0, 0.5),  # type: ignore[arg-type]
        cover_r=r.uniform(0.0, 0.3), cover_open=r.uniform(0.2, 1.0), rain_share=r.uniform(0.0, 1.0), vent=r.uniform(0.0, 1.0),
        turn_days=tuple(np.sort(r.uniform(5.0, 50.0, r.integers(0, 4)))), waterings=((20.0, r.uniform(0.0, 20.0)),),
        weather=_weather(r),
    )  # fmt: skip


def _even(r: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(r.uniform(np.log(low), np.log(high))))


def _weather(r: np.random.Generator) -> Weather:
    n = DAYS + 1
    air = np.clip(r.uniform(2.0, 25.0) + 3.0 * r.standard_normal(n), -15.0, 40.0)
    rain = np.where(r.random(n) < 0.3, np.minimum(r.exponential(5.0, n), 60.0), 0.0)
    return Weather.daily(air, rain, r.uniform(0.4, 0.95, n), r.uniform(0.0, 5.0, n), r.uniform(0.0, 250.0, n))


def outcomes(run: HeapRun) -> NDArray[np.float64]:
    """Return what is compared, in the order of NAMES."""
    air = float(run.spec.weather.table[:, at.AIR_C].mean())
    left = run.state(at.WATER)[-1].sum() / run.state(at.START)[0].sum()
    least = 100.0 * run.o2_frac.min()
    return np.array(
        [run.peak()[0] - air, run.core_days_above(55.0), run.dry_loss, left, run.nitrogen_loss, least], dtype=np.float64
    )


def apart(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the differences in percent."""
    return np.asarray(100.0 * np.abs(a - b) / np.maximum(np.abs(b), FLOORS))


@cache
def differences(kind: str, wide: bool, cells: int = CELLS, heaps: int = HEAPS) -> NDArray[np.float64]:
    """Return the differences for ``cells`` or ``steps``, percent, shape (heaps, outcomes)."""
    rows = []
    for seed in range(heaps):
        spec = drawn(seed, wide)
        usual = outcomes(simulate(spec, DAYS, cells))
        if kind == "cells":
            finer = simulate(spec, DAYS, 2 * cells)
        else:
            finer = simulate(spec, DAYS, cells, tolerance_k=TOLERANCE_K / 4, longest_step_days=LONGEST_STEP_DAYS / 2)
        rows.append(apart(usual, outcomes(finer)))
    return np.array(rows)


def spread(kind: str, wide: bool) -> NDArray[np.float64]:
    """Return median, 95 % and worst of every outcome, shape (3, outcomes)."""
    return np.asarray(np.quantile(differences(kind, wide), (0.5, 0.95, 1.0), axis=0))


@pytest.mark.parametrize("kind", ["cells", "steps"])
def test_a_finer_solution_says_the_same(kind: str) -> None:
    worst = spread(kind, False).max(axis=1)
    assert tuple(worst <= BOUNDS) == (True, True, True), worst


def test_a_coarse_grid_breaks_the_bounds() -> None:
    coarse = differences("cells", False, 8, 30)
    assert np.quantile(coarse, 0.95, axis=0).max() > 2.0 * BOUNDS[1]


def table() -> str:
    """Return the spread of the differences."""
    lines = []
    for wide in (False, True):
        for kind, words in (("cells", f"{CELLS} cells against {2 * CELLS}"), ("steps", "a quarter of the tolerance")):
            lines.append(f"{HEAPS} {'heaps beyond the workable' if wide else 'workable heaps'}, {words}: percent")
            lines.append(f"{'':24s}{'median':>8s}{'95 %':>8s}{'worst':>8s}")
            lines += [
                f"  {name:22s}{one[0]:8.2f}{one[1]:8.2f}{one[2]:8.2f}"
                for name, one in zip(NAMES, spread(kind, wide).T, strict=True)
            ]
            most = differences(kind, wide).max(axis=1)
            lines.append(f"  share of the heaps with no outcome off by more than 1 %: {np.mean(most <= 1.0):.2f}")
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
