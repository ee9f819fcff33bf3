"""Writing a garden as a folder that reads back equal: nothing of it is lost, no cell can act as a formula."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from loamery.errors import InputError, Where
from loamery.garden.beside import beside, harmless
from loamery.garden.checks import inside
from loamery.garden.fields import Record
from loamery.garden.folder import FILES
from loamery.garden.model import Garden
from loamery.garden.records import DONE
from loamery.garden.rows import LIST_MARK, guarded
from loamery.saving import save_bytes, save_folder, save_text
from loamery.say import say


def write_garden(garden: Garden, folder: Path) -> Path:
    """Write a garden, with its report files, photos and trials, into a new folder and return its path.

    Remarks of the folder it was read from are not carried over. A file with no rows is left out.

    Raises
    ------
    InputError : the folder already holds something, cannot be written, or a report file or photo is gone.
    """
    return save_folder(folder, lambda target: _fill(garden, target))


def _fill(garden: Garden, target: Path) -> None:
    for name, text in garden_texts(garden).items():
        save_text(target / name, text)
    for name in attached(garden):
        source = inside(Path(garden.folder), name)
        if not garden.folder or not source.is_file():
            raise InputError(
                say("file “{name}”", name=name),
                where=Where(file=garden.folder or None),
                expected=say("the file the garden speaks of"),
                remedy=say("put the file back, or take out the row that names it"),
            )
        (target / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target / name)
    if garden.folder:
        for name in beside(Path(garden.folder)):
            save_bytes(target / name, harmless(name, (Path(garden.folder) / name).read_bytes()))


def attached(garden: Garden) -> tuple[str, ...]:
    """Return the files a garden speaks of, reports and photos, as paths inside its folder."""
    photos = [record.photo for part in DONE for record in getattr(garden, part) if getattr(record, "photo", "")]
    return tuple(dict.fromkeys([*(entry.file for entry in garden.reports), *photos]))


def known(garden: Garden) -> set[str]:
    """Return every name a garden's own files may have, as paths inside its folder."""
    return {"garden.toml", "reports.toml", *(file for file, _ in FILES.values()), *attached(garden)}


def garden_texts(garden: Garden) -> dict[str, str]:
    """Return the text files of a garden folder by name; parts that hold nothing are left out."""
    texts = {"garden.toml": _toml({"garden": garden.info, "climate": garden.climate})}
    if garden.reports:
        texts["reports.toml"] = _reports(garden)
    for part, (file, model) in FILES.items():
        records = getattr(garden, part)
        if records:
            texts[file] = rows_text(records, model)
    return texts


def rows_text(records: Iterable[Record], model: type[Record]) -> str:
    """Return records as the text of a CSV file, all columns of the record in its own order."""
    stream = io.StringIO()
    lines = csv.writer(stream, lineterminator="\n")
    lines.writerow(model.model_fields)
    lines.writerows([cell(getattr(record, name)) for name in model.model_fields] for record in records)
    return stream.getvalue()


def cell(value: Any) -> str:
    """Return a value as a CSV cell: empty for nothing, days in ISO form, lists with semicolons, text made harmless."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return LIST_MARK.join(value) or LIST_MARK
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if isinstance(value, date):
        return value.isoformat()
    return guarded(str(value))


def _toml(tables: dict[str, Record]) -> str:
    import tomlkit

    document = tomlkit.document()
    for name, record in tables.items():
        document.add(name, tomlkit.item(_present(record)))
    return tomlkit.dumps(document)


def _reports(garden: Garden) -> str:
    import tomlkit

    listed: Sequence[dict[str, Any]] = [_present(entry) for entry in garden.reports]
    return tomlkit.dumps({"report": listed})


def _present(record: Record) -> dict[str, Any]:
    """Return the fields that say something, lists as lists; what is empty when left out is left out when empty."""
    fields = type(record).model_fields
    found = {name: getattr(record, name) for name in fields}
    empty = {
        name
        for name in found
        if found[name] in (None, "", {}) and found[name] == fields[name].get_default(call_default_factory=True)
    }
    return {
        name: list(value) if isinstance(value, tuple) else value for name, value in found.items() if name not in empty
    }
