"""A sheet as one self-contained web page: no script, nothing fetched."""

from __future__ import annotations

import base64
from importlib.resources import files

from loamery.evidence.page import Page
from loamery.evidence.palette import FONT

FACES = (("Karla-Regular.otf", 400, "normal"), ("Karla-Bold.otf", 700, "normal"), ("Karla-Italic.otf", 400, "italic"))
"""Shipped font files with weight and style (SIL Open Font License, see fonts/OFL.txt)."""


def html_page(page: Page) -> str:
    """Return a sheet as one HTML document with its style, fonts and pictures in it."""
    from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("loamery.evidence", "templates"),
        autoescape=select_autoescape(["html.j2"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    style = _faces() + files("loamery.evidence").joinpath("templates", "sheet.css").read_text(encoding="utf-8")
    pictures = {key: chart.svg() for key, chart in page.charts.items()}
    return environment.get_template("sheet.html.j2").render(page=page.data, style=Markup(style), pictures=pictures)


def _faces() -> str:
    return "".join(_face(*one) for one in FACES)


def _face(name: str, weight: int, style: str) -> str:
    data = base64.b64encode(files("loamery.evidence").joinpath("fonts", name).read_bytes()).decode()
    return (
        f"@font-face{{font-family:{FONT};font-weight:{weight};font-style:{style};font-display:swap;"
        f"src:url(data:font/otf;base64,{data}) format('opentype')}}\n"
    )
