"""Records of what was done: read, and refused where they point nowhere or at the wrong day."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from loamery.errors import InputError
from loamery.garden import read_garden
from loamery.garden.records import Reading
from loamery.heap.readings import logged_readings

Faults = Callable[[], tuple[InputError, ...]]


@pytest.fixture
def ids(folder: Path) -> dict[str, str]:
    garden = read_garden(folder)
    parts = ("donors", "materials", "beds", "heaps", "worm_beds")
    return {part: getattr(garden, part)[0].id for part in parts if getattr(garden, part)}


def put(folder: Path, file: str, *rows: str) -> None:
    (folder / file).write_text("\n".join(rows) + "\n", encoding="utf-8")


def heap_built(folder: Path, ids: dict[str, str]) -> None:
    put(folder, "batches.csv", "id,heap,built,emptied", f"spring,{ids['heaps']},2027-04-10,2027-07-01")


def test_a_season_of_records_is_read(folder: Path, ids: dict[str, str]) -> None:
    heap_built(folder, ids)
    material = ids["materials"]
    put(folder, "loads.csv", "id,donor,material,on,lb", f"l1,{ids['donors']},{material},2027-04-09,10")
    put(folder, "batch_parts.csv", "batch,material,kg", f"spring,{material},40")
    put(folder, "readings.csv", "batch,on,depth_cm,temp_f,feel", "spring,2027-04-13,40,131,moist")
    put(folder, "applications.csv", "bed,on,batch,kg,use", f"{ids['beds']},2027-07-02,spring,12,dig_in")
    garden = read_garden(folder)
    assert garden.loads[0].kg == pytest.approx(10 * 0.45359237)
    assert garden.readings[0].temp_c == pytest.approx(55.0)
    assert garden.readings[0].depth_m == pytest.approx(0.4)
    assert garden.batch("spring").built == date(2027, 4, 10)
    assert garden.applications[0].material is None


def test_readings_feed_the_heap_model(folder: Path, ids: dict[str, str]) -> None:
    heap_built(folder, ids)
    put(
        folder, "readings.csv", "batch,on,depth_m,temp_c,feel",
        "spring,2027-04-14,0.4,58,", "spring,2027-04-12,,41.5,", "spring,2027-04-12,,,wet",
    )  # fmt: skip
    garden = read_garden(folder)
    found = logged_readings(garden.readings, garden.batch("spring"))
    assert [(one.day, one.depth_m, one.temp_c) for one in found] == [(2.5, None, 41.5), (4.5, 0.4, 58.0)]
    with pytest.raises(InputError, match="no readings"):
        logged_readings([Reading(batch="other", on="2027-04-12", temp_c=20)], garden.batch("spring"))


@pytest.mark.parametrize(
    ("file", "rows", "read", "column"),
    [
        ("loads.csv", ("id,donor,material,on,kg", "l1,nobody,{materials},2027-04-09,10"), "nobody", "donor"),
        ("loads.csv", ("id,donor,material,on,kg", "l1,{donors},{materials},2027-04-09,-1"), "-1", "kg"),
        ("loads.csv", ("id,donor,material,on,kg,photo", "l1,{donors},{materials},2027-04-09,1,../x.jpg"), "../x.jpg", "photo"),
        ("turnings.csv", ("batch,on", "spring,2027-04-09"), "2027-04-09", "on"),
        ("turnings.csv", ("batch,on", "spring,2027-07-02"), "2027-07-02", "on"),
        ("turnings.csv", ("batch,on", "sprnig,2027-05-02"), "sprnig", "batch"),
        ("readings.csv", ("batch,on,depth_m", "spring,2027-05-02,0.4"), "says nothing", None),
        ("readings.csv", ("batch,on,temp_c", "spring,2027-05-02,131"), "131", "temp_c"),
        ("waterings.csv", ("on,batch,bed,kg", "2027-05-02,spring,{beds},5"), "batch and bed", "bed"),
        ("applications.csv", ("bed,on,kg,use", "{beds},2027-05-02,5,mulch"), "none of material", "material"),
        ("harvests.csv", ("bed,crop,on,kg", "{beds},letuce-leaf,2027-05-02,5"), "letuce-leaf", "crop"),
        ("prices.csv", ("item,on,price_per_kg", "gold,2027-05-02,5"), "gold", "item"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told(
    folder: Path, ids: dict[str, str], faults: Faults, file: str, rows: tuple[str, ...], read: str, column: str | None
) -> None:
    heap_built(folder, ids)
    put(folder, file, *(row.format(**ids) for row in rows))
    (fault,) = faults()
    assert read in fault.read
    assert fault.where.file == file
    assert fault.where.row == 2
    assert fault.where.column == column


def test_an_emptied_day_before_the_built_one_is_told(folder: Path, ids: dict[str, str], faults: Faults) -> None:
    put(folder, "batches.csv", "id,heap,built,emptied", f"spring,{ids['heaps']},2027-04-10,2027-04-01")
    (fault,) = faults()
    assert fault.where.column == "emptied"
