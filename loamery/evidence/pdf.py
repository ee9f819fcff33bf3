"""A sheet as a printed document: accessible PDF set by typst, offline."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Literal

from loamery.evidence.page import Page

STANDARD: Literal["ua-1"] = "ua-1"
"""PDF/UA-1: every picture has words, every heading is tagged."""
SIZE_PT = 9.6
SHORT_PAGES, SMALLER_PT = 4, (9.2, 8.8)
ONE_PAGE_SIZES_PT = (10.4, 9.9, 9.4, 8.8, 8.2, 7.6, 7.1)
"""Sizes of type tried, in this order, until a sheet of one page fits on it."""


def pdf_page(page: Page) -> bytes:
    """Return a sheet as PDF, or the sheet of one page that stands in for it on paper."""
    if page.paper is not None:
        return pdf_one_page(page.paper)
    with _laid_out(page, compact=False) as work:
        made = work.pdf(SIZE_PT)
        count = _page_count(made)
        if not 1 < count <= SHORT_PAGES:
            return made
        # a short sheet is set a little smaller where that saves its last page
        smaller = (work.pdf(size) for size in SMALLER_PT)
        return next((one for one in smaller if _page_count(one) < count), made)


def pdf_one_page(page: Page) -> bytes:
    """Return a sheet as PDF of one page, in the largest type that fits; in the smallest, it may run over."""
    with _laid_out(page.paper or page, compact=True) as work:
        return work.pdf(_fitting(work, ONE_PAGE_SIZES_PT))


class _Work:
    """A folder with everything typst needs."""

    def __init__(self, folder: Path, fonts: Path) -> None:
        import typst

        self._compiler = typst.Compiler(
            str(folder / "sheet.typ"), root=str(folder), font_paths=[str(fonts)], ignore_system_fonts=True
        )

    def pdf(self, size_pt: float) -> bytes:
        """Return the document in a size of type."""
        made = self._compiler.compile(sys_inputs={"size": str(size_pt)}, pdf_standards=STANDARD, format="pdf")
        if not isinstance(made, bytes):
            raise TypeError("typst gave no single document")
        return made


def _fitting(work: _Work, sizes: Sequence[float]) -> float:
    return next((size for size in sizes if _page_count(work.pdf(size)) <= 1), sizes[-1])


def _page_count(pdf: bytes) -> int:
    found = re.search(rb"/Type\s*/Pages\b.*?/Count\s+(\d+)|/Count\s+(\d+).{0,80}?/Type\s*/Pages\b", pdf, re.S)
    return int(found.group(1) or found.group(2)) if found else 0


@contextmanager
def _laid_out(page: Page, *, compact: bool) -> Iterator[_Work]:
    """Write template, data and pictures into a folder of their own."""
    with tempfile.TemporaryDirectory() as made, as_file(files("loamery.evidence")) as package:
        folder = Path(made)
        sizes = _write_charts(page, folder / "charts")
        data = {**page.data, "compact": compact, "sections": _sized(page.data["sections"], sizes)}
        (folder / "sheet.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        template = (package / "templates" / "sheet.typ").read_text(encoding="utf-8")
        (folder / "sheet.typ").write_text(template, encoding="utf-8")
        yield _Work(folder, package / "fonts")


def _write_charts(page: Page, folder: Path) -> dict[str, tuple[float, float]]:
    """Write the pictures and return their widths and heights, px."""
    folder.mkdir()
    sizes = {}
    for key, chart in {**page.charts, **page.printed}.items():
        svg = chart.svg()
        (folder / f"{key}.svg").write_text(svg, encoding="utf-8")
        width, height = re.findall(r' (?:width|height)="([\d.]+)"', svg)[:2]
        sizes[key] = (float(width), float(height))
    return sizes


def _sized(value: Any, sizes: dict[str, tuple[float, float]]) -> Any:
    """Return the data with the natural size beside every figure."""
    if isinstance(value, list):
        return [_sized(one, sizes) for one in value]
    if not isinstance(value, dict):
        return value
    more = dict(zip(("width", "height"), sizes[value["key"]], strict=True)) if value.get("block") == "figure" else {}
    return {key: _sized(one, sizes) for key, one in value.items()} | more
