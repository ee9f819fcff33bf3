"""The same heaps here and on the workers of a dask scheduler: processes started anew, figures the same to the last digit."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loamery.errors import InputError, UnknownName, Where
from loamery.heap.cluster import run_heaps, spread
from loamery.heap.forecast import forecast, members
from loamery.heap.forecasts import forecasts
from loamery.heap.spec import HeapSpec
from tests.heap.gardenstuff import MILD, plan


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    from distributed import LocalCluster

    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as found:
        yield found


def specs(count: int) -> list[HeapSpec]:
    return members(plan(turn_days=(4.0,)), MILD, 12, count, 1)


def test_a_cluster_gives_the_same_figures_and_tells_how_far_it_is(cluster: Any) -> None:
    here = run_heaps(specs(130), 12, 8)
    told: list[str] = []
    there = run_heaps(specs(130), 12, 8, scheduler=cluster.scheduler_address, progress=told.append)
    assert np.array_equal(here.record, there.record) and np.array_equal(here.accounts, there.accounts)
    assert told[-1] == "130 of 130 heaps" and len(told) == 3


def test_forecasts_come_in_the_order_of_the_plans(cluster: Any) -> None:
    plans = [plan(volume_m3=one) for one in (0.3, 2.0, 1.0)]
    there = forecasts(plans, MILD, 12, 4, scheduler=cluster.scheduler_address)
    here = [forecast(one, MILD, 12, 4) for one in plans]
    assert [one.plan.volume_m3 for one in there] == [0.3, 2.0, 1.0]
    for one, two in zip(here, there, strict=True):
        assert np.array_equal(one.temp_c, two.temp_c) and one.ready == two.ready and one.share == two.share


def test_a_fault_of_a_worker_arrives_as_it_was(cluster: Any) -> None:
    broken = [replace(one, changes={**one.changes, "no_such_number": 1.0}) for one in specs(3)]
    with pytest.raises(UnknownName, match="no_such_number"):
        run_heaps(broken, 12, 8, scheduler=cluster.scheduler_address)


def test_a_client_of_ones_own_stays_open(cluster: Any) -> None:
    from distributed import Client

    with Client(cluster) as client:
        assert spread(abs, [-1, 2, -3], scheduler=client) == [1, 2, 3]
        assert client.status == "running"


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nowhere", ""])
def test_no_scheduler_is_told(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("loamery.heap.cluster.WAIT_S", 1)
    with pytest.raises(InputError, match="dask scheduler"):
        run_heaps(specs(3), 12, 8, scheduler=address)


def test_places_must_fit_the_plans() -> None:
    with pytest.raises(InputError, match="places"):
        forecasts([plan()], [MILD, MILD], 12, 4)


def test_errors_can_be_sent() -> None:
    one = UnknownName("x", where=Where(file="f", row=2), expected="y", remedy="z")
    two = pickle.loads(pickle.dumps(one))
    assert type(two) is UnknownName and str(two) == str(one) and two.where == one.where
