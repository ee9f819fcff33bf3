"""Tables of a PDF: ruled ones as ruled, the rest from where the words stand on the page."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from loamery.lab.tables import MAX_PAGES, TYPE_IT_IN, Cell, Document, Grid, foreign_reader, unreadable
from loamery.lab.text_tables import Chunk, aligned_rows
from loamery.say import say

_SAME_CELL = 0.65
"""Words nearer than this share of the letter height belong to one cell: a blank is 0.25 to 0.6 of it."""
_SAME_LINE = 0.5
"""Words whose tops differ by less than this share of the letter height stand in one line."""


def read_pdf(path: Path, data: bytes) -> Document:
    """Return the grids of a PDF, in reading order.

    Raises
    ------
    UnreadableFile : encrypted, damaged, too many pages, or pictures only (a scan).
    """
    import logging

    import pdfplumber
    from pdfminer.pdfdocument import PDFPasswordIncorrect
    from pdfplumber.utils.exceptions import PdfminerException

    # what it says of damaged fonts and boxes is of no use to a gardener
    logging.getLogger("pdfminer").setLevel(logging.CRITICAL)
    grids: list[Grid] = []
    with foreign_reader(path, say("a PDF")):
        try:
            with pdfplumber.open(io.BytesIO(data)) as pdf:
                if len(pdf.pages) > MAX_PAGES:
                    raise unreadable(
                        path,
                        say("{count} pages", count=len(pdf.pages)),
                        say("give at most {max_pages} pages", max_pages=MAX_PAGES),
                    )
                for number, page in enumerate(pdf.pages, 1):
                    grids += _page_grids(path.name, number, page)
        except PdfminerException as error:
            if any(isinstance(part, PDFPasswordIncorrect) for part in error.args):
                raise unreadable(
                    path, say("a PDF locked with a password"), say("save it without the password")
                ) from error
            raise
    if not any(cell.text for grid in grids for row in grid.rows for cell in row):
        read = say("a PDF without any text, most likely a scan")
        raise unreadable(path, read, say("a scanned PDF cannot be read: {type_it_in}", type_it_in=TYPE_IT_IN))
    return Document(path.name, tuple(grids))


def _page_grids(file: str, number: int, page: Any) -> list[Grid]:
    """Return ruled tables and runs of lines of one page, from top to bottom."""
    tables = [one for one in page.find_tables() if len(one.rows) and max(len(row.cells) for row in one.rows) > 1]
    placed: list[tuple[float, Grid]] = []
    for one in tables:
        rows = tuple(
            tuple(Cell(" ".join((text or "").split()), r, c) for c, text in enumerate(row, 1))
            for r, row in enumerate(one.extract(), 1)
        )
        placed.append((one.bbox[1], Grid(rows, file, page=number)))
    lines = _lines(page, [one.bbox for one in tables])
    for run in _runs(lines, [top for top, _ in placed]):
        rows, aligned = aligned_rows([(at, chunks) for at, _, chunks in run])
        placed.append((run[0][1], Grid(rows, file, page=number, aligned=aligned)))
    return [grid for _, grid in sorted(placed, key=lambda pair: pair[0])]


def _lines(page: Any, boxes: Sequence[tuple[float, float, float, float]]) -> list[tuple[int, float, list[Chunk]]]:
    """Return the lines outside the ruled tables: number, top and chunks."""
    words = [word for word in page.extract_words(use_text_flow=False) if not _inside(word, boxes)]
    words.sort(key=lambda word: (word["top"], word["x0"]))
    lines: list[list[dict[str, Any]]] = []
    for word in words:
        height = max(1.0, word["bottom"] - word["top"])
        if lines and abs(lines[-1][0]["top"] - word["top"]) < _SAME_LINE * height:
            lines[-1].append(word)
        else:
            lines.append([word])
    return [(at, line[0]["top"], _line_chunks(line)) for at, line in enumerate(lines, 1)]


def _inside(word: dict[str, Any], boxes: Sequence[tuple[float, float, float, float]]) -> bool:
    middle_x, middle_y = (word["x0"] + word["x1"]) / 2, (word["top"] + word["bottom"]) / 2
    return any(x0 <= middle_x <= x1 and top <= middle_y <= bottom for x0, top, x1, bottom in boxes)


def _line_chunks(line: list[dict[str, Any]]) -> list[Chunk]:
    chunks: list[Chunk] = []
    for word in sorted(line, key=lambda one: one["x0"]):
        height = max(1.0, word["bottom"] - word["top"])
        if chunks and word["x0"] - chunks[-1][1] < _SAME_CELL * height:
            start, _, text = chunks[-1]
            chunks[-1] = (start, word["x1"], f"{text} {word['text']}")
        else:
            chunks.append((word["x0"], word["x1"], word["text"]))
    return chunks


def _runs(
    lines: Sequence[tuple[int, float, list[Chunk]]], tops: Sequence[float]
) -> list[list[tuple[int, float, list[Chunk]]]]:
    """Return the lines cut into runs wherever a ruled table stands between them."""
    runs: list[list[tuple[int, float, list[Chunk]]]] = []
    for line in lines:
        if runs and not any(runs[-1][-1][1] < top <= line[1] for top in tops):
            runs[-1].append(line)
        else:
            runs.append([line])
    return runs
