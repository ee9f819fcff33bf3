"""Whole gardens in and out: a garden folder, or the same as a zip, read into the database and written from it."""

from __future__ import annotations

import io
import re
import shutil
import stat
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import Any, BinaryIO

from django.db import transaction

from loamery.errors import InputError, UnreadableFile, Where
from loamery.garden.beside import PASSED_OVER, beside, strangers
from loamery.garden.checks import inside
from loamery.garden.folder import read_garden
from loamery.garden.model import Climate, Info
from loamery.garden.model import Garden as Snapshot
from loamery.garden.writing import attached, known, write_garden
from loamery.saving import save_text
from loamery.say import say
from loamery.trials.record import files_of, records_in
from loamery.web.people.models import Membership, Person
from loamery.web.people.roles import Role
from loamery.web.records import files, ledger
from loamery.web.records.models import KINDS, PARTS, Entry, Garden
from loamery.web.records.models.base import stored
from loamery.web.records.snapshot import snapshot
from loamery.web.records.trials import trial_texts

MOST_ZIP_BYTES = 200 * 2**20
MOST_FILES = 2000
MOST_UNPACKED_BYTES = 500 * 2**20
MOST_RATIO = 200
NAME = re.compile(r"[^\x00-\x1f\x7f:*?\"<>|/\\]{1,120}")


def take_in(folder: Path, who: Person | None, *, slug: str = "") -> Garden:
    """Read a garden folder into the database as a new garden, owned by who brings it.

    Files the folder holds beyond those of a garden are left where they are, and named in the history.

    Raises
    ------
    LoameryError : the folder does not hold a garden, or a report or photo is not what its name says.
    """
    read = read_garden(folder)
    with transaction.atomic():
        garden = _made(read.info, read.climate, who, slug)
        try:
            _take_files(garden, read, folder, who)
            counts = _take_rows(garden, read, folder, who)
        except BaseException:
            shutil.rmtree(garden.folder, ignore_errors=True)
            raise
        ledger.brought(garden, counts, who, left_out=_left_out(garden, folder, read))
    return garden


def begin(info: Info, climate: Climate, who: Person | None) -> Garden:
    """Make a new, empty garden, owned by who begins it."""
    with transaction.atomic():
        garden = _made(info, climate, who, "")
        ledger.begun(garden, who)
    return garden


def _made(info: Info, climate: Climate, who: Person | None, slug: str) -> Garden:
    garden: Garden = Garden.objects.create(
        slug=slug or _free_slug(info.name), climate=climate.model_dump(mode="json"),
        **{name: stored(getattr(info, name)) for name in Info.model_fields},
    )  # fmt: skip
    if who is not None:
        Membership.objects.create(person=who, garden=garden, role=Role.OWNER)
    return garden


def _free_slug(name: str) -> str:
    from django.utils.text import slugify

    plain = slugify(name)[:50].strip("-") or "garden"
    taken = set(Garden.objects.filter(slug__startswith=plain).values_list("slug", flat=True))
    return next(one for one in (plain, *(f"{plain}-{n}" for n in range(2, len(taken) + 3))) if one not in taken)


