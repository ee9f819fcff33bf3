"""The walk through a table whose analytes stand across its columns, samples as rows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from loamery.lab.facts import is_value, stated_basis
from loamery.lab.heads import head_of, qc_word
from loamery.lab.layout import (
    Aside,
    Context,
    Entry,
    analyte_of,
    filled_width,
    is_unit_row,
    is_value_row,
    note_unread,
    take_facts,
    take_text,
    unit_text,
)
from loamery.lab.spellings import parse_phrase
from loamery.lab.tables import Cell, Grid
from loamery.lab.vocabulary import word_table

_REPLICATE = re.compile(r"^(?P<base>.+?)[\s_(-]+(?:rep(?:licate)?|run|wdh)\.?\s*#?\d{1,2}\)?$", re.I)


@dataclass
class _Across:
    """The head of a table whose analytes stand across: one column per analyte."""

    columns: dict[int, str] = field(default_factory=dict)
    above: dict[int, list[str]] = field(default_factory=dict)
    units: dict[int, str] = field(default_factory=dict)
    bases: dict[int, str] = field(default_factory=dict)
    methods: dict[int, str] = field(default_factory=dict)
    limits: dict[int, Cell] = field(default_factory=dict)
    roles: dict[str, int] = field(default_factory=dict)
    width: int = 0
    spread: dict[str, tuple[str, list[tuple[Cell, ...]]]] = field(default_factory=dict)


def walk_across(grid: Grid, context: Context) -> None:
    """Read a grid whose analytes stand across, samples as rows."""
    table: _Across | None = None
    recent: list[tuple[Cell, ...]] = []
    for row in grid.rows:
        if not any(cell.text for cell in row):
            continue
        if (found := _across_head(row)) is not None:
            if table is not None:
                _close(grid, context, table)
            table = _open(row, found, recent)
            recent = []
        elif table is None or not _across_row(grid, row, context, table):
            if not take_facts(row, context):
                note_unread(grid, row, context)
                for cell in row:
                    if cell.text:
                        take_text(cell.text, context)
                        context.since_data = (
                            stated_basis(cell.text) if context.seen_entries else ""
                        ) or context.since_data
            recent = [*recent[-1:], row]
    if table is not None:
        _close(grid, context, table)


def _across_head(row: Sequence[Cell]) -> dict[int, str] | None:
    if any(cell.number is not None for cell in row if cell.text) or is_value_row(row):
        return None
    if not any(analyte_of(cell) is not None for cell in row):
        return None
    found = {
        column: cell.text
        for column, cell in enumerate(row)
        if analyte_of(cell) is not None or (cell.text and parse_phrase(cell.text).analyte is not None)
    }
    return found if len(found) >= 2 or (len(found) == 1 and _has_sample(row)) else None


def _has_sample(row: Sequence[Cell]) -> bool:
    return any("sample" in parse_phrase(cell.text, "head").roles for cell in row if cell.text)


def _open(row: Sequence[Cell], found: dict[int, str], recent: Sequence[Sequence[Cell]]) -> _Across:
    table = _Across(found, width=filled_width(row))
    for column, cell in enumerate(row):
        if column in found or not cell.text:
            continue
        head = head_of([cell.text])
        role = head.role if head.role != "unknown" else ("sample" if column < min(found) else "")
        if role and role not in table.roles:
            table.roles[role] = column
        if role in ("", "unknown", "result", "analyte") and column > min(found):
            table.columns[column] = cell.text  # not understood: said so, not skipped
    for above in recent:
        if (
            row[0].row - above[0].row <= 2
            and filled_width(above) > 1
            and (above[0].text == "" or len([c for c in above if c.text]) > 1)
        ):
            carried = ""
            for column in range(len(row)):
                carried = above[column].text if column < len(above) and above[column].text else carried
                if column in found and carried and column > 0:
                    table.above.setdefault(column, []).append(carried)
    return table


def _across_row(grid: Grid, row: tuple[Cell, ...], context: Context, table: _Across) -> bool:
    """Read a row under the head: units, bases, methods, limits, quality control, or a sample. Tell whether it was one."""
    columns = [c for c in table.columns if c < len(row) and row[c].text]
    if not columns:
        return False
    label_cell = _label(row, table)
    label = label_cell.text if label_cell is not None else ""
    kind = word_table("row_head").get(label.casefold().strip(": "), "")
    if kind == "unit" or (not any(is_value(row[c]) for c in columns) and is_unit_row(row, columns)):
        table.units |= {c: unit_text(row[c]) for c in columns}
        return True
    if kind == "basis" or all(parse_phrase(row[c].text, "head").basis and not is_value(row[c]) for c in columns):
        table.bases |= {c: row[c].text for c in columns}
        return True
    if kind == "method" or all(parse_phrase(row[c].text, "head").methods and not is_value(row[c]) for c in columns):
        table.methods |= {c: row[c].text for c in columns}
        return True
    qc = qc_word(label)
    if qc == "limit":
        table.limits |= {c: row[c] for c in columns}
        return True
    if qc:
        context.asides.append(Aside("qc_row_skipped", grid, label_cell or row[columns[0]], label))
        return True
    if not any(is_value(row[c]) for c in columns):
        return False
    match = _REPLICATE.match(label)
    base = match["base"].strip() if match else label
    key = base or f"row {row[0].row}"
    twin = match is not None or "replicate_number" in table.roles
    key = key if twin else f"{key}\n{row[0].row}"
    table.spread.setdefault(key, (base, []))[1].append(row)
    return True


def _label(row: Sequence[Cell], table: _Across) -> Cell | None:
    for role in ("sample", "lab_number", "unknown", "type", "analyte", "ignore", "result"):
        column = table.roles.get(role)
        if column is not None and column < len(row) and row[column].text:
            return row[column]
    first = [cell for c, cell in enumerate(row) if c < min(table.columns) and cell.text]
    return first[0] if first else None


def _close(grid: Grid, context: Context, table: _Across) -> None:
    """Turn the sample rows of a table into entries, now that all of its limits and units are known."""
    for base, rows in table.spread.values():
        lone = len(table.spread) == 1
        sample = base or ("" if lone else f"row {rows[0][0].row}")
        at = table.roles.get("type")
        type_text = rows[0][at].text if at is not None and at < len(rows[0]) else ""
        sheet = context.sheet(sample, type_text)
        for column, name in table.columns.items():
            values = tuple(row[column] for row in rows if column < len(row) and row[column].text)
            if values:
                ragged = any(filled_width(row) > table.width for row in rows) or not grid.aligned
                sheet.entries.append(
                    replace(_across_entry(grid, table, column, name, values, context), sample=sample, ragged=ragged)
                )
                context.seen_entries += 1
    table.spread = {}


def _across_entry(
    grid: Grid, table: _Across, column: int, name: str, values: tuple[Cell, ...], context: Context
) -> Entry:
    heads = [head_of([text]) for text in table.above.get(column, [])]
    above_basis = next((head.basis for head in heads if head.basis), "")
    units = [table.units.get(column, ""), *(head.unit for head in heads)]
    extra = [table.methods.get(column, ""), *(head.extra for head in heads)]
    return Entry(
        grid,
        "",
        name,
        parse_phrase(name),
        values,
        limit=table.limits.get(column),
        units=tuple(dict.fromkeys(unit for unit in units if unit)),
        bases=(table.bases.get(column, ""), above_basis, context.section_basis, context.title_basis),
        extra=tuple(text for text in extra if text),
        section=" ".join(head.label for head in heads if head.role == "unknown"),
    )
