"""Every figure of the sheets of trials and of a season looked back on opens where it comes from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np

from loamery.evidence.benefit_claims import claims_of
from loamery.evidence.benefit_sheet import benefit_page, thanks_page
from loamery.evidence.html import html_page
from loamery.evidence.page import Page
from loamery.evidence.review_sheet import review_page
from loamery.evidence.trial_sheet import trial_page
from loamery.garden import read_garden
from loamery.garden.starter import write_starter
from loamery.trials.analyse import analyse
from loamery.trials.conclude import conclude
from loamery.trials.design import Head, Treatment, TrialBed
from loamery.trials.folder import Reading
from loamery.trials.lay_out import lay_out
from tests.evidence.test_benefit import DAY, account
from tests.evidence.test_in_french import season_facts


def blocks(part: Any) -> Iterator[dict[str, Any]]:
    """Yield every block of a page, however deep."""
    if isinstance(part, dict):
        if "block" in part:
            yield part
        for one in part.values():
            yield from blocks(one)
    elif isinstance(part, list | tuple):
        for one in part:
            yield from blocks(one)


def referred(page: Page, caption: str) -> list[int]:
    """Return how many references each row of a table has."""
    table = next(one for one in blocks(page.data["sections"]) if one["block"] == "table" and one["caption"] == caption)
    return [sum(bool(say["ref"]) for cell in row["cells"] for say in cell) for row in table["rows"] if "cells" in row]


def test_every_figure_of_a_trial_opens_its_origin_and_leads_on(tmp_path: Any) -> None:
    head = Head(name="mulch", seed=1, control="none", starts=date(2027, 5, 1), ends=date(2027, 9, 30))
    treatments = [Treatment(id=one, name=one.capitalize()) for one in ("none", "compost", "chips")]
    made = lay_out(head, treatments, [TrialBed(id=f"b{at}", length_m=9, width_m=1.2) for at in range(4)], 4)
    draw = np.random.default_rng(1)
    rows = [Reading(plot=one.id, measured_on=date(2027, 8, 1), value=9 + draw.normal()) for one in made.plots]
    found = analyse(made, rows)
    page = trial_page(found, conclude(found), read_garden(write_starter(tmp_path / "g")))
    for caption, count in (("Differences", 2), ("Means, blocks evened out", 3), ("Analysis of variance", 4)):
        assert referred(page, caption) == [1] * count, caption
    entries = [one for one in blocks(page.data["sections"]) if one["block"] == "entry"]
    assert len(entries) == 2 + 3 + 4 + 1 and not page.follow.missing
    means = [one for one in entries if one["title"].startswith("Mean of")]
    assert all(sum(each["label"].startswith("Plot ") for each in one["inputs"]) == 4 for one in means)


def references(part: Any) -> Iterator[int]:
    """Yield every reference to an entry in a part of a page."""
    if isinstance(part, dict):
        if part.get("ref"):
            yield part["ref"]
        for one in part.values():
            yield from references(one)
    elif isinstance(part, list | tuple):
        for one in part:
            yield from references(one)


def walked(page: Page) -> int:
    """Follow every reference of a page and return how many entries it led to.

    Each entry has a value, an equation, something that went in, and a source or the place it was read in.
    """
    entries = {one["number"]: one for one in blocks(page.data["sections"]) if one["block"] == "entry"}
    works = {
        each["number"] for one in blocks(page.data["sections"]) if one["block"] == "sources" for each in one["sources"]
    }
    shown = [one for one in page.data["sections"] if one["anchor"] != "traces"]
    led, ahead = set[int](), set(references(shown))
    assert ahead
    while ahead:
        number = ahead.pop()
        one = entries[number]
        led.add(number)
        assert one["title"] and one["value"] and one["equation"], one
        assert one["inputs"] or one["sources"], one
        assert one["sources"] or any(each["where"] or each["ref"] for each in one["inputs"]), one
        assert {each["number"] for each in one["sources"]} <= works
        ahead |= {each["ref"] for each in one["inputs"] if each["ref"]} - led
    assert led == set(entries) and not page.follow.missing
    return len(led)


def test_every_reference_of_the_benefit_and_thank_you_sheets_leads_to_its_origin() -> None:
    made = account()
    assert walked(benefit_page(made, DAY)) >= 8 + len(made.donors)
    for donor in made.donors:
        page = thanks_page(made, donor, DAY)
        assert walked(page) >= 3, donor
        assert referred(page, "Each figure with what it rests on") == [1] * len(claims_of(made, donor))
        assert page.paper is not None and not page.paper.follow.numbers


def test_every_reference_of_a_season_looked_back_on_leads_to_its_origin() -> None:
    page = review_page(season_facts(), None, (), DAY)
    assert walked(page) >= 4


def test_every_link_of_a_thank_you_page_has_its_target() -> None:
    made = account()
    html = html_page(thanks_page(made, made.donors[0], DAY))
    targets = set(re.findall(r'href="#([^"]+)"', html))
    assert any(one.startswith("why-") for one in targets) and any(one.startswith("source-") for one in targets)
    assert targets <= set(re.findall(r'id="([^"]+)"', html))
