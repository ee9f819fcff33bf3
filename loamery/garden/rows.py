"""CSV rows to records: units in column names, and a fault for every cell that cannot be used."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from loamery.errors import InputError, UnreadableFile, Where
from loamery.garden.fields import Record
from loamery.garden.refused import refused_words
from loamery.say import Verbatim, joined, say
from loamery.units import convert, unit

R = TypeVar("R", bound=Record)
LIST_MARK = ";"
MAX_BYTES = 20 * 2**20
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
PER_FAHRENHEIT, FREEZING_F = 1.0 / 1.8, 32.0
Matched = tuple[str, float, float]
"""A field, and the factor and shift that take a column's numbers to it."""


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
                say("{st_size} bytes", st_size=path.stat().st_size),
                where=where,
                expected=say("a plain text file of at most 20 MiB"),
                remedy=say("split it"),
            )
        text = path.read_text(encoding="utf-8-sig")
    except (FileNotFoundError, NotADirectoryError):
        raise UnreadableFile(
            say("no such file"),
            where=where,
            expected=say("this file in the garden folder"),
            remedy=say("run `loamery init` for a starter"),
        ) from None
    except UnicodeDecodeError:
        raise _not_text(say("not readable as UTF-8 text"), where) from None
    except OSError as error:
        raise _not_text(say("cannot be read ({error})", error=str(error.strerror or error)), where) from None
    if "\0" in text:
        raise _not_text(say("holds bytes that are no text"), where)
    return text


def _not_text(read: str, where: Where) -> UnreadableFile:
    return UnreadableFile(
        read, where=where, expected=say("a plain UTF-8 text file"), remedy=say("save the file again as “CSV UTF-8”")
    )


def read_rows(path: Path, model: type[R], faults: list[InputError]) -> list[tuple[int, R]]:
    """Return the records of a CSV file with their row numbers; what cannot be used is added to the faults.

    Lines that are empty or start with ``#`` are skipped. A missing file holds no records.
    """
    if not path.exists():
        return []
    try:
        numbered = _numbered_cells(read_text(path), path.name)
    except UnreadableFile as fault:
        faults.append(fault)
        return []
    if not numbered:
        return []
    _, header = numbered[0]
    columns = [name.strip() for name in header]
    if len(columns) == 1 and (mark := next((one for one in (";", "\t") if one in columns[0]), "")):
        faults.append(_other_separator(path, mark))
        return []
    fields = _match_columns(path, columns, model, faults)
    records = []
    for row_number, cells in numbered[1:]:
        record = _record(path, row_number, cells, columns, fields, model, faults)
        if record is not None:
            records.append((row_number, record))
    return records


def _numbered_cells(text: str, file: str) -> list[tuple[int, list[str]]]:
    """Return the rows that hold something, each with the line it starts on; a quotation mark left open is a fault."""
    reader = csv.reader(io.StringIO(text), strict=True)
    rows, line = [], 1
    try:
        for cells in reader:
            rows.append((line, cells))
            line = reader.line_num + 1
    except csv.Error as error:
        raise UnreadableFile(
            say("cells that cannot be told apart ({error})", error=str(error)),
            where=Where(file=file, row=line),
            expected=say("cells separated by commas, every double quote closed"),
            remedy=say("close or delete the double quote in this row"),
        ) from None
    return [
        (n, cells) for n, cells in rows if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")
    ]


def _other_separator(path: Path, mark: str) -> InputError:
    name = {";": say("semicolons"), "\t": say("tabs")}[mark]
    return InputError(
        say("cells separated by {name}", name=name),
        where=Where(file=path.name, row=1),
        expected=say("cells separated by commas, with a decimal point in numbers"),
        remedy=say("save the file again as CSV with commas"),
    )


