"""Shop prices and trials that an earlier version kept as whole files: made records, and made files again.

Used by a migration and after an older backup was brought back, so it knows the tables only by name.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from loamery.errors import GardenError, InputError, LoameryError
from loamery.garden.checks import duplicates
from loamery.garden.fields import Record
from loamery.garden.folder import FILES
from loamery.garden.rows import read_rows
from loamery.garden.writing import rows_text
from loamery.saving import save_text
from loamery.trials.enter import in_order
from loamery.trials.folder import FOLDER, readings_text, trial_text
from loamery.trials.record import TrialReading, TrialRecord, files_of, reading_of, records_in, trial_of

SHOP, FERTILISER = FILES["fertilisers"]
KINDS: dict[str, tuple[str, type[Record]]] = {
    "fertilisers": ("Fertiliser", FERTILISER),
    "trials": ("Trial", TrialRecord),
    "trial_readings": ("TrialReading", TrialReading),
}
"""Kind to its table and its record."""


def make_records(apps: Any) -> None:
    """Make records of the files of every garden; files that cannot be read stay as they are."""
    for garden in apps.get_model("records", "Garden").objects.all():
        paths = set(garden.attachments.values_list("path", flat=True))
        folder = _folder(garden)
        if SHOP in paths and (shop := _shop(folder)) is not None:
            _take_up(apps, garden, {"fertilisers": shop}, {SHOP})
        if any(path.startswith(f"{FOLDER}/") for path in paths):
            try:
                trials, readings = records_in(folder)
            except LoameryError:
                continue
            held = files_of(one.id for one in trials)  # type: ignore[attr-defined]
            _take_up(apps, garden, {"trials": trials, "trial_readings": readings}, held)


def _folder(garden: Any) -> Path:
    return Path(settings.DATA) / "gardens" / str(garden.pk)


def _shop(folder: Path) -> list[Record] | None:
    faults: list[InputError] = []
    try:
        rows = read_rows(folder / SHOP, FERTILISER, faults)
    except GardenError:
        return None
    faults += duplicates(SHOP, rows)
    return None if faults else [one for _row, one in rows]


def _take_up(apps: Any, garden: Any, found: Mapping[str, Iterable[Record]], files: set[str]) -> None:
    keys: dict[str, Any] = {}
    for kind, records in found.items():
        table, change = apps.get_model("records", KINDS[kind][0]), apps.get_model("records", "Change")
        for one in records:
            said = one.model_dump(mode="json")
            held = {field.name for field in table._meta.get_fields()}  # what came later is not there yet
            given = {name: value for name, value in _columns(one, keys).items() if name in held}
            row = table.every.create(garden=garden, **given)
            if kind == "trials":
                keys[said["id"]] = row
            change.objects.create(
                garden=garden, kind=kind, row=row.pk, action="import", after={**said, "removed": False}
            )
    garden.attachments.filter(path__in=files).delete()
    transaction.on_commit(lambda: _sweep(_folder(garden), files))


def _sweep(folder: Path, files: Iterable[str]) -> None:
    for name in files:
        (folder / name).unlink(missing_ok=True)


def _columns(one: Record, keys: Mapping[str, Any]) -> dict[str, Any]:
    """Return a record as the columns of its table."""
    plain = one.model_dump(mode="json")
    given = {name: plain[name] if isinstance(plain[name], list) else getattr(one, name) for name in plain}
    if "id" in given:
        given["key"] = given.pop("id")
    if "trial" in given:
        given["trial"] = keys[given["trial"]]
    return given


def make_files(apps: Any) -> None:
    """Make the files of every garden again, as an earlier version kept them, and take the records out."""
    for garden in apps.get_model("records", "Garden").objects.all():
        records = {kind: _standing(apps, garden, kind) for kind in KINDS}
        texts = {SHOP: rows_text(records["fertilisers"], FERTILISER)} if records["fertilisers"] else {}
        for kept in records["trials"]:
            trial = trial_of(kept)
            name = f"{FOLDER}/{trial.trial.name}"
            mine = [
                reading_of(one) for one in records["trial_readings"] if one.model_dump()["trial"] == trial.trial.name
            ]
            texts |= {f"{name}.toml": trial_text(trial), f"{name}.csv": readings_text(trial, in_order(trial, mine))}
        for name, text in texts.items():
            save_text(_folder(garden) / name, text)
            content = text.encode()
            garden.attachments.create(path=name, bytes=len(content), sha256=hashlib.sha256(content).hexdigest())
    for kind in reversed(KINDS):
        apps.get_model("records", KINDS[kind][0]).every.all().delete()


def _standing(apps: Any, garden: Any, kind: str) -> list[Record]:
    table, model = KINDS[kind]
    out = []
    for row in apps.get_model("records", table).every.filter(garden=garden, removed_at=None).order_by("pk"):
        names = {name: "key" if name == "id" else name for name in model.model_fields}
        said = {name: getattr(row, column) for name, column in names.items() if hasattr(row, column)}
        if "trial" in said:
            said["trial"] = row.trial.key
        out.append(model.model_validate(said))
    return out
