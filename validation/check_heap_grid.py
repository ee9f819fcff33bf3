"""Do the answers depend on the cells and steps they are worked out with? ``python validation/check_heap_grid.py``.

Sets of heaps: 90 drawn at random (a third each layers of 5 to 60 cm, bins and piles of 0.1 to 5 m3) within what the trade
calls workable: moisture 45 to 65 %, C:N 20 to 40, air space 30 to 65 %; any pools, pH, particle size of 1.5 to 20 mm,
walls, covers, vents; 60 days of restless weather with rain, none to three turnings, one watering. On these the cells and
the tolerance were chosen. Another 90 drawn in the same way (``fresh``) were first run once both stood. A third set goes
beyond (moisture 40 to 72 %, air space from 20 %, N of 0.8 to 3.5 %, particles from 0.5 mm).

Every outcome is compared with twice the cells, and with a quarter of the tolerance and half of the longest step. The
difference is a share of the outcome, or of the size in FLOORS where the outcome is smaller (1 % of ten days is 2.4 hours).

One outcome is ill put: the days over 55 C of a heap whose middle hovers at 55 C move by hours when its temperature moves
by a few hundredths of a kelvin. They are shown as a share of themselves like the rest, and held to 1 % of the days run.
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

DAYS, HEAPS, RECORDED_DAYS = 60, 90, 0.05
"""Recorded every 72 minutes: as a heap wakes up its oxygen falls and rises within hours, and the least of it must not hang on
when somebody looks."""
NAMES = ("peak over the air, K", "days over 55 C", "dry loss", "water left, of dry", "N loss", "least O2, %")
FLOORS = np.array([10.0, 10.0, 0.1, 0.5, 0.1, 5.0])
MOST = 1.0
"""Worst difference of any outcome, percent; the days over 55 C are held to it as a share of the days run."""
MOST_OWN_DAYS = 4.0
"""Worst difference of the days over 55 C as a share of themselves, percent."""
SEEDS = {"workable": 9000, "fresh": 20000, "beyond": 5000}


def drawn(seed: int, which: str) -> HeapSpec:
    """Return a heap drawn at random from one of the sets in SEEDS."""
    r, wide = np.random.default_rng(SEEDS[which] + seed), which == "beyond"
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
def differences(kind: str, which: str, cells: int = CELLS, heaps: int = HEAPS) -> NDArray[np.float64]:
    """Return the differences for ``cells`` or ``steps``, percent, shape (heaps, outcomes)."""
    rows = []
    for seed in range(heaps):
        spec = drawn(seed, which)
        usual = outcomes(simulate(spec, DAYS, cells, every_days=RECORDED_DAYS))
        if kind == "cells":
            finer = simulate(spec, DAYS, 2 * cells, every_days=RECORDED_DAYS)
        else:
            finer = simulate(
                spec,
                DAYS,
                cells,
                tolerance_k=TOLERANCE_K / 4,
                longest_step_days=LONGEST_STEP_DAYS / 2,
                every_days=RECORDED_DAYS,
            )
        rows.append((usual, outcomes(finer)))
    pairs = np.array(rows)
    return np.column_stack([apart(pairs[:, 0], pairs[:, 1]), 100.0 * np.abs(pairs[:, 0, 1] - pairs[:, 1, 1]) / DAYS])


def judged(found: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the differences with the days over 55 C as a share of the days run, shape (heaps, outcomes)."""
    return np.delete(found, 1, axis=1)


@pytest.mark.parametrize("which", list(SEEDS))
@pytest.mark.parametrize("kind", ["cells", "steps"])
def test_a_finer_solution_says_the_same(kind: str, which: str) -> None:
    found = differences(kind, which)
    assert judged(found).max() <= MOST, judged(found).max(axis=0)
    assert found[:, 1].max() <= MOST_OWN_DAYS


def test_a_coarse_grid_breaks_the_bounds() -> None:
    assert judged(differences("cells", "workable", 10, 30)).max() > 2.0 * MOST


def table() -> str:
    """Return the spread of the differences."""
    lines, names = [], (*NAMES, "the same, of days run")
    for which in SEEDS:
        for kind, words in (("cells", f"{CELLS} cells against {2 * CELLS}"), ("steps", "a quarter of the tolerance")):
            found = differences(kind, which)
            lines.append(f"{HEAPS} heaps, {which}, {words}: percent")
            lines.append(f"{'':24s}{'median':>8s}{'95 %':>8s}{'worst':>8s}{'over 1':>8s}")
            spread = np.quantile(found, (0.5, 0.95, 1.0), axis=0).T
            for k in (0, 1, 6, 2, 3, 4, 5):
                half, most, worst = spread[k]
                lines.append(f"  {names[k]:22s}{half:8.2f}{most:8.2f}{worst:8.2f}{(found[:, k] > 1.0).sum():8d}")
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
