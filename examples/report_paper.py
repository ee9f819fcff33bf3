"""The paper that invented laboratory reports are printed on: workbooks and PDF pages with the same bytes every time.

Used by examples/make_demo_reports.py and tests/lab/make_samples.py. Layouts are our own: no form is copied.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

FIXED_TIME = (2026, 11, 2, 9, 0, 0)
FIXED_STAMP = b"2026-11-02T09:00:00Z"
LEFT_PT, TOP_PT, LINE_PT = 56.0, 780.0, 16.0
Cells = Sequence[Sequence[Any]]


def fill(sheet: Worksheet, rows: Cells, *, row: int = 1, column: int = 1, bold_first: bool = False) -> None:
    """Write rows of cells into a sheet from a corner; None leaves a cell blank."""
    for down, cells in enumerate(rows):
        for across, value in enumerate(cells):
            if value is None:
                continue
            cell = sheet.cell(row=row + down, column=column + across, value=value)
            if bold_first and down == 0:
                cell.font = Font(bold=True)


def widen(sheet: Worksheet, width: float = 18.0) -> None:
    """Give every used column the same comfortable width."""
    for number in range(1, sheet.max_column + 1):
        sheet.column_dimensions[get_column_letter(number)].width = width


def save_workbook(book: Workbook, path: Path) -> None:
    """Write a workbook whose bytes depend neither on the clock nor on a compressor's version."""
    raw = io.BytesIO()
    book.save(raw)
    with zipfile.ZipFile(raw) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            body = old.read(name)
            if name == "docProps/core.xml":
                body = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", FIXED_STAMP, body)
            new.writestr(zipfile.ZipInfo(name, FIXED_TIME), body)


def save_sheets(path: Path, sheets: Mapping[str, Cells]) -> None:
    """Write a workbook of plain sheets, each a block of cells from A1."""
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        fill(sheet, rows)
        widen(sheet)
    save_workbook(book, path)


class Page:
    """A PDF written from the top down: heading lines, then tables with or without rules."""

    def __init__(self, path: Path, title: str) -> None:
        self.canvas = Canvas(str(path), pagesize=A4, invariant=1, pageCompression=0)
        self.canvas.setTitle(title)
        self.canvas.setSubject("invented laboratory report")
        self.y = TOP_PT

    def lines(self, texts: Sequence[str], *, size: float = 10.0, bold: bool = False) -> None:
        """Print lines of text."""
        for text in texts:
            self.canvas.setFont("Helvetica-Bold" if bold else "Helvetica", size)
            self.canvas.drawString(LEFT_PT, self.y, text)
            self.y -= LINE_PT

    def table(self, rows: Cells, widths: Sequence[float], *, ruled: bool) -> None:
        """Print a table; ruled draws every cell, otherwise columns are told apart by position alone."""
        top = self.y
        for number, cells in enumerate(rows):
            self.canvas.setFont("Helvetica-Bold" if number == 0 else "Helvetica", 9.0)
            for index, value in enumerate(cells):
                text = "" if value is None else str(value)
                self.canvas.drawString(LEFT_PT + sum(widths[:index]) + 4, self.y - 11, text)
            self.y -= LINE_PT
        if ruled:
            edges = [LEFT_PT + sum(widths[:n]) for n in range(len(widths) + 1)]
            self.canvas.grid(edges, [top - LINE_PT * n for n in range(len(rows) + 1)])
        self.y -= LINE_PT

    def next_page(self) -> None:
        """Begin another page."""
        self.canvas.showPage()
        self.y = TOP_PT

    def save(self) -> None:
        """Close the document."""
        self.canvas.save()
