"""Thermometer readings of a heap: read from a file or typed, checked one by one."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.errors import InputError, UnreadableFile, Where
from loamery.say import Verbatim, say

if TYPE_CHECKING:
    from loamery.garden.records import Batch
    from loamery.garden.records import Reading as Logged

TEMP_ENDS, DEPTH_ENDS = (-40.0, 110.0), (0.0, 300.0)
MOST_BYTES = 2_000_000
INCH_CM = 2.54


@dataclass(frozen=True)
class Reading:
    """One reading.

    Parameters
    ----------
    day : days from the day the heap was built.
    depth_m : below the surface; None for the middle.
    """

    on: date
    day: float
    depth_m: float | None
    temp_c: float
    where: Where


def read_readings(path: Path, start: date) -> tuple[Reading, ...]:
    """Return the readings of a CSV file, in the order of time.

    Parameters
    ----------
    path : CSV with the columns ``date``, ``depth_cm`` (or ``depth_in``; empty means the middle) and ``temp_c`` (or ``temp_f``).
    start : day the heap was built.

    Raises
    ------
    UnreadableFile : missing, empty or not text.
    InputError : a column is missing, or a cell cannot be used; the place is named.
    """
    rows = list(csv.reader(io.StringIO(_text(path)), delimiter=_delimiter(_text(path))))
    head = [cell.strip().lower() for cell in rows[0]]
    temp = next((name for name in ("temp_c", "temp_f") if name in head), None)
    if "date" not in head or temp is None:
        raise InputError(
            say("columns ") + ", ".join(head), where=Where(file=str(path), row=1),
            expected=say("date, depth_cm and temp_c (or depth_in and temp_f)"), remedy=say("name the columns so in the first row"),
        )  # fmt: skip
    out = [
        _reading(dict(zip(head, [*row, *[""] * len(head)], strict=False)), Where(file=str(path), row=number), start)
        for number, row in enumerate(rows[1:], start=2)
        if any(cell.strip() for cell in row)
    ]
    return _checked(out, Where(file=str(path)))


def logged_readings(records: Sequence[Logged], batch: Batch) -> tuple[Reading, ...]:
    """Return the thermometer readings of one heap from a garden's records, in the order of time.

    Parameters
    ----------
    records : all readings of the garden (readings.csv); those of other heaps and without a temperature are passed over.
    batch : the heap, from batches.csv; its first day counts as day 0.

    Raises
    ------
    InputError : there is none.
    """
    start = batch.built
    out = [
        Reading(one.on, (one.on - start).days + 0.5, one.depth_m, one.temp_c, Where(file="readings.csv"))
        for one in records
        if one.batch == batch.id and one.temp_c is not None
    ]
    return _checked(out, Where(file="readings.csv"))


def typed_readings(given: Sequence[str], start: date) -> tuple[Reading, ...]:
    """Return readings typed as ``2027-05-09,40,58``: date, depth in cm, temperature in °C."""
    out = []
    for number, text in enumerate(given, start=1):
        cells = [cell.strip() for cell in text.split(",")]
        where = Where(row=number, column="--reading")
        if len(cells) != 3:
            raise InputError(
                say("“{word}”", word=Verbatim(text)),
                where=where,
                expected=say("DATE,DEPTH,TEMP"),
                remedy=say('for example "2027-05-09,40,58"'),
            )
        out.append(_reading(dict(zip(("date", "depth_cm", "temp_c"), cells, strict=True)), where, start))
    return _checked(out, Where(column="--reading"))


def out_of_order(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings that stand after a later one in their file: sorted and used, but a date may be mistyped."""
    found, latest = [], -math.inf
    for one in sorted(readings, key=lambda each: (each.where.file or "", each.where.row or 0)):
        if one.day < latest:
            found.append(one)
        latest = max(latest, one.day)
    return tuple(found)


def _text(path: Path) -> str:
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise UnreadableFile(
            say("cannot be read ({strerror})", strerror=error.strerror), where=Where(file=str(path)), expected=say("a CSV file of readings"),
            remedy=say("check the name"),
        ) from None  # fmt: skip
    try:
        text = raw[:MOST_BYTES].decode("utf-8-sig")
    except UnicodeDecodeError:
        text = ""
    if not text.strip() or "\x00" in text:
        raise UnreadableFile(
            say("empty, or not text"), where=Where(file=str(path)), expected=say("a CSV file of readings"),
            remedy=say("save the table as CSV (UTF-8)"),
        )  # fmt: skip
    return text


def _delimiter(text: str) -> str:
    first = text.splitlines()[0]
    return max(",;\t", key=first.count)


def _reading(row: dict[str, str], where: Where, start: date) -> Reading:
    on = _date(row.get("date", ""), where)
    imperial = not row.get("depth_cm", "").strip() and bool(row.get("depth_in", "").strip())
    name = "depth_in" if imperial else "depth_cm"
    depth_text = row.get(name, "").strip()
    depth = None if not depth_text or depth_text.lower() == "middle" else _number(depth_text, where, name)
    if depth is not None:
        depth *= INCH_CM if imperial else 1.0
        _within(depth, DEPTH_ENDS, "depth", "cm", where)
    kelvin = "temp_c" in row
    temp = _number(row["temp_c"] if kelvin else row["temp_f"], where, "temp_c" if kelvin else "temp_f")
    temp = temp if kelvin else (temp - 32.0) / 1.8
    _within(temp, TEMP_ENDS, "temperature", "°C", where)
    day = (on - start).days
    if day < 0:
        raise InputError(
            on.isoformat(), where=where, expected=say("a day from {isoformat}, when the heap was built", isoformat=start.isoformat()),
            remedy=say("correct the date, or the day the heap was built"),
        )  # fmt: skip
    return Reading(on, float(day) + 0.5, None if depth is None else depth / 100.0, temp, where)


def _date(text: str, where: Where) -> date:
    try:
        return datetime.strptime(text.strip()[:10], "%Y-%m-%d").date()
    except ValueError:
        raise InputError(
            say("“{word}”", word=Verbatim(text)),
            where=where,
            expected=say("a date as 2027-05-09"),
            remedy=say("write year, month and day with hyphens"),
        ) from None


def _number(text: str, where: Where, column: str) -> float:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(
            say("“{word}”", word=Verbatim(text)), where=Where(file=where.file, row=where.row, column=column), expected=say("a number"),
            remedy=say("correct the cell, or leave the row out"),
        )  # fmt: skip
    return value


def _within(value: float, ends: tuple[float, float], name: str, unit: str, where: Where) -> None:
    if not ends[0] <= value <= ends[1]:
        raise InputError(
            say("{name} {value:g} {unit}", name=name, value=value, unit=unit), where=where, expected=say("{low:g} to {high:g} {unit}", low=ends[0], high=ends[1], unit=unit),
            remedy=say("correct the row, or leave it out"),
        )  # fmt: skip


def _checked(readings: Sequence[Reading], where: Where) -> tuple[Reading, ...]:
    if not readings:
        raise InputError(
            say("no readings"), where=where, expected=say("at least one row"), remedy=say("add what you read")
        )
    return tuple(sorted(readings, key=lambda one: one.day))
