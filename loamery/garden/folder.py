"""The garden folder: one TOML file and a few CSV files that a person can edit and git can compare."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from loamery.errors import GardenError, InputError, UnreadableFile, Where
from loamery.garden.checks import disordered, duplicates, inside, known, unknown
from loamery.garden.done import done_faults
from loamery.garden.fields import Record
from loamery.garden.model import (
    Bed,
    Climate,
    Donor,
    Fertiliser,
    Garden,
    Good,
    Heap,
    Info,
    LabPrice,
    Material,
    Planting,
    ReportEntry,
    SoilValue,
    Store,
    Supply,
    WeatherDay,
    WormBed,
)
from loamery.garden.records import DONE
from loamery.garden.rows import faults_of, read_rows, read_text
from loamery.garden.soil_lines import soil_value_faults
from loamery.garden.weather_lines import FILE as WEATHER_FILE
from loamery.garden.weather_lines import in_order, weather_faults
from loamery.names import quantities
from loamery.reference import table
from loamery.say import Verbatim, say

FILES: dict[str, tuple[str, type[Record]]] = {
    "donors": ("donors.csv", Donor),
    "materials": ("materials.csv", Material),
    "supplies": ("supplies.csv", Supply),
    "goods": ("goods.csv", Good),
    "fertilisers": ("fertilisers.csv", Fertiliser),
    "stores": ("stores.csv", Store),
    "test_prices": ("test_prices.csv", LabPrice),
    "beds": ("beds.csv", Bed),
    "plantings": ("plantings.csv", Planting),
    "soil_values": ("soil_values.csv", SoilValue),
    "heaps": ("heaps.csv", Heap),
    "worm_beds": ("worm_beds.csv", WormBed),
    "weather": (WEATHER_FILE, WeatherDay),
    **DONE,
}
"""Part of the garden, the file that holds it, and the record each row is."""

Numbered = dict[str, list[tuple[int, Any]]]
R = TypeVar("R", bound=Record)


def read_garden(folder: Path | str) -> Garden:
    """Return the garden a folder holds.

    Parameters
    ----------
    folder : a folder with garden.toml and the CSV files of FILES.

    Raises
    ------
    UnreadableFile : there is no garden.toml, or it is not TOML.
    GardenError : rows that cannot be used, or that speak of things that do not exist; all are listed at once.
    """
    folder = Path(folder)
    head = _read_toml(folder / "garden.toml")
    faults: list[InputError] = []
    info = _part(head, "garden", Info, faults)
    climate = _part(head, "climate", Climate, faults)
    faults += [_unknown_table(key) for key in head if key not in ("garden", "climate")]
    rows: Numbered = {name: list(read_rows(folder / file, model, faults)) for name, (file, model) in FILES.items()}
    reports = _read_reports(folder, faults)
    damaged = {fault.where.file for fault in faults}
    faults += _cross_checks(info, rows, reports, folder, damaged)
    if faults or info is None or climate is None:
        raise GardenError(faults)
    parts = {name: tuple(record for _, record in numbered) for name, numbered in rows.items()}
    parts["weather"] = in_order(parts["weather"])
    return Garden(info=info, climate=climate, reports=tuple(reports), folder=str(folder), **parts)


def _read_toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(read_text(path))
    except tomllib.TOMLDecodeError as error:
        raise UnreadableFile(
            str(error), where=Where(file=path.name), expected=say("TOML"), remedy=say("mend the line that is named")
        ) from None


def _part(head: dict[str, Any], key: str, model: type[R], faults: list[InputError]) -> R | None:
    try:
        return model.model_validate(head.get(key, {}))
    except ValidationError as error:
        for fault in faults_of(error, "garden.toml", None, {}, model):
            where = Where(file="garden.toml", column=f"[{key}] {fault.where.column or ''}".strip())
            faults.append(InputError(fault.read, where=where, expected=fault.expected, remedy=fault.remedy))
        return None


def _unknown_table(key: str) -> InputError:
    return InputError(
        say("table [{key}]", key=key),
        where=Where(file="garden.toml"),
        expected=say("[garden] and [climate]"),
        remedy=say("reports belong into reports.toml, everything else into its CSV file"),
    )


def _read_reports(folder: Path, faults: list[InputError]) -> list[ReportEntry]:
    path = folder / "reports.toml"
    if not path.exists():
        return []
    try:
        head = _read_toml(path)
    except UnreadableFile as broken:
        faults.append(broken)
        return []
    listed = head.pop("report", [])
    faults += [_stray_report(path, key) for key in head]
    if not isinstance(listed, list):
        faults.append(_stray_report(path, "report"))
        return []
    entries = []
    for number, raw in enumerate(listed, start=1):
        try:
            entries.append(ReportEntry.model_validate(raw))
        except ValidationError as error:
            for fault in faults_of(error, path.name, None, {}, ReportEntry):
                where = Where(file=path.name, column=f"report {number}, {fault.where.column or 'all of it'}")
                faults.append(InputError(fault.read, where=where, expected=fault.expected, remedy=fault.remedy))
    return entries


def _stray_report(path: Path, key: str) -> InputError:
    return InputError(
        say("“{key}” outside of a [[report]]", key=key),
        where=Where(file=path.name),
        expected=say("[[report]], in two pairs of brackets, before the lines of each report"),
        remedy=say("write [[report]] above its lines"),
    )


def _cross_checks(
    info: Info | None, rows: Numbered, reports: Sequence[ReportEntry], folder: Path, damaged: set[str | None]
) -> list[InputError]:
    faults = row_faults(rows, folder, damaged)
    ids = {name: [record.id for _, record in rows[name]] for name in ("materials", "beds")}
    for number, entry in enumerate(reports, start=1):
        faults += report_faults(number, entry, ids, folder)
    return faults + (info_faults(info) if info is not None else [])


def info_faults(info: Info) -> list[InputError]:
    """Return what is wrong with the garden's own settings beyond their types."""
    jurisdictions = [row["key"] for row in table("jurisdictions")]
    if info.jurisdiction in jurisdictions:
        return []
    where = Where(file="garden.toml", column="[garden] jurisdiction")
    return [unknown(info.jurisdiction, where, jurisdictions, say("a key of jurisdictions.csv"))]


