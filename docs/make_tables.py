"""Tables of the documentation that are made from the program itself: run it after changing models or data.

Each stands between ``<!-- table: NAME -->`` and ``<!-- end -->``; tests/docs/test_docs.py refuses pages that lag behind.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from loamery.garden.folder import FILES
from loamery.garden.model import Climate, Info, Record, ReportEntry, WeatherDay
from loamery.garden.rows import LIST_MARK
from loamery.reference import coefficients, family, table

HERE = Path(__file__).resolve().parent
MARK = re.compile(r"(<!-- table: ([^>]+?) -->\n).*?(<!-- end -->)", re.DOTALL)

UNITS = {"c": "°C", "mm": "mm per month", "m2": "m²", "m3": "m³", "m": "m", "km": "km", "l": "L", "kg": "kg", "weeks": "weeks",
         "week": "hours per week"}  # fmt: skip
WHOLE = {"kg_per_week": "kg per week", "bulk_density_kg_m3": "kg per m³", "yield_kg_m2": "kg fresh per m²",
         "price_per_kg": "the garden's currency per kg", "moisture_frac": "kg/kg",
         "min_temp_c": "°C", "max_temp_c": "°C", "mean_temp_c": "°C", "wind_m_s": "m/s",
         "sun_mj_m2": "MJ per m² and day", "hour_worth": "the garden's currency", "price": "the garden's currency"}  # fmt: skip


def grid(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(str(cell).replace("|", "\\|") for cell in line) + " |" for line in lines) + "\n"


def columns(model: type[Record]) -> str:
    """Return a record's fields as a table: name, whether it must be filled in, unit, what is allowed, meaning."""
    rows = []
    for name, one in model.model_fields.items():
        default = "required" if one.is_required() else _default(one)
        meaning = (
            ("short lower-case name, used to point at this row" if name == "id" else "")
            or one.description
            or _common(name)
        )
        rows.append((f"`{name}`", default, _unit(name, model), _allowed(one), meaning))
    return grid(("Column", "If left out", "Unit", "Allowed", "Meaning"), rows)


def _common(name: str) -> str:
    return {"id": "short lower-case name, used to point at this row", "note": "anything; printed beside it"}[name]


def _default(one: FieldInfo) -> str:
    value = one.get_default(call_default_factory=True)
    if value is None or value in ("", {}, ()):
        return "empty"
    if isinstance(value, bool | float):
        return f"{value}".lower() if isinstance(value, bool) else f"{value:g}"
    return LIST_MARK.join(value) if isinstance(value, tuple) else f"{value}"


def _unit(name: str, model: type[Record]) -> str:
    if name == "rain_mm" and model is WeatherDay:
        return "mm"
    return WHOLE.get(name) or UNITS.get(name.rsplit("_", 1)[-1] if "_" in name else "", "")


def _allowed(one: FieldInfo) -> str:
    return _type_words(one.annotation, [*one.metadata])


def _type_words(kind: Any, marks: Sequence[Any]) -> str:
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        inner = next(part for part in get_args(kind) if part is not NoneType)
        return _type_words(inner, marks)
    if origin is Literal:
        return ", ".join(f"`{one}`" for one in get_args(kind))
    if origin is tuple:
        inner = get_args(kind)[0]
        many = (
            "twelve numbers"
            if any(hasattr(mark, "min_length") for mark in marks)
            else f"several, with `{LIST_MARK}` between"
        )
        return (
            many
            if get_origin(inner) is not Literal
            else f"{_type_words(inner, ())}; several with `{LIST_MARK}` between"
        )
    if hasattr(kind, "__metadata__"):
        return _type_words(get_args(kind)[0], [*marks, *kind.__metadata__])
    if origin is dict:
        return '`{ key = "answer" }`'
    return _plain(kind, marks)


def _plain(kind: Any, marks: Sequence[Any]) -> str:
    flat = [part for mark in marks for part in (getattr(mark, "metadata", None) or [mark])]
    ends = {
        key: getattr(mark, key)
        for mark in flat
        for key in ("gt", "ge", "le")
        if isinstance(getattr(mark, key, None), int | float)
    }
    if any(getattr(mark, "pattern", None) for mark in flat):
        return "a-z, 0-9 and `-`"
    words = {
        "str": "text",
        "date": "date, as 2027-04-26",
        "bool": "true, false",
        "float": "number",
        "int": "whole number",
    }
    said = {"gt": "above {:g}", "ge": "at least {:g}", "le": "at most {:g}"}
    return ", ".join([words[kind.__name__], *(said[key].format(value) for key, value in ends.items())])


