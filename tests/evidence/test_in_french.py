"""Sheets in French: every word of the benefit sheet and the thank-you sheet, numbers with a comma, days in words."""

import re
from datetime import date

import pytest

from loamery.evidence.benefit_sheet import benefit_page, thanks_page
from loamery.evidence.html import html_page
from tests.evidence.test_benefit import account

ENGLISH = re.compile(r"\b(the|and|which|from|would|with|not|was|were|of|your?|each|saved|source[sd]? of)\b", re.I)


def shown(page):
    """Return the words a person reads of a page, works cited and words of the garden left out."""
    text = html_page(page)
    body = text[text.index("<body>") :].split('<ol class="sources">')[0]
    body = re.sub(r"<title>.*?</title>", lambda one: one[0].replace("title", "p"), body)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", body))


@pytest.mark.parametrize("make", [lambda one: benefit_page(one, date(2026, 11, 25)), lambda one: thanks_page(one, one.donors[0], date(2026, 11, 25))])  # fmt: skip
def test_a_sheet_in_french_has_no_english_sentence(make):
    page = make(account())
    french, english = page.in_language("fr"), page.in_language("en")
    assert ENGLISH.search(shown(english)) and "25\u00a0November 2026" in html_page(english)
    assert 'lang="fr"' in html_page(french) and "25\u00a0novembre 2026" in html_page(french)
    works = shown(french).split("Sources 1 ")[0]
    assert ENGLISH.findall(works) == []
    assert not re.search(r"\d\.\d", works)


def test_the_english_sheet_stays_as_it_was_after_it_was_told_in_french():
    page = benefit_page(account(), date(2026, 11, 25))
    before = html_page(page)
    page.in_language("fr")
    assert html_page(page) == before


def test_axes_of_a_french_chart_part_thousands_with_a_narrow_space():
    page = benefit_page(account(), date(2026, 11, 25)).in_language("fr")
    assert page.charts["given"].spec["config"]["locale"]["number"]["thousands"] == "\u202f"
