"""Checks of what was done: it points at things that exist, and a heap is tended while it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from loamery.errors import InputError, Where
from loamery.garden.checks import Rows, disordered, duplicates, inside, known, one_of
from loamery.garden.records import DONE
from loamery.say import Verbatim, say

FILE_OF = {"donor": "donors", "material": "materials", "bed": "beds", "heap": "heaps", "worm_bed": "worm_beds",
           "batch": "batches"}  # fmt: skip
"""Column that points at a row, and the part of the garden it points into."""
TENDED = {"turnings": "on", "waterings": "on", "readings": "on"}
SOURCES = ("material", "batch", "worm_bed")
WATERED = ("batch", "bed", "worm_bed")


def done_faults(
    rows: Mapping[str, Rows], crops: Sequence[str], folder: Path, damaged: set[str | None]
) -> list[InputError]:
    """Return what is wrong with the records of what was done.

    Parameters
    ----------
    rows : part of the garden to its records with their row numbers.
    crops : slugs of the reference crops.
    folder : where photos are looked for.
    damaged : files with rows that could not be read, whose ids are therefore not all known.
    """
    faults = duplicates("loads.csv", rows["loads"]) + duplicates("batches.csv", rows["batches"])
    for name, (file, model) in DONE.items():
        for field in FILE_OF.keys() & model.model_fields.keys():
            if f"{FILE_OF[field]}.csv" not in damaged:
                ids = [record.id for _, record in rows[FILE_OF[field]]]
                faults += known(
                    file, rows[name], field, ids, say("an id of {file}", file=Verbatim(f"{FILE_OF[field]}.csv"))
                )
        if "photo" in model.model_fields:
            faults += _photos(file, rows[name], folder)
    faults += one_of(
        "applications.csv", rows["applications"], SOURCES, say("say what was spread: name it in one column")
    )
    faults += one_of("waterings.csv", rows["waterings"], WATERED, say("say what was watered: name it in one column"))
    faults += disordered("batches.csv", rows["batches"], "built", "emptied")
    faults += known("harvests.csv", rows["harvests"], "crop", crops, say("a slug of the reference crops"))
    materials = [record.id for _, record in rows["materials"]]
    if "materials.csv" not in damaged:
        faults += known("prices.csv", rows["prices"], "item", [*crops, *materials], say("a crop or a material"))
    for name, column in TENDED.items():
        faults += _untimely(DONE[name][0], rows[name], column, rows["batches"])
    return faults + _empty_readings(rows["readings"])


def _photos(file: str, rows: Rows, folder: Path) -> list[InputError]:
    return [
        InputError(
            say("file “{photo}”", photo=record.photo),
            where=Where(file=file, row=row, column="photo"),
            expected=say("a file inside the garden folder, such as photos/load-3.jpg"),
            remedy=say("put the picture there, correct the name, or leave the cell empty"),
        )
        for row, record in rows
        if record.photo and not inside(folder, record.photo).is_file()
    ]


def _untimely(file: str, rows: Rows, column: str, batches: Rows) -> list[InputError]:
    """Find what is said of a heap before it was built or after it was emptied."""
    standing: dict[str, Any] = {record.id: record for _, record in batches}
    faults = []
    for row, record in rows:
        batch = standing.get(record.batch or "")
        if batch is None:
            continue
        day = getattr(record, column)
        if day < batch.built or (batch.emptied is not None and day > batch.emptied):
            until = say(" to {emptied}", emptied=batch.emptied) if batch.emptied else say(" on")
            faults.append(
                InputError(
                    f"{day}",
                    where=Where(file=file, row=row, column=column),
                    expected=say(
                        "a day on which “{batch_id}” stood, from {built}{until}",
                        batch_id=batch.id,
                        built=batch.built,
                        until=until,
                    ),
                    remedy=say("correct the date, or the days of the heap in batches.csv"),
                )
            )
    return faults


def _empty_readings(rows: Rows) -> list[InputError]:
    said = ("temp_c", "feel", "moisture_frac", "smell")
    return [
        InputError(
            say("a reading that says nothing"),
            where=Where(file="readings.csv", row=row),
            expected=say("at least one of {listed}", listed=", ".join(said)),
            remedy=say("fill in what was read, or delete the row"),
        )
        for row, record in rows
        if all(getattr(record, name) is None for name in said)
    ]
