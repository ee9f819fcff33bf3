"""Published composting runs beside ours, all with one default parameter set; ``python validation/check_heap_runs.py``.

No published run with its full record could be read: every figure is an interval from an abstract or a page. What the
sources do not say (density, walls, weather, pools) is our assumption, so a hit is weak evidence.

How the runs are used. The eight runs first known to the project are sorted by size; the second, fourth, sixth and eighth are
aimed at (``tuned``), the others are marked ``seen``. This split was written after tuning had begun: by then all eight had been
computed about six times with both halves in view, and this order was taken after another had been considered. So ``seen`` is no
held-out half and says little more than ``tuned``. Inputs were changed on the way too: moisture and density of the peat pile, the air
temperature of some runs, the vent of the 38 L vessel.

The runs marked ``later`` were found afterwards, their inputs written down before they were first computed. It is not strictly true
that nothing was changed after it: the onset of the draught and the control of the step were, which moved figures by 0.1 at most.

The runs marked ``fresh`` are the held-out ones: found by a search nobody here had made, their inputs written down and committed
(with what was read and what was assumed) in a commit of its own before the first computation, the outcome committed unchanged:
drum of vegetables 55.1 C and 0.0 days, drum of garden waste 53.9 C on day 2.5 and 4.0 days, 80 L bins 8.6 days. 2 of 6 figures met.

Misses stay in the table and are expected failures of the test run. The reasons beside them are guesses unless they say ``tried``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from loamery.heap import layout as at
from loamery.heap.model import simulate
from loamery.heap.published import PUBLISHED_FIGURES, PUBLISHED_MISSES
from loamery.heap.result import HeapRun
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather
from validation.heap_cases import BALANCED, constant

FOOD_YARD = Stuff(0.60, 450, 0.46, 0.018, 0.08, 0.38, 0.43, 0.19, particle_m=0.006)
# peat holds 1.5 to 30 kg of water per kg (New Mexico State University, Guide H-108, read): middle on a log scale 6.7, a moisture of 0.87;
# left at the default of 0.72 the pile would drain a third of a tonne at the start without any rain. Moisture read; the density follows from 550 L of water being most of a third of the mass of 5 m3
POULTRY_PEAT = Stuff(
    0.76, 410, 0.45, 0.0205, 0.12, 0.10, 0.25, 0.65, particle_m=0.004, ph=7.0, ammonium_share=0.2, field_capacity=0.87
)
SCRAPS_LEAVES = Stuff(0.60, 400, 0.45, 0.016, 0.10, 0.40, 0.42, 0.18, particle_m=0.008)
MANURES = Stuff(0.60, 450, 0.42, 0.014, 0.18, 0.24, 0.50, 0.26, particle_m=0.006)
# a quarter of the volume grounds, the rest leaves and grass
COFFEE_QUARTER = Stuff(0.60, 420, 0.48, 0.018, 0.07, 0.26, 0.47, 0.27, particle_m=0.003)
SILVERSKIN = Stuff(0.55, 300, 0.47, 0.019, 0.08, 0.20, 0.50, 0.30, particle_m=0.004)
# later: C:N and air space read where given, pools half and half of heap_pools.csv by dry matter
DAIRY_SAWDUST = Stuff(0.65, 500, 0.47, 0.0118, 0.08, 0.15, 0.54, 0.31, particle_m=0.003, ph=7.5, ammonium_share=0.15)
DAIRY_STRAW = Stuff(0.70, 230, 0.45, 0.015, 0.10, 0.20, 0.58, 0.22, particle_m=0.010, ph=7.5, ammonium_share=0.15)
SLURRY_SOLIDS = Stuff(0.77, 500, 0.47, 0.013, 0.08, 0.20, 0.50, 0.30, particle_m=0.004, ph=8.0, ammonium_share=0.2)
SLURRY_STRAW = Stuff(0.72, 350, 0.47, 0.0165, 0.08, 0.19, 0.54, 0.27, particle_m=0.006, ph=8.0, ammonium_share=0.2)
PACK_STRAW = Stuff(0.60, 300, 0.44, 0.016, 0.12, 0.20, 0.56, 0.24, particle_m=0.008, ph=7.5, ammonium_share=0.1)
# fresh. Read: Varma and Kalamdhad 2014, 150 kg in a drum of 550 L, vegetable waste : cow dung : sawdust 6:3:1, C:N 24.
# Assumed: 78 % water follows from 88, 80 and 12 % of the three (recalled), 0.33 m3, pools by dry matter, turned daily, air 25 C
DRUM_VEGETABLE = Stuff(0.78, 450, 0.44, 0.0183, 0.09, 0.23, 0.50, 0.27, particle_m=0.004, ph=7.0)
# fresh. Read: Mishra and Yadav 2021 (preprint), 100 kg garden waste, 10 kg dung slurry, 5 kg compost in a drum turned six times a
# day. Assumed: 60 % water, 300 kg/m3, C:N 28, pools, air 28 C
DRUM_GARDEN = Stuff(0.60, 300, 0.43, 0.0154, 0.15, 0.15, 0.55, 0.30, particle_m=0.008, ph=7.0, compost_share=0.06)
# fresh. Read: Chitthaluri and Rao 2022, upright 80 L bins aired by themselves, vegetable waste and grass 85:15, 55 days.
# Assumed: 75 % water after draining, 500 kg/m3, C:N 17, pools, thin plastic with holes, air 28 C
VEGETABLE_GRASS = Stuff(0.75, 500, 0.43, 0.025, 0.12, 0.45, 0.40, 0.15, particle_m=0.008)

DAILY = tuple(range(1, 21))
WEEKLY = tuple(range(7, 84, 7))
FED_DAYS = 60
"""Days of 1.6 kg until the bin of 200 L is full, as the model shrinks it."""

RUNS: dict[str, tuple[Callable[[], HeapSpec], float]] = {
    "bottle 2 L": (lambda: _bin(FOOD_YARD, 0.002, 21.0, 0.3), 20),
    # a can with holes in bottom and lid, indoors
    "vessel 38 L": (lambda: replace(_bin(FOOD_YARD, 0.038, 21.0, 0.1), vent=1.0), 20),
    "large": (lambda: HeapSpec(FOOD_YARD, volume_m3=8.0, weather=constant(15.0)), 30),
    "poultry and peat 5 m3": (lambda: HeapSpec(POULTRY_PEAT, volume_m3=5.0, rain_share=0.0, weather=constant(10.0)), 90),
    "bins 200 L, fed daily": (lambda: replace(_bin(SCRAPS_LEAVES, 0.004, 27.0, 0.02, wall_open=0.1), radius_m=0.28,
                                              feedings=tuple((float(d), 1.6) for d in range(1, FED_DAYS))), 120),
    "windrow of manures": (lambda: HeapSpec(MANURES, volume_m3=6.0, weather=constant(22.0), turn_days=WEEKLY,
                                            waterings=tuple((d, 150.0) for d in range(14, 84, 14))), 84),
    "a quarter coffee grounds": (lambda: HeapSpec(COFFEE_QUARTER, volume_m3=1.5, weather=constant(15.0)), 40),
    "coffee silverskin heaps": (lambda: HeapSpec(SILVERSKIN, volume_m3=0.8, weather=constant(20.0), turn_days=(7, 14, 21)), 60),
    "dairy and sawdust windrow": (lambda: HeapSpec(DAIRY_SAWDUST, volume_m3=8.0, weather=constant(18.0), turn_days=WEEKLY), 100),
    "dairy and straw windrow": (lambda: HeapSpec(DAIRY_STRAW, volume_m3=8.0, weather=constant(18.0), turn_days=WEEKLY), 100),
    "slurry solids under plastic": (lambda: HeapSpec(SLURRY_SOLIDS, volume_m3=5.0, cover_open=0.05, rain_share=0.0,
                                                     weather=constant(15.0)), 60),
    "slurry solids and straw": (lambda: HeapSpec(SLURRY_STRAW, volume_m3=5.0, weather=constant(15.0)), 60),
    "bedded packs in windrows": (lambda: HeapSpec(PACK_STRAW, volume_m3=8.0, weather=constant(20.0), turn_days=WEEKLY), 138),
    "drum of vegetable waste": (lambda: replace(_bin(DRUM_VEGETABLE, 0.333, 25.0, 0.02, wall_open=0.02), ground=False,
                                                turn_days=DAILY), 20),
    "drum of garden waste": (lambda: replace(_bin(DRUM_GARDEN, 0.383, 28.0, 0.02, wall_open=0.02), ground=False,
                                             turn_days=tuple(range(1, 46))), 45),
    "bins 80 L, vegetables and grass": (lambda: _bin(VEGETABLE_GRASS, 0.08, 28.0, 0.01, wall_open=0.05), 55),
}  # fmt: skip


def _bin(stuff: Stuff, volume_m3: float, temp_c: float, wall_r: float, wall_open: float = 0.0) -> HeapSpec:
    return HeapSpec(
        stuff, "bin", volume_m3=volume_m3, wall_r=wall_r, wall_open=wall_open, cover_r=wall_r, cover_open=0.3, rain_share=0.0,
        vent=0.5, weather=Weather.constant(temp_c, 130, wind_m_s=0.0),
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


def very_hot(one: HeapRun) -> float:
    """Return the days over 57 C, the 135 F of the source."""
    return one.core_days_above(57.0)


def warm(one: HeapRun) -> float:
    """Return the days over 45 C."""
    return one.core_days_above(45.0)


def tepid(one: HeapRun) -> float:
    """Return the days over 40 C."""
    return one.core_days_above(40.0)


def mass_loss(one: HeapRun) -> float:
    """Return the loss of the whole mass, water and all, %."""
    return 100.0 * one.mass_loss


def nitrogen_loss(one: HeapRun) -> float:
    """Return the loss of nitrogen, %."""
    return 100.0 * one.nitrogen_loss


def shrinkage(one: HeapRun) -> float:
    """Return the loss of volume, %."""
    return 100.0 * one.shrinkage


def water_lost(one: HeapRun) -> float:
    """Return the water gone, as vapour and by seepage, net of what was formed, kg."""
    return float(one.state(at.WATER)[0].sum() - one.state(at.WATER)[-1].sum())


def cooled(one: HeapRun) -> float:
    """Return the last day on which the mean over the volume was above 15 C."""
    mean = (one.temp_c * one.volume_m3).sum(axis=1) / one.volume_m3.sum(axis=1)
    return float(one.day[np.flatnonzero(mean > 15.0)[-1]])


def day_of_55(one: HeapRun) -> float:
    """Return the first day above 55 C."""
    return float(one.day[int((one.hottest_c > 55.0).argmax())]) if peak(one) > 55.0 else np.inf


def typical_oxygen(one: HeapRun) -> float:
    """Return the median oxygen over cells and days, % by volume."""
    return 100.0 * float(np.median(one.o2_frac))


CORNELL = "Cornell, Compost Physics, page read"
FERN = "Fernandes and Sartaj 1997 and their earlier abstract on the same piles, read"
KARN = "Karnchanawong and Suriyanon 2011, abstract read"
ABBASSI = "Abbassi et al., read"
OSU, SILVER = "OSU Extension 2008 as told by UC Master Gardeners, read", "preprint on coffee silverskin, excerpt read"
MICHEL04 = "Michel et al. 2004, ASAE 044030, abstract read"
BRITO08, BRITO10 = "Brito et al. 2008, abstract read", "Brito et al., Rev. Bras. Ci. Solo, abstract read"
VARMA = "Varma and Kalamdhad 2014, Environ. Eng. Res. 19(1), abstract read"
MISHRA = "Mishra and Yadav 2021, preprint rs-302722, abstract read"
CHITTHALURI = "Chitthaluri and Rao 2022, abstract read"
SHANE = "windrows of compost bedded packs, 2007, abstract read"


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


SLOW = "not explained; it met the band only while a third of a tonne of its water drained away, which was wrong"
FED = "tried: a fifth of the draught (vent 0.1) gives 53.7 C and 66 %; how much air their vents let through is not told"
DRUM = "tried: a tenth of the draught (vent 0.05) gives 65.1 C and 4.8 days; how much air passes a drum is not told"
GARDEN = "tried: a tenth of the draught (vent 0.05) gives 65.9 C, but then 18.6 days over 45 C"

FIGURES = (
    Figure("vessel 38 L", "peak, C", peak, 40, 50, CORNELL, "tuned"),
    Figure("vessel 38 L", "day near peak", day_near_peak, 2, 3, CORNELL, "tuned"),
    Figure("coffee silverskin heaps", "peak, C", peak, 56.9, 63.4, SILVER, "tuned"),
    Figure("coffee silverskin heaps", "days over 45 C", warm, 6, 25, SILVER, "tuned"),
    Figure("poultry and peat 5 m3", "peak, C", peak, 55, 75, FERN, "tuned"),
    Figure("poultry and peat 5 m3", "day cooled to 15 C", cooled, 55, 75, FERN, "tuned", SLOW),
    Figure("poultry and peat 5 m3", "whole mass lost, %", mass_loss, 28, 36, FERN, "tuned"),
    Figure("poultry and peat 5 m3", "volume lost, %", shrinkage, 16, 22, FERN, "tuned"),
    Figure("poultry and peat 5 m3", "water lost, kg", water_lost, 450, 650, FERN, "tuned"),
    Figure("large", "peak, C", peak, 60, 70, CORNELL, "tuned"),
    Figure("large", "day near peak", day_near_peak, 3, 5, CORNELL, "tuned"),
    Figure(
        "bottle 2 L",
        "peak, C",
        peak,
        30,
        40,
        CORNELL,
        "seen",
        "on the lower edge of the band; tried: vent 0.2 gives 34.6 C",
    ),
    Figure("bins 200 L, fed daily", "peak, C", peak, 50, 57, KARN, "seen", FED),
    Figure("bins 200 L, fed daily", "whole mass lost, %", mass_loss, 59, 62, KARN, "seen", FED),
    Figure("a quarter coffee grounds", "peak, C", peak, 57, 68, OSU, "seen"),
    Figure("a quarter coffee grounds", "days over 57 C", very_hot, 14, 40, OSU, "seen"),
    Figure("windrow of manures", "peak, C", peak, 65, 70, ABBASSI, "seen"),
    Figure(
        "windrow of manures",
        "volume lost, %",
        shrinkage,
        40,
        50,
        ABBASSI,
        "seen",
        "tried: 48 % if fast and slow matter took as much room as the rest (soft_volume 1); settling under load is not told",
    ),
    Figure("dairy and sawdust windrow", "first day over 55 C", day_of_55, 1, 10, MICHEL04, "later"),
    Figure(
        "dairy and sawdust windrow",
        "days over 55 C",
        hot,
        60,
        100,
        MICHEL04,
        "later",
        "tried: 62.8 days at 20 m3, 81.5 with half of the draught (size and air not told); slower slow matter shortens it",
    ),
    Figure("dairy and sawdust windrow", "nitrogen lost, %", nitrogen_loss, 0, 10, MICHEL04, "later"),
    Figure("dairy and straw windrow", "days over 55 C", hot, 0, 15, MICHEL04, "later"),
    Figure("dairy and straw windrow", "median oxygen, %", typical_oxygen, 17, 21, MICHEL04, "later"),
    Figure(
        "slurry solids under plastic",
        "peak, C",
        peak,
        45,
        60,
        BRITO08,
        "later",
        "tried: 59.8 C with no gas through the sheet and a twentieth of the draught",
    ),
    Figure(
        "slurry solids and straw",
        "peak, C",
        peak,
        66,
        70,
        BRITO10,
        "later",
        "tried: 66.7 C with half of the draught",
    ),
    Figure("bedded packs in windrows", "days over 55 C", hot, 10, 96, SHANE, "later"),
    # single values as read, 3 K on both sides for the place of the probe; "more than 5 days" of 20; a day either side
    Figure("drum of vegetable waste", "peak, C", peak, 60.5, 66.5, VARMA, "fresh", DRUM),
    Figure("drum of vegetable waste", "days over 55 C", hot, 5, 12, VARMA, "fresh", DRUM),
    Figure("drum of garden waste", "peak, C", peak, 62, 68, MISHRA, "fresh", GARDEN),
    Figure("drum of garden waste", "day near peak", day_near_peak, 1, 3, MISHRA, "fresh"),
    Figure("drum of garden waste", "days over 45 C", warm, 5, 9, MISHRA, "fresh", GARDEN),
    Figure("bins 80 L, vegetables and grass", "days over 40 C", tepid, 6, 9, CHITTHALURI, "fresh"),
)


@pytest.mark.parametrize("one", FIGURES, ids=lambda one: f"{one.run}: {one.what}")
def test_figure(one: Figure, request: pytest.FixtureRequest) -> None:
    if one.missed:
        request.applymarker(pytest.mark.xfail(reason=one.missed, strict=True))
    assert one.error == 0.0, f"ours {one.ours:.1f}, theirs {one.low:g} to {one.high:g}"


def test_the_count_told_elsewhere_is_the_count_here() -> None:
    # a missed figure that is met fails above, so the marks are true
    missed = sum(bool(one.missed) for one in FIGURES)
    assert (len(FIGURES), missed) == (PUBLISHED_FIGURES, PUBLISHED_MISSES)
    page = (Path(__file__).parents[1] / "docs" / "heap-model.md").read_text(encoding="utf-8")
    assert f"{len(RUNS)} runs, {len(FIGURES)} figures" in page and f"{len(FIGURES) - missed} are met" in page
    for used in ("tuned", "seen", "later", "fresh"):
        those = [one for one in FIGURES if one.used == used]
        assert f"{sum(not one.missed for one in those)} of {len(those)} {used}" in page


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
    lines = [f"{'run':33s}{'figure':28s}{'theirs':>14s}{'ours':>8s}{'off by':>8s}  use"]
    for one in FIGURES:
        theirs = f"{one.low:g} - {one.high:g}"
        lines.append(
            f"{one.run:33s}{one.what:28s}{theirs:>14s}{one.ours:8.1f}{one.error:8.1f}  {one.used}, {one.source}"
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
