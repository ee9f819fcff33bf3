"""Worm beds against the trade: layers of feed that heat and that do not, what is left of the feed, heat that gathers over feedings.

Run ``python -m validation.check_worm_bed`` for the table. Bands are compiled figures of the data files, common practice or our judgement, named beside each row; no measured
course of a worm bed's temperature could be read, so this holds the model against rules, on both sides of each, not against a run.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from loamery.heap.matter import Part, stuff_draws
from loamery.lab.combine import compose
from loamery.reference import coefficient
from loamery.season.worm_bed import BedRun, WormBed, run_bed, weekly_air, worm_bed
from loamery.season.worm_single import DEPTHS_M, one_feeding
from loamery.worms.feeding import Feed

DRAWS, AIR_C, WEEKLY_KG_M2 = 12, 20.0, 5.6
"""Half the mass of 1.6 kg of worms a day, for a week: what a stocked bed eats (worm_feed_ceiling, worm_stocking)."""
THIN, THICK = DEPTHS_M.index(0.01), DEPTHS_M.index(0.2)


@dataclass(frozen=True)
class Row:
    """One rule: what it says, our figure and the band of the trade."""

    rule: str
    ours: float
    low: float
    high: float
    source: str

    @property
    def met(self) -> bool:
        """Return whether our figure lies in the band."""
        return self.low <= self.ours <= self.high


@cache
def bed_of(kind: str, *, decays: bool = True) -> tuple[WormBed, np.ndarray]:
    """Return a bed fed with a material, and the feed's density; `decays` False leaves only its slowest part to decay."""
    given = stuff_draws([Part(compose(kind, ()), 1.0)], DRAWS, 1)
    bed = worm_bed(Feed(kind, np.array([one.moisture for one in given]), np.zeros(DRAWS)), given, 1)
    if not decays:
        bed = replace(bed, numbers=tuple({**one, "k_fast": 0.0, "k_slow": 0.0} for one in bed.numbers))
    return bed, np.array([one.bulk_density_kg_m3 for one in given])


def warmest(kind: str, place: int, *, decays: bool = True) -> float:
    """Return the warmest spot after one layer, median, C."""
    bed, density = bed_of(kind, decays=decays)
    return float(one_feeding(bed, density, AIR_C).band("warmest_c")[1, place])


@cache
def season(kind: str, kg: float) -> BedRun:
    """Return weekly feedings up to the day that castings are taken out."""
    days = np.arange(round(coefficient("worm_lead_weeks").value)) * 7.0
    air = [weekly_air([AIR_C] * days.size)] * DRAWS
    return run_bed(bed_of(kind)[0], air, days, np.full((DRAWS, days.size), kg), np.zeros((DRAWS, days.size)))


def left_of_feed(kind: str) -> float:
    """Return the dry matter left of what was fed by the end, median; the bedding's own loss is taken off."""
    bed, days = bed_of(kind)[0], round(coefficient("worm_lead_weeks").value)
    fed = days * WEEKLY_KG_M2 * bed.wetted * (1.0 - np.array([one.moisture for one in bed.feed]))
    gained = season(kind, WEEKLY_KG_M2).dry_kg[:, -1] - season(kind, 0.0).dry_kg[:, -1]
    return float(np.median(gained / fed))


def rows() -> list[Row]:
    """Return every rule with our figure beside the trade's band."""
    deepest, top = coefficient("worm_feeding_depth_max"), coefficient("worm_temp_max").value
    bed, density = bed_of("manure-horse-straw")
    room = float(np.median(one_feeding(bed, density, AIR_C).room_m()))
    gathered = season("coffee-spent", WEEKLY_KG_M2).mean_c - season("coffee-spent", 0.0).mean_c
    return [
        Row("horse manure: thickest layer at once, m", room, deepest.low, deepest.high, "common practice: thin layers"),
        Row("grounds, 1 cm: warmest spot, C", warmest("coffee-spent", THIN), AIR_C, top, "EDW88: worms stand 30 C"),
        Row("grounds, 20 cm: warmest spot, C", warmest("coffee-spent", THICK), top, 70.0, "common practice: deep fresh feed heats"),
        Row("wood chips, 20 cm: warmest spot, C", warmest("chips-arborist", THICK), AIR_C, top + 5.0, "common practice: bedding stays cool"),
        Row("grounds, 20 cm, nothing decays: warmest spot, C", warmest("coffee-spent", THICK, decays=False), AIR_C - 1.0, AIR_C + 3.0, "physics off: the rule goes"),
        Row("grounds fed weekly: bed over the unfed by the end, K", float(np.median(gathered[:, -7:].mean(axis=1))), 0.5, 6.0, "our judgement: warm, not a heap"),
        Row("grounds: dry matter left of the feed after 14 weeks", left_of_feed("coffee-spent"), 0.5, 0.85, "castings_yield 0.5 to 0.7 when eaten up, part still is not"),
        Row("horse manure: the same", left_of_feed("manure-horse-straw"), 0.5, 0.85, "the same"),
    ]  # fmt: skip


@pytest.mark.parametrize("row", range(8))
def test_worm_beds_follow_the_rules_of_the_trade(row: int) -> None:
    found = _rows()[row]
    assert found.met, found


@cache
def _rows() -> tuple[Row, ...]:
    return tuple(rows())


def main() -> None:
    """Print the table."""
    print(f"{'rule':<54}{'ours':>8}   {'the trade':<14} source")
    for one in _rows():
        print(
            f"{one.rule:<54}{one.ours:>8.2f}   {f'{one.low:g} to {one.high:g}':<14} {one.source}{'' if one.met else '   MISSED'}"
        )


if __name__ == "__main__":
    main()
