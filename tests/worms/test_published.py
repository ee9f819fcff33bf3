"""Published factors of a worm bed."""

from __future__ import annotations

import pytest

from loamery.garden.model import WormBed
from loamery.reference import coefficient
from loamery.worms.published import castings_share, feed_kg_per_week, lead_time_weeks, nitrogen_lost_share


def worm_bed(area_m2: float, worms_kg: float) -> WormBed:
    return WormBed(id="w", name="Worms", area_m2=area_m2, worms_kg=worms_kg)


def test_half_their_mass_a_day() -> None:
    # half the worms' mass a day is common practice, no source: 1 kg takes 3.5 kg a week
    assert feed_kg_per_week(worm_bed(0.5, 1.0)) == pytest.approx(3.5, rel=1e-12)
    assert feed_kg_per_week(worm_bed(0.5, 2.0)) == pytest.approx(7.0, rel=1e-12)


def test_unweighed_worms_are_counted_by_area() -> None:
    # 1.60 kg/m2 (Ndegwa et al. 2000)
    assert feed_kg_per_week(worm_bed(2.0, 0.0)) == pytest.approx(2.0 * 1.6 * 3.5, rel=1e-12)


def test_shares_and_times_are_those_of_the_tables() -> None:
    assert 0 < castings_share() <= 1
    assert 0 <= nitrogen_lost_share() < 1
    assert coefficient("worm_lead_weeks").low <= lead_time_weeks() <= coefficient("worm_lead_weeks").high
