"""Keeping what people wrote down: a backup while the page runs, bringing it back, looking everything over, moving house."""

from __future__ import annotations

import hashlib
import io
import json
import os
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from loamery import __version__
from loamery.errors import GardenError, InputError, UnreadableFile, Where

FORM = "loamery backup 1"
APPS = ("people", "records")
OTHER = "target"
BATCH = 500


def make_ready(data: Path) -> None:
    """Set up Django for a data folder.

    Raises
    ------
    InputError : there is no such folder.
    """
    if not data.is_dir():
        raise InputError(
            "no such folder",
            where=Where(file=str(data)),
            expected="the data folder of a web page",
            remedy="name it with --data",
        )
    os.environ["LOAMERY_DATA"] = str(data.resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loamery.web.settings")
    import django

    django.setup()


def _tables() -> list[Any]:
    from django.apps import apps

    return [table for app in APPS for table in apps.get_app_config(app).get_models()]


def _migrations(using: str) -> list[str]:
    from django.db import connections
    from django.db.migrations.recorder import MigrationRecorder

    applied = MigrationRecorder(connections[using]).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied if app in APPS)


@contextmanager
def _still(using: str) -> Iterator[None]:
    """Hold one view of the database while it is read; writers go on meanwhile."""
    from django.db import connections

    connection = connections[using]
    begin = "BEGIN" if connection.vendor == "sqlite" else "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
    with connection.cursor() as cursor:
        cursor.execute(begin)
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def backup(target: Path) -> dict[str, int]:
    """Write everything into one new file, whole or not at all, and return how many rows of each table it holds.

    Raises
    ------
    InputError : the file is there already, cannot be written, or a file of a garden is gone.
    """
    if target.exists():
        raise InputError(
            "it is there already",
            where=Where(file=str(target)),
            expected="a new file",
            remedy="name another file; nothing was changed",
        )
    half = target.with_name(f".{target.name}.half")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(half, "w", zipfile.ZIP_DEFLATED) as packed:
            counts = _pack(packed, "default")
        with half.open("rb+") as stream:
            os.fsync(stream.fileno())
        half.replace(target)
    except OSError as error:
        raise InputError(
            f"cannot be written ({error.strerror or error})", where=Where(file=str(target)), expected="a place this account may write to",
            remedy="name another file",
        ) from None  # fmt: skip
    finally:
        half.unlink(missing_ok=True)
    return counts


def _pack(packed: zipfile.ZipFile, using: str, *, files: bool = True) -> dict[str, int]:
    from django.core import serializers

    counts: dict[str, int] = {}
    with _still(using):
        for table in _tables():
            rows = table._base_manager.using(using).order_by("pk")
            counts[table._meta.label_lower] = rows.count()
            with packed.open(f"tables/{table._meta.label_lower}.jsonl", "w") as stream:
                serializers.serialize(
                    "jsonl", rows.iterator(BATCH), stream=io.TextIOWrapper(stream, "utf-8", write_through=True)
                )
        kept = _attachments(using) if files else []
    for name, path, digest in kept:  # never altered once written, so they fit the rows read before
        content = _whole(path, digest)
        packed.writestr(f"files/{name}", content)
    head = {
        "form": FORM,
        "version": __version__,
        "at": datetime.now(UTC).isoformat(),
        "migrations": _migrations(using),
        "rows": counts,
    }
    packed.writestr("backup.json", json.dumps(head, indent=1))
    return counts


def _attachments(using: str) -> list[tuple[str, Path, str]]:
    from loamery.web.records.models import Attachment

    rows = Attachment.objects.using(using).select_related("garden").order_by("pk")
    return [(f"{one.garden_id}/{one.path}", one.garden.folder / one.path, one.sha256) for one in rows]


def _whole(path: Path, digest: str) -> bytes:
    try:
        content = path.read_bytes()
    except OSError:
        content = b""
    if hashlib.sha256(content).hexdigest() != digest:
        raise InputError(
            "gone, or not as it was given", where=Where(file=str(path)), expected="the file as it was given",
            remedy="put it back from an older backup; `loamery check` lists every such file",
        )  # fmt: skip
    return content


