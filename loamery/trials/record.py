"""Trials as records kept one by one: a lay-out under its short name, and each reading with the trial it belongs to."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import Field, create_model

from loamery.errors import InputError, Where
from loamery.garden.fields import Id, Record
from loamery.say import say
from loamery.trials.design import Head, Plot, Treatment, Trial, TrialBed
from loamery.trials.folder import FOLDER, Reading, read_readings, read_trial, trial_names, trial_path


def _fields(model: type[Record], *, but: str = "") -> dict[str, Any]:
    return {name: (one.annotation, one) for name, one in model.model_fields.items() if name != but}


TrialRecord: type[Record] = create_model(
    "TrialRecord", __base__=Record, __module__=__name__,
    id=(Id, Field(description="short name, as of its files")), **_fields(Head, but="name"),
    treatments=(tuple[Treatment, ...], Field(min_length=2)), beds=(tuple[TrialBed, ...], ()), plots=(tuple[Plot, ...], ()),
)  # fmt: skip
"""A trial as laid out, one field for each of its file's; the name of the file is its id."""

TrialReading: type[Record] = create_model(
    "TrialReading", __base__=Record, __module__=__name__, trial=(Id, Field(description="id of the trial")), **_fields(Reading)
)  # fmt: skip
"""What was read on one plot of a trial on one day."""
LAID_OUT = ("treatments", "beds", "plots")


def trial_of(record: Record) -> Trial:
    """Return a kept lay-out as the trial that is analysed."""
    said = record.model_dump()
    head = {"name": said.pop("id"), **{name: value for name, value in said.items() if name not in LAID_OUT}}
    return Trial.model_validate({"trial": head, **{name: said[name] for name in LAID_OUT}})


def reading_of(record: Record) -> Reading:
    """Return a kept reading as it stands in the file of its trial."""
    return Reading.model_validate(record.model_dump(exclude={"trial"}))


def records_in(folder: Path) -> tuple[list[Record], list[Record]]:
    """Return the trials of a garden folder and their readings; plots without any reading yet have none.

    Raises
    ------
    LoameryError : a lay-out or a reading that cannot be used, with its file.
    """
    trials: list[Record] = []
    readings: list[Record] = []
    for name in trial_names(folder):
        made = read_trial(folder, name)
        if made.trial.name != name:
            raise _other_name(name, made.trial.name)
        trials.append(record_of(made))
        path = trial_path(folder, name).with_suffix(".csv")
        found = read_readings(path, made) if path.exists() else ()
        readings += [reading_record(name, one) for one in found if says_something(one)]
    return trials, readings


def record_of(trial: Trial) -> Record:
    """Return a trial as the record that is kept of it."""
    said = trial.model_dump()
    head = said.pop("trial")
    return TrialRecord.model_validate({"id": head.pop("name"), **head, **said})


def reading_record(trial: str, one: Reading) -> Record:
    """Return a reading of a trial as the record that is kept of it."""
    return TrialReading.model_validate({"trial": trial, **one.model_dump()})


def says_something(one: Reading) -> bool:
    """Tell whether a row holds a reading, a reason for having none, or a remark; others only keep a plot's place."""
    return one.value is not None or bool(one.lost or one.note) or one.measured_on is not None


def files_of(names: Iterable[str]) -> set[str]:
    """Return the files of trials, as paths inside the garden folder."""
    return {f"{FOLDER}/{name}.{ending}" for name in names for ending in ("toml", "csv")}


def _other_name(file: str, said: str) -> InputError:
    return InputError(
        say("name “{said}”", said=said), where=Where(file=f"{FOLDER}/{file}.toml", column="trial, name"), expected=say("“{file}”, as the file is called", file=file),
        remedy=say("give both the same name"),
    )  # fmt: skip
