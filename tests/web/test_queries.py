"""How many questions a page asks the database: a number that does not grow with the records."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from loamery.garden import write_demo
from loamery.web.records import exchange
from loamery.web.records.models import PARTS
from loamery.web.records.snapshot import snapshot
from tests.web.conftest import World

Browser = Callable[[str], Client]
READ = len(PARTS) + 3
"""To read a garden whole, which is done once after each change and then kept (not here, inside of a transaction)."""
MOST = {
    "records/readings": 8 + READ,
    "records/applications": 8 + READ,
    "changes": 12,
    "records/plantings/add": 8 + READ,
}


@pytest.fixture
def large(world: World, tmp_path: Path) -> str:
    return str(exchange.take_in(write_demo(tmp_path / "demo", seasons=True), world.people["owner"], slug="large").slug)


@pytest.mark.parametrize("path", MOST)
def test_a_page_asks_no_more_of_a_large_garden(world: World, client_of: Browser, large: str, path: str) -> None:
    client, counts = client_of("owner"), []
    for slug in ("ours", large):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert client.get(f"/g/{slug}/{path}").status_code == 200
        counts.append(len(asked))
    assert counts[1] <= MOST[path], [one["sql"][:150] for one in asked]
    assert counts[1] <= counts[0] + 1  # a page further


def test_a_snapshot_asks_once_for_each_kind(world: World, large: str) -> None:
    garden = world.ours.__class__.objects.get(slug=large)
    with CaptureQueriesContext(connection) as asked:
        held = snapshot(garden)
    assert len(asked) == READ
    assert len(held.readings) > 500
