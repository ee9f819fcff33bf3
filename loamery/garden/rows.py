"""CSV rows to records: units in column names, and a fault for every cell that cannot be used."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from loamery.errors import InputError, UnreadableFile, Where
from loamery.garden.model import Record
from loamery.units import convert, unit, units

R = TypeVar("R", bound=Record)
LIST_MARK = ";"
MAX_BYTES = 20 * 2**20


def read_text(path: Path) -> str:
    """Return a text file as a string, UTF-8 with or without a byte order mark.

    Raises
    ------
    UnreadableFile : missing, too large, or not UTF-8 text.
    """
    where = Where(file=path.name)
    try:
        if path.stat().st_size > MAX_BYTES:
            raise UnreadableFile(
                f"{path.stat().st_size} bytes",
                where=where,
                expected="a plain text file of at most 20 MiB",
                remedy="split it",
            )
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise UnreadableFile(
            "no such file",
            where=where,
            expected="this file in the garden folder",
            remedy="run `loamery init` for a starter",
        ) from None
    except (UnicodeDecodeError, IsADirectoryError, PermissionError) as error:
        raise UnreadableFile(
            f"not readable as text ({type(error).__name__})",
            where=where,
            expected="UTF-8 text",
            remedy="save the file again as “CSV UTF-8”",
        ) from None


def read_rows(path: Path, model: type[R], faults: list[InputError]) -> list[tuple[int, R]]:
    """Return the records of a CSV file with their row numbers; what cannot be used is added to the faults.

    Lines that are empty or start with ``#`` are skipped. A missing file holds no records.
    """
    if not path.exists():
        return []
    try:
        numbered = _numbered_cells(read_text(path))
    except UnreadableFile as fault:
        faults.append(fault)
        return []
    if not numbered:
        return []
    _, header = numbered[0]
    columns = [name.strip() for name in header]
    fields = _match_columns(path, columns, model, faults)
    records = []
    for row_number, cells in numbered[1:]:
        record = _record(path, row_number, cells, columns, fields, model, faults)
        if record is not None:
            records.append((row_number, record))
    return records


def _numbered_cells(text: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text))
    rows = [(reader.line_num, cells) for cells in reader]
    return [
        (n, cells) for n, cells in rows if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")
    ]


def _match_columns(
    path: Path, columns: Sequence[str], model: type[Record], faults: list[InputError]
) -> dict[str, tuple[str, str | None, str | None]]:
    """Map each column to its field, and to the unit it is given in where that differs from the field's own."""
    matched: dict[str, tuple[str, str | None, str | None]] = {}
    for column in columns:
        if column in model.model_fields:
            matched[column] = (column, None, None)
        elif (other := _other_unit(column, model)) is not None:
            matched[column] = other
        else:
            near = get_close_matches(column, model.model_fields, n=1)
            faults.append(
                InputError(
                    f"column “{column}”",
                    where=Where(file=path.name, row=1, column=column),
                    expected="one of " + ", ".join(model.model_fields),
                    remedy=f"did you mean “{near[0]}”?" if near else "rename or delete the column",
                )
            )
    present = {field for field, _, _ in matched.values()}
    for name, field in model.model_fields.items():
        if field.is_required() and name not in present:
            faults.append(
                InputError(
                    f"no column “{name}”",
                    where=Where(file=path.name, row=1),
                    expected=f"a column {name} ({_meaning(name, field)})",
                    remedy="add the column to the first row",
                )
            )
    return matched


_SUFFIX = {"m2": "m2", "ft2": "ft2", "ac": "ac", "ha": "ha", "kg": "kg", "lb": "lb", "km": "km", "mi": "mi", "m": "m",
           "cm": "cm", "in": "in", "ft": "ft", "m3": "m3", "yd3": "yd3", "ft3": "ft3", "gal": "gal", "l": "L"}  # fmt: skip


def _split_unit(name: str) -> tuple[str, str, str] | None:
    """Return (before, unit, after) of a name such as kg_per_week or area_m2."""
    parts = name.split("_")
    for index in range(len(parts) - 1, -1, -1):
        if parts[index] in _SUFFIX and _SUFFIX[parts[index]] in units():
            return "_".join(parts[:index]), _SUFFIX[parts[index]], "_".join(parts[index + 1 :])
    return None


def _other_unit(column: str, model: type[Record]) -> tuple[str, str | None, str | None] | None:
    split = _split_unit(column)
    if split is None:
        return None
    for name in model.model_fields:
        own = _split_unit(name)
        if own and (own[0], own[2]) == (split[0], split[2]) and unit(own[1]).dimension == unit(split[1]).dimension:
            return name, split[1], own[1]
    return None


def _record(
    path: Path,
    row_number: int,
    cells: Sequence[str],
    columns: Sequence[str],
    fields: dict[str, tuple[str, str | None, str | None]],
    model: type[R],
    faults: list[InputError],
) -> R | None:
    if len(cells) > len(columns):
        faults.append(
            InputError(
                f"{len(cells)} cells",
                where=Where(file=path.name, row=row_number),
                expected=f"{len(columns)} cells, as in the first row",
                remedy="put text that holds a comma in double quotes",
            )
        )
        return None
    values: dict[str, Any] = {}
    printed: dict[str, tuple[str, str]] = {}
    for column, cell in zip(columns, cells, strict=False):
        if column in fields and cell.strip():
            name, given, own = fields[column]
            printed[name] = (column, cell.strip())
            values[name] = _cell(cell.strip(), model.model_fields[name], given, own)
    try:
        return model.model_validate(values)
    except ValidationError as error:
        faults.extend(faults_of(error, path.name, row_number, printed, model))
        return None


def _cell(text: str, field: FieldInfo, given: str | None, own: str | None) -> Any:
    if getattr(field.annotation, "__origin__", None) is tuple:
        return tuple(part.strip() for part in text.split(LIST_MARK) if part.strip())
    if given and own:
        try:
            return convert(float(text), given, own)
        except ValueError:
            return text
    return text


def faults_of(
    error: ValidationError, file: str, row: int | None, printed: dict[str, tuple[str, str]], model: type[Record]
) -> Iterable[InputError]:
    """Yield one fault for each field that a record refuses.

    Parameters
    ----------
    printed : field to the column and the cell it was read from, where the input was a row of cells.
    """
    for detail in error.errors():
        name = str(detail["loc"][0]) if detail["loc"] else ""
        field = model.model_fields.get(name)
        column, given = printed.get(name, (name, detail.get("input")))
        missing = detail["type"] == "missing"
        yield InputError(
            "nothing" if missing else f"“{given}”",
            where=Where(file=file, row=row, column=column),
            expected=f"{_meaning(name, field)}: {_plain(detail['msg'])}" if not missing else _meaning(name, field),
            remedy=_remedy(detail["type"], given, field),
        )


def _plain(message: str) -> str:
    return message.replace("Input should be", "should be").replace("String should match pattern", "should match")


def _meaning(name: str, field: FieldInfo | None) -> str:
    described = field.description if field is not None and field.description else name.replace("_", " ")
    return f"{name} ({described})" if described != name else name


def _remedy(kind: str, given: object, field: FieldInfo | None) -> str:
    choices = [str(choice) for choice in get_args(field.annotation)] if field is not None else []
    if kind == "literal_error" and (near := get_close_matches(str(given), choices, n=1)):
        return f"did you mean “{near[0]}”?"
    if kind.startswith("date"):
        return "write dates as 2027-04-26"
    if kind.startswith("float") and isinstance(given, str) and "," in given:
        return "write a decimal point instead of a comma"
    if kind == "missing":
        return "fill the cell in"
    return "correct the cell"
