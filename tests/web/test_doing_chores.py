"""A tick beside a chore: everything that belongs to it is written down, or nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.test import Client

from loamery.web.pages import views
from loamery.web.pages.chores import deed_of, free_key
from loamery.web.pages.doing import done_chores, late_chores
from loamery.web.records import ledger
from loamery.web.records.models import KINDS
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


MONDAY = date(2027, 5, 3)


def chore(task: str, stuff: str, target: str, **more: Any) -> Any:
    return SimpleNamespace(task=task, stuff=stuff, target=target, week=4, day=MONDAY, kg=4.5678, depth_m=0.0, **more)


CHORES = [
    ("loads", chore("collect", "grounds", "cafe")),
    ("feedings", chore("feed", "grounds", "box")),
    ("turnings", chore("turn", "", "bin")),
    ("batches", chore("build", "", "bin")),
    ("applications", chore("mulch", "leaves", "north")),
    ("applications", chore("dig_in", "blend-1", "north")),
    ("applications", chore("dig_in", "castings", "south")),
]


def seen(world: World, action: Any) -> Any:
    """Return the garden as a page sees it, with a plan of one chore."""
    garden = snapshot(world.ours)
    blend = SimpleNamespace(id="blend-1")
    heap = SimpleNamespace(heap="bin", week=4, water_l=12.34, parts_kg={"leaves": 6.0, "grounds": 0.0})
    plan = SimpleNamespace(actions=(action,), recipes=(blend,), batches=(heap,), garden=garden)
    return SimpleNamespace(garden=garden, plan=plan)


@pytest.mark.parametrize(("kind", "action"), CHORES)
def test_a_chore_that_is_ticked_off_is_done_and_no_longer_late(world: World, kind: str, action: Any) -> None:
    """Hold the two against each other: what a tick writes down is what answers the chore."""
    sight = seen(world, action)
    assert done_chores(sight.plan, sight.garden) == {}
    assert late_chores(sight.plan, {}, MONDAY + timedelta(8)) == [0]
    assert late_chores(sight.plan, {}, MONDAY + timedelta(6)) == [], "its week is not over"
    assert late_chores(sight.plan, {}, MONDAY + timedelta(365)) == [], "given up"
    made, values, parts = deed_of(sight, action, MONDAY + timedelta(2))
    assert made == kind
    assert values is not None
    entry = ledger.add(world.ours, kind, values, None)
    for part in parts:
        ledger.add(world.ours, "batch_parts", part, None)
    assert [one["material"] for one in parts] == (["leaves"] if kind == "batches" else [])
    if "kg" in values:
        assert entry.values()["kg"] == 4.57
    again = seen(world, action)
    done = done_chores(again.plan, again.garden)
    assert [deed.part for deed in done.values()] == [kind]
    assert late_chores(again.plan, done, MONDAY + timedelta(8)) == []


def test_a_record_answers_one_chore_and_not_another_bed(world: World) -> None:
    action = chore("mulch", "leaves", "north")
    kind, values, _parts = deed_of(seen(world, action), action, MONDAY)
    assert values is not None
    ledger.add(world.ours, kind, values, None)
    garden = snapshot(world.ours)
    others = (
        action,
        chore("mulch", "leaves", "north"),
        chore("mulch", "leaves", "south"),
        chore("dig_in", "leaves", "north"),
    )
    plan: Any = SimpleNamespace(actions=others, recipes=(), batches=(), garden=garden)
    assert list(done_chores(plan, garden)) == [0]


def test_there_is_nothing_to_turn_where_no_heap_stands(world: World) -> None:
    action = chore("turn", "", "bin")
    assert deed_of(seen(world, action), action, date(2027, 4, 9))[1] is None, "before it was built"
    ledger.edit(KINDS["batches"].objects.get(garden=world.ours), {"emptied": "2027-05-01"}, None)
    assert deed_of(seen(world, action), action, MONDAY)[1] is None, "emptied"


def test_a_short_name_is_given_once(world: World) -> None:
    sight = seen(world, CHORES[0][1])
    assert free_key(sight, "loads", "load-1") == "load-1-2"
    assert free_key(sight, "loads", "x" * 80) == "x" * 55


SET = {"whose": "garden", "name": "Ours", "season_start": "2027-04-05", "season_weeks": "12", "bucket_l": "20", "jurisdiction": "ca-a", "units": "metric", "currency": "CAD"}  # fmt: skip


@pytest.mark.parametrize(
    ("who", "given", "status"),
    [("owner", {}, 302), ("owner", {"season_weeks": "0"}, 422), ("owner", {"bucket_l": "-3"}, 422),
     ("owner", {"jurisdiction": "mars"}, 422), ("owner", {"name": ""}, 422), ("owner", {"hours_per_week": "-1"}, 422), ("grower", {}, 200)],
)  # fmt: skip
def test_a_garden_is_set_up_by_its_owner_within_its_own_rules(
    world: World, client_of: Browser, who: str, given: dict[str, str], status: int
) -> None:
    before = snapshot(world.ours).info
    assert client_of(who).post("/g/ours/settings/", {**SET, **given}).status_code == status
    world.ours.refresh_from_db()
    assert (world.ours.info == before) == (status != 302)
    if status == 302:
        assert world.ours.name == "Ours"
        assert world.ours.changes.first().before["settings"]["name"] == "Ours (invented)"


def test_each_person_reads_as_they_like(world: World, client_of: Browser) -> None:
    client = client_of("reader")
    sent = client.post("/g/ours/settings/", {"whose": "mine", "name": "Bo", "units": "us", "theme": "dark"})
    assert (sent.status_code, sent.cookies["theme"].value) == (302, "dark")
    world.people["reader"].refresh_from_db()
    assert (world.people["reader"].name, world.people["reader"].units) == ("Bo", "us")
    assert client.post("/g/ours/settings/", {"whose": "mine", "name": "Bo", "units": "stone"}).status_code == 422


def bought(on: date = MONDAY) -> Any:
    return SimpleNamespace(
        task="buy", stuff="leaves", target="", week=4, day=on, kg=10.0, depth_m=0.0, sacks=2, cost=38.0
    )


def shop(world: World) -> None:
    """Sell leaves by the sack, in a shop that is among the donors but no supply."""
    ledger.add(world.ours, "goods", {"material": "leaves", "sack_kg": 5.0, "price": 19.0, "most": 4}, None)
    ledger.add(world.ours, "donors", {"id": "shop", "name": "Shop (invented)"}, None)


def test_sacks_are_written_down_as_a_load_from_the_shop_of_the_last_time(world: World) -> None:
    shop(world)
    kind, values, parts = deed_of(seen(world, bought()), bought(), MONDAY)
    assert (kind, parts) == ("loads", [])
    assert values is not None and "donor" not in values, "only a person knows the shop"
    ledger.add(world.ours, kind, {**values, "donor": "shop"}, None)
    later = bought(MONDAY + timedelta(28))
    _kind, again, _parts = deed_of(seen(world, later), later, later.day)
    assert again is not None
    assert (again["donor"], again["kg"], again["price_per_kg"]) == ("shop", 10.0, 3.8)
    assert again["id"] != values["id"]


def test_a_load_answers_either_a_purchase_or_a_donor(world: World) -> None:
    shop(world)
    plan: Any = SimpleNamespace(actions=(bought(), chore("collect", "leaves", "shop")), recipes=(), batches=())
    load = {"id": "sacks", "donor": "shop", "material": "leaves", "on": MONDAY, "kg": 10.0, "price_per_kg": 3.8}
    ledger.add(world.ours, "loads", load, None)
    garden = snapshot(world.ours)
    plan.garden = garden
    assert list(done_chores(plan, garden)) == [0], "nobody gives leaves there, so they were bought"
    supply = {"donor": "shop", "material": "leaves", "kg_per_week": 9, "first": "2027-04-05", "last": "2027-09-30"}
    ledger.add(world.ours, "supplies", supply, None)
    garden = snapshot(world.ours)
    plan.garden = garden
    assert list(done_chores(plan, garden)) == [1]


def test_a_first_purchase_asks_for_its_shop(world: World, client_of: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    shop(world)
    monkeypatch.setattr(views, "_action", lambda *_more: bought())
    found = client_of("logger").post("/g/ours/done/0")
    assert found.status_code == 302 and found["Location"].endswith("/done/0/differently")
    assert not any(one.material == "leaves" and one.donor == "shop" for one in snapshot(world.ours).loads)
