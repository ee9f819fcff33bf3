"""The sheet of one heap: pictures, what comes of it, hygiene, as a web page with its charts beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.block import Block, Column, Figure, Items, Notice, Para, Say, Section, Sheet, Table
from loamery.evidence.charts_heap import heat_picture, oxygen_picture, warmest_chart
from loamery.evidence.follow import Follow
from loamery.evidence.heap_tables import days_band, facts, remedy_rows, rule_lines, share_band
from loamery.evidence.html import html_page
from loamery.evidence.page import Page
from loamery.evidence.report import check_folder, write_charts
from loamery.evidence.text import INVENTED, Units, day_text
from loamery.finding import Finding, Ledger
from loamery.heap.forecast import Forecast
from loamery.heap.readings import Reading
from loamery.heap.remedies import Remedy
from loamery.saving import save_text
from loamery.say import joined, say

JUDGED = say(
    "Held against every part of the heap, not the middle alone; turning is taken to mix it fully. A model is no proof: a thermometer and the "
    "local rules decide."
)
TRIED = say(
    "The same heap, changed and run again: share of the matter that keeps each rule, 90 % band of a smaller ensemble."
)


def heap_page(
    told: Forecast, title: str, findings: Sequence[Finding], units: Units,
    *, tried: Sequence[Remedy] = (), readings: Sequence[Reading] = (), words: Sequence[str] = (), invented: bool = False, on: date | None = None,
) -> Page:  # fmt: skip
    """Return the sheet of a heap.

    Parameters
    ----------
    tried : what changes would do for hygiene.
    words : what readings changed, in sentences.
    on : date printed on it; today when None.
    """
    day = on or date.today()
    charts = [heat_picture(told, units), warmest_chart(told, units, readings), oxygen_picture(told, units)]
    pictures: list[Block] = [Figure(one) for one in charts]
    after: list[Block] = [Table("", (Column(""), Column("")), [tuple(one) for one in facts(told, units)])]
    if words:
        after.append(Items(list(words)))
    sheet = Sheet(
        kind=say("Heap"),
        title=title,
        lines=[say("Built {built}; {days:.0f} days foreseen. Sheet of {day}.", built=day_text(told.plan.start), days=told.day[-1], day=day_text(day))],
        banner=INVENTED if invented else "",
        day=day.isoformat(),
        foot=say("{title} · heap · {day} · Loamery", title=title, day=day_text(day)) + (say(" · invented") if invented else ""),
        sections=[
            Section(say("What happens inside"), "inside", pictures),
            Section(say("What comes of it"), "after", after),
            Section(say("Hygiene"), "hygiene", hygiene_blocks(told, tried, units)),
            Section(say("Take care"), "care", [Notice(one) for one in findings]),
        ],
        appendix=False,
    )  # fmt: skip
    return Page(sheet, Follow(Ledger()))


def hygiene_blocks(told: Forecast, tried: Sequence[Remedy], units: Units) -> list[Block]:
    """Return how much of a heap keeps each rule of hygiene, and what would bring more of it through the heat."""
    rows = [
        (
            (Say(one.asks, strong=True), Say(joined(" ", ("", one.laws)), soft=True)),
            share_band(one.share), days_band(one.coldest), f"{one.met:.0%}",
        )
        for one in rule_lines(told, units)
    ]  # fmt: skip
    columns = (
        Column(say("Rule"), wide=2.4), Column(say("Of the matter"), "right"), Column(say("Coldest part, days"), "right"),
        Column(say("All of it, in runs"), "right", wide=0.7),
    )  # fmt: skip
    out: list[Block] = [Para(JUDGED), Table(say("How much keeps each rule (90 % band)"), columns, rows)]
    if tried:
        head, changes = remedy_rows(told, tried, units)
        cells = (Column(say("Change"), wide=1.6), *(Column(one, "right") for one in head[1:]))
        out.append(Table(say("What would bring more of it through the heat"), cells, changes, TRIED))
    return out


def write_heap(page: Page, folder: Path) -> list[Path]:
    """Write the sheet of a heap as heap.html, and its charts as SVG with their data as CSV; return the paths."""
    check_folder(folder)
    return [save_text(folder / "heap.html", html_page(page)), *write_charts(page, folder / "charts")]
