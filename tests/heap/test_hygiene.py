"""Rules of time and temperature held against courses drawn by hand, where the answer can be counted."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.heap.hygiene import HygieneRule, hygiene_rules, judge, longest_runs
from loamery.reference import table

DAY = np.arange(0.0, 30.01, 0.5)
THREE = HygieneRule("x", "process_in_vessel", "x", "x", 55.0, 3.0, 0, "CFR257", "found")
WINDROW = HygieneRule("x", "process_windrow", "x", "x", 55.0, 15.0, 5, "CFR257", "found")


def course(*hot: tuple[float, float]) -> np.ndarray:
    """Return one cell per span: 60 degrees from the first day to the second, else 20."""
    return np.stack([np.where((low <= DAY) & (high >= DAY), 60.0, 20.0) for low, high in hot], axis=1)


def test_the_rules_come_from_the_rows_of_the_data() -> None:
    rules = {(one.key, one.parameter): one for one in hygiene_rules()}
    windrow = rules["us-503-hygiene", "process_windrow"]
    assert (windrow.temp_c, windrow.hold_days, windrow.turnings) == (55.0, 15.0, 5)  # 40 CFR 257 App. II B.1, read
    eu = {one.temp_c: one.hold_days for one in rules.values() if one.key == "eu-2019-1009-cmc3"}
    assert eu == {70.0: 3.0, 65.0: 5.0, 60.0: 7.0, 55.0: 14.0}  # Annex II CMC 3, recalled
    rows = [row for row in table("limits") if row["parameter"] == "process_windrow"]
    assert len(rows) == sum(one.parameter == "process_windrow" for one in rules.values())
    assert {one.key for one in hygiene_rules(["ca-ccme-2005-hygiene"])} == {"ca-ccme-2005-hygiene"}


def test_all_hot_is_met_and_all_cold_is_not() -> None:
    shares = np.array([0.3, 0.7])
    met = judge(DAY, course((0, 10), (0, 10)), shares, (), THREE)
    assert (met.state, met.needs, met.share) == ("met", "", pytest.approx(1.0))
    assert met.coldest_days == pytest.approx(10.0)
    cold = judge(DAY, course((40, 50), (40, 50)), shares, (), THREE)
    assert (cold.state, cold.share, cold.probe) == ("not met", 0.0, False)
    assert "reaches only 20" in cold.needs


def test_a_cold_shell_makes_it_in_part_although_the_probe_would_call_it_kept() -> None:
    status = judge(DAY, course((0, 10), (40, 50)), np.array([0.3, 0.7]), (), THREE)
    assert (status.state, status.probe, status.coldest_days) == ("in part", True, 0.0)
    assert status.share == pytest.approx(0.3, abs=1e-9)
    assert "outside" in status.needs


def test_just_short_of_the_days_is_not_met() -> None:
    assert judge(DAY, course((0, 2.5)), np.array([1.0]), (), THREE).state == "not met"
    assert judge(DAY, course((0, 3.0)), np.array([1.0]), (), THREE).state == "met"


def test_turning_brings_the_outside_in_by_the_share_that_can_be_counted() -> None:
    # half of the matter is hot in each of three spans: 1 - 0.5**3 of it is hot in one of them at least
    temp = course((0, 30), (40, 50))
    status = judge(DAY, temp, np.array([0.5, 0.5]), (10.0, 20.0), THREE)
    assert status.share == pytest.approx(1 - 0.5**3, abs=0.02)
    assert status.turnings_hot == 2


def test_a_windrow_needs_its_turnings_while_hot() -> None:
    temp, shares = course((0, 20), (0, 20)), np.array([0.5, 0.5])
    few = judge(DAY, temp, shares, (3.0, 6.0), WINDROW)
    assert (few.state, few.turnings_hot) == ("in part", 2)
    assert "3 more turnings" in few.needs
    assert judge(DAY, temp, shares, (3.0, 6.0, 9.0, 12.0, 15.0), WINDROW).state == "met"
    assert judge(DAY, temp, shares, (3.0, 6.0, 9.0, 12.0, 25.0), WINDROW).turnings_hot == 4


def test_a_hot_time_is_broken_by_cold_and_by_turning() -> None:
    hot = np.array([[True], [True], [False], [True], [True], [True], [True]])
    day = np.arange(7.0)
    assert longest_runs(day, hot, ())[0] == pytest.approx(3.0)
    assert longest_runs(day, hot, (4.5,))[0] == pytest.approx(1.0)
    assert longest_runs(day, ~hot & False, ())[0] == 0.0
