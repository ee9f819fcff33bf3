"""Published figures beside ours, as the checks of the bed model print them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One figure: what it is, as printed, ours, the band it has to lie in, and whether the printed one was read."""

    what: str
    printed: str
    ours: float
    low: float
    high: float
    read: str


def print_rows(title: str, rows: Iterable[Row]) -> None:
    """Print a table of figures, as wide as its longest words ask."""
    listed = list(rows)
    first, second = (max(map(len, column)) for column in ([title, *(one.what for one in listed)], ["printed", *(one.printed for one in listed)]))  # fmt: skip
    print(f"{title:{first}s}{'printed':>{second + 2}s}{'ours':>9s}  {'within':>15s}  read")
    for one in listed:
        print(
            f"{one.what:{first}s}{one.printed:>{second + 2}s}{one.ours:9.3g}  {one.low:6.3g} to {one.high:5.3g}  {one.read}"
        )
