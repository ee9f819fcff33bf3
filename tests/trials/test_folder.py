"""Trial files: written, read again, faults told with their place, nothing lost."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from made import readings, trial

from loamery.errors import GardenError, InputError, UnreadableFile
from loamery.trials.enter import add_readings
from loamery.trials.folder import Reading, read_readings, read_trial, save_readings, trial_path, write_trial


def test_a_trial_is_read_as_it_was_written(tmp_path: Path):
    made = trial()
    toml, table = write_trial(tmp_path, made)
    assert read_trial(tmp_path, "mulch") == made
    assert [one.plot for one in read_readings(table, made)] == [one.id for one in made.plots]
    before = toml.read_text()
    with pytest.raises(InputError, match="a trial of that name"):
        write_trial(tmp_path, trial(seed=9))
    assert toml.read_text() == before


def test_a_trial_that_is_not_names_those_that_are(tmp_path: Path):
    write_trial(tmp_path, trial())
    with pytest.raises(UnreadableFile, match="did you mean “mulch”"):
        read_trial(tmp_path, "mulsh")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('treatment = "compost"', 'treatment = "compst"', "did you mean “compost”"),
        ("seed = 3", "seed = -1", "seed"),
        ('bed = "bed-1"', 'bed = "bed-9"', "bed-9"),
        ("length_m = ", "length_m = -", "length_m"),
        ("[trial]", "[trial", "TOML|trials/mulch.toml"),
        ('id = "102"', 'id = "101"', "a second time"),
    ],
)
def test_a_damaged_lay_out_says_where(tmp_path: Path, old: str, new: str, words: str):
    toml = write_trial(tmp_path, trial())[0]
    toml.write_text(toml.read_text().replace(old, new, 1))
    with pytest.raises((GardenError, UnreadableFile), match=words):
        read_trial(tmp_path, "mulch")


ROW = {"plot": "101", "treatment": "", "measured_on": "2027-08-01", "value": "3.2", "lost": "", "note": ""}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"plot": "901"}, "plot “901”"),
        ({"measured_on": "2026-08-01"}, r"another year.*\n.*2027-05-01 to 2027-09-30"),
        ({"measured_on": "2027-10-30"}, "2027-05-01 to 2027-09-30"),
        ({"measured_on": ""}, "a value without a day"),
        ({"value": "-1"}, "value"),
        ({"value": "three"}, "value"),
        ({"lost": "slugs"}, "one of the two"),
        ({"treatment": "lime"}, "as the lay-out says"),
    ],
)
def test_a_row_that_cannot_be_used_says_where(tmp_path: Path, change: dict[str, str], words: str):
    made = trial()
    path = tmp_path / "in.csv"
    with path.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, ROW)
        writer.writeheader()
        writer.writerow(ROW | change)
    with pytest.raises(GardenError, match=words) as told:
        read_readings(path, made)
    assert "in.csv, row 2" in str(told.value)


def test_entering_adds_keeps_and_refuses(tmp_path: Path):
    made = trial()
    write_trial(tmp_path, made)
    rows = readings(made)
    incoming = tmp_path / "new.csv"

    def write(some: list[Reading]) -> None:
        save_readings(tmp_path / "other", made, some)
        trial_path(tmp_path / "other", "mulch").with_suffix(".csv").replace(incoming)

    write(rows[:6])
    done = add_readings(tmp_path, made, incoming)
    assert (done.added, done.known, len(done.missing)) == (6, 0, 6)
    write(rows)
    done = add_readings(tmp_path, made, incoming)
    assert (done.added, done.known, done.missing) == (6, 6, ())
    kept = done.path.read_text()
    write([rows[0].model_copy(update={"value": 1.0}), *rows[1:]])
    with pytest.raises(GardenError, match="as entered before"):
        add_readings(tmp_path, made, incoming)
    assert done.path.read_text() == kept
