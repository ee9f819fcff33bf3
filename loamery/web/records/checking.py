"""The checks of the garden folder, held against one record and what stands beside it in the database."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from pydantic import ValidationError

from loamery.errors import GardenError, InputError, Where
from loamery.garden.checks import unknown
from loamery.garden.fields import Record
from loamery.garden.folder import FILES, report_faults, row_faults
from loamery.garden.rows import faults_of
from loamery.say import Verbatim, say
from loamery.trials.folder import FOLDER, reading_faults, trial_faults
from loamery.trials.record import reading_of, trial_of
from loamery.web.records.models import KINDS, Entry

LONGEST_TEXT = 10_000
BESIDE: dict[str, tuple[tuple[str, str, str], ...]] = {
    "plantings": (("plantings", "bed", "bed"),),
    "batches": (("turnings", "batch", "id"), ("waterings", "batch", "id"), ("readings", "batch", "id")),
}
"""Kind to the rows that are checked together with it: their kind, their column, and the field it must equal."""


NAMED = {"prices": {"materials"}, "trials": {"trial_readings"}, "reports": {"materials", "beds"}}
"""Kind to the kinds it is held against beside what it points at."""


@cache
def held_against(kind: str) -> frozenset[str]:
    """Return the kinds of record whose changes can make a new record of a kind right or wrong."""
    table = KINDS[kind]
    once = {kind} if {"id", "day"} & set(table.record.model_fields) else set()
    beside = {part for part, _column, _field in BESIDE.get(kind, ())}
    return frozenset({_part(one) for one in table.links().values()} | once | beside | NAMED.get(kind, set()))


def file_of(kind: str) -> str:
    """Return the file of the garden folder a kind stands in."""
    return FOLDER if kind in OF_TRIALS else FILES[kind][0] if kind in FILES else "reports.toml"


def record_of(kind: str, values: Mapping[str, Any]) -> Record:
    """Return values as a record.

    Raises
    ------
    GardenError : values that cannot be; every fault names its column.
    """
    model = KINDS[kind].record
    given = {name: _clean(value) for name, value in values.items()}
    given = {name: value for name, value in given.items() if value is not None or name not in model.model_fields}
    try:
        record = model.model_validate(given)
    except ValidationError as error:
        raise GardenError(list(faults_of(error, file_of(kind), None, {}, model))) from None
    long = [
        InputError(
            say("{count} characters", count=len(value)),
            where=Where(file=file_of(kind), column=name),
            expected=say("at most {LONGEST_TEXT} characters", LONGEST_TEXT=LONGEST_TEXT),
            remedy=say("shorten the text"),
        )
        for name in model.model_fields
        if isinstance(value := getattr(record, name), str) and len(value) > LONGEST_TEXT
    ]
    if long:
        raise GardenError(long)
    return record


def _clean(value: Any) -> Any:
    """Return a value whose texts have the line ends of a file and nothing that no file or database can hold."""
    if isinstance(value, Mapping):
        return {_clean(name): _clean(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(one) for one in value]
    if not isinstance(value, str):
        return value
    return value.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")


def check(entry: Entry, kind: str, record: Record, linked: Mapping[str, Entry | None]) -> None:
    """Hold a record against what it points at and what stands beside it.

    Raises
    ------
    GardenError : what the garden folder would be refused for.
    """
    if kind == "reports":
        faults = _report_faults(entry, record)
    elif kind in OF_TRIALS:
        faults = [*OF_TRIALS[kind](entry, record), *_taken(entry, kind, record)]
    else:
        rows: dict[str, list[tuple[int, Any]]] = {part: [] for part in FILES}
        for name, table in entry.links().items():
            one = linked[name]
            if one is not None:
                rows[_part(table)].append((0, one.said))
        rows[kind].append((1, record))
        if kind == "prices":  # of a crop or of a material: no link, but a name all the same
            named = KINDS["materials"].objects.filter(garden=entry.garden_id, key=record.item)  # type: ignore[attr-defined]
            rows["materials"] += [(0, one.said) for one in named]
        for part, column, field in BESIDE.get(kind, ()):
            rows[part] += _beside(entry, part, column, getattr(record, field))
        mine = {file_of(part) for part in (kind, *(part for part, _, _ in BESIDE.get(kind, ())))}
        # what a record points at is here without what that points at in turn, so only these files can be judged
        faults = [one for one in row_faults(rows, entry.garden.folder, set()) if one.where.file in mine]
        faults += _taken(entry, kind, record)
    if faults:
        raise GardenError(faults)


def _part(table: type[Entry]) -> str:
    return next(kind for kind, one in KINDS.items() if one is table)


def _beside(entry: Entry, part: str, column: str, key: str) -> list[tuple[int, Record]]:
    table = KINDS[part]
    near = table.objects.filter(garden=entry.garden_id, **{f"{column}__key": key}).select_related(*table.links())
    same = isinstance(entry, table)
    return [(2 + number, one.said) for number, one in enumerate(near) if not (same and one.pk == entry.pk)]


def _taken(entry: Entry, kind: str, record: Record) -> list[InputError]:
    """Find a short name, or a day of weather, that is already there."""
    column, field = ("key", "id") if "id" in type(record).model_fields else ("day", "day")
    if field not in type(record).model_fields:
        return []
    value = getattr(record, field)
    if not KINDS[kind].objects.filter(garden=entry.garden_id, **{column: value}).exclude(pk=entry.pk).exists():
        return []
    return [
        InputError(
            say("“{word}”", word=Verbatim(str(value))),
            where=Where(file=file_of(kind), column=field),
            expected=say("a {field} that is not there yet", field=field),
            remedy=say("choose another, or change the one that is there"),
        )
    ]


def _report_faults(entry: Entry, record: Any) -> list[InputError]:
    ids = {
        part: list(KINDS[part].objects.filter(garden=entry.garden_id).values_list("key", flat=True))
        for part in ("materials", "beds")
    }
    return report_faults(0, record, ids, entry.garden.folder)


def _trial_faults(entry: Entry, record: Any) -> list[InputError]:
    """Find what contradicts itself in a lay-out, or the readings that would no longer fit it."""
    trial, file = trial_of(record), f"{FOLDER}/{record.id}"
    faults = [*trial_faults(trial, f"{file}.toml")]
    if trial.trial.ends < trial.trial.starts:
        faults.append(_ends_early(trial.trial.ends, trial.trial.starts, file))
    for row, one in _beside(entry, "trial_readings", "trial", record.id):
        faults += reading_faults(Where(file=f"{file}.csv", row=row), reading_of(one), trial)
    return faults


def _ends_early(ends: Any, starts: Any, file: str) -> InputError:
    return InputError(
        say("{ends} before {starts}", ends=ends, starts=starts), where=Where(file=f"{file}.toml", column="ends"), expected=say("an end on or after the start"),
        remedy=say("swap the days"),
    )  # fmt: skip


def _trial_reading_faults(entry: Entry, record: Any) -> list[InputError]:
    """Hold a reading against the lay-out of its trial."""
    trials = KINDS["trials"].objects.filter(garden=entry.garden_id)
    found = trials.filter(key=record.trial).first()
    where = Where(file=f"{FOLDER}/{record.trial}.csv")
    if found is None:
        where = Where(file=where.file, column="trial")
        return [unknown(record.trial, where, list(trials.values_list("key", flat=True)), say("a trial of the garden"))]
    return list(reading_faults(where, reading_of(record), trial_of(found.said)))


OF_TRIALS: dict[str, Callable[[Entry, Any], list[InputError]]] = {
    "trials": _trial_faults,
    "trial_readings": _trial_reading_faults,
}
