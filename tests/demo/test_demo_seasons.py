"""The invented records of the demo garden: they fit it, say that they are invented, and come out of their script."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from loamery.evidence.review_facts import soil_changes
from loamery.evidence.review_soil import soil_pairs
from loamery.evidence.skill import skill_of
from loamery.garden import read_garden, write_demo
from loamery.garden.records import DONE
from loamery.season.prepare import prepare

ROOT = Path(__file__).resolve().parents[2]
SEASONS = ROOT / "loamery" / "demo" / "seasons"


def test_the_records_fit_the_garden(tmp_path: Path) -> None:
    plain = read_garden(write_demo(tmp_path / "plain"))
    full = read_garden(write_demo(tmp_path / "full", seasons=True))
    told = {*DONE, "weather", "folder", "soil_values"}
    assert full.model_dump(exclude=told) == plain.model_dump(exclude=told)
    assert all(getattr(full, part) for part in DONE)
    assert {one.on.year for one in full.readings} == {2025, 2026, 2027}
    assert not any(getattr(plain, part) for part in DONE)
    again = full.soil_values[len(plain.soil_values) :]
    assert full.soil_values[: len(plain.soil_values)] == plain.soil_values
    assert again and all("invented" in one.lab for one in again)


def test_a_later_soil_test_is_there_to_look_back_with(tmp_path: Path) -> None:
    full = prepare(read_garden(write_demo(tmp_path / "full", seasons=True)))
    changes = list(soil_changes(full.garden, full))
    assert len({one.bed for one in changes}) == 6 and {one.key for one in changes} == {"pH", "EC", "P", "K"}
    assert all(one.first < one.last <= max(each.on for each in full.garden.readings) for one in changes)
    plain = prepare(read_garden(write_demo(tmp_path / "plain")))
    for bed, soil in full.soils.items():  # what the plan reckons with stays what the laboratory's file says
        assert {key: each.value for key, each in soil.values.items()} == {
            key: each.value for key, each in plain.soils[bed].values.items()
        }


def test_the_later_soil_tests_lie_in_the_forecast_as_often_as_its_bands_promise(tmp_path: Path) -> None:
    full = prepare(read_garden(write_demo(tmp_path / "full", seasons=True)))
    pairs, unforeseen = soil_pairs(full.garden, full.compositions, full.soils, list(soil_changes(full.garden, full)))
    assert unforeseen == [] and len(pairs) == 24 and 20 <= sum(one.inside for one in pairs) < 24
    for what in {one.what for one in pairs}:
        found = skill_of([one for one in pairs if one.what == what])
        assert found is not None and found.inside.high > 0.9, found.words


def test_every_file_says_that_it_is_invented() -> None:
    files = sorted(SEASONS.iterdir())
    assert len(files) >= 10
    assert all(path.read_text(encoding="utf-8").startswith("# invented") for path in files)


def test_the_script_writes_the_same_bytes(tmp_path: Path) -> None:
    subprocess.run([sys.executable, str(ROOT / "examples" / "make_demo_seasons.py"), str(tmp_path)], check=True)
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in SEASONS.iterdir()}
    for path in SEASONS.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name
