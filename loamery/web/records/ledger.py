"""The one way records change: checked as the garden folder is checked, written together with their history.

Every function here writes in one transaction that first takes the garden's row, so that changes of a garden follow one
another; ``version`` of the garden grows by one with each. A new record is checked before that, and again inside only
when something it was held against was written meanwhile.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.db import IntegrityError, connection, transaction
from django.dispatch import Signal
from django.utils import timezone

from loamery.errors import GardenError, InputError, Where
from loamery.say import say
from loamery.web.people.models import Person
from loamery.web.records.checking import check, held_against, record_of
from loamery.web.records.models import KINDS, Change, Entry, Garden
from loamery.web.records.models.base import stored
from loamery.web.records.models.kept import Action
from loamery.web.records.together import together

GARDEN = "garden"
"""Kind of the changes of the garden itself."""
BATCH = 500
written = Signal()
"""Sent with ``garden`` and ``kind`` after a record was written for good."""


def add(
    garden: Garden, kind: str, values: Mapping[str, Any], who: Person | None, *, sent_as: uuid.UUID | None = None
) -> Entry:
    """Write a new record and return it.

    Parameters
    ----------
    kind : part of the garden, such as ``loads``.
    values : fields of the record, as typed or as read; what is pointed at by its short name.
    sent_as : number a phone gave the record; one that is already here is returned and not written twice.

    Raises
    ------
    GardenError : the record cannot be; every fault names its column.
    """
    entry = KINDS[kind](garden=garden, sent_as=sent_as)
    seen = _last(garden)
    try:
        _fill(entry, kind, values)
        return together(lambda: _added(entry, kind, values, who, seen))
    except (GardenError, IntegrityError):  # one that is here already needs no room
        there = KINDS[kind].every.filter(garden=garden, sent_as=sent_as).first() if sent_as is not None else None
        if there is None:
            raise
        return there


def _added(entry: Entry, kind: str, values: Mapping[str, Any], who: Person | None, seen: int) -> Entry:
    _take(entry.garden)
    if _may_differ(entry.garden, kind, seen):
        _fill(entry, kind, values)
    entry.save(force_insert=True)
    _write_down(entry, kind, Action.ADD, None, who)
    return entry


def _last(garden: Garden) -> int:
    """Return the number of the last change of a garden; those of one garden are numbered in the order they were kept."""
    return int(_asked("SELECT max(id) FROM records_change WHERE garden_id = %s", garden.pk) or 0)


def _may_differ(garden: Garden, kind: str, seen: int) -> bool:
    """Tell whether something was written, after a change, that could make a record of a kind wrong."""
    kinds = sorted(held_against(kind))
    if not kinds:
        return False
    marks = ", ".join(["%s"] * len(kinds))
    since = f"SELECT 1 FROM records_change WHERE garden_id = %s AND id > %s AND kind IN ({marks}) LIMIT 1"
    return _asked(since, garden.pk, seen, *kinds) is not None


def _asked(statement: str, *values: Any) -> Any:
    """Return the first cell of an answer; plain SQL, for every record that is written asks this."""
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        row = cursor.fetchone()
    return row and row[0]


def edit(entry: Entry, values: Mapping[str, Any], who: Person | None) -> Entry:
    """Change some or all fields of a record and return it; one that says the same as before leaves no trace.

    Raises
    ------
    GardenError : the record cannot be as it would be then.
    """
    kind = kind_of(entry)

    def write() -> Entry:
        _take(entry.garden)
        now = _again(entry)
        before = now.state()
        if "id" in values and values["id"] != before["id"]:
            raise GardenError([_key_stays(kind)])
        _fill(now, kind, {**now.values(), **values})
        if now.state() != before:
            now.save()
            _write_down(now, kind, Action.EDIT, before, who)
        return now

    return together(write)


def remove(entry: Entry, who: Person | None) -> Entry:
    """Take a record out of the garden; it stays in the history and can be brought back.

    Raises
    ------
    GardenError : other records still point at it.
    """
    kind = kind_of(entry)
    with transaction.atomic():
        _take(entry.garden)
        entry = _again(entry)
        if pointing := pointing_at(entry):
            raise GardenError([_pointed_at(entry, kind, pointing)])
        before = entry.state()
        entry.removed_at = timezone.now()
        entry.save(update_fields=["removed_at"])
        _write_down(entry, kind, Action.REMOVE, before, who)
    return entry


def restore(entry: Entry, who: Person | None) -> Entry:
    """Bring a removed record back.

    Raises
    ------
    GardenError : what it points at is gone, or its short name was given to another since.
    """
    kind = kind_of(entry)
    with transaction.atomic():
        _take(entry.garden)
        entry = _again(entry)
        if entry.removed_at is None:
            return entry
        before = entry.state()
        _fill(entry, kind, entry.values())
        entry.removed_at = None
        entry.save()
        _write_down(entry, kind, Action.RESTORE, before, who)
    return entry


def undo(change: Change, who: Person | None) -> Entry:
    """Take one change back, which is itself a change, and return the record.

    Raises
    ------
    GardenError : the record was changed again since, or cannot be as it was.
    """
    entry = KINDS[change.kind].every.select_related("garden").get(pk=change.row, garden=change.garden_id)
    with transaction.atomic():
        _take(entry.garden)
        entry = _again(entry)
        if entry.state() != change.after:
            raise GardenError([_cannot_undo(say("a change that was followed by another one"))])
        if change.action in (Action.ADD, Action.RESTORE, Action.IMPORT):
            entry = remove(entry, who)
        elif change.action == Action.REMOVE:
            entry = restore(entry, who)
        else:
            entry = edit(entry, {name: value for name, value in change.before.items() if name != "removed"}, who)
        last = Change.objects.filter(garden=entry.garden, kind=change.kind, row=entry.pk).first()
        Change.objects.filter(pk=last.pk).update(undoes=change)
    return entry


def undo_settings(change: Change, who: Person | None) -> Garden:
    """Take one change of the garden's own settings back, which is itself a change, and return the garden.

    Raises
    ------
    GardenError : the settings were changed again since, or there were none before.
    """
    with transaction.atomic():
        garden = Garden.objects.select_for_update().get(pk=change.garden_id)
        if not (change.before and change.before.get("settings")):
            raise GardenError([_cannot_undo(say("the beginning of the garden"))])
        if garden.state() != change.after["settings"]:
            raise GardenError([_cannot_undo(say("a change that was followed by another one"))])
        for name, value in change.before["settings"].items():
            setattr(garden, name, date.fromisoformat(value) if name == "season_start" else value)
        garden.save(update_fields=list(change.before["settings"]))
        changed(garden, who)
        last = Change.objects.filter(garden=garden, kind=GARDEN).first()
        Change.objects.filter(pk=last.pk).update(undoes=change)
    return garden


def history(entry: Entry) -> Any:
    """Return the changes of a record, newest first."""
    return Change.objects.filter(garden=entry.garden_id, kind=kind_of(entry), row=entry.pk).select_related("who")


def kind_of(entry: Entry) -> str:
    """Return the part of the garden a record belongs to."""
    return next(kind for kind, table in KINDS.items() if table is type(entry))


def pointing_at(entry: Entry) -> dict[str, int]:
    """Return how many records of each kind point at a record."""
    found: dict[str, int] = {}
    for kind, table in KINDS.items():
        for name, target in table.links().items():
            if target is type(entry) and (count := table.objects.filter(**{name: entry}).count()):
                found[kind] = found.get(kind, 0) + count
    if isinstance(entry, KINDS["materials"]) and (
        count := KINDS["prices"].objects.filter(garden=entry.garden_id, item=entry.key).count()
    ):
        found["prices"] = count
    return found


def changed(garden: Garden, who: Person | None = None) -> None:
    """Write down that the garden's own settings were changed, and that what was reckoned from it is out of date."""
    with transaction.atomic():
        _take(garden)
        garden.refresh_from_db()
        last = Change.objects.filter(garden=garden, kind=GARDEN).first()
        before = last.after.get("settings") if last is not None else None
        if before != garden.state():
            _told(garden, Action.EDIT, before and {"settings": before}, who)


