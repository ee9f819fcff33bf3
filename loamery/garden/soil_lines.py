"""Typed-in soil values: a unit that measures the quantity, and a value that can be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loamery.errors import InputError, Where
from loamery.garden.model import SoilValue
from loamery.names import quantities
from loamery.reference import coefficient
from loamery.say import say
from loamery.units import to_si, unit, units

FILE = "soil_values.csv"


def soil_value_faults(numbered: Iterable[tuple[int, SoilValue]]) -> list[InputError]:
    """Return what is wrong with the units and values of typed-in soil tests.

    Parameters
    ----------
    numbered : row number and record; unknown quantities are told elsewhere.
    """
    return [fault for row, line in numbered if line.quantity in quantities() for fault in _faults(row, line)]


def _faults(row: int, line: SoilValue) -> Iterator[InputError]:
    dimension = unit(quantities()[line.quantity].display_unit).dimension
    if line.unit not in units() or unit(line.unit).dimension != dimension:
        yield InputError(
            say("unit “{unit}”", unit=line.unit),
            where=Where(file=FILE, row=row, column="unit"),
            expected=say("a unit of {quantity}: ", quantity=line.quantity) + ", ".join(_names(dimension)),
            remedy=say("write the unit as in this list, or convert the value"),
        )
        return
    most = _most(dimension, line.quantity)
    if not 0 <= to_si(line.value, line.unit) <= most:
        yield InputError(
            say("“{line_value:g} {unit}”", line_value=line.value, unit=line.unit),
            where=Where(file=FILE, row=row, column="value"),
            expected=say(
                "{quantity} between 0 and {most:g} {unit}",
                quantity=line.quantity,
                most=most / unit(line.unit).factor,
                unit=line.unit,
            ),
            remedy=say("correct the value or its unit"),
        )


def _names(dimension: str) -> list[str]:
    return [one.unit for one in units().values() if one.dimension == dimension]


def _most(dimension: str, quantity: str) -> float:
    """Return the highest value there can be, in SI: a whole for shares, the end of the scale for pH."""
    if dimension == "pH":
        return coefficient("ph_scale_high").value
    return 1.0 if dimension == "fraction" else float("inf")
