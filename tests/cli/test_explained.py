"""The commands that play, compare and weigh a plan, on the starter garden; and what they refuse."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from loamery.garden import write_starter
from tests.cli.conftest import SMALL, Said

Loamery = Callable[..., Said]


@pytest.fixture(scope="module")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_starter(tmp_path_factory.mktemp("garden") / "small")
    for old, new in SMALL["garden.toml"]:
        path = folder / "garden.toml"
        path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    return folder


def test_a_plan_is_played(loamery: Loamery, starter: Path, tmp_path: Path) -> None:
    said = loamery("replay", starter, "--rounds", "1", "--draws", "3", "--into", tmp_path / "charts", "--json")
    document = said.json()
    assert document["format"] == "loamery agreement 1"
    assert document["seasons"] == 3
    assert document["balance_error"] < 1e-9
    assert {Path(one).suffix for one in document["files"]} == {".svg", ".csv"}
    assert all(Path(one).exists() for one in document["files"])


def test_what_if_a_donor_stops(loamery: Loamery, starter: Path) -> None:
    said = loamery("compare", starter, "--without", "cafe", "--price", "leaves=0.2", "--draws", "3", "--json")
    document = said.json()
    assert "gives nothing and" in document["question"]
    assert document["sides"][0]["label"] == "as it is"
    assert document["sides"][1]["collected_kg"]["grounds"] == 0.0


def test_beside_the_rules_of_the_hand(loamery: Loamery, starter: Path) -> None:
    said = loamery("compare", starter, "--draws", "3")
    assert said.code == 0
    assert "by hand, as usual" in said.out
    assert "nitrogen short" in said.out


def test_what_more_would_be_worth(loamery: Loamery, starter: Path, tmp_path: Path) -> None:
    into = tmp_path / "tests"
    document = loamery("worth", starter, "--draws", "100", "--harvest-price", "5", "--into", into, "--json").json()
    assert document["format"] == "loamery worth 1"
    assert document["tests"]["tests"]
    assert document["tests"]["knowing_everything"] >= 0.0
    page = (into / "tests.html").read_text(encoding="utf-8")
    assert document["tests"]["tests"][0]["name"] in page
    assert "Narrows by" in page
    assert (into / "tests.pdf").read_bytes().startswith(b"%PDF")
    assert {Path(one).suffix for one in document["files"]} == {".html", ".pdf", ".svg", ".csv"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("replay", "--draws", "2"), "3 to 400"),
        (("replay", "--rounds", "0"), "1 to 8"),
        (("compare", "--without", "caff"), "did you mean “cafe”"),
        (("compare", "--bed", "tomato"), "NAME=VALUE"),
        (("compare", "--bed", "tomato=6 kg"), "--bed"),
        (("compare", "--bed", "tomatoe=6 m2"), "did you mean “tomato”"),
        (("compare", "--rain", "-1"), "0 to 5"),
        (("compare", "--price", "grounds=cheap"), "a price per kilogram"),
        (("compare", "--price", "grounds"), "NAME=VALUE"),
        (("worth", "--draws", "5"), "100 to 5000"),
        (("worth", "--harvest-price", "-2"), "--harvest-price"),
    ],
)
def test_what_makes_no_sense_is_refused(loamery: Loamery, starter: Path, words: tuple[str, ...], told: str) -> None:
    said = loamery(words[0], starter, *words[1:])
    assert said.code == 1
    assert said.out == ""
    assert told in said.err
    assert "what to do:" in said.err


def test_a_file_in_the_way_is_left_alone(loamery: Loamery, starter: Path, tmp_path: Path) -> None:
    (tmp_path / "charts").write_text("mine", encoding="utf-8")
    said = loamery("compare", starter, "--draws", "3", "--into", tmp_path / "charts")
    assert said.code == 1
    assert (tmp_path / "charts").read_text(encoding="utf-8") == "mine"