def _take_files(garden: Garden, read: Snapshot, folder: Path, who: Person | None) -> None:
    for path in dict.fromkeys(attached(read)):
        source = inside(folder, path)
        content = source.read_bytes()
        files.look_at(path, content, (*files.REPORTS, *files.PHOTOS))
        if len(content) > files.MOST_BYTES:
            raise InputError(
                say("{count} bytes", count=len(content)), where=Where(file=path), expected=say("at most {MOST_BYTES} MiB", MOST_BYTES=files.MOST_BYTES // 2 ** 20),
                remedy=say("make the file smaller"),
            )  # fmt: skip
        target = garden.folder / PurePosixPath(path)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
        files.note(garden, path, content, who)


def _left_out(garden: Garden, folder: Path, read: Snapshot) -> list[str]:
    """Return the files of a folder that became no part of the garden."""
    taken = known(read) | files_of(KINDS["trials"].objects.filter(garden=garden).values_list("key", flat=True))
    return sorted({*strangers(folder, taken), *beside(folder)} - taken)


def _take_rows(garden: Garden, read: Snapshot, folder: Path, who: Person | None) -> dict[str, int]:
    keys: dict[type[Entry], dict[str, Entry]] = {}
    counts = {}
    trials, trial_readings = records_in(folder)
    records = {**{kind: getattr(read, kind) for kind in PARTS}, "trials": trials, "trial_readings": trial_readings}
    for kind, table in KINDS.items():
        rows = [_row(garden, table, record, keys) for record in records[kind]]
        table.every.bulk_create(rows, batch_size=500)
        ledger.brought_rows(garden, kind, rows, who)
        if "id" in table.record.model_fields:
            keys[table] = {row.key: row for row in rows}
        counts[kind] = len(rows)
    return counts


def _row(garden: Garden, table: type[Entry], record: Any, keys: dict[type[Entry], dict[str, Entry]]) -> Entry:
    links, given = table.links(), {}
    for name, column in table.columns().items():
        value = getattr(record, name)
        if name in links and value is not None:
            value = keys[links[name]][value]
        given[column] = stored(value)
    return table(garden=garden, **given)


def write_out(garden: Garden, folder: Path) -> Path:
    """Write a garden as a new folder that reads back equal, and return its path."""
    write_garden(snapshot(garden), folder)
    for name, text in trial_texts(garden).items():
        (folder / name).parent.mkdir(exist_ok=True)
        save_text(folder / name, text)
    return folder


def as_zip(garden: Garden) -> bytes:
    """Return a garden folder as a zip file."""
    with tempfile.TemporaryDirectory() as place:
        folder = write_out(garden, Path(place) / garden.slug)
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
            for path in sorted(folder.rglob("*")):
                if path.is_file():
                    packed.write(path, f"{garden.slug}/{path.relative_to(folder).as_posix()}")
    return stream.getvalue()


def take_in_zip(stream: BinaryIO, who: Person | None) -> Garden:
    """Read a zipped garden folder into the database as a new garden.

    Raises
    ------
    InputError : no zip, too large when unpacked, or names that lead out of it; nothing was unpacked then.
    LoameryError : what is in it is no garden.
    """
    with unpacked(stream) as folder:
        return take_in(folder, who)


@contextmanager
def unpacked(stream: BinaryIO) -> Iterator[Path]:
    """Unpack a zip into a temporary folder and give the folder that holds garden.toml."""
    try:
        packed = zipfile.ZipFile(stream)
    except (zipfile.BadZipFile, OSError, ValueError):
        raise _no_zip(say("no zip file")) from None
    with packed, tempfile.TemporaryDirectory() as place:
        _look_over(packed)
        _unpack(packed, Path(place))
        heads = sorted(Path(place).rglob("garden.toml"), key=lambda path: len(path.parts))
        if not heads:
            raise _no_zip(say("no garden.toml in it"))
        yield heads[0].parent


def _look_over(packed: zipfile.ZipFile) -> None:
    """Refuse a zip by what its list says, before anything is unpacked."""
    listed = packed.infolist()
    if len(listed) > MOST_FILES:
        raise _no_zip(say("{count} files", count=len(listed)))
    for one in listed:
        parts = PurePosixPath(one.filename.replace("\\", "/")).parts
        linked = stat.S_ISLNK(one.external_attr >> 16)
        if linked or not parts or ".." in parts or not all(NAME.fullmatch(part) for part in parts):
            raise _no_zip(say("the name “{name}”", name=one.filename))
        if one.flag_bits & 1:
            raise _no_zip(say("files locked with a password"))
        if one.file_size > 2**20 and one.file_size > MOST_RATIO * max(one.compress_size, 1):
            raise _no_zip(
                say(
                    "“{name}”, which grows {times} times",
                    name=one.filename,
                    times=one.file_size // max(one.compress_size, 1),
                )
            )
    if sum(one.file_size for one in listed) > MOST_UNPACKED_BYTES:
        raise _no_zip(say("more than can be unpacked"))


def _unpack(packed: zipfile.ZipFile, place: Path) -> None:
    """Unpack, counting what really comes out: the list of a zip may lie."""
    left = MOST_UNPACKED_BYTES
    for one in packed.infolist():
        name = PurePosixPath(one.filename.replace("\\", "/"))
        target = place / name
        if any(part.startswith(PASSED_OVER) for part in name.parts):
            continue
        if one.is_dir():
            target.mkdir(parents=True, exist_ok=True)
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            with packed.open(one) as source, target.open("wb") as sink:
                while block := source.read(1 << 16):
                    left -= len(block)
                    if left < 0:
                        raise _no_zip(say("more than can be unpacked"))
                    sink.write(block)
        except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError):
            raise _no_zip(say("“{name}”, which cannot be unpacked", name=one.filename)) from None


def _no_zip(read: str) -> UnreadableFile:
    return UnreadableFile(
        read,
        where=Where(file=say("the zip file")),
        expected=say(
            "a zipped garden folder: plain names, at most {MOST_FILES} files and {MOST_UNPACKED_BYTES} MiB",
            MOST_FILES=MOST_FILES,
            MOST_UNPACKED_BYTES=MOST_UNPACKED_BYTES // 2**20,
        ),
        remedy=say("zip the garden folder again, without links and without a password"),
    )
