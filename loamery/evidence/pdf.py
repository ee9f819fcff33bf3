"""A sheet as a printed document: accessible PDF set by typst, offline."""

from __future__ import annotations

import json
import re
import tempfile
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Literal

from loamery.evidence.page import Page

STANDARD: Literal["ua-1"] = "ua-1"
"""PDF/UA-1: every picture has words, every heading is tagged."""


def pdf_page(page: Page, *, compact: bool = False) -> bytes:
    """Return a sheet as PDF.

    Parameters
    ----------
    compact : smaller type and no page breaks between parts, for a sheet of one page.
    """
    import typst

    with tempfile.TemporaryDirectory() as made, as_file(files("loamery.evidence")) as package:
        folder = Path(made)
        sizes = _write_charts(page, folder / "charts")
        data = {**page.data, "compact": compact, "sections": _sized(page.data["sections"], sizes)}
        (folder / "sheet.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        template = (package / "templates" / "sheet.typ").read_text(encoding="utf-8")
        (folder / "sheet.typ").write_text(template, encoding="utf-8")
        made_pdf = typst.compile(
            str(folder / "sheet.typ"),
            root=str(folder),
            font_paths=[str(package / "fonts")],
            ignore_system_fonts=True,
            pdf_standards=STANDARD,
        )
    return bytes(made_pdf)


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
    if isinstance(value, dict):
        more = (
            dict(zip(("width", "height"), sizes[value["key"]], strict=True)) if value.get("block") == "figure" else {}
        )
        return {key: _sized(one, sizes) for key, one in value.items()} | more
    return value
