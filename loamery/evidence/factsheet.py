"""The fact sheet of a material: one page on paper, and a web page with everything behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.block import Block, Column, Figure, Grid, Items, Para, Say, Section, Sheet, Table
from loamery.evidence.card import Card, card_pdf
from loamery.evidence.cautions import cautions_for as caution_findings
from loamery.evidence.chart import Chart
from loamery.evidence.charts_compare import compare_chart
from loamery.evidence.charts_material import composition_chart
from loamery.evidence.effects_here import Here, effects_here, how_to_use
from loamery.evidence.follow import Follow
from loamery.evidence.materials import label_traces, material_parts, worth_line
from loamery.evidence.page import Page
from loamery.evidence.report import Progress, check_folder, check_formats, write_charts
from loamery.evidence.text import Units, day_text, listing
from loamery.finding import Finding, Ledger, by_severity
from loamery.garden.model import USES, Garden
from loamery.garden.report import LabReport
from loamery.lab.composition import Composition
from loamery.lab.published import kind_row
from loamery.saving import save_bytes
from loamery.say import ENGLISH, joined, say
from loamery.season.traces import composition_traces

FACT_FORMATS = ("html", "pdf", "slide")
INVENTED = say("Invented: the reports and numbers on this sheet are made up to show how it works.")


def fact_page(
    composition: Composition,
    reports: Sequence[LabReport],
    garden: Garden | None,
    *,
    brief: bool,
    on: date | None = None,
    here: Here | None = None,
) -> Page:
    """Return the fact sheet of a material as plain data with its charts.

    Parameters
    ----------
    reports : its laboratory reports, none when there is none yet.
    garden : whose names, units and limits apply; None for a material of the reference data by itself.
    brief : for one printed page: no appendix of traces, sources in small.
    on : date printed on the sheet; today when None.
    here : what the sheet needs to know of the garden to say what the material may do there.
    """
    name, day = _name(composition, garden), on or date.today()
    units = Units(garden.info.units if garden else "metric")
    ledger = Ledger()
    if not brief:
        ledger.merge(label_traces(reports))
        ledger.merge(composition_traces(composition, name))
    parts: list[Block] = [Para(worth_line(composition), "lead")]
    if here is not None:
        parts += _here_parts(composition, name, here, units, brief=brief)
    uses = [*_uses(composition, garden), "collect", "store"]
    parts += material_parts(
        composition, name, reports, garden, units, uses, _findings(composition, reports), brief=brief
    )
    invented = any(one.invented for one in reports) or bool(garden and garden.info.invented)
    sheet = Sheet(
        kind=say("Fact sheet of a material"),
        title=name,
        lines=[_what(composition, reports, garden, day)],
        banner=INVENTED if invented else "",
        day=day.isoformat(),
        foot=say("{name} · fact sheet · {day} · Loamery", name=name, day=day_text(day)) + (say(" · invented") if invented else ""),
        sections=[Section(say("What it is worth, and what it may do here") if here else say("What it is worth"), "worth", parts)],
        appendix=not brief,
    )  # fmt: skip
    return Page(sheet, Follow(ledger))


def _here_parts(composition: Composition, name: str, here: Here, units: Units, *, brief: bool) -> list[Block]:
    """Return what a material may do in this garden, how it may be used, and how it stands beside others."""
    effects = effects_here(here, composition, units)
    rows = [(Say(one.what, strong=True), one.says, one.limit) for one in effects]
    columns = (
        Column(say("What"), wide=1.25),
        Column(say("What it may do"), wide=3.0),
        Column(say("Limit here"), wide=1.6),
    )
    table = Table(say("In {garden}", garden=here.garden.info.name), columns, rows)
    use = Items([(Say(say("Use. "), strong=True), joined(" ", how_to_use(here, effects, units)))])
    return [Grid([Figure(_compared(composition, name, here), brief=brief), table]), use]


def _compared(composition: Composition, name: str, here: Here) -> Chart:
    names = {one.id: one.name for one in here.garden.materials}
    return compare_chart(composition, name, {key: (names[key], one) for key, one in here.beside.items()}, here.bought)


def fact_card(composition: Composition, reports: Sequence[LabReport], here: Here, on: date | None = None) -> Card:
    """Return the fact sheet of a material as one slide."""
    garden, name, day = here.garden, _name(composition, here.garden), on or date.today()
    units = Units(garden.info.units)
    effects = effects_here(here, composition, units)
    points = [say("{what}: {limit}", what=one.what, limit=one.limit) for one in effects if one.limit][:3]
    grave = [
        one.text for one in caution_findings(composition.kind, _uses(composition, garden)) if one.severity != "note"
    ]
    charts = (composition_chart(composition, name, units), _compared(composition, name, here))
    rests = (
        say("1 laboratory report and published ranges")
        if len(reports) == 1
        else say("{count} laboratory reports and published ranges", count=len(reports))
        if reports
        else say("published ranges only, no laboratory report yet")
    )
    foot = say(
        "{garden}, {day}. Rests on {rests}; sources on the sheet. Made with Loamery.",
        garden=garden.info.name,
        day=day_text(day),
        rests=rests,
    )
    return Card(
        name, charts, foot, day.isoformat(),
        kind=say("Fact sheet of a material"), line=worth_line(composition), points=[*points, *grave[:1]], banner=INVENTED if garden.info.invented else "",
    )  # fmt: skip


def write_fact_sheet(
    composition: Composition,
    reports: Sequence[LabReport],
    garden: Garden | None,
    folder: Path,
    *,
    formats: Sequence[str] = ("html", "pdf"),
    on: date | None = None,
    progress: Progress | None = None,
    here: Here | None = None,
    language: str = ENGLISH,
) -> list[Path]:
    """Write the fact sheet of a material and return the paths written.

    Parameters
    ----------
    folder : gets material-NAME.html, .pdf and -slide.pdf, and charts/ with the charts as SVG and their data as CSV.
    formats : ``html``, ``pdf``, ``slide`` (16:9, needs `here`), one or more of them.
    here : what the sheet needs to know of the garden to say what the material may do there.
    language : of the words in it.

    Raises
    ------
    InputError : an unknown format, or a folder that cannot be written to.
    """
    from loamery.evidence.html import html_page
    from loamery.evidence.pdf import pdf_one_page

    wanted = check_formats(formats, FACT_FORMATS)
    check_folder(folder)
    (progress or (lambda _: None))(say("writing the fact sheet of {name}", name=_name(composition, garden).lower()))
    page = fact_page(composition, reports, garden, brief=False, on=on, here=here).in_language(language)
    made: dict[str, bytes] = {}
    if "html" in wanted:
        made["html"] = html_page(page).encode("utf-8")
    if "pdf" in wanted:
        brief = fact_page(composition, reports, garden, brief=True, on=on, here=here)
        made["pdf"] = pdf_one_page(brief.in_language(language))
    written = [
        save_bytes(folder / f"material-{composition.material}.{one}", made[one]) for one in wanted if one in made
    ]
    if "slide" in wanted and here is not None:
        slide = card_pdf(fact_card(composition, reports, here, on).in_language(language))
        written.append(save_bytes(folder / f"material-{composition.material}-slide.pdf", slide))
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
    told = [say("{kind}.", kind=kind_row(composition.kind)["name"])]
    told += [say("Sampled {days}.", days=listing(sampled))] if sampled else []
    told += [say("Garden: {garden}.", garden=garden.info.name)] if garden else []
    return joined(" ", [*told, say("Sheet of {day}.", day=day_text(day))])
