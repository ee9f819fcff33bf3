"""Solve, play, learn, solve again."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from loamery.season.agree import Agreement, Round, agree
from tests.season.small_season import small


@pytest.fixture(scope="module")
def agreed() -> Agreement:
    one = small()
    return agree(one.prepared, first=one, most_rounds=3, draws=8)


def test_learning_brings_plan_and_models_nearer(agreed: Agreement) -> None:
    apart = [one.apart["nitrogen short"] for one in agreed.rounds]
    assert len(agreed.rounds) <= 3
    assert apart[-1] < apart[0] or apart[0] <= 0.05
    assert apart[-1] <= 0.05


def test_what_was_learnt_is_what_the_last_plan_was_solved_with(agreed: Agreement) -> None:
    if len(agreed.rounds) > 1:
        assert set(agreed.believed.lost) == {one.id for one in agreed.solved.problem.recipes}
        assert set(agreed.believed.soil_n_kg_m2) == {"one", "two"}
        assert agreed.solved is not agreed.first
    for share in agreed.believed.room.values():
        assert 0.0 < share < 1.0


def test_it_says_whether_they_agree(agreed: Agreement) -> None:
    last = agreed.rounds[-1]
    assert agreed.agrees == (max(last.apart.values()) <= 0.05)
    told = Agreement(
        agreed.first, agreed.solved, agreed.played, (Round(1, {"compost made": 0.2}, 0.9, (0.1, 0.1)),), agreed.believed
    )
    assert not told.agrees
    assert "do not agree" in told.text
    assert "compost made 20%" in told.text
    good = replace(told, rounds=(Round(1, {"compost made": 0.01}, 0.9, (0.1, 0.1)),))
    assert good.text == "Plan and models agree within 5% after 1 round."


def test_the_document_holds_rounds_and_limits(agreed: Agreement) -> None:
    document = json.loads(json.dumps(agreed.as_dict()))
    assert document["seasons"] == 8
    assert len(document["rounds"]) == len(agreed.rounds)
    assert document["balance_error"] < 1e-9
    assert {one["key"] for one in document["limits"]} >= {"supply", "ceiling_P", "in_time"}


def test_one_round_is_the_plan_as_published() -> None:
    one = small()
    found = agree(one.prepared, first=one, most_rounds=1, draws=4)
    assert found.solved is one
    assert len(found.rounds) == 1
