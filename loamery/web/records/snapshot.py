"""Rows of the database to the `Garden` that every model, the command line and the web page compute with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.db import connection

from loamery.garden.fields import Record
from loamery.garden.model import Garden as Snapshot
from loamery.web.records.models import KINDS, PARTS, Change, Entry, Garden

KEPT = 32
Keys = dict[type[Entry], dict[int, str]]


@dataclass(frozen=True)
class _Read:
    """A garden as it was read: up to which change, its parts, and the short names of rows that others point at."""

    seen: int
    parts: Mapping[str, tuple[Record, ...]]
    keys: Keys


_last: dict[int, _Read] = {}
"""The latest reading of each garden: after a change only the kinds that changed are read again."""


def snapshot(garden: Garden) -> Snapshot:
    """Return a garden as it stands now. The same object comes back until a record changes.

    Notes
    -----
    Reading takes several questions to the database; when a record changed between the first and the last, they are
    asked again, so that the parts fit each other.
    """
    if connection.in_atomic_block:
        return _read(garden.pk, None)[0]  # what is read now may never be: it is not kept
    return _kept(garden.pk, Garden.objects.values_list("version", flat=True).get(pk=garden.pk))


@lru_cache(maxsize=KEPT)
def _kept(pk: int, version: int) -> Snapshot:
    found, _last[pk] = _read(pk, _last.get(pk))
    while len(_last) > KEPT:
        _last.pop(next(iter(_last)), None)
    return found


def _read(pk: int, before: _Read | None) -> tuple[Snapshot, _Read]:
    """Return a garden with what was read of it; parts that did not change since an earlier reading are taken from that."""
    while True:
        garden = Garden.objects.get(pk=pk)
        read = _anew(garden, before)
        if Garden.objects.values_list("version", flat=True).get(pk=pk) == garden.version:
            return Snapshot(info=garden.info, climate=garden.normals, folder=str(garden.folder), **read.parts), read


def _anew(garden: Garden, before: _Read | None) -> _Read:
    seen: int = Change.objects.filter(garden=garden).values_list("pk", flat=True).first() or 0
    if before is None or before.seen > seen:
        before, changed = _Read(0, {}, {}), set(PARTS)
    else:
        since = Change.objects.filter(garden=garden, pk__gt=before.seen).order_by()
        changed = set(since.values_list("kind", flat=True).distinct())
    keys, parts = dict(before.keys), dict(before.parts)
    for kind in PARTS:
        if kind in changed:
            parts[kind] = tuple(_records(garden, KINDS[kind], keys))
    return _Read(seen, parts, keys)


def _records(garden: Garden, table: type[Entry], keys: Keys) -> list[Record]:
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
