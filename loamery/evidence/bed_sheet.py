"""The sheet of one gift to one bed: what it does in plain words, pictures, tables, cautions; and its JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from loamery.bed.answer import BedAnswer
from loamery.evidence.bed_words import SMALL_N, answer_tables, in_short
from loamery.evidence.block import Block, Column, Figure, Items, Notice, Para, Section, Sheet, Table
from loamery.evidence.charts_gift import ceilings_picture, soil_picture, total_picture, weekly_picture, years_picture
from loamery.evidence.follow import Follow
from loamery.evidence.html import html_page
from loamery.evidence.page import Page
from loamery.evidence.report import check_folder, write_charts
from loamery.evidence.text import INVENTED, Units, day_text
from loamery.finding import Band, Finding, Ledger
from loamery.garden.model import Bed
from loamery.saving import save_text
from loamery.say import ENGLISH, joined, say


def bed_page(
    answer: BedAnswer, title: str, bed: str, findings: Sequence[Finding], units: Units, *, invented: bool = False, on: date | None = None
) -> Page:  # fmt: skip
    """Return the sheet of a gift to a bed.

    Parameters
    ----------
    title : what is given and how. on : date printed on it; today when None.
    """
    day = on or date.today()
    charts = [soil_picture(answer), years_picture(answer, units)]
    if max(max(-one.low, one.high) for one in answer.total) >= SMALL_N:
        charts = [weekly_picture(answer, units), total_picture(answer, units), *charts]
    ceilings = ceilings_picture(answer, units)
    pictures: list[Block] = [Figure(one) for one in [*charts, *([ceilings] if ceilings else [])]]
    tables: list[Block] = [
        Table(name, tuple(Column(one, "right" if place else "left") for place, one in enumerate(head)), [tuple(row) for row in rows])
        for name, head, rows in answer_tables(answer, units) if rows
    ]  # fmt: skip
    given = sum(answer.question.kg_m2)
    sheet = Sheet(
        kind=say("Bed"),
        title=say("{gift}: {bed}", gift=title, bed=bed),
        lines=[say("Given on {given_on}, {given}; {weeks} weeks foreseen. Sheet of {day}.", given_on=day_text(answer.question.day), given=units.amount(given, "rate"), weeks=len(answer.weeks) - answer.question.week, day=day_text(day))],
        banner=INVENTED if invented else "",
        day=day.isoformat(),
        foot=joined(" · ", (bed, title, day_text(day), "Loamery")) + (say(" · invented") if invented else ""),
        sections=[
            Section(say("In short"), "short", [Items(in_short(answer, units)), *[Notice(one) for one in findings if one.severity != "note"]]),
            Section(say("Week by week"), "weeks", pictures),
            Section(say("In figures"), "figures", tables),
            Section(say("Good to know"), "know", [Para(say("Medians with 90 % bands of many runs: the material, the weather and the model's numbers are drawn anew in each. A soil test a year later says more than any model.")), *[Notice(one) for one in findings if one.severity == "note"]]),
        ],
        appendix=False,
    )  # fmt: skip
    return Page(sheet, Follow(Ledger()))


def write_bed(
    answer: BedAnswer, title: str, bed: str, findings: Sequence[Finding], units: Units, folder: Path,
    *, invented: bool = False, language: str = ENGLISH,
) -> list[Path]:  # fmt: skip
    """Write the sheet as bed.html and its charts as SVG with their data as CSV; return the paths."""
    check_folder(folder)
    page = bed_page(answer, title, bed, findings, units, invented=invented).in_language(language)
    return [save_text(folder / "bed.html", html_page(page)), *write_charts(page, folder / "charts")]


def as_dict(answer: BedAnswer, title: str, bed: Bed) -> dict[str, object]:
    """Return an answer ready for JSON."""
    return {
        "title": title,
        "bed": {"id": bed.id, "name": bed.name, "area_m2": bed.area_m2, "texture": bed.texture},
        "given": [
            {"material": one.matter.name, "kg_m2": kg, "on_surface": one.on_surface}
            for one, kg in zip(answer.question.portions, answer.question.kg_m2, strict=True)
        ],
        "day": answer.question.day.isoformat(),
        "draws": answer.question.numbers.draws,
        "nitrogen": {
            "season": answer.season.as_dict(), "held": answer.brought["N"].as_dict(), "lowest": answer.lowest.as_dict(),
            "lowest_week": answer.lowest_week, "back_week": answer.back_week, "drawing_share": answer.drawing_share,
            "leached": answer.leached.as_dict(), "volatilised": answer.volatilised.as_dict(),
        },
        "weeks": [
            {
                "ends": day.isoformat(), "net": net.as_dict(), "total": total.as_dict(), "crops_ask": asked,
                "taken_with": with_it, "taken_without": without, "ph": ph.as_dict(), "ec": ec.as_dict(),
            }
            for day, net, total, asked, with_it, without, ph, ec in zip(answer.weeks, answer.net, answer.total, answer.asked, answer.taken_with, answer.taken_without, answer.ph_course, answer.ec_course, strict=True)
        ],
        "ph": {"before": answer.ph_before, "change": answer.ph_change.as_dict(), "moved": answer.ph_moved.as_dict()},
        "salt": {"before": answer.ec_before, "peak": answer.ec_peak.as_dict(), "yields": _bands(answer.yields)},
        "years": {key: [one.as_dict() for one in course] for key, course in answer.years.items()},
        "brought": _bands(answer.brought),
        "ceilings": [
            {"key": one.ceiling.key, "load": one.load.as_dict(), "limit_kg_m2": one.ceiling.limit_kg_m2, "share": one.share, "because": one.ceiling.because}
            for one in answer.reaches
        ],
        "decayed": answer.decayed.as_dict(),
    }  # fmt: skip


def _bands(found: Mapping[str, Band]) -> dict[str, object]:
    return {key: one.as_dict() for key, one in found.items()}