def coefficient_table(prefixes: str) -> str:
    """Return coefficients whose keys start with one of several prefixes (a key counts as its own prefix)."""
    wanted = prefixes.split()
    rows = [
        (
            f"`{one.key}`",
            f"{one.value:g}",
            f"{one.low:g} to {one.high:g}",
            one.unit,
            one.description,
            f"{one.source}, {one.read}",
        )
        for prefix in wanted
        for one in coefficients().values()
        if one.key.startswith(prefix)
    ]
    return grid(("Coefficient", "Value", "Range", "Unit", "Meaning", "Source, read"), rows)


def counts() -> str:
    """Return how many rows the data files hold, and how many of them were read or recalled."""
    rows = []
    for name, what in COUNTED.items():
        found = family(name)
        read = Counter(row["read"] for row in found if "read" in row)
        rows.append((f"`{name}`", what, len(found), read.get("found", ""), read.get("recalled", "")))
    return grid(("File", "Rows are", "Rows", "Found", "Recalled"), rows)


COUNTED = {
    "materials": "materials",
    "material_values": "published figures of materials",
    "crops": "crops",
    "crop_values": "published figures of crops",
    "limits": "single limits",
    "jurisdictions": "sets of rules a garden can choose",
    "soil_tests": "class borders of soil tests",
    "cautions": "cautions",
    "coefficients": "coefficients",
    "units": "units",
    "quantities": "quantities of the glossary",
    "sources": "sources",
}


def cautions() -> str:
    """Return every caution with its code and source."""
    rows = [
        (f"`{row['code']}`", row["severity"], row["text"], f"{row['source']}, {row['read']}")
        for row in family("cautions")
    ]
    return grid(("Caution", "Severity", "What it says", "Source, read"), rows)


def materials() -> str:
    """Return every reference material."""
    rows = [(f"`{row['slug']}`", row["name"], row["group"], row["note"]) for row in table("materials")]
    return grid(("Slug", "Name", "Group", "Note"), rows)


def crops() -> str:
    """Return every reference crop."""
    rows = [
        (f"`{row['slug']}`", row["name"], row["latin"], row["group"], "yes" if row["legume"] == "1" else "")
        for row in table("crops")
    ]
    return grid(("Slug", "Name", "Latin name", "Group", "Legume"), rows)


def quantities() -> str:
    """Return the glossary of quantities."""
    rows = [
        (f"`{row['key']}`", row["label"], row["display_unit"], row["si_unit"], row["distribution"], row["oxide"])
        for row in table("quantities")
    ]
    return grid(("Key", "Name", "Shown in", "Inside", "Distribution", "Oxide"), rows)


def units() -> str:
    """Return the known units by dimension."""
    groups: dict[str, list[str]] = {}
    for row in table("units"):
        groups.setdefault(row["dimension"], []).append(f"`{row['unit']}`")
    return grid(("Measures", "Units"), ((name, ", ".join(found)) for name, found in groups.items()))


def jurisdictions() -> str:
    """Return the sets of rules a garden can choose."""
    names = ("compost_limits", "soil_limits", "cumulative_limits", "hygiene_limits")
    rows = [
        (
            f"`{row['key']}`",
            row["name"],
            *(row[name].replace(";", ", ") for name in names),
            row["manure_interval_days_contact"],
        )
        for row in table("jurisdictions")
    ]
    head = ("Key", "Name", "Spread material", "Soil", "Load on soil", "Hygiene", "Days from raw manure to harvest")
    return grid(head, rows)


def limit_sets() -> str:
    """Return every set of limits in the data with its instrument and edition."""
    seen: dict[str, list[dict[str, str]]] = {}
    for row in family("limits"):
        seen.setdefault(row["key"], []).append(row)
    rows = [
        (
            f"`{key}`",
            found[0]["instrument"],
            found[0]["class"],
            found[0]["edition"],
            len(found),
            sum(row["read"] == "found" for row in found),
        )
        for key, found in seen.items()
    ]
    return grid(("Set", "Instrument", "Class", "Edition", "Rows", "of them found"), rows)


def _records() -> dict[str, type[Record]]:
    files = dict(FILES.values())
    return {"garden": Info, "climate": Climate, "reports.toml": ReportEntry, **files}


MAKERS: dict[str, Callable[[], str]] = {
    "counts": counts,
    "cautions": cautions,
    "materials": materials,
    "crops": crops,
    "quantities": quantities,
    "units": units,
    "jurisdictions": jurisdictions,
    "limit sets": limit_sets,
}


def made(name: str) -> str:
    """Return the table of a name as it stands in a mark."""
    kind, _, rest = name.partition(" ")
    if kind == "columns":
        return columns(_records()[rest])
    if kind == "coefficients":
        return coefficient_table(rest)
    return MAKERS[name]()


def renewed(text: str) -> str:
    """Return a page with all its tables made anew."""
    return MARK.sub(lambda found: found[1] + made(found[2]) + found[3], text)


if __name__ == "__main__":
    for page in sorted(HERE.glob("*.md")):
        old = page.read_text(encoding="utf-8")
        page.write_text(renewed(old), encoding="utf-8")
