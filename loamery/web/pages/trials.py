"""Trials of a garden: which there are, and their sheets."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from loamery.evidence.page import Page
from loamery.evidence.trial_sheet import layout_page, trial_page
from loamery.garden.model import Garden
from loamery.trials.folder import read_readings, read_trial, trial_names, trial_path


def trials_of(folder: Path) -> list[dict[str, Any]]:
    """Return the trials of a garden folder: name, what is asked, plots, and how many have a reading."""
    out = []
    for name in trial_names(folder):
        made = read_trial(folder, name)
        readings = read_readings(trial_path(folder, name).with_suffix(".csv"), made)
        read = {one.plot for one in readings if one.value is not None}
        out.append({"name": name, "title": made.trial.question or name, "plots": len(made.plots), "read": len(read)})
    return out


def trial_sheet(garden: Garden, folder: Path, name: str, lay_out: bool, on: date) -> Page:
    """Return the sheet of a trial: what it shows, or the map to lay it out by."""
    from loamery.trials.analyse import analyse
    from loamery.trials.conclude import conclude
    from loamery.trials.power import seen_by

    made = read_trial(folder, name)
    if lay_out:
        return layout_page(made, garden, seen_by(made), on)
    found = analyse(made, read_readings(trial_path(folder, name).with_suffix(".csv"), made))
    return trial_page(found, conclude(found), garden, on)
