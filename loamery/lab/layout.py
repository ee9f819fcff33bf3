"""Where things stand in a report: which cells are names, values, units, bases, and to which sample they belong.

A table has its analytes down (one per row) or across (one per column, samples as rows). Whatever stands around the
tables is read as facts. Nothing is converted here: an entry is one printed value with all that was printed about it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from loamery.lab.facts import Facts, is_role_word, is_value, pairs, stated_basis, take, take_line
from loamery.lab.heads import is_head_row
from loamery.lab.spellings import Phrase, parse_phrase, parse_unit
from loamery.lab.tables import Cell, Document, Grid
from loamery.lab.vocabulary import Analyte

_VALUE_BELOW = 5
"""How many rows below a head are looked at for values: a units row and a basis row may stand between."""

_UNKNOWN_WORDS = 2
"""How many words that are not understood a name may hold and still be asked about; more is a sentence."""


@dataclass(frozen=True)
class Entry:
    """One printed value with everything printed about it.

    Parameters
    ----------
    sample : the sample it is headed by, empty when its table names none.
    name : printed name of the analyte.
    phrase : the name as recognised.
    values : the result cell, or the replicate cells.
    mean : the mean the laboratory printed beside replicates.
    sd, limit, qualifier : cells that belong to it; `sd_factor` divides an expanded uncertainty.
    units : units printed for it, nearest first.
    bases : bases printed for it, nearest first.
    extra : methods and fraction words printed in other cells, heads and section titles.
    section : title of the section it stands in.
    ragged : the row has more cells than its head, so that cells may have slipped.
    unlabelled : several columns of numbers have no head, so that none is surely the result.
    printed : how many replicate cells there should be, 0 where there are no replicates.
    """

    grid: Grid
    sample: str
    name: str
    phrase: Phrase
    values: tuple[Cell, ...]
    mean: Cell | None = None
    sd: Cell | None = None
    sd_factor: float = 1.0
    limit: Cell | None = None
    qualifier: str = ""
    units: tuple[str, ...] = ()
    bases: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()
    section: str = ""
    ragged: bool = False
    unlabelled: bool = False
    printed: int = 0


@dataclass(frozen=True)
class Aside:
    """Something left out on purpose: a quality-control row or column, a column that was not understood."""

    code: str
    grid: Grid
    cell: Cell
    name: str


@dataclass
class Sheet:
    """All entries that belong to one sample, with the facts printed for it."""

    name: str
    facts: Facts
    entries: list[Entry] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    type_text: str = ""


@dataclass
class Context:
    """What is known while the grids are walked from top to bottom."""

    facts: Facts
    sheets: list[Sheet] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    section: str = ""
    section_basis: str = ""
    title_basis: str = ""
    document_basis: str = ""
    since_data: str = ""
    last_heads: dict[int, object] = field(default_factory=dict)
    block: int = 0
    seen_entries: int = 0
    own: Facts = field(default_factory=Facts)

    def sheet(self, name: str, type_text: str = "") -> Sheet:
        """Return the sample of that name in the current block, made when it is new."""
        label = name or self.own.sample or self.own.lab_number
        for one in self.sheets:
            if one.name == label:
                one.type_text = one.type_text or type_text
                return one
        made = Sheet(label, replace(self.own, notes=list(self.own.notes)), type_text=type_text)
        self.sheets.append(made)
        return made


def lay_out(document: Document) -> tuple[list[Sheet], Context]:
    """Return the samples of a document with their entries, and what was read around them."""
    from loamery.lab.walk_across import walk_across
    from loamery.lab.walk_down import walk_down

    context = Context(Facts())
    shown = [(grid, orientation(grid)) for grid in document.grids]
    for at, (grid, way) in enumerate(shown):
        if grid.sheet and (at == 0 or grid.sheet != shown[at - 1][0].sheet):
            start_sheet(context, grid.sheet)
        for part in _parts(_split_lines(grid) if way == "none" else grid):
            way = orientation(part)
            if way == "across":
                walk_across(part, context)
            else:
                walk_down(part, context, tables=way == "down")
    _apply_footnote(context)
    return _named_by_sheets(context), context


def _apply_footnote(context: Context) -> None:
    """Apply a basis stated below the last table: where none was printed above, and as a doubt where another was."""
    if not context.since_data:
        return
    for sheet in context.sheets:
        for at, entry in enumerate(sheet.entries):
            *near, title = entry.bases
            if not title:
                sheet.entries[at] = replace(entry, bases=(*near, context.since_data))
            elif title != context.since_data and sheet is context.sheets[-1]:
                sheet.entries[at] = replace(entry, bases=(*near, "both"))


def _parts(grid: Grid) -> list[Grid]:
    """Return a grid cut before every head row that puts the names of the analytes into another column than before."""
    cuts, named = [0], None
    for at, row in enumerate(grid.rows):
        columns = [c for c, cell in enumerate(row) if cell.text and _names_analytes(cell.text)]
        if columns and is_head_row(row):
            if named is not None and columns != named:
                cuts.append(at)
            named = columns
    ends = [*cuts[1:], len(grid.rows)]
    return [replace(grid, rows=grid.rows[start:end]) for start, end in zip(cuts, ends, strict=True)]


def start_sheet(context: Context, name: str) -> None:
    """Forget the section titles of the sheet before; a sheet name may state the basis."""
    phrase = parse_phrase(name, "head")
    context.section, context.section_basis = "", ""
    context.title_basis = phrase.basis if phrase.basis and not phrase.unknown else stated_basis(name)
    context.last_heads = {}


def _split_lines(grid: Grid) -> Grid:
    """Return lines such as ``Total nitrogen (dry): 2.05 %`` cut at their colon."""
    rows: list[tuple[Cell, ...]] = []
    for row in grid.rows:
        filled = [cell for cell in row if cell.text]
        if len(filled) == 1 and ":" in filled[0].text:
            left, _, right = filled[0].text.rpartition(":")
            one = filled[0]
            if right.strip() and parse_phrase(left.strip()).analyte and is_value(replace(one, text=right.strip())):
                rows.append((replace(one, text=left.strip()), replace(one, text=right.strip(), column=one.column + 1)))
                continue
        rows.append(row)
    return replace(grid, rows=tuple(rows))


def analyte_of(cell: Cell) -> Analyte | None:
    """Return the analyte a cell names, also where some of its words are not known; None for values and plain words."""
    if cell.number is not None or cell.date is not None or not cell.text or len(cell.text) > 120:
        return None
    unit = parse_unit(cell.text)
    if unit is not None and not unit.species and cell.text.startswith(unit.printed[:1]) and not cell.text[0].isalpha():
        return None  # % DM is a unit, Dry matter % a name
    phrase = parse_phrase(cell.text)
    if phrase.analyte is not None:
        return phrase.analyte
    return phrase.guess if len(phrase.unknown) <= _UNKNOWN_WORDS else None


def orientation(grid: Grid) -> str:
    """Return whether the analytes of a grid stand down its rows or across its columns; none when it has none."""
    across = max((len(_across_columns(grid, at)) for at in range(len(grid.rows))), default=0)
    down = max((len(names) for names in _down_names(grid).values()), default=0)
    if not across and not down:
        return "none"
    if across and _sample_head(grid):
        return "across"
    return "across" if across > down else "down"


def _across_columns(grid: Grid, at: int) -> list[int]:
    """Return the columns of a row that name analytes and have values below."""
    row, below = grid.rows[at], grid.rows[at + 1 : at + 1 + _VALUE_BELOW]
    after = next((other for other in below if any(cell.text for cell in other)), ())
    if is_value_row(row) or is_head_row(after):
        return []  # Sample, B above the heads of a table names a sample, not boron
    return [
        column
        for column, cell in enumerate(row)
        if analyte_of(cell) is not None
        and any(column < len(other) and other[column].text and is_value(other[column]) for other in below)
    ]


def is_value_row(row: Sequence[Cell]) -> bool:
    """Tell whether a row holds plain numbers beside its words."""
    return any(cell.number is not None or (is_value(cell) and cell.text[:1].isdigit()) for cell in row if cell.text)


def _down_names(grid: Grid) -> dict[int, set[str]]:
    """Return, for each column, the analytes it names in rows that hold a value."""
    out: dict[int, set[str]] = {}
    for row in grid.rows:
        values = [column for column, cell in enumerate(row) if cell.text and is_value(cell)]
        if not values:
            continue
        for column, cell in enumerate(row):
            if column not in values and (one := analyte_of(cell)) is not None:
                out.setdefault(column, set()).add(f"{one.quantity or cell.text}{one.fraction}{one.species}{one.method}")
    return out


def _sample_head(grid: Grid) -> bool:
    """Tell whether a row names samples and analytes, but neither results nor units: the head of a table across."""
    for at, row in enumerate(grid.rows):
        roles = {role for cell in row if cell.text for role in parse_phrase(cell.text, "head").roles}
        if "sample" in roles and not roles & {"result", "unit", "analyte"} and _across_columns(grid, at):
            return True
    return False


def name_columns(grid: Grid) -> list[int]:
    """Return the columns that name analytes in a table with its analytes down, leftmost first.

    A column headed as such wins. Otherwise every column that names at least two analytes, and half as many as the
    fullest does.
    """
    headed = _headed_names(grid)
    found = {column: len(names) for column, names in _down_names(grid).items()}
    fullest = max(found.values(), default=0)
    if headed and any(found.get(column) for column in headed):
        return [column for column in headed if found.get(column)]
    return sorted(
        column for column, count in found.items() if count == fullest or (count >= 2 and 2 * count >= fullest)
    )


def _headed_names(grid: Grid) -> list[int]:
    for row in grid.rows:
        columns = [c for c, cell in enumerate(row) if cell.text and _names_analytes(cell.text)]
        if columns and sum(1 for cell in row if cell.text and is_role_word(cell.text)) >= 2:
            return columns
    return []


def _names_analytes(text: str) -> bool:
    phrase = parse_phrase(text, "head")
    return "analyte" in phrase.roles and not phrase.unknown and "type" not in phrase.roles


def take_facts(row: Sequence[Cell], context: Context) -> bool:
    """Read a row of key words and values; tell whether it was one."""
    found = pairs(row)
    for key, value in found:
        if key in ("sample", "lab_number") and context.seen_entries and getattr(context.own, key) not in ("", value):
            context.own = Facts()
            context.seen_entries = 0
            context.title_basis = context.document_basis
        take(context.facts if key in ("lab", "reported_on") else context.own, key, value)
        context.facts.invented |= context.own.invented
        if key == "basis" or (key == "sample" and context.own.basis):
            state_basis(context, context.own.basis)
        if key == "extractant":
            context.facts.extractant = value
    return bool(found)


def take_text(text: str, context: Context) -> None:
    """Read a free line before or after the tables."""
    take_line(context.facts, text)
    if basis := stated_basis(text):
        state_basis(context, basis)


def state_basis(context: Context, basis: str) -> None:
    """Keep a basis that a line states: for the whole document when no sample has been named yet."""
    context.title_basis = basis
    if not context.own.sample and not context.own.lab_number:
        context.document_basis = basis


def _named_by_sheets(context: Context) -> list[Sheet]:
    """Return the samples; one without a name whose workbook sheets repeat its analytes is one sample per sheet."""
    out: list[Sheet] = []
    for one in context.sheets:
        sheets = list(dict.fromkeys(entry.grid.sheet for entry in one.entries))
        if one.name or len(sheets) < 2 or not _repeats(one.entries):
            out.append(one)
            continue
        for name in sheets:
            part = Sheet(
                name or "", one.facts, [e for e in one.entries if e.grid.sheet == name], type_text=one.type_text
            )
            out.append(part)
    return out


def _repeats(entries: Sequence[Entry]) -> bool:
    seen: dict[str, str | None] = {}
    for entry in entries:
        if entry.name in seen and seen[entry.name] != entry.grid.sheet:
            return True
        seen[entry.name] = entry.grid.sheet
    return False


def unit_text(cell: Cell | None) -> str:
    """Return the text of a unit cell, empty when there is none or it is a dash."""
    return "" if cell is None or cell.text.strip() in ("", "-", "–", "—") else cell.text.strip()


def is_unit_row(cells: Sequence[Cell], columns: Sequence[int]) -> bool:
    """Tell whether the cells under analyte heads are units."""
    texts = [cells[c].text for c in columns if c < len(cells) and unit_text(cells[c]) and cells[c].number is None]
    return bool(texts) and sum(1 for text in texts if parse_unit(text)) > 0.5 * len(texts)


def filled_width(row: Sequence[Cell]) -> int:
    """Return how many columns a row reaches, its empty end left out."""
    return max((c + 1 for c, cell in enumerate(row) if cell.text), default=0)


def note_unread(grid: Grid, row: Sequence[Cell], context: Context) -> None:
    """Remark on a row that names an analyte and holds a number, and yet belongs to no table that was understood."""
    named = next((cell for cell in row if (one := analyte_of(cell)) is not None and one.quantity), None)
    if named is not None and any(is_value(cell) and any(char.isdigit() for char in cell.text) for cell in row):
        context.asides.append(Aside("unread_row", grid, named, named.text))
