"""What is bought by the sack is work of a week: whole sacks, bought once, late, and paid for once."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from loamery.evidence.block import Say, Table
from loamery.evidence.chores import chores_section
from loamery.evidence.text import Units
from loamery.garden.model import Good
from loamery.garden.records import Load
from loamery.season.bought import left_to_buy
from loamery.season.calendar import calendar_of
from loamery.season.make import Solved, solve_prepared
from loamery.season.outcome import money_of
from loamery.season.prepare import prepare
from loamery.season.sacks import bought_late, sack_money, sacks_by_week
from tests.season.gardens import day, garden, material, planting, supply

SACK = Good(material="meal", sack_kg=0.25, price=3.0, most=40)


@pytest.fixture(scope="module")
def bought() -> Solved:
    """Return a plan that buys meal for two crops of hungry kale, one after the other."""
    crops = (planting("bed", "kale", 0, 4), planting("bed", "kale", 4, 8))
    things = (material("meal", "feather-meal", "dig_in"), material("leaves", "leaves-mixed", "mulch"))
    one = garden(things, (supply("leaves", 5.0),), crops, draws=100)
    return solve_prepared(prepare(one.model_copy(update={"goods": (SACK,)})), scenarios=1)


def test_sacks_stand_among_the_chores_and_cost_what_the_plan_spends(bought: Solved) -> None:
    chores = [one for one in bought.plan.actions if one.task == "buy"]
    assert chores
    assert sum(one.cost for one in chores) == pytest.approx(bought.plan.money)
    assert bought.plan.money == pytest.approx(money_of(bought.problem, bought.solution))
    for one in chores:
        assert one.kg == pytest.approx(one.sacks * SACK.sack_kg)
        assert one.cost == pytest.approx(one.sacks * SACK.price)
        assert ("1 sack " if one.sacks == 1 else f"{one.sacks} sacks ") in one.detail
    told = next(one.text for one in bought.plan.findings if one.code == "sacks_to_buy")
    assert f"buy {sum(one.sacks for one in chores)} of" in told, "the summary counts the same sacks"


def test_there_is_always_enough_bought_and_never_a_sack_before_it_is_opened(bought: Solved) -> None:
    weeks, meal = bought.plan.calendar.weeks, [one for one in bought.plan.actions if one.stuff == "meal"]
    come, gone = np.zeros(weeks), np.zeros(weeks)
    for one in meal:
        (come if one.task == "buy" else gone)[one.week] += one.kg
    here = np.cumsum(come) - np.cumsum(gone)
    assert (here > -0.03).all(), "chores leave out what is below a handful"
    assert (here < SACK.sack_kg + 0.03).all()


def test_the_report_lists_them_in_no_buckets(bought: Solved) -> None:
    table = next(one for one in chores_section(bought.plan, Units("us")).parts if isinstance(one, Table))
    rows = [one for one in table.rows if not isinstance(one, Say) and one[1][0] == "Buy meal (invented)"]
    assert len(rows) == sum(one.task == "buy" for one in bought.plan.actions)
    for row in rows:
        assert "lb for" in str(row[1]) and "CAD" in str(row[1]), "in the units of who reads"
        assert row[2] and not row[3] and not row[4]


def decided(*buy: float) -> Any:
    return SimpleNamespace(buy=np.array([buy]))


def goods(hours: float | None = None) -> Any:
    """Return as much of a season as its sacks need: one good of 5 kg, no donors."""
    return SimpleNamespace(
        goods=(SACK.model_copy(update={"sack_kg": 5.0}),), good_material=np.array([0]), lots=(),
        garden=SimpleNamespace(info=SimpleNamespace(hours_per_week=hours)), calendar=SimpleNamespace(weeks=4),
    )  # fmt: skip


def test_a_sack_is_bought_in_the_first_week_that_takes_from_it() -> None:
    assert sacks_by_week(goods(), decided(1.0, 4.0, 0.0, 6.0)).tolist() == [[1, 0, 0, 2]]
    assert sacks_by_week(goods(), decided(5.0 + 1e-6, 0.0, 0.0, 0.0)).tolist() == [[1, 0, 0, 0]], (
        "the solver's tolerance"
    )
    assert sack_money(goods(), decided(1.0, 4.0, 0.0, 6.0)).tolist() == [9.0]


def late(
    buy: list[float], use: list[float], hours: float | None = None, work: list[float] | None = None
) -> list[float]:
    blocks = {
        "take": np.zeros((0, 4)), "buy": np.array([buy]), "spread": np.array(work or [0.0] * 4).reshape(1, 1, 4),
        "start": np.zeros((1, 1, 4)),
    }  # fmt: skip
    stock = np.cumsum([buy], axis=1) - np.cumsum([use], axis=1)
    return bought_late(goods(hours), blocks, stock)[0].tolist()


def test_what_is_bought_waits_for_its_use() -> None:
    assert late([8.0, 0.0, 1.0, 0.0], [1.0, 0.0, 3.0, 5.0]) == pytest.approx([1.0, 0.0, 3.0, 5.0])


def test_it_is_bought_sooner_where_the_week_of_its_use_has_no_hands_left() -> None:
    """Week 3 spreads all that its hours allow, so what it uses is bought in the week before."""
    from loamery.season.work import spread_hours_per_kg

    full = [0.0, 0.0, 0.0, 100.0]
    found = late([8.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 8.0], 100.0 * spread_hours_per_kg(), full)
    assert found == pytest.approx([0.0, 0.0, 8.0, 0.0])


def test_a_decision_with_the_same_sacks_in_other_weeks_costs_the_same(bought: Solved) -> None:
    early = np.zeros_like(bought.solution.buy)
    early[:, 0] = bought.solution.buy.sum(axis=1)
    assert money_of(bought.problem, replace(bought.solution, buy=early)) == pytest.approx(bought.plan.money)


def test_what_was_bought_in_the_season_counts_towards_the_most() -> None:
    small, large = SACK, Good(material="meal", sack_kg=20.0, price=60.0, most=3)
    one = garden((material("meal", "feather-meal", "dig_in"),), (supply("meal", 5.0),), ()).model_copy(
        update={
            "goods": (small, large),
            "loads": (
                Load(id="a", donor="far", material="meal", on=day(1), kg=40.0, price_per_kg=3.0),
                Load(id="b", donor="far", material="meal", on=day(1), kg=0.5, price_per_kg=12.0),
                Load(id="c", donor="near", material="meal", on=day(1), kg=40.0),
                Load(id="d", donor="far", material="meal", on=day(3), kg=20.0, price_per_kg=3.0),
            ),
        }
    )
    calendar = calendar_of(one)
    assert [each.most for each in left_to_buy(one, calendar, day(0))] == [40, 3]
    assert [each.most for each in left_to_buy(one, calendar, day(2))] == [38, 1], "what a donor gave is no sack"
    assert [each.sack_kg for each in left_to_buy(one, calendar, day(4))] == [0.25], "none of the large ones is left"
