"""The walk down a table whose analytes stand down its rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from loamery.lab.facts import is_value, pairs, stated_basis
from loamery.lab.heads import VALUE_ROLES, Head, head_of, is_head_row, names_a_role, qc_word, settle
from loamery.lab.layout import (
    Aside,
    Context,
    Entry,
    analyte_of,
    filled_width,
    is_value_row,
    name_columns,
    note_unread,
    state_basis,
    take_facts,
    take_text,
    unit_text,
)
from loamery.lab.spellings import parse_phrase, parse_unit
from loamery.lab.tables import Cell, Grid
from loamery.lab.vocabulary import norm, word_table


@dataclass
class _Down:
    """State of a walk down: the heads in force and the rows that may become heads."""

    heads: dict[int, Head] = field(default_factory=dict)
    width: int = 0
    pending: list[tuple[Cell, ...]] = field(default_factory=list)
    sample: str = ""
    in_table: bool = False


def walk_down(grid: Grid, context: Context, *, tables: bool = True) -> None:
    """Read a grid whose analytes stand down the rows, or that is text only when `tables` is false."""
    names = name_columns(grid) if tables else []
    primary, symbols = _symbols(grid, names)
    state = _Down()
    for at, row in enumerate(grid.rows):
        if not any(cell.text for cell in row):
            if state.pending and not any(is_head_row(one) for one in state.pending):
                state.pending = []
            continue
        _down_row(grid, at, row, context, state, primary, symbols)


def _down_row(
    grid: Grid,
    at: int,
    row: tuple[Cell, ...],
    context: Context,
    state: _Down,
    primary: list[int],
    symbols: dict[int, list[int]],
) -> None:
    if primary and is_head_row(row):
        if state.pending and not _contiguous(state.pending[-1], row):
            state.pending = []
        state.pending.append(row)
        if context.since_data:
            state_basis(context, context.since_data)  # a line between two tables speaks of the second
        context.section, context.section_basis, context.since_data = "", "", ""
        return
    if primary and _is_data(row, primary, state, context):
        if state.pending or not state.in_table:
            _new_heads(grid, at, context, state, primary)
        for column in primary:
            _take_down(grid, row, column, context, state, primary, symbols)
        return
    if take_facts(row, context):
        state.pending = []
        return
    filled = [cell for cell in row if cell.text]
    note_unread(grid, row, context)
    if primary and len(filled) >= 2 and not is_value_row(row) and not any(len(cell.text) > 60 for cell in filled):
        state.pending.append(row)
        _texts(filled, context, state, quiet=True)
        return
    _texts(filled, context, state)


def _contiguous(above: Sequence[Cell], row: Sequence[Cell]) -> bool:
    return row[0].row - above[0].row <= 2


def _texts(filled: Sequence[Cell], context: Context, state: _Down, quiet: bool = False) -> None:
    """Read a row of words: a section title inside a table, a free line outside."""
    inside = state.in_table and len(filled) == 1 and not quiet
    for cell in filled:
        if inside:
            context.section = cell.text
            context.section_basis = _section_basis(cell.text)
            context.since_data = stated_basis(cell.text) or context.since_data
            context.facts.notes.append(cell.text)
            context.facts.invented |= "invented" in cell.text.casefold()
        else:
            take_text(cell.text, context)


def _section_basis(text: str) -> str:
    phrase = parse_phrase(text, "statement")
    return stated_basis(text) or (phrase.basis if phrase.basis and len(text) < 60 and not phrase.analytes else "")


def _is_data(row: Sequence[Cell], primary: Sequence[int], state: _Down, context: Context) -> bool:
    """Tell whether a row holds a name and something where values stand."""
    heads = state.heads if state.in_table and not state.pending else {}
    for column in primary:
        if column >= len(row) or not row[column].text or row[column].number is not None:
            continue
        if is_value(row[column]) and analyte_of(row[column]) is None:
            continue
        values = [c for c, head in heads.items() if head.role in (*VALUE_ROLES, "unlabelled")]
        if _is_fact_row(row, column):
            return False
        if any(c < len(row) and row[c].text for c in values):
            return True
        if any(c != column and cell.text and is_value(cell) for c, cell in enumerate(row)):
            return True
        if any(is_head_row(one) for one in state.pending) and any(
            c != column and cell.text for c, cell in enumerate(row)
        ):
            return True  # words where a value belongs, right under the heads
    return False


def _is_fact_row(row: Sequence[Cell], column: int) -> bool:
    """Tell whether a row is of the head block although it holds a number: Lab no. 4411, Date 2026-10-19."""
    return analyte_of(row[column]) is None and bool(pairs(row))


def _new_heads(grid: Grid, at: int, context: Context, state: _Down, primary: list[int]) -> None:
    """Settle the heads of the table that starts at row `at`."""
    body = _body(grid, at, primary)
    stacked = [row for row in state.pending[-3:] if _contiguous(row, state.pending[-1])] if state.pending else []
    first = next((i for i, row in enumerate(stacked) if is_head_row(row) or _spans(row, primary)), None)
    if first is None and stacked and _just_above(stacked[-1], grid.rows[at]):
        first = len(stacked) - 1
    stacked = stacked[first:] if first is not None else []
    if not stacked and state.in_table:
        state.pending = []
        return
    width = max((len(row) for row in body), default=0)
    if not stacked and not state.in_table and _same_shape(context.last_heads, width, primary):
        state.heads = dict(context.last_heads)  # type: ignore[arg-type]
    else:
        state.heads = settle(_stack(stacked, width, primary), body, primary[0])
    state.width = max((len([c for c in row if c.text]) and filled_width(row) for row in stacked), default=0)
    state.pending, state.in_table = [], True
    context.last_heads = dict(state.heads)
    _note_columns(grid, body, context, state)


def _just_above(row: Sequence[Cell], below: Sequence[Cell]) -> bool:
    """Tell whether a row right above the values, as wide as they are, has head words in it: Service, Price."""
    return below[0].row - row[0].row == 1 and names_a_role(row) and filled_width(row) >= filled_width(below)


def _spans(row: Sequence[Cell], primary: Sequence[int]) -> bool:
    """Tell whether a row can be an upper row of heads: nothing above the names, words above the values."""
    return all(column >= len(row) or not row[column].text or _blank_head(row[column]) for column in primary)


def _blank_head(cell: Cell) -> bool:
    return word_table("column").get(norm(cell.text)) == "analyte"


def _same_shape(heads: dict[int, object], width: int, primary: Sequence[int]) -> bool:
    return bool(heads) and max(heads) < width + 1 and width <= max(heads) + 2 and primary[0] not in heads


def _body(grid: Grid, at: int, primary: Sequence[int]) -> list[tuple[Cell, ...]]:
    """Return the rows of the table from `at` to the next row of heads that name analytes."""
    body: list[tuple[Cell, ...]] = []
    for row in grid.rows[at:]:
        if is_head_row(row):
            break
        if any(c < len(row) and row[c].text for c in primary) and sum(1 for cell in row if cell.text) > 1:
            body.append(row)
    return body


def _stack(rows: Sequence[Sequence[Cell]], width: int, primary: Sequence[int]) -> dict[int, Head]:
    """Return one head per column from one to three rows of heads; an upper head spans the blanks to its right."""
    texts: dict[int, list[str]] = {}
    for depth, row in enumerate(rows):
        carried = ""
        for column in range(max(width, len(row))):
            text = row[column].text if column < len(row) else ""
            carried = text or (carried if depth < len(rows) - 1 else "")
            if column in primary:
                carried = ""
            elif carried:
                texts.setdefault(column, []).append(carried)
    return {column: head_of(found) for column, found in texts.items()}


def _note_columns(grid: Grid, body: Sequence[Sequence[Cell]], context: Context, state: _Down) -> None:
    """Remark on columns of numbers that are left out."""
    read = any(head.role in (*VALUE_ROLES, "unlabelled") for head in state.heads.values())
    if not read and body:
        first = next((cell for row in body for cell in row if cell.text and is_value(cell)), body[0][0])
        context.asides.append(Aside("unread_column", grid, first, "a table without a column of results"))
    for column, head in state.heads.items():
        cell = next((row[column] for row in body if column < len(row) and row[column].text), None)
        if cell is not None and head.role in ("qc", "unread") and is_value(cell):
            code = "qc_row_skipped" if head.role == "qc" else "unread_column"
            context.asides.append(Aside(code, grid, cell, head.label or f"column {column + 1}"))


def _symbols(grid: Grid, names: Sequence[int]) -> tuple[list[int], dict[int, list[int]]]:
    """Part the name columns into names and symbols, columns that name the same analyte again: Phosphorus, P2O5."""
    primary: list[int] = []
    symbols: dict[int, list[int]] = {}
    width = max((len(row) for row in grid.rows), default=0)
    for column in names:
        if not any(_same_analytes(grid, before, column) for before in primary):
            primary.append(column)
    for column in range(width):
        for name in primary if column not in primary else ():
            if _same_analytes(grid, name, column):
                symbols.setdefault(name, []).append(column)
    return primary, symbols


def _same_analytes(grid: Grid, one: int, other: int) -> bool:
    same = different = 0
    for row in grid.rows:
        if max(one, other) < len(row) and (a := analyte_of(row[one])) and (b := analyte_of(row[other])):
            same, different = same + (a.quantity == b.quantity), different + (a.quantity != b.quantity)
    return same > 0 and different <= 0.2 * same


def _take_down(
    grid: Grid,
    row: tuple[Cell, ...],
    column: int,
    context: Context,
    state: _Down,
    primary: list[int],
    symbols: dict[int, list[int]],
) -> None:
    """Read one named row as entries, one per value column or set of replicates."""
    if column >= len(row) or not row[column].text or (is_value(row[column]) and analyte_of(row[column]) is None):
        return
    after = [c for c in primary if c > column]
    lone = len(primary) == 1
    mine = {c: head for c, head in state.heads.items() if lone or column < c < (after[0] if after else 10**6)}
    name = row[column].text
    for symbol in symbols.get(column, []):
        if symbol < len(row) and row[symbol].text and row[symbol].text not in name:
            name = f"{name} ({row[symbol].text})"
    phrase = parse_phrase(name)
    if (phrase.qc and phrase.guess is None) or phrase.qc in ("qc", "limit", "mean"):
        context.asides.append(Aside("qc_row_skipped", grid, row[column], name))
        return
    ragged = _ragged(row, state) or (not grid.aligned and filled_width(row) != state.width)
    for entry in _entries(
        grid, row, mine, context, Entry(grid, "", name, phrase, (), ragged=ragged, section=context.section)
    ):
        _keep(entry, row, mine, context, state)


def _ragged(row: Sequence[Cell], state: _Down) -> bool:
    """Tell whether a row holds more than its head has room for, as 2,05 does where commas part the cells."""
    extra = [cell for cell in row[state.width :] if cell.text] if state.width else []
    has_unit = any(head.role == "unit" and head.label for head in state.heads.values())
    return any(is_value(cell) or (has_unit and parse_unit(cell.text) is not None) for cell in extra)


def _entries(grid: Grid, row: tuple[Cell, ...], heads: dict[int, Head], context: Context, bare: Entry) -> list[Entry]:
    sets: dict[tuple[str, str, str, str], list[int]] = {}
    for column, head in heads.items():
        if head.role in (*VALUE_ROLES, "unlabelled"):
            own = str(column) if head.role in ("result", "unlabelled") else ""
            sets.setdefault((head.sample, head.basis, head.unit, own), []).append(column)
    merged = _with_means(sets, heads)
    return [_entry(row, heads, columns, context, bare) for columns in merged]


def _with_means(sets: dict[tuple[str, str, str, str], list[int]], heads: dict[int, Head]) -> list[list[int]]:
    """Join a mean headed without basis or unit to the replicates it belongs to; a result beside replicates is their mean."""
    groups = list(sets.values())
    twins = [group for group in groups if any(heads[c].role == "replicate" for c in group)]
    if len(twins) == 1:
        means = [g for g in groups if g is not twins[0] and all(heads[c].role in ("mean", "result") for c in g)]
        if len(means) == 1 and all(heads[c].basis in ("", heads[twins[0][0]].basis) for c in means[0]):
            groups = [group for group in groups if group is not means[0]]
            twins[0].extend(means[0])
    return groups


def _entry(row: tuple[Cell, ...], heads: dict[int, Head], columns: list[int], context: Context, bare: Entry) -> Entry:
    twins = [c for c in columns if heads[c].role == "replicate"]
    means = [c for c in columns if heads[c].role in ("mean", "result")] if twins else []
    values = tuple(row[c] for c in (twins or columns) if c < len(row) and row[c].text)
    first = heads[columns[0]]

    def beside(role: str) -> Cell | None:
        at = _beside(heads, columns, role)
        return row[at] if at is not None and at < len(row) and row[at].text else None

    wide = beside("sd2")
    limit = beside("limit")
    units = (unit_text(beside("unit")), *(heads[c].unit for c in columns))
    basis_cell, method = beside("basis"), beside("method")
    return replace(
        bare,
        sample=first.sample,
        values=values,
        mean=next((row[c] for c in means if c < len(row) and row[c].text), None),
        sd=beside("sd") or wide,
        sd_factor=2.0 if wide and not beside("sd") else 1.0,
        limit=limit,
        qualifier=(beside("qualifier") or Cell("", 0, 0)).text,
        units=tuple(dict.fromkeys(unit for unit in units if unit)),
        bases=(basis_cell.text if basis_cell else "", first.basis),
        extra=tuple(text for text in (method.text if method else "", first.extra) if text),
        unlabelled=first.role == "unlabelled",
        printed=len(twins),
    )


def _beside(heads: dict[int, Head], columns: list[int], role: str) -> int | None:
    """Return the column of a role that belongs to these value columns: same basis, else next to the right, else the only one."""
    found = [c for c, head in heads.items() if head.role == role]
    if len(found) < 2:
        return found[0] if found else None
    basis = heads[columns[0]].basis
    same = [c for c in found if basis and heads[c].basis == basis]
    if len(same) == 1:
        return same[0]
    values = sorted(c for c, head in heads.items() if head.role in VALUE_ROLES and c not in columns)
    right = [c for c in found if c > columns[-1] and not any(columns[-1] < v < c for v in values)]
    left = [c for c in found if c < columns[0] and not any(c < v < columns[0] for v in values)]
    return right[0] if right else left[-1] if left else None


def _keep(entry: Entry, row: Sequence[Cell], heads: dict[int, Head], context: Context, state: _Down) -> None:
    if not entry.values and entry.mean is None:
        return
    sample, type_text = entry.sample, ""
    for role in ("lab_number", "sample"):
        for column, head in heads.items():
            if head.role == role and column < len(row) and row[column].text:
                state.sample = row[column].text if role == "sample" or not state.sample else state.sample
    if any(head.role in ("sample", "lab_number") for head in heads.values()):
        sample = state.sample
    for column, head in heads.items():
        if head.role == "type" and column < len(row):
            type_text = row[column].text
    if sample and qc_word(sample):
        context.asides.append(
            Aside("qc_row_skipped", entry.grid, entry.values[0] if entry.values else row[0], f"{sample}: {entry.name}")
        )
        return
    bases = (*entry.bases, context.section_basis, context.title_basis)
    context.sheet(sample, type_text).entries.append(replace(entry, sample=sample, bases=bases))
    context.seen_entries += 1
    context.since_data = ""
