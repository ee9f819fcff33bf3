"""What the evidence points to where a report leaves a unit open; proposed, never applied."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from loamery.errors import LoameryError
from loamery.names import Quantity
from loamery.reference import coefficient, table
from loamery.units import to_si


@cache
def published_span(key: str) -> tuple[float, float] | None:
    """Return lowest and highest published value of a quantity over all materials, SI; None when none is published."""
    try:
        rows = table("material_values")
    except LoameryError:
        return None
    found = []
    for row in rows:
        if row.get("quantity") != key:
            continue
        for side in ("low", "typical", "high"):
            try:
                found.append(to_si(float(row[side]), row["unit"]))
            except (ValueError, LoameryError):
                continue
    found = [one for one in found if one > 0]
    return (min(found), max(found)) if found else None


def propose_unit(one: Quantity, value: float, units: Sequence[str]) -> str:
    """Return the only unit that puts a bare number within the published range of its quantity, empty if none or several.

    Parameters
    ----------
    value : as printed.
    units : candidates.
    """
    span = published_span(one.key)
    if span is None or value <= 0:
        return ""
    slack = coefficient("proposal_slack").value
    fitting = [
        name for name in units if name != "meq/100g" and span[0] / slack <= to_si(value, name) <= span[1] * slack
    ]
    return fitting[0] if len(fitting) == 1 else ""
