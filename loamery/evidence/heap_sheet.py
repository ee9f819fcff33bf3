"""The sheet of one heap: pictures, what comes of it, hygiene, as a web page with its charts beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.block import Block, Column, Figure, Items, Notice, Para, Section, Sheet, Table
from loamery.evidence.charts_heap import heat_picture, oxygen_picture, warmest_chart
from loamery.evidence.follow import Follow
from loamery.evidence.html import html_page
from loamery.evidence.page import Page
from loamery.evidence.report import check_folder, write_charts
from loamery.evidence.text import Units, day_text, share_text
from loamery.finding import Finding, Ledger
from loamery.heap.forecast import Forecast
from loamery.heap.readings import Reading
from loamery.saving import save_text


def heap_page(
    told: Forecast, title: str, facts: Sequence[tuple[str, str]], findings: Sequence[Finding], units: Units,
    *, readings: Sequence[Reading] = (), words: Sequence[str] = (), invented: bool = False, on: date | None = None,
) -> Page:  # fmt: skip
    """Return the sheet of a heap.

    Parameters
    ----------
    facts : what comes of it, as (what, how much) in the person's units.
    words : what readings changed, in sentences.
    on : date printed on it; today when None.
    """
    day = on or date.today()
    charts = [heat_picture(told, units), warmest_chart(told, units, readings), oxygen_picture(told, units)]
    pictures: list[Block] = [Figure(one) for one in charts]
    after: list[Block] = [Table("", (Column(""), Column("")), [tuple(one) for one in facts])]
    if words:
        after.append(Items(list(words)))
    rules = [(one.rule.words, one.state, share_text(one.share), one.needs or "–") for one in told.hygiene]
    columns = (
        Column("rule", wide=2.0),
        Column("median run"),
        Column("share of the matter", "right"),
        Column("what would meet it", wide=2.0),
    )
    sheet = Sheet(
        kind="Heap",
        title=title,
        lines=[f"Built {day_text(told.plan.start)}; {told.day[-1]:.0f} days foreseen. Sheet of {day_text(day)}."],
        banner="Invented: this garden and its numbers are made up to show how it works." if invented else "",
        day=day.isoformat(),
        foot=f"{title} · heap · {day_text(day)} · Loamery" + (" · invented" if invented else ""),
        sections=[
            Section("What happens inside", "inside", pictures),
            Section("What comes of it", "after", after),
            Section("Hygiene", "hygiene", [Para("Held against every cell of the heap, not the middle alone. A model is no proof: a thermometer and the local rules decide."), Table("", columns, rules)]),
            Section("Take care", "care", [Notice(one) for one in findings]),
        ],
        appendix=False,
    )  # fmt: skip
    return Page(sheet, Follow(Ledger()))


def write_heap(page: Page, folder: Path) -> list[Path]:
    """Write the sheet of a heap as heap.html, and its charts as SVG with their data as CSV; return the paths."""
    check_folder(folder)
    return [save_text(folder / "heap.html", html_page(page)), *write_charts(page, folder / "charts")]
