"""A chart: its picture, its words and its data, drawn without a browser and without the network."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from html import escape
from importlib.resources import as_file, files
from typing import Any

from loamery.evidence.palette import FONT, INK, LINE, SOFT
from loamery.say import COMMA_LANGUAGES, ENGLISH, told, told_all

Row = Mapping[str, object]


@dataclass(frozen=True)
class Chart:
    """One chart.

    Parameters
    ----------
    key : file name without ending, unique in a report.
    title : what it shows, in a few words.
    alt : what a person who cannot see it needs to know.
    caption : how to read it.
    sources : source keys of the figures in it.
    spec : Vega-Lite specification with its data in it.
    data : the figures, one row each, as in the CSV file.
    wide : needs the whole width of a page and scrolls on a narrow screen.
    phone : stands in for it on a card that shows it larger, for a small screen. slide : stands in for it on a wide card.
    """

    key: str
    title: str
    alt: str
    caption: str
    sources: tuple[str, ...]
    spec: Mapping[str, Any] = field(repr=False)
    data: tuple[Row, ...] = field(repr=False)
    wide: bool = False
    phone: Chart | None = field(default=None, repr=False)
    slide: Chart | None = field(default=None, repr=False)

    def taller(self, height: float) -> Chart:
        """Return the same picture so many px high, for a square card."""
        return replace(self, spec={**self.spec, "height": height})

    def in_language(self, language: str) -> Chart:
        """Return the same chart with its words and numbers in a language; its data stay."""
        title, alt, caption = (told(one, language) for one in (self.title, self.alt, self.caption))
        phone, slide = (one and one.in_language(language) for one in (self.phone, self.slide))
        spec = _in_language(self.spec, language)
        return replace(self, title=title, alt=alt, caption=caption, spec=spec, phone=phone, slide=slide)

    def svg(self) -> str:
        """Return the picture as SVG with its alternative text in it."""
        return _svg(self)

    def png(self, scale: float = 2.0) -> bytes:
        """Return the picture as PNG."""
        import vl_convert

        _fonts()
        return bytes(vl_convert.vegalite_to_png(dict(self.spec), scale=scale, allowed_base_urls=[]))

    def csv(self) -> str:
        """Return the data as CSV, cells that a spreadsheet would run as a formula made harmless."""
        return to_csv(self.data)


def _in_language(spec: Mapping[str, Any], language: str) -> dict[str, Any]:
    """Return a specification with its words told, and the numbers and months along its axes as a language writes them."""
    if language == ENGLISH:
        return dict(spec)
    told_spec = dict(told_all(spec, language))
    config = told_spec.get("config", {})
    locale: dict[str, Any] = {"time": _times(language)}
    if language in COMMA_LANGUAGES:
        locale["number"] = {
            "decimal": ",",
            "thousands": "\u202f",
            "grouping": [3],
            "currency": ["", ""],
            "percent": "\u00a0%",
        }
    return {**told_spec, "config": {**config, "locale": locale}}


def _times(language: str) -> dict[str, Any]:
    """Return how a language names months along an axis; days of the week stand on none."""
    whole, short = (
        [told(f"{date(2027, month, 1):{form}}", language) for month in range(1, 13)] for form in ("%B", "%b")
    )
    days = [f"{date(2027, 2, day):%a}" for day in range(7, 14)]
    forms = {"dateTime": "%-d %B %Y %H:%M", "date": "%-d %B %Y", "time": "%H:%M", "periods": ["", ""]}
    return {**forms, "days": days, "shortDays": days, "months": whole, "shortMonths": short}


def make_chart(layers: Any, *, width: float, height: float, **words: Any) -> Chart:
    """Return a chart from altair layers; `words` are the other parameters of `Chart`."""
    sized = layers.properties(width=width, height=height) if width else layers
    return Chart(spec={**sized.to_dict(validate=False), "config": _CONFIG}, **words)


_CONFIG: dict[str, Any] = {
    "background": None,
    "font": FONT,
    "aria": False,
    "padding": 4,
    "view": {"stroke": None},
    "axis": {
        "labelColor": SOFT,
        "labelFontSize": 11,
        "titleColor": SOFT,
        "titleFontSize": 11,
        "titleFontWeight": "normal",
        "domainColor": LINE,
        "tickColor": LINE,
        "gridColor": LINE,
        "labelFont": FONT,
        "titleFont": FONT,
    },
    "text": {"font": FONT, "fontSize": 11, "color": INK},
    "legend": {"labelColor": INK, "titleColor": SOFT, "labelFontSize": 11, "titleFontSize": 11, "symbolType": "square"},
    "title": {"color": INK, "fontSize": 12, "anchor": "start"},
}


@cache
def _fonts() -> None:
    import vl_convert

    with as_file(files("loamery.evidence").joinpath("fonts")) as folder:
        vl_convert.register_font_directory(str(folder))


@cache
def _drawn(spec: str) -> str:
    import vl_convert

    _fonts()
    return str(vl_convert.vegalite_to_svg(spec, allowed_base_urls=[]))


def _svg(chart: Chart) -> str:
    import json

    drawn = _drawn(json.dumps(chart.spec, sort_keys=True))
    size = re.search(r'<svg[^>]*?width="([\d.]+)"[^>]*?height="([\d.]+)"', drawn)
    width, height = size.groups() if size else ("640", "320")
    body = drawn[drawn.index(">") + 1 :].replace('id="', f'id="{chart.key}-').replace("url(#", f"url(#{chart.key}-")
    body = re.sub(r' class="[^"]*"', "", body)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(chart.alt)}" '
        f'viewBox="0 0 {width} {height}" width="{width}" height="{height}">'
    )
    return f"{head}<title>{escape(chart.title)}</title>{body}"


def to_csv(rows: Sequence[Row]) -> str:
    """Return rows as CSV with the header of the first; text that starts a formula gets an apostrophe."""
    out = io.StringIO()
    names = list(dict.fromkeys(name for row in rows for name in row))
    writer = csv.DictWriter(out, names, lineterminator="\n")
    writer.writeheader()
    writer.writerows({name: _cell(value) for name, value in row.items()} for row in rows)
    return out.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t"):
        return "'" + value
    return f"{value:.6g}" if isinstance(value, float) else value
