"""The demo garden, planned once for all tests of the season, with the programme behind it."""

from __future__ import annotations

from pathlib import Path

import pytest

from loamery.garden import Garden, read_garden
from loamery.season.kept import prepared_kept
from loamery.season.make import Solved, solve_prepared
from loamery.season.prepare import Prepared, prepare
from loamery.season.solve import SOON_NODES

DEMO = Path(__file__).resolve().parents[2] / "loamery" / "demo" / "garden"


def solve(prepared: Prepared) -> Solved:
    """Return the plan of a prepared garden with the problem and the solution behind it, searched for once by all tests."""
    return prepared_kept(prepared).solved


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
    """Return the plan of the demo garden before any report has arrived; not the best, for its words alone are looked at."""
    return solve_prepared(prepare(demo_garden.model_copy(update={"reports": ()})), most_nodes=SOON_NODES)
