"""The season report: assembled from a plan, written as a web page, a PDF, and its charts with their data."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path

from loamery.errors import InputError, Where
from loamery.evidence.beds import beds_section
from loamery.evidence.block import Sheet
from loamery.evidence.chores import chores_section
from loamery.evidence.closing import cautions_section, method_section
from loamery.evidence.explained import explained_sections
from loamery.evidence.follow import Follow
from loamery.evidence.foreseen import foreseen_sections
from loamery.evidence.heaps import heaps_section
from loamery.evidence.materials import label_traces, materials_section
from loamery.evidence.opening import first_section, picture_section
from loamery.evidence.page import Page
from loamery.evidence.picture import stuff_swatches
from loamery.evidence.text import Units, day_text
from loamery.reference import table
from loamery.saving import save_bytes, save_text
from loamery.say import ENGLISH, say
from loamery.season.explained import Explained
from loamery.season.foresee import Foreseen, foresee
from loamery.season.plan import SeasonPlan

FORMATS = ("html", "pdf")
INVENTED = say("Invented: this garden, its donors, its reports and all its numbers are made up to show how it works.")
Progress = Callable[[str], None]


def season_page(
    plan: SeasonPlan, on: date | None = None, foreseen: Foreseen | None = None, explained: Explained | None = None
) -> Page:
    """Return the season report as plain data with its charts.

    Parameters
    ----------
    on : date printed on the report; today when None.
    foreseen : what the heap model says of the plan (`loamery.season.foresee`); left out of the report when None.
    explained : what there is to say about the plan (`loamery.season.explained`); left out of the report when None.
    """
    units, looks = Units(plan.garden.info.units), stuff_swatches(plan)
    info, day = plan.garden.info, on or date.today()
    rules = next(row["name"] for row in table("jurisdictions") if row["key"] == info.jurisdiction)
    sheet = Sheet(
        kind=say("Season plan"),
        title=info.name,
        lines=[
            *([info.place] if info.place else []),
            say(
                "{start} to {end}, {weeks} weeks. Report of {day}.",
                start=day_text(plan.calendar.start),
                end=day_text(plan.calendar.end),
                weeks=plan.calendar.weeks,
                day=day_text(day),
            ),
            say("Limits of: {rules}.", rules=rules),
        ],
        banner=INVENTED if info.invented else "",
        day=day.isoformat(),
        foot=say("{name} · season plan · {day} · Loamery", name=info.name, day=day_text(day))
        + (say(" · invented") if info.invented else ""),
        sections=[
            first_section(plan, units),
            picture_section(plan, looks, units),
            chores_section(plan, units),
            beds_section(plan, looks, units),
            heaps_section(plan, units),
            *(foreseen_sections(foreseen, units) if foreseen else ()),
            *(explained_sections(explained, info.currency) if explained else ()),
            materials_section(plan, units),
            cautions_section(plan),
            method_section(plan),
        ],
    )
    ledger = label_traces(one for reports in plan.reports.values() for one in reports)
    ledger.merge(plan.ledger)
    return Page(sheet, Follow(ledger))


def write_report(
    plan: SeasonPlan,
    folder: Path,
    *,
    formats: Sequence[str] = FORMATS,
    on: date | None = None,
    foreseen: Foreseen | None = None,
    explained: Explained | None = None,
    language: str = ENGLISH,
    progress: Progress | None = None,
) -> list[Path]:
    """Write the season report and return the paths written.

    Parameters
    ----------
    folder : gets season.html, season.pdf and charts/ with every chart as SVG and its data as CSV.
    formats : ``html``, ``pdf`` or both.
    on : date printed on the report; today when None.
    foreseen : what the heap model says of the plan; worked out when None.
    explained : what there is to say about the plan; left out when None.
    language : of the words in it.
    progress : told, in a few words, what is being done.

    Raises
    ------
    InputError : an unknown format, or a folder that cannot be written to.
    """
    wanted = check_formats(formats)
    tell = progress or (lambda _: None)
    check_folder(folder)
    foreseen = foreseen or foresee(plan, tell)
    tell("drawing charts")
    page = season_page(plan, on, foreseen, explained).in_language(language)
    made = {one: render(page, one, tell) for one in wanted}
    written = [save_bytes(folder / f"season.{one}", content) for one, content in made.items()]
    return written + write_charts(page, folder / "charts")


def render(page: Page, one: str, tell: Progress) -> bytes:
    """Return a sheet in one format."""
    from loamery.evidence.html import html_page
    from loamery.evidence.pdf import pdf_page

    if one == "html":
        tell("writing the web page")
        return html_page(page).encode("utf-8")
    tell("setting the PDF")
    return pdf_page(page)


def write_charts(page: Page, folder: Path) -> list[Path]:
    """Write every chart as SVG and its data as CSV, and return the paths."""
    out = []
    for key, chart in page.charts.items():
        out += [save_text(folder / f"{key}.svg", chart.svg()), save_text(folder / f"{key}.csv", chart.csv())]
    return out


def check_formats(formats: Iterable[str], known: Sequence[str] = FORMATS) -> list[str]:
    """Return the formats asked for, each once.

    Raises
    ------
    InputError : one is not known, or there is none.
    """
    wanted = list(dict.fromkeys(formats))
    if unknown := [one for one in wanted if one not in known] or ([""] if not wanted else []):
        raise InputError(
            say("format “{unknown}”", unknown=unknown[0]),
            expected=say("one or more of ") + ", ".join(known),
            remedy=say("ask for html, pdf or both"),
        )
    return wanted


def check_folder(folder: Path) -> None:
    """Refuse a place that is a file before any work is done.

    Raises
    ------
    InputError : something that is not a folder has that name.
    """
    blocking = next((one for one in (folder, *folder.parents) if one.exists()), None)
    if blocking is not None and not blocking.is_dir():
        raise InputError(
            say("it is a file"),
            where=Where(file=str(blocking)),
            expected=say("a folder, or a name nothing has yet"),
            remedy=say("name another folder; nothing was changed"),
        )
