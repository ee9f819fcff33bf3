"""A card: one page with a title, a chart or two and a few points, as a slide (PDF) or as a picture (PNG), wide or square."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Literal

from loamery.evidence.chart import Chart
from loamery.say import ENGLISH, told

Shape = Literal["wide", "square"]
SHAPES: dict[Shape, str] = {"wide": "16x9", "square": "square"}
"""Shapes with the ending of their files; a wide card is 960 by 540 points, a square one 720 by 720."""
ROOM: dict[Shape, tuple[float, float]] = {"wide": (892.0, 350.0), "square": (652.0, 500.0)}
"""About what a card leaves to its picture, width and height in points."""
PPI = 120.0
WORDS = ("title", "foot", "kind", "line", "caption", "banner")
"""What of a card is read, beside its points and charts."""


@dataclass(frozen=True)
class Card:
    """What stands on a card.

    Parameters
    ----------
    kind : above the title; line : under it; points : what to take from it; foot : where it comes from. language : of the words.
    """

    title: str
    charts: Sequence[Chart]
    foot: str
    day: str
    kind: str = ""
    line: str = ""
    points: Sequence[str] = ()
    caption: str = ""
    banner: str = ""
    language: str = ENGLISH

    def in_language(self, language: str) -> Card:
        """Return the same card with its words and charts in a language."""
        words = {one: told(getattr(self, one), language) for one in WORDS}
        points = [told(one, language) for one in self.points]
        charts = [one.in_language(language) for one in self.charts]
        return replace(self, **words, points=points, charts=charts, language=language)


def chart_for(chart: Chart, shape: Shape) -> Chart:
    """Return a chart, or what stands in for it on a slide or a phone, whichever a card shows larger."""
    if shape == "wide" and chart.slide is not None:
        return chart.slide
    if chart.phone is None:
        return chart
    return max((chart, chart.phone), key=lambda one: _shown(one, shape))


def _shown(chart: Chart, shape: Shape) -> tuple[float, float]:
    """Return how much larger than drawn a card shows a chart, and how much of its room the chart then fills."""
    width, height = _size(chart)
    scale = min(ROOM[shape][0] / width, ROOM[shape][1] / height)
    return round(scale, 1), scale * scale * width * height


def card_png(card: Card, shape: Shape) -> bytes:
    """Return a card as PNG, 1600 by 900 pixels or 1200 by 1200."""
    return _made(card, shape, "png")


def card_pdf(card: Card, shape: Shape = "wide") -> bytes:
    """Return a card as PDF of one page, with tags and alternative texts (PDF/UA-1)."""
    return _made(card, shape, "pdf")


def _made(card: Card, shape: Shape, form: Literal["png", "pdf"]) -> bytes:
    import typst

    with tempfile.TemporaryDirectory() as made, as_file(files("loamery.evidence")) as package:
        folder = Path(made)
        (folder / "charts").mkdir()
        data = {**{key: getattr(card, key) for key in (*WORDS, "day", "language")},
                "points": list(card.points), "shape": shape, "charts": [_written(one, folder) for one in card.charts]}  # fmt: skip
        (folder / "card.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        template = (package / "templates" / "card.typ").read_text(encoding="utf-8")
        (folder / "card.typ").write_text(template, encoding="utf-8")
        more: dict[str, Any] = (
            {"format": "png", "ppi": PPI} if form == "png" else {"format": "pdf", "pdf_standards": "ua-1"}
        )
        done = typst.compile(
            str(folder / "card.typ"),
            root=str(folder),
            font_paths=[str(package / "fonts")],
            ignore_system_fonts=True,
            **more,
        )
    if not isinstance(done, bytes):
        raise TypeError("a card runs over one page")
    return done


def _written(chart: Chart, folder: Path) -> dict[str, object]:
    (folder / "charts" / f"{chart.key}.svg").write_text(chart.svg(), encoding="utf-8")
    width, height = _size(chart)
    return {"key": chart.key, "alt": chart.alt, "width": width, "height": height}


def _size(chart: Chart) -> tuple[float, float]:
    """Return width and height of a picture, px."""
    width, height = re.findall(r' (?:width|height)="([\d.]+)"', chart.svg())[:2]
    return float(width), float(height)
