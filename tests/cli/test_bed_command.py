"""``loamery bed``: an answer in words, as JSON, as a sheet; and bad input said plainly."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loamery.cli.app import app
from loamery.errors import LoameryError
from loamery.garden import write_demo

FEW = ("--draws", "5")


def bed(*words: str) -> str:
    done = CliRunner().invoke(app, ["bed", *words], catch_exceptions=True)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.stdout


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "garden"
    write_demo(folder)
    return folder


def test_without_a_garden_it_answers_in_words() -> None:
    told = bed("--with", "coffee-spent=20 L", *FEW)
    for word in ("Nitrogen:", "Drawdown:", "pH:", "Salt:", "Plant food", "an ordinary bed"):
        assert word in told


def test_a_bed_of_the_garden_with_its_soil_and_crops(demo: Path, tmp_path: Path) -> None:
    told = json.loads(
        bed(
            str(demo),
            "--bed",
            "street-edge",
            "--with",
            "coffee-spent=20 L",
            "--use",
            "mulch",
            "--into",
            str(tmp_path / "out"),
            "--json",
            *FEW,
        )
    )
    assert told["format"] == "loamery bed 1"
    assert told["bed"]["id"] == "street-edge"
    assert told["given"][0]["on_surface"] is True
    assert told["salt"]["before"] > 0.0
    assert max(one["crops_ask"] for one in told["weeks"]) > 0.0
    page = (tmp_path / "out" / "bed.html").read_text(encoding="utf-8")
    assert "Nitrogen given and taken, week by week" in page
    assert "Invented" in page
    assert {one.suffix for one in (tmp_path / "out" / "charts").iterdir()} == {".svg", ".csv"}


def test_composting_first_leaves_less_and_draws_nothing_down() -> None:
    raw, done = (
        json.loads(bed("--with", "coffee-spent=60 L", "--use", use, "--json", *FEW)) for use in ("dig_in", "composted")
    )
    assert done["given"][0]["kg_m2"] < raw["given"][0]["kg_m2"]
    assert raw["nitrogen"]["lowest"]["median"] < -0.3
    assert done["nitrogen"]["lowest"]["median"] > -0.05
    assert done["brought"]["P"]["median"] == pytest.approx(0.98 * raw["brought"]["P"]["median"], rel=0.15)


def test_us_units() -> None:
    assert "1000 ft²" in bed("--with", "coffee-spent=20 L", "--units", "us", *FEW)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--with", "coffee-spent"], "without an amount"),
        ([], "no materials"),
        (["--with", "coffee-spent=20 L", "--use", "burn"], "one of dig_in"),
        (["--with", "coffee-spent=20 L", "--area", "0 m2"], "above zero"),
        (["--with", "coffee-spent=20 L", "--texture", "porridge"], "sandy loam"),
        (["--with", "coffee-spent=20 L", "--crop", "tomatoe"], "tomato"),
        (["--with", "unobtainium=2 kg"], "unobtainium"),
        (["--with", "coffee-spent=20 L", "--day", "May"], "2027-05-01"),
        (["--with", "coffee-spent=20 L", "--draws", "0"], "1 to 1000"),
        (["--with", "coffee-spent=20 L", "--weeks", "1"], "4 to 104"),
        (["--with", "coffee-spent=20 L", "--bed", "north"], "a garden with beds"),
        (["--with", "coffee-spent=20 L", "--air", "80C"], "-40 to 50"),
    ],
)  # fmt: skip
def test_bad_input_is_said_plainly(words: list[str], told: str) -> None:
    with pytest.raises(LoameryError, match=told):
        bed(*words)


def test_an_unknown_bed_and_no_bed_at_all(demo: Path) -> None:
    for words in (["--bed", "moon"], []):
        with pytest.raises(LoameryError, match="north-border"):
            bed(str(demo), "--with", "coffee-spent=20 L", *words)
