"""Trials of a garden: which there are, and their sheets."""

from __future__ import annotations

from datetime import date
from typing import Any

from loamery.evidence.page import Page
from loamery.evidence.trial_sheet import layout_page, trial_page
from loamery.garden.model import Garden
from loamery.web.records.trials import Kept


def trial_cards(kept: dict[str, Kept]) -> list[dict[str, Any]]:
    """Return the trials of a garden as its page lists them: name, what is asked, plots, and how many have a reading."""
    out = []
    for name, (made, readings) in kept.items():
        read = {one.plot for one in readings if one.value is not None}
        out.append({"name": name, "title": made.trial.question or name, "plots": len(made.plots), "read": len(read)})
    return out


def trial_sheet(garden: Garden, kept: Kept, lay_out: bool, on: date) -> Page:
    """Return the sheet of a trial: what it shows, or the map to lay it out by.

    Raises
    ------
    LoameryError : its readings cannot be analysed.
    """
    from loamery.trials.analyse import analyse
    from loamery.trials.conclude import conclude
    from loamery.trials.power import seen_by

    made, readings = kept
    if lay_out:
        return layout_page(made, garden, seen_by(made), on)
    found = analyse(made, readings)
    return trial_page(found, conclude(found), garden, on)
