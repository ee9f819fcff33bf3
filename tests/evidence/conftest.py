"""Plans that the tests of the evidence share: the demo garden, and the same garden without any report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest

from loamery.evidence import write_report
from loamery.garden import Garden, read_garden
from loamery.season.foresee import Foreseen, foresee
from loamery.season.make import solve_prepared
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import prepare
from loamery.season.solve import SOON_NODES

ON = date(2026, 11, 25)


@pytest.fixture(scope="session")
def plan() -> SeasonPlan:
    return _planned(read_garden(Path(str(files("loamery.demo").joinpath("garden")))))


@pytest.fixture(scope="session")
def plan_without_reports() -> SeasonPlan:
    garden = read_garden(Path(str(files("loamery.demo").joinpath("garden"))))
    return _planned(garden.model_copy(update={"reports": (), "soil_values": ()}))


def _planned(garden: Garden) -> SeasonPlan:
    """Return the plan as the report makes it: soon, not the best."""
    return solve_prepared(prepare(garden), most_nodes=SOON_NODES).plan


@pytest.fixture(scope="session")
def in_us_units() -> Callable[[SeasonPlan], SeasonPlan]:
    def turned(plan: SeasonPlan) -> SeasonPlan:
        info = plan.garden.info.model_copy(update={"units": "us"})
        return replace(plan, garden=plan.garden.model_copy(update={"info": info}))

    return turned


@pytest.fixture(scope="session")
def foreseen(plan: SeasonPlan) -> Foreseen:
    return foresee(plan)


@pytest.fixture(scope="session")
def written(plan: SeasonPlan, foreseen: Foreseen, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    write_report(plan, folder, on=ON, foreseen=foreseen)
    return folder