def row_faults(rows: Numbered, folder: Path, damaged: set[str | None]) -> list[InputError]:
    """Return what is wrong between the rows of a garden: names that are not there, dates, shares, units.

    Parameters
    ----------
    rows : every part of FILES to its records with their row numbers.
    folder : where photos are looked for.
    damaged : files with rows that could not be read, whose ids are therefore not all known.
    """
    named = ("donors", "materials", "fertilisers", "beds", "heaps", "worm_beds")
    ids = {name: [record.id for _, record in rows[name]] for name in named}
    kinds = [row["slug"] for row in table("materials")]
    crops = [row["slug"] for row in table("crops")]
    faults = [fault for name in ids for fault in duplicates(FILES[name][0], rows[name])]
    faults += known("materials.csv", rows["materials"], "kind", kinds, say("a slug of the reference materials"))
    faults += known("plantings.csv", rows["plantings"], "crop", crops, say("a slug of the reference crops"))
    faults += known(
        "soil_values.csv", rows["soil_values"], "quantity", list(quantities()), say("a quantity of the glossary")
    )
    tests = [row["key"] for row in table("lab_tests")]
    faults += known(
        "test_prices.csv", rows["test_prices"], "test", tests, say("a key of lab_tests.csv (season-explained.md)")
    )
    links = [
        ("supplies", "donor"),
        ("supplies", "material"),
        ("goods", "material"),
        ("stores", "material"),
        ("plantings", "bed"),
        ("soil_values", "bed"),
    ]
    for name, field in links:
        if FILES[f"{field}s"][0] not in damaged:  # a damaged row would make every mention of it look unknown
            faults += known(
                FILES[name][0],
                rows[name],
                field,
                ids[f"{field}s"],
                say("an id of {file}", file=Verbatim(f"{field}s.csv")),
            )
    faults += disordered("supplies.csv", rows["supplies"], "first", "last")
    faults += disordered("plantings.csv", rows["plantings"], "planted", "harvested")
    faults += _crowded(rows["plantings"]) + soil_value_faults(rows["soil_values"])
    faults += weather_faults(rows["weather"], WEATHER_FILE)
    return faults + done_faults(rows, crops, folder, damaged)


def _crowded(numbered: Sequence[tuple[int, Planting]]) -> list[InputError]:
    """Find plantings that together take more than a whole bed on the day the later one is planted."""
    faults = []
    for row, one in numbered:
        together = sum(
            other.share
            for _, other in numbered
            if other.bed == one.bed and other.planted <= one.planted < other.harvested
        )
        if together > 1.0 + 1e-9:
            faults.append(
                InputError(
                    say(
                        "{together:.0%} of bed “{bed}” planted on {planted}",
                        together=together,
                        bed=one.bed,
                        planted=one.planted,
                    ),
                    where=Where(file="plantings.csv", row=row, column="share"),
                    expected=say("at most the whole bed at one time"),
                    remedy=say("lower the shares or move the dates apart"),
                )
            )
    return faults


def report_faults(number: int, entry: ReportEntry, ids: dict[str, list[str]], folder: Path) -> list[InputError]:
    """Return what is wrong with an entry of reports.toml."""

    def place(column: str) -> Where:
        return Where(file="reports.toml", column=f"report {number}, {column}")

    faults = []
    if (entry.material is None) == (entry.bed is None):
        faults.append(
            InputError(
                say("neither or both of material and bed"),
                where=place("material"),
                expected=say('one of material = "…" or bed = "…"'),
                remedy=say("say what the sample was taken from"),
            )
        )
    if entry.material is not None and entry.material not in ids["materials"]:
        faults.append(
            unknown(
                entry.material,
                place("material"),
                ids["materials"],
                say("an id of {file}", file=Verbatim("materials.csv")),
            )
        )
    if entry.bed is not None and entry.bed not in ids["beds"]:
        faults.append(unknown(entry.bed, place("bed"), ids["beds"], say("an id of {file}", file=Verbatim("beds.csv"))))
    if not inside(folder, entry.file).is_file():
        faults.append(
            InputError(
                say("file “{file}”", file=entry.file),
                where=place("file"),
                expected=say("a file inside the garden folder, such as reports/grounds.csv"),
                remedy=say("put the report there or correct the name"),
            )
        )
    return faults
