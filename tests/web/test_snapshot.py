"""A garden read again after changes is the same as one read from the beginning."""

from __future__ import annotations

from django.db import connection
from django.test.utils import CaptureQueriesContext

from loamery.web.records import ledger
from loamery.web.records.models import KINDS
from loamery.web.records.snapshot import _read
from tests.web.conftest import World


def test_only_what_changed_is_read_again_and_the_whole_is_the_same(world: World) -> None:
    pk, before = world.ours.pk, _read(world.ours.pk, None)[1]
    heap = ledger.add(world.ours, "batches", {"id": "late", "heap": "bin", "built": "2027-05-01"}, None)
    steps = [
        lambda: ledger.add(world.ours, "readings", {"batch": "late", "on": "2027-05-03", "temp_c": 44}, None),
        lambda: ledger.edit(KINDS["readings"].objects.filter(batch=heap).get(), {"temp_c": 45}, None),
        lambda: ledger.remove(KINDS["readings"].objects.filter(batch=heap).get(), None),
        lambda: ledger.remove(heap, None),
        lambda: ledger.restore(heap, None),
        lambda: ledger.add(world.ours, "donors", {"id": "new", "name": "New"}, None),
        lambda: ledger.add(world.ours, "loads", {"id": "l", "donor": "new", "material": "leaves", "on": "2027-05-03", "kg": 3}, None),
        lambda: ledger.undo(world.ours.changes.first(), None),
    ]  # fmt: skip
    for step in steps:
        step()
        found, before = _read(pk, before)
        assert found == _read(pk, None)[0]
    with CaptureQueriesContext(connection) as asked:
        assert _read(pk, before)[0] == found
    assert len(asked) == 4, "nothing changed, nothing is read"
