"""The rules every data file keeps: a source for each row, an honest mark, numbers that parse and stand in order.

``python -m loamery.reference.check`` prints every fault and ends with 1 when there is one.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Collection, Iterable, Mapping, Sequence
from importlib.resources import files

from loamery.reference import sources, table

Row = Mapping[str, str]
READ = ("found", "recalled")
KINDS = ("measured", "reviewed", "compiled", "secondary", "predicted", "regulation", "method")
NUMBERS = ("value", "low", "typical", "high", "factor", "weight", "slope", "intercept", "hold_days", "turnings")
IN_ORDER = ("low", "typical", "value", "high")
VALUE_IS_A_WORD = ("report_words",)
"""Data files whose column ``value`` holds a word of the vocabulary."""
NEVER_CONVERTED = (
    "g/mol", "kg/mol", "kg/kg", "kg/kg/day", "mol/mol", "cmol/kg/pH", "min", "min/m3", "g/L per dS/m", "L/kg", "1/h", "1/kg",
    "km/h", "% per dS/m", "mg/L", "kg/ha/yr", "mg O2/kg OM/h", "mmol O2/kg OM/h", "mg CO2-C/g OM/d", "mg CO2/g OM/d",
    "1/500 mL", "CFU/25 g", "% of N",
    "mm/C/yr", "1/K", "K", "Pa", "Pa s", "J/kg", "J/kg/K", "J/mol/K", "m/day", "m/s", "m/s2", "m2/s", "W/m/K", "W/m/K per kg/m3", "W/m2/K",
    "W/m2/K per m/s", "W/m2/K4", "m2 K/W",
    "1/m", "mm/K/day", "MJ/m2/min", "kg/MJ", "MJ/K4/m2/day",
)  # fmt: skip
"""Units of figures that are used or compared as they stand, beside those of units.csv."""


def row_faults(name: str, row: Row, source_keys: Collection[str], units: Collection[str]) -> list[str]:
    """Return what one row lacks, in words; an empty list for a row that keeps the rules.

    Parameters
    ----------
    name : of the data file, without ``.csv``.
    source_keys : keys of the known sources.
    units : names of the known units.
    """
    return [
        *_source_faults(name, row, source_keys),
        *_mark_faults(name, row),
        *_number_faults(name, row),
        *_unit_faults(row, units),
    ]


def _is_list_of_sources(name: str) -> bool:
    return name == "sources" or name.startswith("sources_")


def _source_faults(name: str, row: Row, source_keys: Collection[str]) -> Iterable[str]:
    if _is_list_of_sources(name):
        yield from (f"no {cell}" for cell in ("key", "citation", "where_read") if not row.get(cell, "").strip())
        return
    key = row.get("source", "").strip()
    if not key:
        yield "no source"
    elif key not in source_keys:
        yield f"unknown source “{key}”"
    if row.get("read") == "found" and not row.get("locator", "").strip():
        yield "read, but no locator says where in the source"


def _mark_faults(name: str, row: Row) -> Iterable[str]:
    if row.get("read", "") not in READ:
        yield f"read is “{row.get('read', '')}”, not one of {', '.join(READ)}"
    if row.get("kind", "") not in KINDS:
        yield f"kind is “{row.get('kind', '')}”, not one of {', '.join(KINDS)}"


def _number_faults(name: str, row: Row) -> Iterable[str]:
    numbers: dict[str, float] = {}
    for column in NUMBERS:
        cell = row.get(column, "").strip()
        if not cell or (column == "value" and name in VALUE_IS_A_WORD):
            continue
        try:
            numbers[column] = float(cell)
        except ValueError:
            yield f"{column} is “{cell}”, not a number"
            continue
        if not math.isfinite(numbers[column]):
            yield f"{column} is “{cell}”, not a finite number"
    ordered = [numbers[column] for column in IN_ORDER if column in numbers]
    if ordered != sorted(ordered):
        yield "low, value and high are not in order: " + ", ".join(f"{one:g}" for one in ordered)


def _unit_faults(row: Row, units: Collection[str]) -> Iterable[str]:
    unit = row.get("unit", "").strip()
    if unit and unit not in units and unit not in NEVER_CONVERTED:
        yield f"unknown unit “{unit}”"


def file_faults(name: str, rows: Sequence[Row], source_keys: Collection[str], units: Collection[str]) -> list[str]:
    """Return the faults of a data file, each with its row number as an editor shows it."""
    return [
        f"{name}.csv, row {number}: {fault}"
        for number, row in enumerate(rows, start=2)
        for fault in row_faults(name, row, source_keys, units)
    ]


def data_files() -> tuple[str, ...]:
    """Return the names of all shipped data files, without ``.csv``."""
    folder = files("loamery.reference").joinpath("data")
    return tuple(sorted(one.name.removesuffix(".csv") for one in folder.iterdir() if one.name.endswith(".csv")))


def all_faults() -> list[str]:
    """Return the faults of every shipped data file."""
    known = {row["unit"] for row in table("units")}
    return [fault for name in data_files() for fault in file_faults(name, table(name), sources().keys(), known)]


def main() -> int:
    """Print every fault and return the exit code."""
    faults = all_faults()
    print("\n".join(faults) if faults else f"{len(data_files())} data files, every row with a source and a mark.")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
