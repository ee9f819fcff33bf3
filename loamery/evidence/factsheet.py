"""The fact sheet of a material: one page on paper, and a web page with everything behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.block import Block, Para, Section, Sheet
from loamery.evidence.follow import Follow
from loamery.evidence.materials import label_traces, material_parts, worth_line
from loamery.evidence.page import Page
from loamery.evidence.report import FORMATS, Progress, check_folder, check_formats, write_charts
from loamery.evidence.text import Units, day_text, listing
from loamery.finding import Finding, Ledger, by_severity
from loamery.garden.model import USES, Garden
from loamery.garden.report import LabReport
from loamery.lab.composition import Composition
from loamery.lab.published import kind_row
from loamery.saving import save_bytes
from loamery.season.traces import composition_traces

INVENTED = "Invented: the reports and numbers on this sheet are made up to show how it works."


def fact_page(
    composition: Composition,
    reports: Sequence[LabReport],
    garden: Garden | None,
    *,
    brief: bool,
    on: date | None = None,
) -> Page:
    """Return the fact sheet of a material as plain data with its charts.

    Parameters
    ----------
    reports : its laboratory reports, none when there is none yet.
    garden : whose names, units and limits apply; None for a material of the reference data by itself.
    brief : for one printed page: no appendix of traces, sources in small.
    on : date printed on the sheet; today when None.
    """
    name, day = _name(composition, garden), on or date.today()
    units = Units(garden.info.units if garden else "metric")
    ledger = Ledger()
    if not brief:
        ledger.merge(label_traces(reports))
        ledger.merge(composition_traces(composition, name))
    parts: list[Block] = [Para(worth_line(composition), "lead")]
    uses = [*_uses(composition, garden), "collect", "store"]
    parts += material_parts(
        composition, name, reports, garden, units, uses, _findings(composition, reports), brief=brief
    )
    invented = any(one.invented for one in reports) or bool(garden and garden.info.invented)
    sheet = Sheet(
        kind="Fact sheet of a material",
        title=name,
        lines=[_what(composition, reports, garden, day)],
        banner=INVENTED if invented else "",
        day=day.isoformat(),
        foot=f"{name} · fact sheet · {day_text(day)} · Loamery" + (" · invented" if invented else ""),
        sections=[Section("What it is worth", "worth", parts)],
        appendix=not brief,
    )
    return Page(sheet, Follow(ledger))


def write_fact_sheet(
    composition: Composition,
    reports: Sequence[LabReport],
    garden: Garden | None,
    folder: Path,
    *,
    formats: Sequence[str] = FORMATS,
    on: date | None = None,
    progress: Progress | None = None,
) -> list[Path]:
    """Write the fact sheet of a material and return the paths written.

    Parameters
    ----------
    folder : gets material-NAME.html and .pdf, and charts/ with the chart as SVG and its data as CSV.
    formats : ``html``, ``pdf`` or both.

    Raises
    ------
    InputError : an unknown format, or a folder that cannot be written to.
    """
    from loamery.evidence.html import html_page
    from loamery.evidence.pdf import pdf_one_page

    wanted = check_formats(formats)
    check_folder(folder)
    (progress or (lambda _: None))(f"writing the fact sheet of {_name(composition, garden).lower()}")
    page = fact_page(composition, reports, garden, brief=False, on=on)
    made: dict[str, bytes] = {}
    if "html" in wanted:
        made["html"] = html_page(page).encode("utf-8")
    if "pdf" in wanted:
        made["pdf"] = pdf_one_page(fact_page(composition, reports, garden, brief=True, on=on))
    written = [save_bytes(folder / f"material-{composition.material}.{one}", made[one]) for one in wanted]
    return written + write_charts(page, folder / "charts")


def _name(composition: Composition, garden: Garden | None) -> str:
    if garden is not None and any(one.id == composition.material for one in garden.materials):
        return garden.material(composition.material).name
    return kind_row(composition.kind)["name"]


def _uses(composition: Composition, garden: Garden | None) -> Sequence[str]:
    if garden is not None and any(one.id == composition.material for one in garden.materials):
        return garden.material(composition.material).uses
    return USES


def _findings(composition: Composition, reports: Sequence[LabReport]) -> list[Finding]:
    found = (*composition.findings, *(each for report in reports for each in report.findings))
    return by_severity({(one.code, one.text): one for one in found}.values())


def _what(composition: Composition, reports: Sequence[LabReport], garden: Garden | None, day: date) -> str:
    sampled = [one.sampled_on for one in reports if one.sampled_on]
    samples = f" Sampled {listing(sampled)}." if sampled else ""
    place = f" Garden: {garden.info.name}." if garden else ""
    return f"{kind_row(composition.kind)['name']}.{samples}{place} Sheet of {day_text(day)}."
