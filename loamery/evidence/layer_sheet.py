"""The sheets of a mulch and of worm beds: pictures, limits and cautions as a web page with its charts beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.block import Block, Column, Figure, Notice, Para, Say, Section, Sheet, Table
from loamery.evidence.charts_layers import (
    castings_chart,
    depth_chart,
    fault_chart,
    feed_chart,
    moisture_chart,
    single_chart,
    warmth_chart,
)
from loamery.evidence.follow import Follow
from loamery.evidence.html import html_page
from loamery.evidence.page import Page
from loamery.evidence.report import check_folder, write_charts
from loamery.evidence.text import INVENTED, Units, day_text, share_text
from loamery.finding import Band, Finding, Ledger
from loamery.heap.mulch_limit import MulchLimit
from loamery.saving import save_text
from loamery.say import joined, say
from loamery.season.worm_feeding import Feeding

FIRST = {
    "airless": say("it runs short of air"),
    "heats": say("it heats"),
    "seals": say("it keeps the rain out"),
    "none": say("nothing happens up to the thickest"),
}


def mulch_page(
    found: MulchLimit, findings: Sequence[Finding], units: Units, *, on: date | None = None, invented: bool = False
) -> Page:
    """Return the sheet of a mulch."""
    most, low, high = (units.amount(one, "depth") for one in (found.limit.median, found.limit.low, found.limit.high))
    over = found.limit.median >= found.depths_m[-1] - 1e-9
    order = sorted(((share, key) for key, share in found.first.items() if share > 0.0), reverse=True)
    lead = (
        say("At most "), Say(say("more than {depth}", depth=most) if over else most, strong=True),
        say(" (90 % band {low} to {high}). First, ", low=low, high=high),
        joined(", ", (say("{what} in {share} of runs", what=FIRST[key], share=share_text(share)) for share, key in order)) + ".",
    )  # fmt: skip
    charts = [*([depth_chart(found, units)] if found.table else []), fault_chart(found, units)]
    parts: list[Block] = [Para(lead, "lead"), *(Figure(one) for one in charts)]
    sections = [Section(say("How thick it may lie"), "depth", parts), _care(findings)]
    return _page(say("Mulch"), joined(" + ", found.materials), sections, on, invented)


def worms_page(
    fed: Sequence[tuple[Feeding, Sequence[str]]], findings: Sequence[Finding], units: Units,
    *, on: date | None = None, invented: bool = False,
) -> Page:  # fmt: skip
    """Return the sheet of worm beds, one section for each bed and feed."""
    sections = []
    for place, (one, names) in enumerate(fed, start=1):
        key, charts = f"worms-{place}", (feed_chart, warmth_chart, moisture_chart, single_chart, castings_chart)
        lead = (
            say("Now at most "), Say(_mass(one.per_feeding, units), strong=True),
            say(
                " every {days:g} days; the tightest limit is {name}: {because}. In the weeks ahead {low} to {high} a week keep it in the range of the worms in most runs.",
                days=one.days, name=one.limits[0].name, because=one.limits[0].because, low=units.mass(min(one.weekly_kg)), high=units.mass(max(one.weekly_kg)),
            ),
        )  # fmt: skip
        rows = [(limit.name, _mass(limit.kg, units), limit.because) for limit in one.limits]
        table = Table(
            say("What limits a feeding now, tightest first"),
            (Column(say("Limit")), Column(say("At most"), "right", wide=1.4), Column(say("Because"), wide=3)),
            rows,
        )
        parts: list[Block] = [Para(lead), *(Figure(chart(one, units, key)) for chart in charts), table]
        sections.append(Section(say("{bed}: {feed}", bed=one.name, feed=joined(" + ", names)), key, parts))
    return _page(say("Worm beds"), say("Feeding and castings"), [*sections, _care(findings)], on, invented)


def _mass(one: Band, units: Units) -> str:
    if one.median == float("inf"):
        return say("no limit")
    middle, low = units.mass(one.median), units.mass(one.low)
    if one.high == float("inf"):
        return say("{middle} ({low} or more)", middle=middle, low=low)
    return (
        say("{middle} ({low} to {high})", middle=middle, low=low, high=units.mass(one.high))
        if one.high > one.low
        else middle
    )


def _care(findings: Sequence[Finding]) -> Section:
    return Section(say("Take care"), "care", [Notice(one) for one in findings])


def _page(kind: str, title: str, sections: Sequence[Section], on: date | None, invented: bool) -> Page:
    day = on or date.today()
    sheet = Sheet(
        kind=kind, title=title, lines=[say("Sheet of {day}.", day=day_text(day))],
        banner=INVENTED if invented else "",
        day=day.isoformat(), foot=say("{title} · {day} · Loamery", title=title, day=day_text(day)) + (say(" · invented") if invented else ""),
        sections=sections, appendix=False,
    )  # fmt: skip
    return Page(sheet, Follow(Ledger()))


def write_layers(page: Page, folder: Path, name: str) -> list[Path]:
    """Write a sheet as NAME.html, and its charts as SVG with their data as CSV; return the paths."""
    check_folder(folder)
    return [save_text(folder / f"{name}.html", html_page(page)), *write_charts(page, folder / "charts")]
