"""Rows of the database to the `Garden` that every model, the command line and the web page compute with."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from django.db import connection

from loamery.garden.fields import Record
from loamery.garden.model import Garden as Snapshot
from loamery.web.records.models import KINDS, PARTS, Entry, Garden

KEPT = 32


def snapshot(garden: Garden) -> Snapshot:
    """Return a garden as it stands now. The same object comes back until a record changes.

    Notes
    -----
    Reading takes several questions to the database; when a record changed between the first and the last, they are
    asked again, so that the parts fit each other.
    """
    if connection.in_atomic_block:
        return _read(garden.pk)  # what is read now may never be: it is not kept
    return _kept(garden.pk, Garden.objects.values_list("version", flat=True).get(pk=garden.pk))


@lru_cache(maxsize=KEPT)
def _kept(pk: int, version: int) -> Snapshot:
    return _read(pk)


def _read(pk: int) -> Snapshot:
    while True:
        garden = Garden.objects.get(pk=pk)
        parts = _parts(garden)
        if Garden.objects.values_list("version", flat=True).get(pk=pk) == garden.version:
            return Snapshot(info=garden.info, climate=garden.normals, folder=str(garden.folder), **parts)


def _parts(garden: Garden) -> dict[str, tuple[Record, ...]]:
    keys: dict[type[Entry], dict[int, str]] = {}
    return {kind: tuple(_records(garden, KINDS[kind], keys)) for kind in PARTS}


def _records(garden: Garden, table: type[Entry], keys: dict[type[Entry], dict[int, str]]) -> list[Record]:
    """Return the records of one table in one question; names of what they point at come from tables read before."""
    columns, links = table.columns(), table.links()
    rows = list(table.objects.filter(garden=garden).values_list("pk", *columns.values()))
    places = {name: 1 + list(columns).index(name) for name in links}
    out: list[Record] = []
    for row in rows:
        values: list[Any] = list(row)
        for name, place in places.items():
            values[place] = keys[links[name]].get(values[place]) if values[place] is not None else None
        out.append(table.record.model_validate(_tuples(dict(zip(columns, values[1:], strict=True)))))
    if "id" in columns:
        at = 1 + list(columns).index("id")
        keys[table] = {row[0]: row[at] for row in rows}
    return out


def _tuples(values: dict[str, Any]) -> dict[str, Any]:
    return {name: tuple(value) if isinstance(value, list) else value for name, value in values.items()}