def _match_columns(
    path: Path, columns: Sequence[str], model: type[Record], faults: list[InputError]
) -> dict[str, Matched]:
    """Map each column to its field, and to the factor and the shift that take its units to the field's own."""
    matched: dict[str, Matched] = {}
    for column in columns:
        if column in model.model_fields:
            matched[column] = (column, 1.0, 0.0)
        elif (other := _other_unit(column, model)) is not None:
            matched[column] = other
        else:
            near = nearest(column, model.model_fields)
            faults.append(
                InputError(
                    say("column “{column}”", column=column),
                    where=Where(file=path.name, row=1, column=column),
                    expected=say("one of ") + ", ".join(model.model_fields),
                    remedy=say("did you mean “{near}”?", near=Verbatim(near))
                    if near
                    else say("rename or delete the column"),
                )
            )
    present = [matched[column][0] for column in columns if column in matched]
    faults += [_twice(path, name, columns, matched) for name in dict.fromkeys(present) if present.count(name) > 1]
    for name, field in model.model_fields.items():
        if field.is_required() and name not in present:
            faults.append(
                InputError(
                    say("no column “{name}”", name=name),
                    where=Where(file=path.name, row=1),
                    expected=say("a column {name} ({meaning})", name=name, meaning=_meaning(name, field)),
                    remedy=say("add the column to the first row"),
                )
            )
    return matched


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the known name a person may have meant, whatever its capitals; empty when none is near."""
    by_small = {one.casefold(): one for one in known}
    near = get_close_matches(name.casefold(), by_small, n=1)
    return by_small[near[0]] if near else ""


def _twice(path: Path, field: str, columns: Sequence[str], matched: dict[str, Matched]) -> InputError:
    named = [column for column in columns if column in matched and matched[column][0] == field]
    return InputError(
        say("columns ") + joined(say(" and "), (say("“{word}”", word=Verbatim(column)) for column in named)),
        where=Where(file=path.name, row=1, column=named[-1]),
        expected=say("one column for {field}", field=field),
        remedy=say("delete one of them"),
    )


_SUFFIX = {"m2": "m2", "ft2": "ft2", "ac": "ac", "ha": "ha", "kg": "kg", "lb": "lb", "km": "km", "mi": "mi", "m": "m",
           "mm": "mm", "cm": "cm", "in": "in", "ft": "ft", "m3": "m3", "yd3": "yd3", "ft3": "ft3", "gal": "gal", "l": "L"}  # fmt: skip


def _units_in(name: str) -> tuple[tuple[str, ...], tuple[tuple[str, int], ...]]:
    """Return the words of a column name with its units left blank, and the units with their powers.

    A unit after ``per`` or straight after another unit divides: ``yield_kg_m2`` is kg for each m2, and so is
    ``price_per_kg`` a price for each kg.
    """
    words: list[str] = []
    found: list[tuple[str, int]] = []
    for part in name.split("_"):
        if part not in _SUFFIX:
            words.append(part)
            continue
        divides = bool(words) and words[-1] in ("per", "")
        found.append((_SUFFIX[part], -1 if divides else 1))
        words.append("")
    return tuple(words), tuple(found)


def _other_unit(column: str, model: type[Record]) -> Matched | None:
    """Return the field a column means when only its units differ, and the factor and shift to the field's own units."""
    celsius = f"{column.removesuffix('_f')}_c"
    if column.endswith("_f") and celsius in model.model_fields:
        return celsius, PER_FAHRENHEIT, -FREEZING_F * PER_FAHRENHEIT
    words, given = _units_in(column)
    for name in model.model_fields:
        own_words, own = _units_in(name)
        if own_words != words or not own or [power for _, power in own] != [power for _, power in given]:
            continue
        if all(unit(a).dimension == unit(b).dimension for (a, _), (b, _) in zip(given, own, strict=True)):
            factors = (convert(1.0, a, b) ** power for (a, power), (b, _) in zip(given, own, strict=True))
            return name, math.prod(factors), 0.0
    return None


def _record(
    path: Path,
    row_number: int,
    cells: Sequence[str],
    columns: Sequence[str],
    fields: dict[str, Matched],
    model: type[R],
    faults: list[InputError],
) -> R | None:
    if len(cells) > len(columns):
        faults.append(
            InputError(
                say("{count} cells", count=len(cells)),
                where=Where(file=path.name, row=row_number),
                expected=say("{count} cells, as in the first row", count=len(columns)),
                remedy=say("put text that holds a comma in double quotes"),
            )
        )
        return None
    values: dict[str, Any] = {}
    printed: dict[str, tuple[str, str]] = {}
    for column, cell in zip(columns, cells, strict=False):
        if column in fields and cell.strip():
            name, factor, shift = fields[column]
            printed[name] = (column, cell.strip())
            values[name] = _cell(cell.strip(), model.model_fields[name], factor, shift)
    try:
        return model.model_validate(values)
    except ValidationError as error:
        faults.extend(faults_of(error, path.name, row_number, printed, model))
        return None


def _cell(text: str, field: FieldInfo, factor: float, shift: float) -> Any:
    if getattr(field.annotation, "__origin__", None) is tuple:
        return tuple(part.strip() for part in text.split(LIST_MARK) if part.strip())
    if factor != 1.0 or shift:
        try:
            return float(text) * factor + shift
        except ValueError:
            return text
    return bare(text)


def guarded(text: str) -> str:
    """Return a text so that no spreadsheet takes it for a formula: an apostrophe goes before what looks like one."""
    return "'" + text if _FORMULA.match(text) else text


def bare(text: str) -> str:
    """Return a cell without the apostrophe that `guarded` put before it; any other cell as it is."""
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


def faults_of(
    error: ValidationError, file: str, row: int | None, printed: dict[str, tuple[str, str]], model: type[Record]
) -> Iterable[InputError]:
    """Yield one fault for each field that a record refuses.

    Parameters
    ----------
    printed : field to the column and the cell it was read from, where the input was a row of cells.
    """
    for detail in error.errors():
        if not detail["loc"]:
            yield InputError(
                say("“{get}”", get=detail.get("input")),
                where=Where(file=file, row=row),
                expected=say("a table: ") + ", ".join(model.model_fields),
                remedy=say("write one line for each, such as name = value"),
            )
            continue
        name = str(detail["loc"][0])
        field = model.model_fields.get(name)
        column, given = printed.get(name, (name, detail.get("input")))
        missing = detail["type"] == "missing"
        yield InputError(
            say("nothing") if missing else say("“{word}”", word=Verbatim(given)),
            where=Where(file=file, row=row, column=column),
            expected=say("{meaning}: {plain}", meaning=_meaning(name, field), plain=refused_words(detail["msg"]))
            if not missing
            else _meaning(name, field),
            remedy=_remedy(detail["type"], given, field),
        )


def _meaning(name: str, field: FieldInfo | None) -> str:
    """Return a column and what it holds; its name is the file's and stays, the description is told."""
    described = field.description if field is not None and field.description else name.replace("_", " ")
    return say("{name} ({described})", name=Verbatim(name), described=described) if described != name else name


def _remedy(kind: str, given: object, field: FieldInfo | None) -> str:
    choices = [str(choice) for choice in get_args(field.annotation)] if field is not None else []
    if kind == "literal_error" and (near := nearest(str(given), choices)):
        return say("did you mean “{near}”?", near=Verbatim(near))
    if kind.startswith("date"):
        return say("write dates as 2027-04-26")
    if kind.startswith("float") and isinstance(given, str) and "," in given:
        return say("write a decimal point instead of a comma")
    if kind == "missing":
        return say("fill the cell in")
    return say("correct the cell")