def restore(source: Path) -> dict[str, int]:
    """Bring everything of a backup into the empty database and folder that Django is set up for; return the rows.

    Raises
    ------
    UnreadableFile : no backup, or one that was damaged or made by a later version.
    InputError : there are records already.
    """
    from django.apps import apps
    from django.core.management import call_command
    from django.db import transaction

    from loamery.web.records.taking_up import make_records

    head, packed = _opened(source)
    with packed:
        call_command("migrate", verbosity=0, interactive=False)
        unknown = set(head["migrations"]) - set(_migrations("default"))
        if unknown:
            raise _no_backup(source, f"made by a later version ({head['version']})")
        _refuse_full("default")
        _unpack_files(packed)
        counts = load(packed, "default")
        with transaction.atomic():
            make_records(apps)
    if counts != head["rows"]:
        raise _no_backup(source, "rows that are missing")
    return counts


def _opened(source: Path) -> tuple[dict[str, Any], zipfile.ZipFile]:
    try:
        packed = zipfile.ZipFile(source)
        head = json.loads(packed.read("backup.json"))
        damaged = packed.testzip()
    except (OSError, zipfile.BadZipFile, KeyError, ValueError) as error:
        raise _no_backup(source, f"no backup of ours ({type(error).__name__})") from None
    if damaged or head.get("form") != FORM:
        raise _no_backup(source, f"“{damaged or head.get('form')}”")
    return head, packed


def _no_backup(source: Path, read: str) -> UnreadableFile:
    return UnreadableFile(
        read,
        where=Where(file=str(source)),
        expected=f"a file that `loamery backup` wrote ({FORM})",
        remedy="take another backup",
    )


def _refuse_full(using: str) -> None:
    full = [table._meta.verbose_name_plural for table in _tables() if table._base_manager.using(using).exists()]
    if full:
        raise InputError(
            f"records already ({', '.join(str(one) for one in full[:3])} …)", where=Where(column="--data"), expected="an empty database",
            remedy="name a new data folder; nothing was changed",
        )  # fmt: skip


def _unpack_files(packed: zipfile.ZipFile) -> None:
    from django.conf import settings

    from loamery.garden.checks import inside
    from loamery.saving import save_bytes

    root = Path(settings.DATA) / "gardens"
    root.mkdir(parents=True, exist_ok=True)
    for name in packed.namelist():
        if name.startswith("files/"):
            path = inside(root, name.removeprefix("files/"))
            if path == root:
                raise _no_backup(Path(str(packed.filename)), f"the name “{name}”")
            save_bytes(path, packed.read(name))


def load(packed: zipfile.ZipFile, using: str) -> dict[str, int]:
    """Write the rows of a backup into an empty database, in one step, and return how many of each table."""
    from django.core import serializers
    from django.core.management.color import no_style
    from django.db import connections, transaction

    connection, counts = connections[using], {}
    with transaction.atomic(using=using):
        for table in _tables():
            text = (
                packed.read(f"tables/{table._meta.label_lower}.jsonl").decode("utf-8") if _holds(packed, table) else ""
            )
            rows = [one.object for one in serializers.deserialize("jsonl", text, using=using, ignorenonexistent=True)]
            table._base_manager.using(using).bulk_create(rows, batch_size=BATCH)
            counts[table._meta.label_lower] = len(rows)
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(no_style(), _tables()):
                cursor.execute(statement)
    return counts


def _holds(packed: zipfile.ZipFile, table: Any) -> bool:
    return f"tables/{table._meta.label_lower}.jsonl" in packed.namelist()


