"""Trials in the garden folder: trials/NAME.toml holds the lay-out, trials/NAME.csv what was read on each plot."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from loamery.errors import GardenError, InputError, UnreadableFile, Where
from loamery.garden.fields import Day, Record
from loamery.garden.rows import faults_of, nearest, read_rows, read_text
from loamery.garden.writing import cell
from loamery.reference import table
from loamery.saving import save_text
from loamery.say import Verbatim, say
from loamery.trials.design import Head, Plot, Treatment, Trial, TrialBed

FOLDER = "trials"


class Reading(Record):
    """What was read on one plot on one day."""

    plot: str = Field(description="plot of the trial, e.g. 203")
    treatment: str = Field(default="", description="for the eye; must be the plot's own when it is filled in")
    measured_on: Day | None = Field(default=None, description="day of the reading")
    value: Annotated[float, Field(ge=0)] | None = Field(default=None, description="what was read, in the trial's unit")
    lost: str = Field(default="", description="why there is no reading, e.g. eaten by deer")
    note: str = ""


def trial_path(garden: Path, name: str) -> Path:
    """Return where the lay-out of a trial stands."""
    return garden / FOLDER / f"{name}.toml"


def trial_names(garden: Path) -> list[str]:
    """Return the names of the trials of a garden."""
    return sorted(path.stem for path in (garden / FOLDER).glob("*.toml"))


def write_trial(garden: Path, trial: Trial) -> list[Path]:
    """Write the lay-out of a new trial and an empty table of readings, and return the paths.

    Raises
    ------
    InputError : there is a trial of that name; it is left as it is.
    """
    path = trial_path(garden, trial.trial.name)
    if path.exists():
        raise InputError(
            say("there is a trial of that name"), where=Where(file=f"{FOLDER}/{path.name}"), expected=say("a new name"),
            remedy=say("give it another name; a lay-out that plots were marked by is never drawn again"),
        )  # fmt: skip
    rows = [Reading(plot=one.id, treatment=one.treatment) for one in trial.plots]
    return [save_text(path, trial_text(trial)), save_readings(garden, trial, rows)]


def save_readings(garden: Path, trial: Trial, rows: Sequence[Reading]) -> Path:
    """Write the readings of a trial whole or not at all, and return the path."""
    return save_text(trial_path(garden, trial.trial.name).with_suffix(".csv"), readings_text(trial, rows))


def readings_text(trial: Trial, rows: Sequence[Reading]) -> str:
    """Return the readings of a trial as the text of its CSV file; no cell can act as a formula."""
    names = list(Reading.model_fields)
    out = io.StringIO()
    writer = csv.DictWriter(out, names, lineterminator="\n")
    out.write(f"# {trial.trial.measured} of each plot, {trial.trial.unit}; without a reading say in `lost` why\n")
    writer.writeheader()
    for one in rows:
        writer.writerow({name: cell(getattr(one, name)) for name in names})
    return out.getvalue()


def trial_text(trial: Trial) -> str:
    """Return the lay-out of a trial as the text of its file."""
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment("Lay-out of a trial, drawn by lot. Plots were marked by it: change words, not plots."))
    document.add("trial", tomlkit.item(trial.trial.model_dump()))
    for name in ("treatments", "beds", "plots"):
        tables = tomlkit.aot()
        for one in getattr(trial, name):
            tables.append(tomlkit.item(one.model_dump()))
        document.add(name, tables)
    return tomlkit.dumps(document)


def read_trial(garden: Path, name: str) -> Trial:
    """Return a trial of a garden.

    Raises
    ------
    UnreadableFile : there is no such trial, or its file is not TOML.
    GardenError : fields that cannot be used, all listed at once.
    """
    path = trial_path(garden, name)
    place = f"{FOLDER}/{path.name}"
    if not path.exists():
        raise _no_trial(garden, name, place)
    try:
        head = tomllib.loads(read_text(path))
    except tomllib.TOMLDecodeError as error:
        raise UnreadableFile(
            str(error), where=Where(file=place), expected=say("TOML"), remedy=say("mend the line that is named")
        ) from None
    faults = list(_faults(head, place))
    if not faults:
        try:
            trial = Trial.model_validate(head)
            faults = list(trial_faults(trial, place))
        except ValidationError as error:
            faults = list(faults_of(error, place, None, {}, Trial))
    if faults:
        raise GardenError(faults)
    return trial


def _no_trial(garden: Path, name: str, place: str) -> UnreadableFile:
    names = trial_names(garden)
    near = nearest(name, names)
    return UnreadableFile(
        say("no such trial"), where=Where(file=place),
        expected=say("one of ") + ", ".join(names) if names else say("a trial; this garden has none yet"),
        remedy=say("did you mean “{near}”?", near=near) if near else say("lay one out with `loamery trial lay-out`"),
    )  # fmt: skip


def _faults(head: dict[str, object], place: str) -> Iterable[InputError]:
    """Yield what is wrong with single fields, each told by its table and number."""
    models: dict[str, type[Record]] = {"treatments": Treatment, "beds": TrialBed, "plots": Plot}
    parts: list[tuple[str, object, type[Record]]] = [("trial", head.get("trial", {}), Head)]
    for name, model in models.items():
        listed = head.get(name, [])
        parts += [(f"{name[:-1]} {at}", one, model) for at, one in enumerate(listed if isinstance(listed, list) else [listed], start=1)]  # fmt: skip
    for label, raw, model in parts:
        try:
            model.model_validate(raw)
        except ValidationError as error:
            for fault in faults_of(error, place, None, {}, model):
                where = Where(file=place, column=f"{label}, {fault.where.column or 'all of it'}")
                yield InputError(fault.read, where=where, expected=fault.expected, remedy=fault.remedy)


def trial_faults(trial: Trial, place: str) -> Iterable[InputError]:
    """Yield what contradicts itself in a lay-out; place is the file it is told of."""
    treatments, beds = [one.id for one in trial.treatments], [one.id for one in trial.beds]
    if trial.trial.control and trial.trial.control not in treatments:
        yield _stray(place, "control", trial.trial.control, treatments)
    crops = [row["slug"] for row in table("crops")]
    if trial.trial.crop and trial.trial.crop not in crops:
        yield _stray(place, "crop", trial.trial.crop, crops)
    seen: set[str] = set()
    for one in trial.plots:
        if one.treatment not in treatments:
            yield _stray(place, f"plot {one.id}, treatment", one.treatment, treatments)
        if one.bed not in beds:
            yield _stray(place, f"plot {one.id}, bed", one.bed, beds)
        if one.id in seen:
            yield InputError(
                say("plot “{id}” a second time", id=one.id), where=Where(file=place), expected=say("each plot once"),
                remedy=say("give one of them another id"),
            )  # fmt: skip
        seen.add(one.id)


def _stray(place: str, column: str, value: str, known: Sequence[str]) -> InputError:
    near = nearest(value, known)
    return InputError(
        say("“{word}”", word=Verbatim(value)), where=Where(file=place, column=column), expected=say("one of ") + ", ".join(list(known)[:12]) + (", …" if len(known) > 12 else ""),
        remedy=say("did you mean “{near}”?", near=near) if near else say("correct the name"),
    )  # fmt: skip


def read_readings(path: Path, trial: Trial) -> tuple[Reading, ...]:
    """Return the readings of a trial from a CSV file.

    Raises
    ------
    UnreadableFile : there is no such file.
    GardenError : rows that cannot be used, of plots that are not, or of days outside the trial; all listed at once.
    """
    if not path.exists():
        raise UnreadableFile(
            say("no such file"), where=Where(file=path.name), expected=say("a CSV with the columns ") + ", ".join(Reading.model_fields),
            remedy=say("`loamery trial lay-out` writes an empty one beside the lay-out"),
        )  # fmt: skip
    faults: list[InputError] = []
    numbered = read_rows(path, Reading, faults)
    for row, one in numbered:
        faults += reading_faults(Where(file=path.name, row=row), one, trial)
    if faults:
        raise GardenError(faults)
    return tuple(one for _, one in numbered)


def reading_faults(where: Where, one: Reading, trial: Trial) -> Iterable[InputError]:
    """Yield what is wrong with a reading of a trial; where is the file and row it is told of."""
    plots, head = {each.id: each for each in trial.plots}, trial.trial

    def at(column: str) -> Where:
        return Where(file=where.file, row=where.row, column=column)

    if one.plot not in plots:
        near = nearest(one.plot, plots)
        yield InputError(
            say("plot “{plot}”", plot=one.plot), where=at("plot"), expected=say("one of ") + ", ".join(list(plots)[:12]),
            remedy=say("did you mean “{near}”?", near=near) if near else say("correct the plot"),
        )  # fmt: skip
    elif one.treatment and one.treatment != plots[one.plot].treatment:
        yield InputError(
            say("treatment “{treatment}” on plot {plot}", treatment=one.treatment, plot=one.plot), where=at("treatment"),
            expected=say("“{treatment}”, as the lay-out says", treatment=plots[one.plot].treatment), remedy=say("correct the plot or the treatment of this row"),
        )  # fmt: skip
    if one.value is not None and one.measured_on is None:
        yield InputError(
            say("a value without a day"), where=at("measured_on"), expected=say("the day it was read"),
            remedy=say("write it as {ends}; readings outside the trial's time must not slip in", ends=head.ends),
        )  # fmt: skip
    if one.measured_on is not None and not head.starts <= one.measured_on <= head.ends:
        other = say(" (another year)") if one.measured_on.year not in (head.starts.year, head.ends.year) else ""
        yield InputError(
            say("{measured_on}{other}", measured_on=one.measured_on, other=other), where=at("measured_on"), expected=say("a day of the trial, {starts} to {ends}", starts=head.starts, ends=head.ends),
            remedy=say("correct the day, or the trial's starts and ends if they are wrong"),
        )  # fmt: skip
    if one.value is not None and one.lost:
        yield InputError(
            say("a value and a reason for having none"), where=at("lost"), expected=say("one of the two"),
            remedy=say("clear “lost”, or the value if it cannot be trusted"),
        )  # fmt: skip
