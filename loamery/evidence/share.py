"""The share pack: every chart as SVG, as pictures for a slide and a phone, with its data, its words and its sources."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from pathlib import Path

from loamery.evidence.card import SHAPES, Card, Shape, card_png, chart_for
from loamery.evidence.chart import Chart, to_csv
from loamery.evidence.text import day_text
from loamery.reference import source, sources
from loamery.saving import save_bytes, save_text
from loamery.say import ENGLISH, Verbatim, joined, say, told, uncapital

INVENTED = say("Invented, to show how it works")
MOST_LETTERS = 270
"""Of a caption on a card: two lines of a wide one, three of a square one."""


@dataclass(frozen=True)
class Pack:
    """Charts to be shared.

    Parameters
    ----------
    name : of the garden, in the foot of every picture; invented : said on every picture. language : of the words; the charts
        are in it already.
    """

    name: str
    charts: Sequence[Chart]
    invented: bool
    day: date
    language: str = ENGLISH

    def told(self, text: str) -> str:
        """Return a text in the language of the pack."""
        return told(text, self.language)

    @property
    def made(self) -> str:
        """Return whose the pack is and how it was made."""
        return self.told(say("{garden}, {day}. Made with Loamery.", garden=Verbatim(self.name), day=day_text(self.day)))

    def foot(self, chart: Chart) -> str:
        """Return what stands under a picture: whose it is, and the first of its sources."""
        cited = source_lines(chart, self.language)
        if not cited:
            return self.made
        more = [say("{count} more in the pack", count=len(cited) - 2)] if len(cited) > 2 else []
        named = joined("; ", [*(Verbatim(_short(one)) for one in cited[:2]), *more])
        return f"{self.made} " + self.told(say("Sources: {named}.", named=named))


def _short(citation: str) -> str:
    return citation if len(citation) <= 70 else citation[:67].rsplit(" ", 1)[0] + " …"


def source_lines(chart: Chart, language: str = ENGLISH) -> list[str]:
    """Return the citations of a chart, each with a mark where the figure was recalled and not re-read."""
    found = [source(key) for key in dict.fromkeys(chart.sources) if key in sources()]
    recalled = told(say(" (recalled, not re-read)"), language)
    return [one.citation + ("" if one.read == "found" else recalled) for one in found]


def write_pack(pack: Pack, folder: Path, tell: Callable[[str], None] = lambda _: None) -> list[Path]:
    """Write the share pack and return the paths.

    Parameters
    ----------
    folder : gets KEY.svg, KEY-16x9.png, KEY-square.png, KEY.csv and KEY.txt for every chart, index.html to look
        through them, and charts.csv that lists them.
    """
    written: list[Path] = []
    for chart in pack.charts:
        tell(say("drawing {chart}", chart=uncapital(chart.title)))
        written += [
            save_text(folder / f"{chart.key}.svg", chart.svg()),
            save_text(folder / f"{chart.key}.csv", chart.csv()),
        ]
        written += [
            save_bytes(folder / f"{chart.key}-{ending}.png", card_png(_card(chart, pack, shape), shape))
            for shape, ending in SHAPES.items()
        ]
        written.append(save_text(folder / f"{chart.key}.txt", words_of(chart, pack)))
    written.append(save_text(folder / "charts.csv", to_csv(list(_listed(pack)))))
    return [*written, save_text(folder / "index.html", index_page(pack))]


def _card(chart: Chart, pack: Pack, shape: Shape) -> Card:
    shown = chart_for(chart, shape)
    return Card(
        chart.title, (shown,), pack.foot(chart), pack.day.isoformat(), caption=_brief(shown.caption),
        banner=pack.told(INVENTED) if pack.invented else "", language=pack.language,
    )  # fmt: skip


def _brief(caption: str) -> str:
    """Return the first sentences of a caption, as many as stand on a card."""
    if len(caption) <= MOST_LETTERS:
        return caption
    kept = ""
    for one in caption.split(". "):
        if kept and len(kept) + len(one) > MOST_LETTERS:
            break
        kept += ("" if not kept else " ") + one.rstrip(".") + "."
    return kept


def words_of(chart: Chart, pack: Pack) -> str:
    """Return the words that go with a picture: title, alternative text, caption, sources."""
    found = source_lines(chart, pack.language) or [pack.told(say("the garden's own records"))]
    alternative = pack.told(say("Alternative text: {text}", text=Verbatim(chart.alt)))
    lines = [chart.title, "", alternative, "", chart.caption, ""]
    lines += [pack.told(say("Sources:")), *(f"- {one}" for one in found)]
    lines += ["", pack.made + (f" {pack.told(INVENTED)}." if pack.invented else "")]
    return "\n".join(lines) + "\n"


def _listed(pack: Pack) -> Iterable[dict[str, object]]:
    for one in pack.charts:
        yield {
            "key": one.key,
            "title": one.title,
            "alternative_text": one.alt,
            "caption": one.caption,
            "sources": "; ".join(source_lines(one, pack.language)),
            "rows": len(one.data),
        }


def index_page(pack: Pack) -> str:
    """Return a page that shows every chart with its words, and where its files are; no script, nothing fetched."""
    figures = "".join(_figure(one, pack) for one in pack.charts)
    banner = f"<p class='mark'>{escape(pack.told(INVENTED))}</p>" if pack.invented else ""
    title = escape(pack.told(say("Charts of {garden}", garden=Verbatim(pack.name))))
    lead = say(
        "{count} charts of {day}. Each as a picture for a slide (16:9) and for a phone (square), as SVG, and its figures as CSV.",
        count=len(pack.charts),
        day=day_text(pack.day),
    )
    return f"""<!doctype html><html lang="{pack.language}"><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">
<title>{title}</title><style>{STYLE}</style><main><h1>{title}</h1>{banner}
<p>{escape(pack.told(lead))}</p>
<div class="all">{figures}</div></main></html>
"""


def _figure(chart: Chart, pack: Pack) -> str:
    key = escape(chart.key)
    links = (
        (f"{key}-16x9.png", "16:9"),
        (f"{key}-square.png", pack.told(say("square"))),
        (f"{key}.svg", "SVG"),
        (f"{key}.csv", pack.told(say("figures"))),
        (f"{key}.txt", pack.told(say("words"))),
    )
    files = " ".join(f'<a href="{name}">{escape(word)}</a>' for name, word in links)
    return (
        f'<figure><a href="{key}-16x9.png"><img src="{key}-16x9.png" loading="lazy" width="1600" height="900" alt="{escape(chart.alt)}"></a>'
        f"<figcaption><strong>{escape(chart.title)}</strong><br>{files}</figcaption></figure>"
    )


STYLE = (
    "body{font:17px/1.5 Karla,system-ui,sans-serif;margin:0;color:#22302b;background:#fdfdfb}main{max-width:72rem;margin:auto;padding:1rem}"
    ".all{display:grid;gap:1.5rem;grid-template-columns:repeat(auto-fill,minmax(min(100%,22rem),1fr))}figure{margin:0}"
    "img{width:100%;height:auto;border:1px solid #d5dcd8}a{color:#1d6a57;display:inline-block;padding:.2rem .4rem .2rem 0}"
    ".mark{background:#1d6a57;color:#fff;padding:.4rem .7rem;font-weight:bold}"
)