def move(url: str) -> dict[str, int]:
    """Copy every row into another, empty database, compare the two, and return the rows; the old one stays as it is.

    Raises
    ------
    InputError : the address cannot be used, or the other database holds records already.
    """
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connections
    from django.db.utils import DatabaseError

    from loamery.web.database import VARIABLE, database

    connections.databases[OTHER] = connections.configure_settings({"default": {}, OTHER: database(url, settings.DATA)})[
        OTHER
    ]
    try:
        call_command("migrate", database=OTHER, verbosity=0, interactive=False)
    except DatabaseError as error:
        raise InputError(
            f"no answer ({type(error).__name__})", where=Where(column=VARIABLE), expected="a database this account may make tables in",
            remedy="start it, or correct the address",
        ) from None  # fmt: skip
    _refuse_full(OTHER)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        before = _pack(packed, "default", files=False)
    with zipfile.ZipFile(stream) as packed:
        after = load(packed, OTHER)
    if before != after:
        raise InputError(
            "rows that are missing", expected="as many rows as before", remedy="report this; the old database is whole"
        )
    return after


def look_over() -> list[str]:
    """Return everything that is wrong with the records, their history and files; nothing when all is well."""
    from loamery.web.records.models import Garden

    faults = _database_faults()
    for garden in Garden.objects.order_by("pk"):
        faults += [
            f"{garden.slug}: {fault}"
            for fault in (*_garden_faults(garden), *_file_faults(garden), *_history_faults(garden))
        ]
    return faults


def _database_faults() -> list[str]:
    from django.db import connection

    found = []
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            found += [f"database: {row[0]}" for row in cursor.fetchall() if row[0] != "ok"]
            cursor.execute("PRAGMA foreign_key_check")
            found += [f"database: a row of {row[0]} points at nothing" for row in cursor.fetchall()]
    return found


def _garden_faults(garden: Any) -> Iterator[str]:
    from pydantic import ValidationError

    from loamery.garden.folder import FILES, info_faults, row_faults
    from loamery.web.records.snapshot import snapshot

    try:
        held = snapshot(garden)
    except (ValidationError, GardenError) as error:
        yield f"records that cannot be read ({error})"
        return
    rows = {part: list(enumerate(getattr(held, part), start=1)) for part in FILES}
    for fault in [*row_faults(rows, garden.folder, set()), *info_faults(held.info)]:
        yield str(fault).replace("\n", " ")
    yield from _trial_faults(garden)


def _trial_faults(garden: Any) -> Iterator[str]:
    from loamery.trials.folder import FOLDER, reading_faults, trial_faults
    from loamery.web.records.trials import damaged, trials_of

    yield from damaged(garden)
    for key, (trial, readings) in trials_of(garden).items():
        yield from (str(fault) for fault in trial_faults(trial, f"{FOLDER}/{key}.toml"))
        for one in readings:
            yield from (str(fault) for fault in reading_faults(Where(file=f"{FOLDER}/{key}.csv"), one, trial))


def _file_faults(garden: Any) -> Iterator[str]:
    known = set()
    for one in garden.attachments.all():
        known.add(one.path)
        path = garden.folder / one.path
        if not path.is_file():
            yield f"{one.path}: gone"
        elif hashlib.sha256(path.read_bytes()).hexdigest() != one.sha256:
            yield f"{one.path}: not as it was given"
    for path in sorted(garden.folder.rglob("*")):
        if path.is_file() and path.relative_to(garden.folder).as_posix() not in known:
            yield f"{path.relative_to(garden.folder).as_posix()}: a file no record knows"


def _history_faults(garden: Any) -> Iterator[str]:
    """Yield records that do not say what their last change says."""
    from loamery.web.records.models import KINDS

    last = {(one.kind, one.row): one.after for one in garden.changes.order_by("pk") if one.kind in KINDS}
    for kind, table in KINDS.items():
        wanted = {row: after for (part, row), after in last.items() if part == kind}
        for entry in table.every.select_related(*table.links()).filter(garden=garden, pk__in=wanted):
            after = wanted.pop(entry.pk)
            state = entry.state()
            if any(state.get(name) != value for name, value in after.items() if name in state):
                yield f"{kind} {entry.pk}: changed beside the history"
        yield from (f"{kind} {row}: gone from the database" for row in wanted)