def begun(garden: Garden, who: Person | None) -> None:
    """Write down that a garden was begun, and how it was set up."""
    _told(garden, Action.ADD, None, who)


def brought(garden: Garden, counts: Mapping[str, int], who: Person | None, *, left_out: Sequence[str] = ()) -> None:
    """Write down that a whole garden was taken in: how many records of each kind, and which files were left out."""
    _told(garden, Action.IMPORT, None, who, records=dict(counts), left_out=list(left_out))


def brought_rows(garden: Garden, kind: str, entries: Sequence[Entry], who: Person | None) -> None:
    """Write down of each record of a kind that it came with its garden, and what it said then."""
    said, now = str(who) if who else "", timezone.now()
    Change.objects.bulk_create(
        [
            Change(
                garden=garden, kind=kind, row=entry.pk, action=Action.IMPORT, after=entry.state(), who=who, who_said=said, at=now,
            )
            for entry in entries
        ],
        batch_size=BATCH,
    )  # fmt: skip


def _told(garden: Garden, action: Action, before: dict[str, Any] | None, who: Person | None, **more: Any) -> None:
    Change.objects.create(
        garden=garden, kind=GARDEN, row=garden.pk, action=action, before=before, after={"settings": garden.state(), **more},
        who=who, who_said=str(who) if who else "",
    )  # fmt: skip


