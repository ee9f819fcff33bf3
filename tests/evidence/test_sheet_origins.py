"""Every figure of the sheets of trials and of a season looked back on opens where it comes from."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np

from loamery.evidence.page import Page
from loamery.evidence.trial_sheet import trial_page
from loamery.garden import read_garden
from loamery.garden.starter import write_starter
from loamery.trials.analyse import analyse
from loamery.trials.conclude import conclude
from loamery.trials.design import Head, Treatment, TrialBed
from loamery.trials.folder import Reading
from loamery.trials.lay_out import lay_out


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
