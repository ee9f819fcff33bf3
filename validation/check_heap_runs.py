"""Published composting runs beside ours, all with one default parameter set; ``python validation/check_heap_runs.py``.

No published run with its full record could be obtained: every figure is an interval from an abstract or a page. Half of
the runs (``tuned``) were aimed at while four numbers were chosen (pore diffusion law, flow of vapour, chimney share,
half-rate oxygen); the other half (``held``) was not aimed at, but its table was in sight, so it is no blind test.
What the sources do not say (density, moisture, walls, weather) is our
assumption, so a hit is weak evidence. Misses stay in the table and are expected failures in the test run.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import pytest

from loamery.heap import layout as at
from loamery.heap.model import simulate
from loamery.heap.result import HeapRun
from loamery.heap.spec import HeapSpec, Stuff
from validation.heap_cases import BALANCED, constant

FOOD_YARD = Stuff(0.60, 450, 0.46, 0.018, 0.08, 0.38, 0.43, 0.19, particle_m=0.006)
POULTRY_PEAT = Stuff(0.70, 520, 0.45, 0.0205, 0.12, 0.10, 0.33, 0.57, particle_m=0.004, ph=7.0, ammonium_share=0.2)
SCRAPS_LEAVES = Stuff(0.60, 400, 0.45, 0.016, 0.10, 0.40, 0.42, 0.18, particle_m=0.008)
MANURES = Stuff(0.60, 450, 0.42, 0.014, 0.18, 0.24, 0.50, 0.26, particle_m=0.006)
# a quarter of the volume grounds, the rest leaves and grass
COFFEE_QUARTER = Stuff(0.60, 420, 0.48, 0.018, 0.07, 0.26, 0.47, 0.27, particle_m=0.003)
SILVERSKIN = Stuff(0.55, 300, 0.47, 0.019, 0.08, 0.20, 0.50, 0.30, particle_m=0.004)

RUNS: dict[str, tuple[Callable[[], HeapSpec], float]] = {
    "bottle 2 L": (lambda: _bin(FOOD_YARD, 0.002, 21.0, 0.3), 20),
    "vessel 38 L": (lambda: _bin(FOOD_YARD, 0.038, 21.0, 0.1), 20),
    "large": (lambda: HeapSpec(FOOD_YARD, volume_m3=8.0, weather=constant(15.0)), 30),
    "poultry and peat 5 m3": (lambda: HeapSpec(POULTRY_PEAT, volume_m3=5.0, rain_share=0.0, weather=constant(15.0)), 90),
    "bins 200 L": (lambda: _bin(SCRAPS_LEAVES, 0.2, 27.0, 0.02, wall_open=0.1), 120),
    "windrow of manures": (lambda: HeapSpec(MANURES, volume_m3=6.0, weather=constant(22.0), turn_days=tuple(range(7, 84, 7)),
                                            waterings=tuple((d, 150.0) for d in range(14, 84, 14))), 84),
    "a quarter coffee grounds": (lambda: HeapSpec(COFFEE_QUARTER, volume_m3=1.5, weather=constant(15.0)), 40),
    "coffee silverskin heaps": (lambda: HeapSpec(SILVERSKIN, volume_m3=0.8, weather=constant(20.0), turn_days=(7, 14, 21)), 60),
}  # fmt: skip


def _bin(stuff: Stuff, volume_m3: float, temp_c: float, wall_r: float, wall_open: float = 0.0) -> HeapSpec:
    return HeapSpec(
        stuff, "bin", volume_m3=volume_m3, wall_r=wall_r, wall_open=wall_open, cover_r=wall_r, cover_open=0.3, rain_share=0.0,
        vent=0.5, weather=constant(temp_c),
    )  # fmt: skip


@cache
def run(name: str) -> HeapRun:
    """Return one run, worked out once."""
    make, days = RUNS[name]
    return simulate(make(), days)


def peak(one: HeapRun) -> float:
    """Return the highest temperature, C."""
    return one.peak()[0]


def day_near_peak(one: HeapRun) -> float:
    """Return the first day within 2 K of the peak."""
    return float(one.day[int((one.hottest_c >= peak(one) - 2.0).argmax())])


def hot(one: HeapRun) -> float:
    """Return the days over 55 C."""
    return one.core_days_above(55.0)


def warm(one: HeapRun) -> float:
    """Return the days over 45 C."""
    return one.core_days_above(45.0)


def mass_loss(one: HeapRun) -> float:
    """Return the loss of dry matter, %."""
    return 100.0 * one.dry_loss


def shrinkage(one: HeapRun) -> float:
    """Return the loss of volume, %."""
    return 100.0 * one.shrinkage


def water_lost(one: HeapRun) -> float:
    """Return the water gone as vapour, net of what was formed, kg."""
    return float(one.state(at.WATER)[0].sum() - one.state(at.WATER)[-1].sum())


CORNELL, FERN = "Cornell, Compost Physics, page read", "Fernandes and Sartaj 1997, abstract read"
KARN, ABBASSI = "Karnchanawong and Suriyanon 2011, abstract read", "Abbassi et al., read"
OSU, SILVER = "OSU Extension 2008, recalled", "preprint on coffee silverskin, excerpt read"


@dataclass(frozen=True)
class Figure:
    """One published interval."""

    run: str
    what: str
    figure: Callable[[HeapRun], float]
    low: float
    high: float
    source: str
    used: str
    missed: str = ""

    @property
    def ours(self) -> float:
        """Return our figure."""
        return self.figure(run(self.run))

    @property
    def error(self) -> float:
        """Return how far ours lies outside the interval, 0 inside."""
        return max(self.low - self.ours, 0.0, self.ours - self.high)


FIGURES = (
    Figure("bottle 2 L", "peak, C", peak, 30, 40, CORNELL, "tuned"),
    Figure("vessel 38 L", "peak, C", peak, 40, 50, CORNELL, "tuned", "small closed vessels run too hot: known bias"),
    Figure("vessel 38 L", "day near peak", day_near_peak, 2, 3, CORNELL, "tuned"),
    Figure("large", "peak, C", peak, 60, 70, CORNELL, "tuned"),
    Figure("large", "day near peak", day_near_peak, 3, 5, CORNELL, "tuned"),
    Figure(
        "poultry and peat 5 m3", "days over 55 C", hot, 10, 60, FERN, "tuned", "large unturned piles stay hot too long"
    ),
    Figure("poultry and peat 5 m3", "dry mass lost, %", mass_loss, 27, 37, FERN, "tuned"),
    Figure(
        "poultry and peat 5 m3",
        "volume lost, %",
        shrinkage,
        16,
        22,
        FERN,
        "tuned",
        "shrinks too much: one exponent for peat and leaves alike",
    ),
    Figure(
        "poultry and peat 5 m3",
        "water lost, kg",
        water_lost,
        400,
        700,
        FERN,
        "tuned",
        "dries too fast: warm air leaves without condensing in the cool crust",
    ),
    Figure(
        "bins 200 L",
        "peak, C (theirs fed daily)",
        peak,
        50,
        57,
        KARN,
        "held",
        "theirs fed daily for weeks, ours filled at once",
    ),
    Figure("bins 200 L", "dry mass lost, %", mass_loss, 59, 62, KARN, "held", "dries out before it has lost as much"),
    Figure("windrow of manures", "peak, C", peak, 65, 70, ABBASSI, "held"),
    Figure("windrow of manures", "volume lost, %", shrinkage, 40, 50, ABBASSI, "held", "just below the band"),
    Figure("a quarter coffee grounds", "peak, C", peak, 57, 68, OSU, "held"),
    Figure("a quarter coffee grounds", "days over 55 C", hot, 14, 40, OSU, "held"),
    Figure(
        "coffee silverskin heaps",
        "peak, C",
        peak,
        56.9,
        63.4,
        SILVER,
        "held",
        "the peak sits under temp_max whatever the heap",
    ),
    Figure("coffee silverskin heaps", "days over 45 C", warm, 6, 25, SILVER, "held"),
)


@pytest.mark.parametrize("one", FIGURES, ids=lambda one: f"{one.run}: {one.what}")
def test_figure(one: Figure, request: pytest.FixtureRequest) -> None:
    if one.missed:
        request.applymarker(pytest.mark.xfail(reason=one.missed, strict=True))
    assert one.error == 0.0, f"ours {one.ours:.1f}, theirs {one.low:g} to {one.high:g}"


SIZES = (0.002, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0)


@cache
def sizes() -> list[tuple[float, HeapRun]]:
    """Return the same blend as piles of growing size, 40 days at 15 C."""
    return [(v, simulate(replace(HeapSpec(BALANCED, weather=constant(15.0)), volume_m3=v), 40)) for v in SIZES]


def test_the_peak_and_the_hot_share_grow_with_size() -> None:
    runs = [one for _, one in sizes()]
    peaks, shares = [peak(one) for one in runs], [one.volume_share_meeting(55.0, 3.0) for one in runs]
    assert peaks == sorted(peaks)
    assert shares == sorted(shares)


def table() -> str:
    """Return theirs beside ours, and the size series."""
    lines = [f"{'run':26s}{'figure':28s}{'theirs':>14s}{'ours':>8s}{'off by':>8s}  use"]
    for one in FIGURES:
        theirs = f"{one.low:g} - {one.high:g}"
        lines.append(
            f"{one.run:26s}{one.what:28s}{theirs:>14s}{one.ours:8.1f}{one.error:8.1f}  {one.used}, {one.source}"
        )
    lines.append("\nsize series, balanced blend, 15 C, 40 days, not turned")
    lines.append("    m3  peak C  day  d>55  moisture  organic lost  least O2 %  volume 3 d > 55 C")
    for v, r in sizes():
        lines.append(
            f"{v:6.3f}{peak(r):8.1f}{r.peak()[1]:5.1f}{hot(r):6.1f}{r.mean_moisture[-1]:10.2f}{r.organic_loss:14.2f}"
            f"{100 * r.o2_frac.min():12.1f}{r.volume_share_meeting(55.0, 3.0):12.2f}"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
