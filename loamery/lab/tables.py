"""A laboratory file as grids of cells, each cell with the place it stands in.

What a file is, its bytes say, not its name. Text becomes one grid, a workbook one grid per sheet, a PDF one grid per
table and per run of lines. Nothing here knows what an analyte is.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from loamery.errors import UnreadableFile, Where
from loamery.finding import Finding
from loamery.say import say

MAX_BYTES = 20 * 1024 * 1024
"""Largest file that is opened; laboratory reports are a few hundred kilobytes."""
MAX_CELLS = 200_000
"""Most cells that are read from one file."""
MAX_PAGES = 60
"""Most pages of a PDF that are read."""
ACCEPTED = say("a laboratory report as CSV, TSV, text, XLSX, XLS, ODS or a PDF with text in it")
TYPE_IT_IN = say("type the values into a CSV file with the columns analyte, result, unit, basis, and read that")


@dataclass(frozen=True)
class Cell:
    """One cell.

    Parameters
    ----------
    text : what it shows.
    row, column : place, counted from one as a person counts.
    number : its number where the file holds a true number, so that no decimal mark has to be guessed.
    percent : the number is shown as a percentage; `number` is already times one hundred.
    date : its date where the file holds a true date.
    """

    text: str
    row: int
    column: int
    number: float | None = None
    percent: bool = False
    date: date | None = None


@dataclass(frozen=True)
class Grid:
    """A rectangle of cells.

    Parameters
    ----------
    rows : cells in order, empty cells left in place with empty text.
    file, sheet, page : where it was read.
    aligned : False where the columns of a text could not be told apart by position.
    lettered : columns are named by letters, as in a spreadsheet.
    """

    rows: tuple[tuple[Cell, ...], ...]
    file: str
    sheet: str | None = None
    page: int | None = None
    aligned: bool = True
    lettered: bool = False

    def where(self, cell: Cell) -> Where:
        """Return the place of a cell in words a person can follow."""
        column = column_letters(cell.column) if self.lettered else str(cell.column)
        return Where(self.file, self.sheet, self.page, cell.row, column)


@dataclass(frozen=True)
class Document:
    """Everything read from one file, before anything is understood."""

    file: str
    grids: tuple[Grid, ...]
    findings: tuple[Finding, ...] = ()


def column_letters(number: int) -> str:
    """Return the letters of a spreadsheet column, 1 for A."""
    letters = ""
    while number > 0:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def read_document(path: Path) -> Document:
    """Return the grids of a laboratory file.

    Parameters
    ----------
    path : the file.

    Raises
    ------
    UnreadableFile : missing, empty, too large, or not one of the formats read.
    """
    data = _bytes_of(path)
    kind = _kind_of(data)
    if kind == "picture":
        raise unreadable(path, say("a picture"), say("a picture cannot be read: {type_it_in}", type_it_in=TYPE_IT_IN))
    if kind == "pdf":
        from loamery.lab.pdf_tables import read_pdf

        document = read_pdf(path, data)
    elif kind == "workbook":
        document = _read_workbook(path, data)
    else:
        from loamery.lab.text_tables import read_text

        document = read_text(path, data)
    _check_size(path, document)
    return document


def unreadable(
    path: Path, read: str, remedy: str, *, sheet: str | None = None, page: int | None = None
) -> UnreadableFile:
    """Return the error for a file that cannot be read."""
    return UnreadableFile(read, where=Where(path.name, sheet, page), expected=ACCEPTED, remedy=remedy)


@contextmanager
def foreign_reader(path: Path, what: str) -> Iterator[None]:
    """Turn whatever a file-format library throws at a damaged file into one error of ours."""
    try:
        yield
    except (UnreadableFile, KeyboardInterrupt, SystemExit, GeneratorExit):
        raise
    except BaseException as error:
        # Readers of foreign formats fail in countless ways on damaged bytes, native panics (BaseException) among them.
        text = " ".join(str(error).split())[:120] or type(error).__name__
        raise unreadable(
            path,
            say("{what} that cannot be opened ({text})", what=what, text=text),
            say("save it again or export it as CSV"),
        ) from error


def _bytes_of(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise unreadable(path, say("a folder or device, not a file"), say("name the report file itself"))
        if size > MAX_BYTES:
            read = say(
                "{value:.0f} MiB, more than the {value2} MiB that are opened",
                value=size / 1024 / 1024,
                value2=MAX_BYTES // 1024 // 1024,
            )
            raise unreadable(path, read, say("give the report alone, without attachments or raw data"))
        data = path.read_bytes()
    except UnreadableFile:
        raise
    except OSError as error:
        reason = (
            say("no such file")
            if isinstance(error, FileNotFoundError)
            else say("it cannot be opened ({strerror})", strerror=error.strerror)
        )
        raise unreadable(path, reason, say("check the name and the folder")) from error
    except ValueError as error:
        raise unreadable(
            Path(say("the name given")[:]), say("a file name that cannot be used"), say("check the name")
        ) from error
    if not data.strip(b"\0 \t\r\n\x0b\x0c\xef\xbb\xbf\xff\xfe"):
        raise unreadable(path, say("nothing: the file is empty"), say("ask the laboratory to send it again"))
    return data


def _kind_of(data: bytes) -> str:
    if data[:1024].lstrip().startswith(b"%PDF") or b"%PDF-" in data[:1024]:
        return "pdf"
    if data.startswith((b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
        return "workbook"
    pictures = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"II*\0", b"MM\0*", b"BM", b"RIFF")
    if data.startswith(pictures) and b"\0" in data[:200]:
        return "picture"
    return "text"


def _check_size(path: Path, document: Document) -> None:
    count = sum(1 for grid in document.grids for row in grid.rows for cell in row if cell.text)
    if count > MAX_CELLS:
        raise unreadable(
            path,
            say("{count} filled cells", count=count),
            say("give a report of at most {max_cells} cells", max_cells=MAX_CELLS),
        )
    if not count:
        raise unreadable(
            path, say("nothing: every sheet and line is empty"), say("ask the laboratory to send it again")
        )


def _read_workbook(path: Path, data: bytes) -> Document:
    """Read every sheet of an XLSX, XLS or ODS workbook."""
    import io

    from python_calamine import CalamineWorkbook

    findings = _unpacked_size_checked(path, data)
    with foreign_reader(path, say("a workbook")):
        percents = _percent_cells(data)
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        grids = []
        for name in book.sheet_names:
            sheet = book.get_sheet_by_name(name)
            values = sheet.to_python(skip_empty_area=False)
            rows = tuple(
                tuple(_sheet_cell(value, r, c, (name, r, c) in percents) for c, value in enumerate(row, 1))
                for r, row in enumerate(values, 1)
            )
            grids.append(Grid(rows, path.name, sheet=name, lettered=True))
    return Document(path.name, tuple(grids), findings)


def _unpacked_size_checked(path: Path, data: bytes) -> tuple[Finding, ...]:
    """Refuse archives that would unpack to more than is sensible, or whose sheets span a vast empty area."""
    import io

    if not data.startswith(b"PK"):
        return (_unseen_formats(path),)
    from loamery.lab.workbook_area import area, percent_in_ods

    with foreign_reader(path, say("an archive")), zipfile.ZipFile(io.BytesIO(data)) as archive:
        if sum(info.file_size for info in archive.infolist()) > 10 * MAX_BYTES:
            raise unreadable(path, say("a workbook that unpacks to a vast size"), say("give the report sheet alone"))
        if area(archive) > 10 * MAX_CELLS:
            raise unreadable(
                path, say("a sheet with cells very far apart"), say("delete what stands outside the report")
            )
        if percent_in_ods(archive):
            read = say("cells shown as percentages, which this format does not let us tell from plain numbers")
            raise unreadable(path, read, say("save it as XLSX or CSV, or show the cells as plain numbers"))
    return ()


def _unseen_formats(path: Path) -> Finding:
    return Finding(
        "cell_formats_unseen",
        "note",
        say("This older workbook format hides whether a cell is shown as a percentage."),
        say(
            "{name} is an XLS workbook; a cell that shows 2 % may be read as 0.02. Compare a value or save it as XLSX.",
            name=path.name,
        ),
    )


def _percent_cells(data: bytes) -> frozenset[tuple[str, int, int]]:
    """Return sheet, row and column of every number that an XLSX workbook shows as a percentage."""
    import io

    from loamery.lab.workbook_area import has_percent_style

    if not data.startswith(b"PK") or not has_percent_style(data):
        return frozenset()
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    return frozenset(
        (sheet.title, cell.row, cell.column)
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, int | float) and "%" in str(cell.number_format)
    )


def _sheet_cell(value: object, row: int, column: int, percent: bool) -> Cell:
    if isinstance(value, bool) or value is None:
        return Cell("" if value is None else str(value).upper(), row, column)
    if isinstance(value, int | float):
        number = float(value) * 100 if percent else float(value)
        if percent:
            number = float(f"{number:.13g}")
        return Cell(f"{number:.15g}" + (" %" if percent else ""), row, column, number, percent)
    if isinstance(value, datetime):
        return Cell(value.date().isoformat(), row, column, date=value.date())
    if isinstance(value, date):
        return Cell(value.isoformat(), row, column, date=value)
    return Cell(str(value).strip(), row, column)
