"""Trials of a garden in the database: as the models analyse them, and as the files of a garden folder."""

from __future__ import annotations

from pathlib import Path

from loamery.errors import LoameryError
from loamery.trials.design import Trial
from loamery.trials.enter import in_order
from loamery.trials.folder import FOLDER, Reading, read_readings, read_trial, readings_text, trial_path, trial_text
from loamery.trials.record import reading_of, trial_of
from loamery.web.records.models import KINDS, Garden
from loamery.web.refusals import in_words

Kept = tuple[Trial, tuple[Reading, ...]]


def trials_of(garden: Garden) -> dict[str, Kept]:
    """Return every trial of a garden with its readings, in the order of plots and days, by short name."""
    made = {one.key: trial_of(one.said) for one in KINDS["trials"].objects.filter(garden=garden).order_by("key")}
    found: dict[str, list[Reading]] = {key: [] for key in made}
    for one in KINDS["trial_readings"].objects.filter(garden=garden).select_related("trial"):
        found[one.trial.key].append(reading_of(one.said))
    return {key: (trial, tuple(in_order(trial, found[key]))) for key, trial in made.items()}


def trial_texts(garden: Garden) -> dict[str, str]:
    """Return the files of a garden's trials by their path inside the garden folder."""
    texts = {}
    for key, (trial, readings) in trials_of(garden).items():
        texts[f"{FOLDER}/{key}.toml"] = trial_text(trial)
        texts[f"{FOLDER}/{key}.csv"] = readings_text(trial, readings)
    return texts


def damaged(garden: Garden) -> list[str]:
    """Return what is wrong with files that an earlier version kept whole and that could not be made records."""
    names = set(garden.attachments.filter(path__startswith=f"{FOLDER}/").values_list("path", flat=True))
    told = []
    for key in sorted({Path(name).stem for name in names}):
        try:
            read_readings(trial_path(garden.folder, key).with_suffix(".csv"), read_trial(garden.folder, key))
        except LoameryError as error:
            told.append(in_words(error))
    return told
