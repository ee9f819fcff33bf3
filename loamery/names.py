"""The glossary: every quantity Loamery knows, with its label, unit and distribution.

Labels on forms, in reports and in the documentation come from here, so a thing has one name everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Literal

from loamery.errors import UnknownName
from loamery.reference import table
from loamery.say import say

Basis = Literal["dry", "as_received", "not_stated", "none"]
Fraction = Literal["total", "extractable", "none"]
NUTRIENTS = ("N", "P", "K")
LABEL_TERMS = {"N": "N", "P": "P2O5", "K": "K2O"}
"""Element to the term printed on a fertiliser label."""


@dataclass(frozen=True)
class Quantity:
    """One quantity of the glossary.

    Parameters
    ----------
    key : its name in code and data files.
    label, symbol : its name in words and in short.
    family : nutrient, micronutrient, trace element, organic, physical, reaction, salt, hygiene or trait.
    si_unit : the unit inside the core.
    display_unit : the unit people see.
    distribution : lognormal, logit or normal.
    formula : chemical species counted, empty if none.
    oxide : the oxide a label or laboratory may print instead, empty if none.
    is_trace : whether legal limits for trace elements may apply.
    """

    key: str
    label: str
    symbol: str
    family: str
    si_unit: str
    display_unit: str
    distribution: str
    formula: str
    oxide: str
    is_trace: bool

    @property
    def is_concentration(self) -> bool:
        """Tell whether it is a mass fraction, to which a dry or as-received basis applies."""
        return self.si_unit == "kg/kg" and self.key != "moisture"


@cache
def quantities() -> dict[str, Quantity]:
    """Return the whole glossary by key."""
    return {row["key"]: _quantity(row) for row in table("quantities")}


def _quantity(row: Mapping[str, str]) -> Quantity:
    words = {one.name: row[one.name] for one in fields(Quantity) if one.name != "is_trace"}
    return Quantity(**words, is_trace=row["is_trace"] == "1")


def quantity(key: str) -> Quantity:
    """Return one quantity of the glossary.

    Raises
    ------
    UnknownName : the key is not in the glossary.
    """
    try:
        return quantities()[key]
    except KeyError:
        raise UnknownName(
            say("quantity “{key}”", key=key),
            expected=say("one of ") + ", ".join(quantities()),
            remedy=say("use a name of the glossary (loamery/reference/data/quantities.csv)"),
        ) from None


def trace_elements() -> tuple[str, ...]:
    """Return the keys of the elements that compost and soil limits speak of."""
    return tuple(key for key, one in quantities().items() if one.is_trace)
