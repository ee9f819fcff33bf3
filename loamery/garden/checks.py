"""Checks that every file of the garden folder needs: ids given once, names that exist, dates in order, paths inside."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from pathlib import Path
from typing import Any

from loamery.errors import InputError, Where
from loamery.garden.rows import nearest
from loamery.say import Verbatim, say

Rows = Sequence[tuple[int, Any]]
"""Records of one file, each with the row it stands in."""


def duplicates(file: str, rows: Rows) -> list[InputError]:
    """Return a fault for each id that is given a second time."""
    seen: dict[str, int] = {}
    faults = []
    for row, record in rows:
        if record.id in seen:
            faults.append(
                InputError(
                    say("id “{record_id}” a second time", record_id=record.id),
                    where=Where(file=file, row=row, column="id"),
                    expected=say("each id once (first in row {seen})", seen=seen[record.id]),
                    remedy=say("give one of them another id"),
                )
            )
        seen.setdefault(record.id, row)
    return faults


def known(file: str, rows: Rows, field: str, allowed: Collection[str], meaning: str) -> list[InputError]:
    """Return a fault for each row whose field names something that is not there; an empty field names nothing."""
    return [
        unknown(value, Where(file=file, row=row, column=field), allowed, meaning)
        for row, record in rows
        if (value := getattr(record, field)) is not None and value not in allowed
    ]


def unknown(value: str, where: Where, allowed: Collection[str], meaning: str) -> InputError:
    """Return the fault of a name that is not there, with the nearest one that is."""
    near = nearest(value, allowed)
    listed = Verbatim(", ".join(sorted(allowed)[:12]) + (" …" if len(allowed) > 12 else ""))
    return InputError(
        say("“{word}”", word=Verbatim(value)),
        where=where,
        expected=say("{meaning} ({listed})", meaning=meaning, listed=listed)
        if allowed
        else say("{meaning}, but there are none yet", meaning=meaning),
        remedy=say("did you mean “{near}”?", near=Verbatim(near))
        if near
        else say("correct the name, or add what it names"),
    )


def disordered(file: str, rows: Rows, first: str, last: str) -> list[InputError]:
    """Return a fault for each row whose second date lies before its first."""
    return [
        InputError(
            say(
                "{last} {ended} before {first} {began}",
                last=Verbatim(last),
                ended=getattr(record, last),
                first=Verbatim(first),
                began=getattr(record, first),
            ),
            where=Where(file=file, row=row, column=last),
            expected=say("{last} on or after {first}", last=Verbatim(last), first=Verbatim(first)),
            remedy=say("swap or correct the dates"),
        )
        for row, record in rows
        if getattr(record, last) is not None and getattr(record, last) < getattr(record, first)
    ]


def one_of(file: str, rows: Iterable[tuple[int, Any]], fields: Sequence[str], remedy: str) -> list[InputError]:
    """Return a fault for each row that fills in none, or more than one, of several columns."""
    faults = []
    for row, record in rows:
        given = [name for name in fields if getattr(record, name) is not None]
        if len(given) != 1:
            faults.append(
                InputError(
                    " and ".join(given) or say("none of {listed}", listed=", ".join(fields)),
                    where=Where(file=file, row=row, column=given[-1] if given else fields[0]),
                    expected=say("exactly one of {listed}", listed=", ".join(fields)),
                    remedy=remedy,
                )
            )
    return faults


def inside(folder: Path, name: str) -> Path:
    """Return the path of a file below the folder, or the folder itself when the name leads out of it or nowhere."""
    try:
        path = (folder / name).resolve()
        path.is_file()
    except (OSError, ValueError, RuntimeError):  # too long a name, a zero byte, a link that leads to itself
        return folder
    return path if path.is_relative_to(folder.resolve()) else folder
