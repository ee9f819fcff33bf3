"""The sheet of laboratory tests: which one next, for how much, what it is worth to the plan and how far it narrows it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.block import Block, Column, Facts, Figure, Fold, Items, Line, Para, Say, Section, Sheet, Table
from loamery.evidence.charts_explained import movers_chart, spares_chart, tests_chart
from loamery.evidence.explained import next_test_words, test_columns, test_note
from loamery.evidence.follow import Follow
from loamery.evidence.page import Page
from loamery.evidence.report import FORMATS, check_folder, check_formats, render, write_charts
from loamery.evidence.text import INVENTED, day_text, share_text
from loamery.finding import Ledger
from loamery.garden.model import Garden
from loamery.saving import save_bytes
from loamery.say import ENGLISH, Verbatim, joined, say
from loamery.season.lab_tests import WorthOfTest
from loamery.season.shadow import Spare
from loamery.season.which_test import NextTests
from loamery.words import number

MOST_ROWS = 10


def tests_page(garden: Garden, found: NextTests, spares: Sequence[Spare] = (), on: date | None = None) -> Page:
    """Return the sheet of laboratory tests of a garden.

    Parameters
    ----------
    spares : what one more of this or that would spare. on : date printed on it; today when None.
    """
    info, day = garden.info, on or date.today()
    sheet = Sheet(
        kind=say("Laboratory tests"),
        title=say("Which test next? {garden}", garden=Verbatim(info.name)),
        lines=[say("Weighed in {draws} seasons that may come. Sheet of {day}.", draws=found.draws, day=day_text(day))],
        banner=INVENTED if info.invented else "",
        day=day.isoformat(),
        foot=joined(
            " · ",
            [
                Verbatim(info.name),
                say("laboratory tests"),
                day_text(day),
                "Loamery",
                *([say("invented")] if info.invented else []),
            ],
        ),
        sections=[
            _first(found, info.currency),
            *([_all_tests(found, info.currency)] if found.tests else []),
            *([_more(spares)] if spares else []),
            Section(say("Good to know"), "know", [Para(test_note(found, info.currency))]),
        ],
        appendix=False,
    )
    return Page(sheet, Follow(Ledger()))


def _first(found: NextTests, currency: str) -> Section:
    parts: list[Block] = [Para(next_test_words(found), "lead")]
    if found.tests:
        parts.append(Facts(_facts(found.tests[0], currency)))
    if any(one.worth.value > 0.0 for one in found.tests):
        parts.append(Figure(tests_chart(found.tests, currency)))
    if any(one.told for one in found.movers):
        parts.append(
            Figure(
                movers_chart(
                    found.movers, say("worth of the season"), (say("less worth"), say("more worth")), good=True
                )
            )
        )
    return Section(say("In short"), "short", parts)


def _facts(best: WorthOfTest, currency: str) -> list[tuple[str, Line, str]]:
    about = joined(", ", (best.test.name.lower(), best.test.about_name.lower()))
    return [
        (say("Price"), f"{number(best.test.price, 3)} {currency}", about),
        (say("Worth"), f"{number(best.worth.value, 2)} {currency}", say("to the plan, at least")),
        (say("Narrows"), share_text(best.worth.narrows), say("of the spread of the season's worth")),
        (say("Changes the plan"), share_text(best.worth.changes), say("of the seasons")),
    ]


def _all_tests(found: NextTests, currency: str) -> Section:
    columns = (
        *test_columns(currency),
        Column(say("Narrows by"), "right"),
        Column(say("Changes the plan in"), "right"),
    )
    rows = [_row(one) for one in found.tests]
    note = say(
        "Narrows: by so much the spread of what the season is worth would shrink, were the answer known. The best for its price first; "
        "bold: worth its price."
    )
    table = Table(say("Every test that could be ordered"), columns, rows[:MOST_ROWS], note)
    rest = rows[MOST_ROWS:]
    more: list[Block] = (
        [Fold(say("{count} more, worth less", count=len(rest)), (Table(say("The rest"), columns, rest),))]
        if rest
        else []
    )
    return Section(say("Every test, with its price"), "tests", [table, *more])


def _row(one: WorthOfTest) -> list[Line]:
    pays = one.per_price >= 1.0
    return [
        Say(one.test.name, strong=pays), one.test.about_name, number(one.test.price, 3), Say(number(one.worth.value, 2), strong=pays),
        share_text(one.worth.narrows), share_text(one.worth.changes),
    ]  # fmt: skip


def _more(spares: Sequence[Spare]) -> Section:
    return Section(
        say("What one more would spare"), "more", [Figure(spares_chart(spares)), Items([one.text for one in spares])]
    )


def write_tests(
    garden: Garden, found: NextTests, spares: Sequence[Spare], folder: Path, *, formats: Sequence[str] = FORMATS, language: str = ENGLISH, on: date | None = None
) -> list[Path]:  # fmt: skip
    """Write the sheet as tests.html and tests.pdf, its charts as SVG with their data as CSV; return the paths."""
    wanted = check_formats(formats)
    check_folder(folder)
    page = tests_page(garden, found, spares, on).in_language(language)
    made = [save_bytes(folder / f"tests.{one}", render(page, one, lambda _: None)) for one in wanted]
    return [*made, *write_charts(page, folder / "charts")]
