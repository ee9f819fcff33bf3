"""A tick beside a chore: everything that belongs to it is written down, or nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest
from django.test import Client

from loamery.web.pages import views
from loamery.web.records.snapshot import snapshot
from tests.web.conftest import World

Browser = Callable[[str], Client]


@pytest.mark.parametrize(("material", "built"), [("grounds", 1), ("nothing-of-this-name", 0)])
def test_a_heap_is_written_down_with_its_parts_or_not_at_all(
    world: World, client_of: Browser, monkeypatch: pytest.MonkeyPatch, material: str, built: int
) -> None:
    heap: dict[str, Any] = {"id": "summer", "heap": "bin", "built": date(2027, 6, 1)}
    parts = [{"batch": "summer", "material": one, "kg": 3.0} for one in ("leaves", material)]
    monkeypatch.setattr(views, "_action", lambda *_more: SimpleNamespace(day=date(2027, 6, 1)))
    monkeypatch.setattr(views, "deed_of", lambda *_more: ("batches", heap, parts))
    assert client_of("logger").post("/g/ours/done/0").status_code == 302
    garden = snapshot(world.ours)
    assert sum(one.id == "summer" for one in garden.batches) == built
    assert sum(one.batch == "summer" for one in garden.batch_parts) == 2 * built
