"""Setting for paper: a part is made smaller where that saves a page, but not too small; a short sheet too."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from loamery.evidence.block import Block, Column, Para, Section, Sheet, Table
from loamery.evidence.follow import Follow
from loamery.evidence.page import Page
from loamery.evidence.pdf import pdf_page
from loamery.finding import Ledger


def pages(*sections: Section) -> list[str]:
    sheet = Sheet("Test", "A sheet", [], "", "2027-04-05", "foot", sections, appendix=True)
    return [one.extract_text() or "" for one in PdfReader(io.BytesIO(pdf_page(Page(sheet, Follow(Ledger()))))).pages]


def rows(count: int) -> list[Block]:
    return [Table("Rows", (Column("What"),), [(f"row {number}",) for number in range(count)])]


@pytest.mark.parametrize(("count", "plain", "fitted"), [(30, 1, 1), (66, 2, 1), (100, 2, 2)])
def test_a_part_is_set_smaller_only_where_that_saves_its_second_page(count: int, plain: int, fitted: int) -> None:
    first = Section("First", "first", [Para("words")])
    rest = [
        Section(f"More {number}", f"more-{number}", [Para("words")], fresh=True) for number in range(4)
    ]  # no short sheet
    for fit, expected in ((False, plain), (True, fitted)):
        made = pages(first, Section("Many", "many", rows(count), fresh=True, fit=fit), *rest)
        assert len(made) - 5 == expected, (fit, count)
        assert sum(text.count("row ") for text in made) == count  # nothing is lost


def test_a_short_sheet_is_set_smaller_where_that_saves_its_last_page() -> None:
    sizes = (50, 55, 56, 57, 58, 64)
    counts = [len(pages(Section("Many", "many", rows(count)))) for count in sizes]
    assert counts == sorted(counts) and {1, 2} == set(counts)
    last = max(count for count, made in zip(sizes, counts, strict=True) if made == 1)
    assert "row 0" in pages(Section("Many", "many", rows(last)))[0]


def test_a_sheet_that_cites_nothing_has_no_empty_page_of_sources() -> None:
    assert len(pages(Section("First", "first", [Para("words")]))) == 1
