"""Reference data: published figures in plain files, each row with its source, and the one loader that reads them."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from loamery.errors import DamagedReference, UnknownName
from loamery.say import say

__all__ = [
    "Coefficient",
    "Source",
    "as_coefficient",
    "cite",
    "coefficient",
    "coefficients",
    "family",
    "source",
    "sources",
    "table",
]


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """Return a data file as rows.

    Parameters
    ----------
    name : file name without ``.csv``.

    Returns
    -------
    One dictionary per row, every cell a stripped string; empty cells are empty strings.

    Raises
    ------
    DamagedReference : the file is missing or a row is longer than its header.
    """
    try:
        text = files("loamery.reference").joinpath("data", f"{name}.csv").read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise DamagedReference(f"data file {name}.csv is missing; install Loamery again") from error
    rows = []
    for number, row in enumerate(csv.DictReader(text.splitlines()), start=2):
        if None in row or None in row.values():
            raise DamagedReference(f"{name}.csv, row {number}: the cells do not match the header")
        rows.append({key: value.strip() for key, value in row.items()})
    return tuple(rows)


def family(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a data file and of its companions, e.g. coefficients.csv and coefficients_blend.csv."""
    folder = files("loamery.reference").joinpath("data")
    names = sorted(
        one.name for one in folder.iterdir() if one.name.startswith(f"{name}_") and one.name.endswith(".csv")
    )
    return table(name) + tuple(row for other in names for row in table(other.removesuffix(".csv")))


@dataclass(frozen=True)
class Source:
    """A published work, or an honest statement that there is none.

    Parameters
    ----------
    read : ``found`` when the figures were read in the place named, ``recalled`` when they were not re-read.
    """

    key: str
    citation: str
    where_read: str
    kind: str
    read: str
    note: str


@cache
def sources() -> dict[str, Source]:
    """Return every source by key."""
    return {row["key"]: Source(**row) for row in family("sources")}


def source(key: str) -> Source:
    """Return one source.

    Raises
    ------
    UnknownName : no data file names this source.
    """
    try:
        return sources()[key]
    except KeyError:
        raise UnknownName(
            say("source “{key}”", key=key),
            expected=say("a key of sources.csv"),
            remedy=say("correct the source column of the row"),
        ) from None


def cite(keys: Iterable[str]) -> list[str]:
    """Return the citations of source keys, in order, each once."""
    return [source(key).citation for key in dict.fromkeys(keys)]


@dataclass(frozen=True)
class Coefficient:
    """A number with meaning.

    Parameters
    ----------
    value : best value.
    low, high : plausible 90 % range, equal to value where none is published.
    unit : its unit, ``1`` for a pure number.
    source : source key; locator the place within it.
    read : ``found`` or ``recalled``.
    """

    key: str
    value: float
    low: float
    high: float
    unit: str
    description: str
    source: str
    locator: str
    kind: str
    read: str
    note: str


@cache
def coefficients() -> dict[str, Coefficient]:
    """Return every coefficient by key."""
    return {row["key"]: as_coefficient(row) for row in family("coefficients")}


def as_coefficient(row: dict[str, str]) -> Coefficient:
    """Return a row of a data file of coefficients with its numbers read; an empty end of a range is the value."""
    value = float(row["value"])
    low, high = (float(row[side]) if row[side] else value for side in ("low", "high"))
    return Coefficient(**{**row, "value": value, "low": low, "high": high})  # type: ignore[arg-type]


def coefficient(key: str) -> Coefficient:
    """Return one coefficient.

    Raises
    ------
    UnknownName : coefficients.csv has no such key.
    """
    try:
        return coefficients()[key]
    except KeyError:
        raise UnknownName(
            say("coefficient “{key}”", key=key),
            expected=say("a key of coefficients.csv"),
            remedy=say("add the row with its source"),
        ) from None
