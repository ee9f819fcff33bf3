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
from loamery.evidence.text import Units, day_text, share_text
from loamery.finding import Band, Finding, Ledger
from loamery.heap.mulch_limit import MulchLimit
from loamery.saving import save_text
from loamery.season.worm_feeding import Feeding

FIRST = {
    "airless": "it runs short of air",
    "heats": "it heats",
    "seals": "it keeps the rain out",
    "none": "nothing happens up to the thickest",
}


def mulch_page(
    found: MulchLimit, findings: Sequence[Finding], units: Units, *, on: date | None = None, invented: bool = False
) -> Page:
    """Return the sheet of a mulch."""
    most = "more than " if found.limit.median >= found.depths_m[-1] - 1e-9 else ""
    order = sorted(((share, key) for key, share in found.first.items() if share > 0.0), reverse=True)
    lead = (
        "At most ", Say(f"{most}{units.amount(found.limit.median, 'depth')}", strong=True),
        f" (90 % band {units.amount(found.limit.low, 'depth')} to {units.amount(found.limit.high, 'depth')}). First, ",
        ", ".join(f"{FIRST[key]} in {share_text(share)} of runs" for share, key in order) + ".",
    )  # fmt: skip
    charts = [*([depth_chart(found, units)] if found.table else []), fault_chart(found, units)]
    parts: list[Block] = [Para(lead, "lead"), *(Figure(one) for one in charts)]
    sections = [Section("How thick it may lie", "depth", parts), _care(findings)]
    return _page("Mulch", " + ".join(found.materials), sections, on, invented)


def worms_page(
    fed: Sequence[tuple[Feeding, Sequence[str]]], findings: Sequence[Finding], units: Units,
    *, on: date | None = None, invented: bool = False,
) -> Page:  # fmt: skip
    """Return the sheet of worm beds, one section for each bed and feed."""
    sections = []
    for place, (one, names) in enumerate(fed, start=1):
        key, charts = f"worms-{place}", (feed_chart, warmth_chart, moisture_chart, single_chart, castings_chart)
        lead = (
            "Now at most ", Say(_mass(one.per_feeding, units), strong=True), f" every {one.days:g} days; the tightest limit is {one.limits[0].name}: {one.limits[0].because}. "
            f"In the weeks ahead {units.mass(min(one.weekly_kg))} to {units.mass(max(one.weekly_kg))} a week keep it in the range of the worms in most runs.",
        )  # fmt: skip
        rows = [(limit.name, _mass(limit.kg, units), limit.because) for limit in one.limits]
        table = Table(
            "What limits a feeding now, tightest first",
            (Column("Limit"), Column("At most", "right", wide=1.4), Column("Because", wide=3)),
            rows,
        )
        parts: list[Block] = [Para(lead), *(Figure(chart(one, units, key)) for chart in charts), table]
        sections.append(Section(f"{one.name}: {' + '.join(names)}", key, parts))
    return _page("Worm beds", "Feeding and castings", [*sections, _care(findings)], on, invented)


def _mass(one: Band, units: Units) -> str:
    if one.median == float("inf"):
        return "no limit"
    if one.high == float("inf"):
        return f"{units.mass(one.median)} ({units.mass(one.low)} or more)"
    band = f" ({units.mass(one.low)} to {units.mass(one.high)})" if one.high > one.low else ""
    return f"{units.mass(one.median)}{band}"


def _care(findings: Sequence[Finding]) -> Section:
    return Section("Take care", "care", [Notice(one) for one in findings])


def _page(kind: str, title: str, sections: Sequence[Section], on: date | None, invented: bool) -> Page:
    day = on or date.today()
    sheet = Sheet(
        kind=kind, title=title, lines=[f"Sheet of {day_text(day)}."],
        banner="Invented: this garden and its numbers are made up to show how it works." if invented else "",
        day=day.isoformat(), foot=f"{title} · {day_text(day)} · Loamery" + (" · invented" if invented else ""),
        sections=sections, appendix=False,
    )  # fmt: skip
    return Page(sheet, Follow(Ledger()))


def write_layers(page: Page, folder: Path, name: str) -> list[Path]:
    """Write a sheet as NAME.html, and its charts as SVG with their data as CSV; return the paths."""
    check_folder(folder)
    return [save_text(folder / f"{name}.html", html_page(page)), *write_charts(page, folder / "charts")]
