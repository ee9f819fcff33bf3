"""The garden folder: every way it can be wrong is told with file, row, column, expectation and remedy, all at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from loamery.errors import InputError, UnreadableFile
from loamery.garden import read_garden, write_demo

Change = Callable[[str, str, str], None]
Faults = Callable[[], tuple[InputError, ...]]


def only(found: tuple[InputError, ...]) -> InputError:
    assert len(found) == 1, [str(one) for one in found]
    return found[0]


def test_the_starter_reads(folder: Path) -> None:
    garden = read_garden(folder)
    assert [bed.id for bed in garden.beds] == ["bed-1", "bed-2"]
    assert garden.materials[0].uses == ("mulch", "heap", "worm_bed")
    assert garden.folder == str(folder)
    assert garden.bed("bed-2").name == "Second bed"
    assert garden.donor("cafe").distance_km == 1.2
    assert garden.material("leaves").kind == "leaves-mixed"


def test_the_demo_reads(tmp_path: Path) -> None:
    garden = read_garden(write_demo(tmp_path / "demo"))
    # the issue: at least 8 materials from 6 donors, 10 beds, all marked as invented
    assert len(garden.materials) >= 8
    assert len(garden.donors) == 6
    assert len(garden.beds) == 10
    assert garden.info.invented
    assert "invented" in garden.info.name


@pytest.mark.parametrize(
    ("file", "old", "new", "row", "column", "expected", "remedy"),
    [
        # a missing bed, unknown names
        ("plantings.csv", "bed-2,kale", "bed-3,kale", 5, "bed", "an id of beds.csv (bed-1, bed-2)", "did you mean “bed-2”?"),
        ("plantings.csv", "bed-1,tomato", "bed-1,tomatoe", 3, "crop", "reference crops", "did you mean “tomato”?"),
        ("plantings.csv", "bed-1,tomato", "bed-1,zzzz", 3, "crop", "reference crops", "correct the name"),
        ("materials.csv", "coffee-spent", "coffee-spend", 3, "kind", "reference materials", "did you mean “coffee-spent”?"),
        ("supplies.csv", "cafe,grounds", "caffe,grounds", 3, "donor", "an id of donors.csv", "did you mean “cafe”?"),
        ("supplies.csv", "cafe,grounds", "cafe,ground", 3, "material", "an id of materials.csv", "did you mean “grounds”?"),
        ("soil_values.csv", "bed-1,pH", "bed-9,pH", 3, "bed", "an id of beds.csv", "did you mean"),
        ("soil_values.csv", "bed-1,pH,6.6", "bed-1,ph,6.6", 3, "quantity", "a quantity of the glossary", "did you mean “pH”?"),
        ("materials.csv", "mulch;heap;worm_bed", "mulch;heaps", 3, "uses", "'heap'", "correct the cell"),
        ("beds.csv", "8,0.15,loam", "8,0.15,lome", 3, "texture", "'loam'", "did you mean “loam”?"),
        ("heaps.csv", "1.2,bin", "1.2,bins", 2, "kind", "'bin'", "did you mean “bin”?"),
        # numbers that cannot be
        ("beds.csv", "First bed,8,", "First bed,-8,", 3, "area_m2", "greater than 0", "correct the cell"),
        ("beds.csv", "First bed,8,", "First bed,0,", 3, "area_m2", "greater than 0", "correct the cell"),
        ("beds.csv", "First bed,8,", "First bed,inf,", 3, "area_m2", "finite", "correct the cell"),
        ("beds.csv", "First bed,8,", "First bed,nan,", 3, "area_m2", "finite", "correct the cell"),
        ("beds.csv", "First bed,8,", "First bed,eight,", 3, "area_m2", "a valid number", "correct the cell"),
        ("beds.csv", "First bed,8,", 'First bed,"8,5",', 3, "area_m2", "a valid number", "decimal point"),
        ("beds.csv", "First bed,8,", "First bed,,", 3, "area_m2", "area_m2", "fill the cell in"),
        ("supplies.csv", "grounds,25", "grounds,-25", 3, "kg_per_week", "greater than or equal to 0", "correct the cell"),
        ("plantings.csv", "2027-09-26,1,", "2027-09-26,0,", 3, "share", "greater than 0", "correct the cell"),
        ("plantings.csv", "2027-09-26,1,", "2027-09-26,1.2,", 3, "share", "less than or equal to 1", "correct the cell"),
        # dates
        ("plantings.csv", "2027-05-31,2027-09-26", "2027-09-26,2027-05-31", 3, "harvested", "on or after planted", "swap"),
        ("supplies.csv", "2027-04-05,2027-10-03,0,", "2027-10-03,2027-04-05,0,", 3, "last", "on or after first", "swap"),
        ("plantings.csv", "2027-05-31", "31/05/2027", 3, "planted", "a date", "write dates as 2027-04-26"),
        ("plantings.csv", "2027-05-31", "27-Apr", 3, "planted", "a date", "write dates as 2027-04-26"),
        ("plantings.csv", "2027-05-31", "1806019200", 3, "planted", "a date", "write dates as 2027-04-26"),
        ("plantings.csv", "2027-05-31", "2027-02-30", 3, "planted", "a valid date", "write dates as 2027-04-26"),
        ("plantings.csv", "2027-05-31", "0027-05-31", 3, "planted", "1900", "correct the cell"),
        # ids
        ("beds.csv", "bed-2,Second", "Bed 2,Second", 4, "id", "short lower-case name", "correct the cell"),
        ("beds.csv", "bed-2,Second", "../bed,Second", 4, "id", "short lower-case name", "correct the cell"),
        # soil values: a unit that measures something else, a value that cannot be
        ("soil_values.csv", "P,48,mg/kg", "P,48,kg/m3", 5, "unit", "a unit of P: ", "convert the value"),
        ("soil_values.csv", "P,48,mg/kg", "P,48,stone", 5, "unit", "mg/kg", "convert the value"),
        ("soil_values.csv", "P,48,mg/kg", "P,-48,mg/kg", 5, "value", "between 0 and 1e+06 mg/kg", "correct the value"),
        ("soil_values.csv", "pH,6.6", "pH,66", 3, "value", "between 0 and 14 pH", "correct the value"),
        ("soil_values.csv", "organic_matter,4.5", "organic_matter,450", 4, "value", "between 0 and 100 %", "correct the value"),
        ("soil_values.csv", "organic_matter,4.5", "organic_matter,nan", 4, "value", "finite", "correct the cell"),
    ],
)  # fmt: skip
def test_one_fault_in_a_row(
    change: Change, faults: Faults, file: str, old: str, new: str, row: int, column: str, expected: str, remedy: str
) -> None:
    change(file, old, new)
    told = [one for one in faults() if one.where.file == file and one.where.row == row]
    fault = only(tuple(told))
    assert fault.where.column == column
    assert expected in fault.expected
    assert remedy in fault.remedy


def test_what_was_read_is_quoted_as_it_stood(change: Change, faults: Faults) -> None:
    change("beds.csv", "First bed,8,", "First bed,8 m2,")
    assert only(faults()).read == "“8 m2”"


def test_all_faults_are_listed_at_once(folder: Path, change: Change, faults: Faults) -> None:
    change("beds.csv", "First bed,8,", "First bed,-8,")
    change("plantings.csv", "tomato", "tomatoe")
    change("supplies.csv", "cafe,grounds", "nobody,grounds")
    change("garden.toml", "season_weeks = 26", "season_weeks = 99")
    change("garden.toml", 'jurisdiction = "ca-a"', 'jurisdiction = "mars"')
    (folder / "heaps.csv").write_bytes(b"id,name,capacity_m3\nh\xff,x,1\n")
    (folder / "reports.toml").write_text("[[report", encoding="utf-8")
    files = [one.where.file for one in faults()]
    assert set(files) == {"beds.csv", "plantings.csv", "supplies.csv", "garden.toml", "heaps.csv", "reports.toml"}


def test_a_damaged_row_does_not_make_every_mention_of_it_unknown(change: Change, faults: Faults) -> None:
    change("beds.csv", "First bed,8,", "First bed,-8,")
    assert only(faults()).where.file == "beds.csv"


def test_ids_are_given_once(folder: Path, faults: Faults) -> None:
    for file, line in (
        ("beds.csv", "bed-1,Again,4,,,,\n"),
        ("donors.csv", "cafe,Again,,1,\n"),
        ("heaps.csv", "heap-1,Again,1,bin,\n"),
    ):
        with (folder / file).open("a", encoding="utf-8") as stream:
            stream.write(line)
    told = faults()
    assert [(one.where.file, one.where.column) for one in told] == [
        ("donors.csv", "id"),
        ("beds.csv", "id"),
        ("heaps.csv", "id"),
    ]
    assert all("first in row" in one.expected for one in told)


def test_a_crowded_bed_is_told_at_the_later_planting(folder: Path, faults: Faults) -> None:
    with (folder / "plantings.csv").open("a", encoding="utf-8") as stream:
        stream.write("bed-1,basil,2027-06-07,2027-09-01,0.3,\n")
    fault = only(faults())
    assert (fault.where.row, fault.where.column) == (6, "share")
    assert "130%" in fault.read


def test_one_crop_may_follow_another_on_the_same_day(folder: Path, change: Change) -> None:
    change("plantings.csv", "kale,2027-07-05", "kale,2027-06-27")
    assert len(read_garden(folder).plantings) == 3


@pytest.mark.parametrize(
    "name",
    ["../../../../../../etc/passwd", "/etc/passwd", "..", ".", "reports", "reports/../../outside.csv", "reports/none.csv", "", "a\\u0000b",
     "x" * 5000, "C:\\\\Windows\\\\win.ini", "~/.profile", "file:///etc/passwd", "reports/\\n"],
)  # fmt: skip
def test_a_report_is_looked_for_inside_the_folder_only(folder: Path, faults: Faults, name: str) -> None:
    (folder.parent / "outside.csv").write_text("N,2 %\n", encoding="utf-8")
    (folder / "reports.toml").write_text(f'[[report]]\nfile = "{name}"\nmaterial = "grounds"\n', encoding="utf-8")
    fault = only(faults())
    assert fault.where.file == "reports.toml"
    assert "report 1" in (fault.where.column or "")
    assert "inside the garden folder" in fault.expected
    assert "root:" not in str(fault)


@pytest.mark.parametrize("target", ["outside.csv", "itself", "nowhere"])
def test_a_link_that_leads_out_or_nowhere_is_refused(folder: Path, faults: Faults, target: str) -> None:
    (folder.parent / "outside.csv").write_text("N,2 %\n", encoding="utf-8")
    link = folder / "reports" / "itself"
    link.symlink_to({"outside.csv": folder.parent / "outside.csv", "itself": link, "nowhere": folder / "no"}[target])
    (folder / "reports.toml").write_text(
        '[[report]]\nfile = "reports/itself"\nmaterial = "grounds"\n', encoding="utf-8"
    )
    assert "inside the garden folder" in only(faults()).expected


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ('file = "reports/a.csv"', "neither or both"),
        ('file = "reports/a.csv"\nmaterial = "grounds"\nbed = "bed-1"', "neither or both"),
        ('file = "reports/a.csv"\nmaterial = "ground"', "“ground”"),
        ('file = "reports/a.csv"\nbed = "bed-7"', "“bed-7”"),
        ('material = "grounds"', "nothing"),
        ('file = "reports/a.csv"\nmaterial = "grounds"\nmaterail = "x"', "“x”"),
        ('file = "reports/a.csv"\nmaterial = "grounds"\nanswers = "dry"', "“dry”"),
        ("file = 7\nmaterial = 8", "“7”"),
    ],
)
def test_a_report_says_what_it_is_about(folder: Path, faults: Faults, lines: str, told: str) -> None:
    (folder / "reports" / "a.csv").write_text("N,2 %\n", encoding="utf-8")
    (folder / "reports.toml").write_text(f"[[report]]\n{lines}\n", encoding="utf-8")
    assert any(told in one.read for one in faults())


@pytest.mark.parametrize(
    "text", ['[report]\nfile = "a"\n', '[[reports]]\nfile = "a"\n', 'file = "a"\n', "report = 5\n"]
)
def test_a_report_under_another_heading_is_not_lost_in_silence(folder: Path, faults: Faults, text: str) -> None:
    (folder / "reports.toml").write_text(text, encoding="utf-8")
    assert "[[report]]" in only(faults()).expected


@pytest.mark.parametrize("text", ["[garden\n", "garden = = 1", '[garden]\nname = "a"\nname = "b"\n', "\x07"])
def test_a_garden_toml_that_is_none(folder: Path, text: str) -> None:
    (folder / "garden.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableFile) as told:
        read_garden(folder)
    assert told.value.where.file == "garden.toml"
    assert told.value.expected == "TOML"


@pytest.mark.parametrize("content", [b"\xff\xfe[\x00g\x00", b"name = 'caf\xe9'", b"\x00\x00\x00"])
def test_a_garden_toml_that_is_no_text(folder: Path, content: bytes) -> None:
    (folder / "garden.toml").write_bytes(content)
    with pytest.raises(UnreadableFile) as told:
        read_garden(folder)
    assert "UTF-8" in told.value.expected


def test_a_folder_that_is_none(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    for place in (tmp_path / "nowhere", tmp_path / "empty", tmp_path / "file"):
        with pytest.raises(UnreadableFile) as told:
            read_garden(place)
        assert "loamery init" in told.value.remedy


@pytest.mark.parametrize(
    ("old", "new", "column"),
    [
        ('name = "My garden"', "", "[garden] name"),
        ('jurisdiction = "ca-a"', 'jurisdiction = "ca"', "[garden] jurisdiction"),
        ('units = "metric"', 'units = "imperial"', "[garden] units"),
        ("season_start = 2027-04-05", "season_start = 86400", "[garden] season_start"),
        ("season_start = 2027-04-05", 'season_start = "April"', "[garden] season_start"),
        ("season_weeks = 26", "season_weeks = 0", "[garden] season_weeks"),
        ("season_weeks = 26", "season_weeks = 2.5", "[garden] season_weeks"),
        ("bucket_l = 20", "bucket_l = inf", "[garden] bucket_l"),
        ("bucket_l = 20", "bucket_l = -1", "[garden] bucket_l"),
        ("draws = 1000", "draws = 5", "[garden] draws"),
        ("seed = 1 ", "sead = 1 ", "[garden] sead"),
        ("mean_temp_c = [-10, -8,", "mean_temp_c = [-8,", "[climate] mean_temp_c"),
        ("rain_mm = [30,", "rain_mm = [-30,", "[climate] rain_mm"),
        ("mean_temp_c = [-10,", "mean_temp_c = [nan,", "[climate] mean_temp_c"),
    ],
)  # fmt: skip
def test_a_wrong_line_of_garden_toml(change: Change, faults: Faults, old: str, new: str, column: str) -> None:
    change("garden.toml", old, new)
    told = faults()
    assert {one.where.file for one in told} == {"garden.toml"}
    assert column in {one.where.column for one in told}


def test_tables_that_belong_elsewhere_are_told(folder: Path, faults: Faults) -> None:
    with (folder / "garden.toml").open("a", encoding="utf-8") as stream:
        stream.write('\n[[beds]]\nid = "x"\n')
    assert only(faults()).read == "table [beds]"


def test_a_missing_table_is_told(folder: Path, faults: Faults) -> None:
    text = (folder / "garden.toml").read_text(encoding="utf-8")
    (folder / "garden.toml").write_text(text[: text.index("[climate]")], encoding="utf-8")
    assert {one.where.column for one in faults()} == {"[climate] mean_temp_c", "[climate] rain_mm"}


def test_what_is_no_table_is_told(folder: Path, faults: Faults) -> None:
    (folder / "garden.toml").write_text("garden = 5\nclimate = [1]\n", encoding="utf-8")
    assert [(one.read, one.where.column) for one in faults()] == [("“5”", "[garden]"), ("“[1]”", "[climate]")]


def test_supplies_of_zero_are_read(folder: Path, change: Change) -> None:
    change("supplies.csv", "grounds,25", "grounds,0")
    assert read_garden(folder).supplies[0].kg_per_week == 0


@pytest.mark.parametrize(
    "file",
    ["donors.csv", "supplies.csv", "plantings.csv", "soil_values.csv", "heaps.csv", "worm_beds.csv", "reports.toml"],
)
def test_a_part_may_be_missing_where_nothing_speaks_of_it(folder: Path, file: str) -> None:
    if file == "donors.csv":
        (folder / "supplies.csv").unlink()
    (folder / file).unlink()
    read_garden(folder)


def test_without_beds_every_mention_of_one_is_told(folder: Path, faults: Faults) -> None:
    (folder / "beds.csv").unlink()
    told = faults()
    assert {one.where.file for one in told} == {"plantings.csv", "soil_values.csv"}
    assert all("there are none yet" in one.expected for one in told)
