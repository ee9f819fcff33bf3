"""The demo garden, planned once for all tests of the season, with the programme behind it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from loamery.garden import Garden, read_garden
from loamery.season import SeasonPlan, make
from loamery.season.prepare import Prepared, prepare
from loamery.season.problem import Problem
from loamery.season.programme import Solution

DEMO = Path(__file__).resolve().parents[2] / "loamery" / "demo" / "garden"


@dataclass(frozen=True)
class Solved:
    """A plan with what it was computed from."""

    prepared: Prepared
    plan: SeasonPlan
    problem: Problem
    solution: Solution


def solve(prepared: Prepared) -> Solved:
    """Return the plan of a prepared garden, keeping the problem and the solution behind it."""
    kept: dict[str, object] = {}
    patch = pytest.MonkeyPatch()
    solve_season = make.solve_season

    def keeping(problem: Problem) -> Solution:
        kept["problem"], kept["solution"] = problem, solve_season(problem)
        return kept["solution"]  # type: ignore[return-value]

    patch.setattr(make, "solve_season", keeping)
    try:
        plan = make.plan_prepared(prepared)
    finally:
        patch.undo()
    return Solved(prepared, plan, kept["problem"], kept["solution"])  # type: ignore[arg-type]


@pytest.fixture(scope="session")
def demo_garden() -> Garden:
    """Return the demo garden as shipped."""
    return read_garden(DEMO)


@pytest.fixture(scope="session")
def demo_prepared(demo_garden: Garden) -> Prepared:
    """Return the demo garden with its reports read."""
    return prepare(demo_garden)


@pytest.fixture(scope="session")
def demo(demo_prepared: Prepared) -> Solved:
    """Return the demo garden's plan."""
    return solve(demo_prepared)


@pytest.fixture(scope="session")
def bare(demo_garden: Garden) -> Solved:
    """Return the plan of the demo garden before any report has arrived."""
    return solve(prepare(demo_garden.model_copy(update={"reports": ()})))
