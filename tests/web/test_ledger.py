"""Every change is kept, can be taken back, and is checked as the garden folder is."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from loamery.errors import GardenError, InputError
from loamery.garden.folder import FILES
from loamery.garden.model import Info
from loamery.web.records import ledger
from loamery.web.records.checking import held_against
from loamery.web.records.models import KINDS, Change, Garden
from loamery.web.records.snapshot import snapshot
from loamery.web.records.together import _Job, _lead, _waiting, together
from tests.web.conftest import World

READ = {"batch": "spring", "on": "2027-04-20", "temp_c": "58.5", "depth_m": 0.4, "note": "steam"}


def test_a_material_with_a_price_is_not_removed(world: World) -> None:
    grower = world.people["grower"]
    leaves = KINDS["materials"].objects.get(garden=world.ours, key="leaves")
    price = ledger.add(world.ours, "prices", {"item": "leaves", "on": "2027-04-20", "price_per_kg": 1}, grower)
    with pytest.raises(GardenError, match="1 in prices"):
        ledger.remove(leaves, grower)
    ledger.remove(price, grower)
    ledger.remove(leaves, grower)


def test_a_record_is_checked_again_when_what_it_points_at_was_changed_meanwhile(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    heap = ledger.add(world.ours, "batches", {"id": "new", "heap": "bin", "built": "2027-04-10"}, None)

    def meanwhile(then: Callable[[], Any]) -> Any:
        monkeypatch.setattr(ledger, "together", together)
        ledger.remove(heap, None)
        return then()

    monkeypatch.setattr(ledger, "together", meanwhile)
    with pytest.raises(GardenError, match="new"):
        ledger.add(world.ours, "readings", {**READ, "batch": "new"}, None)
    assert not KINDS["readings"].objects.filter(batch=heap).exists()


def test_what_cannot_be_written_takes_none_of_the_others_with_it(world: World) -> None:
    def failing() -> None:
        ledger.add(world.ours, "harvests", {"bed": "north", "crop": "lettuce-leaf", "on": "2027-06-20", "kg": 77}, None)
        raise IntegrityError("no room")

    def well(note: str) -> Callable[[], Any]:
        return lambda: ledger.add(world.ours, "readings", {**READ, "note": note}, None)

    jobs = [_Job(well("first")), _Job(failing), _Job(well("second"))]
    _waiting.extend(jobs)
    _lead()
    assert [one.done for one in jobs] == [True] * 3
    assert isinstance(jobs[1].failed, IntegrityError)
    assert not KINDS["harvests"].objects.filter(garden=world.ours, kg=77).exists()
    kept = KINDS["readings"].objects.filter(garden=world.ours, note__in=("first", "second")).order_by("pk")
    assert [one.note for one in kept] == ["first", "second"]
    assert [jobs[0].value, jobs[2].value] == list(kept)


def test_every_kind_is_held_against_what_it_points_at() -> None:
    assert held_against("readings") == {"batches"}
    assert held_against("loads") == {"donors", "materials", "loads"}
    assert held_against("plantings") == {"beds", "plantings"}
    for kind, table in KINDS.items():
        assert {ledger.kind_of(to()) for to in table.links().values()} <= held_against(kind)


def test_every_part_of_a_garden_has_a_table_with_the_same_columns() -> None:
    assert set(KINDS) == {*FILES, "reports", "trials", "trial_readings"}
    for kind, table in KINDS.items():
        if kind in FILES:
            assert table.record is FILES[kind][1]
        own = {one.name for one in table._meta.fields} - {"id", "garden", "removed_at", "sent_as"}
        assert own == set(table.columns().values()), kind
        order = list(KINDS)
        assert all(order.index(ledger.kind_of(to())) < order.index(kind) for to in table.links().values()), kind


def test_the_gardens_own_settings_have_a_column_each() -> None:
    assert set(Info.model_fields) <= {one.name for one in Garden._meta.fields}


def test_a_record_is_added_changed_removed_and_brought_back_with_its_history(world: World) -> None:
    ada, grower = world.people["logger"], world.people["grower"]
    entry = ledger.add(world.ours, "readings", READ, ada)
    entry = ledger.edit(entry, {"temp_c": 59.0}, grower)
    entry = ledger.remove(entry, grower)
    assert entry.pk not in [one.pk for one in KINDS["readings"].objects.filter(garden=world.ours)]
    entry = ledger.restore(entry, ada)
    said = [
        (one.action, one.who_said, (one.before or {}).get("temp_c"), one.after["temp_c"])
        for one in ledger.history(entry)
    ]
    assert said == [
        ("restore", "Logger", 59.0, 59.0),
        ("remove", "Grower", 59.0, 59.0),
        ("edit", "Grower", 58.5, 59.0),
        ("add", "Logger", None, 58.5),
    ]
    assert snapshot(world.ours).readings[-1].temp_c == 59.0


def test_a_change_that_changes_nothing_leaves_no_trace(world: World) -> None:
    entry = ledger.add(world.ours, "readings", READ, None)
    ledger.edit(entry, dict(READ), None)
    assert ledger.history(entry).count() == 1


def test_undo_goes_back_step_by_step_and_can_itself_be_undone(world: World) -> None:
    who = world.people["logger"]
    entry = ledger.add(world.ours, "readings", READ, who)
    ledger.edit(entry, {"temp_c": 61.0}, who)
    first, added = ledger.history(entry)
    assert ledger.undo(first, who).temp_c == 58.5
    assert ledger.history(entry).first().undoes == first
    with pytest.raises(GardenError, match="followed by another"):
        ledger.undo(first, who)
    back = ledger.history(entry).first()
    assert ledger.undo(back, who).temp_c == 61.0
    assert added.action == "add"


def test_undoing_an_addition_takes_the_record_out(world: World) -> None:
    entry = ledger.add(world.ours, "readings", READ, None)
    assert ledger.undo(ledger.history(entry).first(), None).removed_at is not None


def test_the_history_cannot_be_altered_by_code_nor_in_the_database(world: World) -> None:
    entry = ledger.add(world.ours, "readings", READ, None)
    change = ledger.history(entry).first()
    with pytest.raises(InputError):
        change.save()
    with pytest.raises(InputError):
        change.delete()
    with pytest.raises(DatabaseError, match="not altered"), transaction.atomic():
        Change.objects.filter(pk=change.pk).update(after={})
    with pytest.raises(DatabaseError, match="history is not"), transaction.atomic():
        Change.objects.filter(pk=change.pk)._raw_delete("default")


@pytest.mark.parametrize(
    ("kind", "values", "column"),
    [
        ("readings", {**READ, "on": "2027-04-01"}, "on"),
        ("readings", {**READ, "batch": "autumn"}, "batch"),
        ("readings", {**READ, "temp_c": "hot"}, "temp_c"),
        ("readings", {**READ, "temp_c": 500}, "temp_c"),
        ("readings", {"batch": "spring", "on": "2027-04-20"}, None),
        ("readings", {**READ, "photo": "../../secret-key"}, "photo"),
        ("readings", {**READ, "colour": "brown"}, "colour"),
        ("loads", {"id": "load-1", "donor": "cafe", "material": "grounds", "on": "2027-04-20", "kg": 3}, "id"),
        ("loads", {"id": "a", "donor": "nobody", "material": "grounds", "on": "2027-04-20", "kg": 3}, "donor"),
        ("plantings", {"bed": "north", "crop": "carrot", "planted": "2027-05-10", "harvested": "2027-08-01", "share": 0.5}, "share"),
        ("applications", {"bed": "north", "on": "2027-05-10", "kg": 3, "use": "mulch"}, "material"),
        ("soil_values", {"bed": "north", "quantity": "pH", "value": 62, "unit": "pH"}, "value"),
        ("reports", {"file": "reports/none.csv", "material": "grounds"}, "file"),
        ("batches", {"id": "x", "heap": "bin", "built": "2027-05-10", "note": "n" * 10_001}, "note"),
    ],
)  # fmt: skip
def test_what_the_folder_refuses_is_refused(
    world: World, kind: str, values: dict[str, object], column: str | None
) -> None:
    before = Change.objects.count()
    with pytest.raises(GardenError) as error:
        ledger.add(world.ours, kind, values, None)
    assert (column or "") in str(error.value.faults[0].where.column or "")
    assert Change.objects.count() == before


def test_a_heap_is_not_moved_away_from_its_readings(world: World) -> None:
    batch = KINDS["batches"].objects.get(garden=world.ours)
    with pytest.raises(GardenError, match="2027-04-13"):
        ledger.edit(batch, {"built": "2027-04-14"}, None)


def test_what_is_pointed_at_stays_until_nothing_points_at_it(world: World) -> None:
    donor = KINDS["donors"].objects.get(garden=world.ours)
    with pytest.raises(GardenError, match="1 in supplies, 1 in loads"):
        ledger.remove(donor, None)
    for kind in ("supplies", "loads"):
        for one in KINDS[kind].objects.filter(garden=world.ours):
            ledger.remove(one, None)
    assert ledger.remove(donor, None).removed_at is not None
    load = KINDS["loads"].every.get(garden=world.ours)
    with pytest.raises(GardenError, match="donor"):
        ledger.restore(load, None)


def test_a_record_of_a_phone_is_taken_once(world: World) -> None:
    number = uuid.uuid4()
    one = ledger.add(world.ours, "readings", READ, None, sent_as=number)
    two = ledger.add(world.ours, "readings", {**READ, "temp_c": 12}, None, sent_as=number)
    assert one.pk == two.pk
    assert ledger.history(one).count() == 1


def test_a_name_of_another_garden_is_not_found(world: World) -> None:
    ledger.add(world.theirs, "donors", {"id": "brewery", "name": "Brewery"}, None)
    with pytest.raises(GardenError, match="brewery"):
        ledger.add(
            world.ours,
            "loads",
            {"id": "b", "donor": "brewery", "material": "grounds", "on": "2027-04-20", "kg": 3},
            None,
        )


def test_each_change_makes_a_new_version(world: World) -> None:
    world.ours.refresh_from_db()
    before = world.ours.version
    ledger.add(world.ours, "readings", READ, None)
    world.ours.refresh_from_db()
    assert world.ours.version == before + 1


def test_a_change_of_the_gardens_own_settings_is_kept_too(world: World) -> None:
    garden, owner = world.ours, world.people["owner"]
    garden.bucket_l = 12.0
    garden.save()
    ledger.changed(garden, owner)
    ledger.changed(garden, owner)
    last, brought = Change.objects.filter(garden=garden, kind="garden")
    assert (last.action, last.who, brought.action) == ("edit", owner, "import")
    assert (last.before["settings"]["bucket_l"], last.after["settings"]["bucket_l"]) == (20.0, 12.0)
    assert brought.after["records"]["loads"] == 1
