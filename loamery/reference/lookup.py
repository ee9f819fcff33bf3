"""One best figure out of several published ones, with the range that covers them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from statistics import median

from loamery.errors import DamagedReference, UnknownName
from loamery.reference import coefficient, table
from loamery.say import say

SUSPECT = "suspect:"
"""Notes that start with this mark rows kept for their fault; no figure is taken from them."""


@dataclass(frozen=True)
class Figure:
    """A published figure.

    Parameters
    ----------
    value : median of the typical values published, those that were read before those recalled.
    low, high : the lowest and highest figure of all rows.
    unit : as in the file.
    sources : source keys, in file order.
    read : ``found`` if the value rests on at least one row that was read, else ``recalled``.
    """

    value: float
    low: float
    high: float
    unit: str
    sources: tuple[str, ...]
    read: str


@cache
def _rows(table_name: str) -> dict[tuple[str, str], list[dict[str, str]]]:
    grouped: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in table(table_name):
        if not row["note"].startswith(SUSPECT):
            grouped.setdefault((row["slug"], row["quantity"]), []).append(row)
    return grouped


@cache
def figure(table_name: str, slug: str, quantity: str) -> Figure | None:
    """Return the best figure for one thing and quantity, or None when nothing is published.

    Parameters
    ----------
    table_name : ``material_values`` or ``crop_values``.

    Raises
    ------
    DamagedReference : the rows are in different units or on different bases, which only `loamery.lab.published` joins.
    """
    rows = _rows(table_name).get((slug, quantity))
    if not rows:
        return None
    if len({(row["unit"], row.get("basis", "")) for row in rows}) > 1:
        raise DamagedReference(f"{table_name}.csv: {quantity} of {slug} stands in several units or on several bases")
    read = [row for row in rows if row["read"] == "found"]
    ends = [float(row[side]) for row in rows for side in ("low", "typical", "high") if row[side]]
    return Figure(
        value=median(_typicals(read or rows)),
        low=min(ends),
        high=max(ends),
        unit=rows[0]["unit"],
        sources=tuple(dict.fromkeys(row["source"] for row in rows)),
        read="found" if read else "recalled",
    )


def _typicals(rows: Sequence[dict[str, str]]) -> list[float]:
    given = [float(row["typical"]) for row in rows if row["typical"]]
    return given or [0.5 * (float(row["low"] or row["high"]) + float(row["high"] or row["low"])) for row in rows]


def need_figure(table_name: str, slug: str, quantity: str) -> Figure:
    """Return the best figure, insisting that there is one.

    Raises
    ------
    UnknownName : the data file has no row for it.
    """
    found = figure(table_name, slug, quantity)
    if found is None:
        raise UnknownName(
            say("{quantity} of “{slug}”", quantity=quantity, slug=slug),
            expected=say("a row in {table_name}.csv", table_name=table_name),
            remedy=say("add the row with its source"),
        )
    return found


def figure_or(table_name: str, slug: str, quantity: str, default: str) -> Figure:
    """Return the best figure, or a coefficient of general use where nothing is published for this thing."""
    found = figure(table_name, slug, quantity)
    if found is not None:
        return found
    one = coefficient(default)
    return Figure(one.value, one.low, one.high, one.unit, (one.source,), one.read)
