"""Units at the edge: printed units to SI and back, elements to oxides, wet basis to dry.

Inside the core everything is SI and mass fractions; these functions stand where a number enters or leaves.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal, TypeVar

import numpy as np

from loamery.errors import DamagedReference, UnknownName
from loamery.reference import table
from loamery.say import say

System = Literal["metric", "us"]
Number = TypeVar("Number", float, np.ndarray)


@dataclass(frozen=True)
class Unit:
    """A unit: its dimension, and the factor that takes it to the SI unit of that dimension."""

    unit: str
    dimension: str
    factor: float
    si_unit: str
    definition: str


@cache
def units() -> dict[str, Unit]:
    """Return every known unit by name."""
    return {row["unit"]: _unit(row) for row in table("units")}


def _unit(row: Mapping[str, str]) -> Unit:
    return Unit(row["unit"], row["dimension"], float(row["factor"]), row["si_unit"], row["definition"])


def unit(name: str) -> Unit:
    """Return one unit.

    Raises
    ------
    UnknownName : the unit is not in units.csv.
    """
    try:
        return units()[name]
    except KeyError:
        raise UnknownName(
            say("unit “{name}”", name=name),
            expected=say("one of ") + ", ".join(units()),
            remedy=say("write the unit as in this list"),
        ) from None


def to_si(value: Number, name: str) -> Number:
    """Return a value given in a named unit as SI (mass fraction kg/kg for concentrations)."""
    return value * unit(name).factor


def from_si(value: Number, name: str) -> Number:
    """Return an SI value in a named unit."""
    return value / unit(name).factor


def convert(value: Number, from_unit: str, to_unit: str) -> Number:
    """Return a value in another unit of the same dimension.

    Raises
    ------
    ValueError : the units measure different things.
    """
    one, other = unit(from_unit), unit(to_unit)
    if one.dimension != other.dimension:
        raise ValueError(f"{from_unit} is a {one.dimension}, {to_unit} a {other.dimension}")
    return value * (one.factor / other.factor)


@cache
def _element(symbol: str) -> dict[str, str]:
    for row in table("atomic_weights"):
        if row["element"] == symbol:
            return row
    raise DamagedReference(f"atomic_weights.csv has no element {symbol}")


def atomic_weight(element: str) -> float:
    """Return the standard atomic weight of an element, g/mol (IUPAC CIAAW)."""
    return float(_element(element)["weight"])


@cache
def molar_mass(formula: str) -> float:
    """Return the molar mass of a plain formula such as ``P2O5``, g/mol."""
    parts = re.findall(r"([A-Z][a-z]?)(\d*)", formula)
    if "".join(a + b for a, b in parts) != formula or not parts:
        raise UnknownName(
            say("formula “{formula}”", formula=formula),
            expected=say("element symbols and counts, e.g. K2O"),
            remedy=say("correct it"),
        )
    return sum(atomic_weight(element) * int(count or 1) for element, count in parts)


@cache
def element_share(element: str, formula: str) -> float:
    """Return the mass of an element in one mass unit of a compound, kg/kg (P in P2O5: 0.4364)."""
    count = sum(int(n or 1) for symbol, n in re.findall(r"([A-Z][a-z]?)(\d*)", formula) if symbol == element)
    return atomic_weight(element) * count / molar_mass(formula)


def to_compound(element: str, formula: str) -> float:
    """Return the factor from element mass to compound mass (P to P2O5: 2.2914)."""
    return 1.0 / element_share(element, formula)


@cache
def charge_mass(element: str) -> float:
    """Return the mass that carries one mole of charge as exchangeable cation, kg/mol (Ca: 0.02004).

    Raises
    ------
    UnknownName : the element is not an exchangeable cation.
    """
    charge = _element(element)["exchange_charge"]
    if not charge:
        raise UnknownName(
            say("“{element}” in charge units", element=element),
            expected=say("an exchangeable cation: Ca, Mg, K, Na, Al"),
            remedy=say("give mg/kg"),
        )
    return atomic_weight(element) / int(charge) / unit("kg").factor * unit("g").factor


def to_dry(value: Number, moisture_frac: Number) -> Number:
    """Return a dry-basis concentration from an as-received one: dry = as received / (1 - moisture).

    Parameters
    ----------
    value : kg per kg as received.
    moisture_frac : kg water per kg as received, below 1.
    """
    return value / (1.0 - moisture_frac)


def to_as_received(value: Number, moisture_frac: Number) -> Number:
    """Return an as-received concentration from a dry-basis one."""
    return value * (1.0 - moisture_frac)


PREFERRED: dict[str, dict[System, str]] = {
    "mass": {"metric": "kg", "us": "lb"},
    "volume": {"metric": "L", "us": "gal"},
    "heap volume": {"metric": "m3", "us": "yd3"},
    "area": {"metric": "m2", "us": "ft2"},
    "depth": {"metric": "cm", "us": "in"},
    "length": {"metric": "m", "us": "ft"},
    "distance": {"metric": "km", "us": "mi"},
    "density": {"metric": "kg/m3", "us": "lb/yd3"},
    "nutrient rate": {"metric": "g/m2", "us": "lb/1000ft2"},
    "rate": {"metric": "kg/m2", "us": "lb/ft2"},
}
"""What people see, by kind of quantity, in metric and in US customary units."""


def show(value_si: float, kind: str, system: System = "metric") -> tuple[float, str]:
    """Return an SI value and the unit a person in that system of units expects."""
    name = PREFERRED[kind][system]
    return from_si(value_si, name), name