def _take(garden: Garden) -> None:
    """Make other writers of this garden wait, and count the change."""
    with connection.cursor() as cursor:
        cursor.execute("UPDATE records_garden SET version = version + 1 WHERE id = %s", [garden.pk])


def _again(entry: Entry) -> Entry:
    found: Entry = type(entry).every.select_related("garden", *type(entry).links()).get(pk=entry.pk)
    return found


def _fill(entry: Entry, kind: str, values: Mapping[str, Any]) -> None:
    """Put checked values into the columns of a row."""
    record = record_of(kind, values)
    linked = _linked(entry, kind, record)
    check(entry, kind, record, linked)
    for name, column in entry.columns().items():
        value = linked[name] if name in linked else getattr(record, name)
        setattr(entry, column, stored(value))
    entry.__dict__.pop("said", None)


def _linked(entry: Entry, kind: str, record: Any) -> dict[str, Entry | None]:
    """Return what a record points at, from this garden only; a name that is not there is left to the checks."""
    found: dict[str, Entry | None] = {}
    for name, table in entry.links().items():
        key = getattr(record, name)
        held = table.objects.select_related(*table.links())
        found[name] = held.filter(garden=entry.garden_id, key=key).first() if key is not None else None
    return found


def _write_down(entry: Entry, kind: str, action: Action, before: dict[str, Any] | None, who: Person | None) -> None:
    transaction.on_commit(lambda: written.send(Garden, garden=entry.garden, kind=kind))
    Change.objects.create(
        garden=entry.garden, kind=kind, row=entry.pk, action=action, before=before, after=entry.state(),
        who=who, who_said=str(who) if who else "",
    )  # fmt: skip


def _key_stays(kind: str) -> InputError:
    return InputError(
        say("another short name"),
        where=Where(file=f"{kind}.csv", column="id"),
        expected=say("the short name it was made with"),
        remedy=say("change its name instead, or remove it and add it anew"),
    )


def _pointed_at(entry: Entry, kind: str, pointing: Mapping[str, int]) -> InputError:
    listed = ", ".join(f"{count} in {part}" for part, count in pointing.items())
    return InputError(
        say("“{entry}” while records point at it ({listed})", entry=entry, listed=listed),
        where=Where(file=f"{kind}.csv"),
        expected=say("something nothing points at"),
        remedy=say("remove or change those records first"),
    )


def _cannot_undo(read: str) -> InputError:
    return InputError(
        read, expected=say("the last change of a record"), remedy=say("undo the later change first, or edit the record")
    )
