"""``loamery blend``: amounts in and out in both systems of units, and why there is none when there is none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Said

Loamery = Callable[..., Said]
PAIR = ("coffee-spent", "leaves-mixed", "chips-arborist")


def total_kg(document: dict[str, object]) -> float:
    return sum(one["kg"] for one in document["portions"]) + float(document["water_kg"])  # type: ignore[attr-defined,arg-type]


def test_the_document(loamery: Loamery) -> None:
    said = loamery("blend", *PAIR, "--json")
    assert said.code == 0
    document = said.json()
    assert document["format"] == "loamery blend 1"
    assert total_kg(document) == pytest.approx(100, rel=1e-6)
    assert said.err == ""


@pytest.mark.parametrize(
    ("given", "kg"), [("200 kg", 200.0), ("200 lb", 90.718474), ("0.5 t", 500.0), ("1 ton", 907.18474)]
)
def test_a_total_in_any_unit(loamery: Loamery, given: str, kg: float) -> None:
    assert total_kg(loamery("blend", *PAIR, "--total", given, "--json").json()) == pytest.approx(kg, rel=1e-6)


def test_what_people_see_in_us_units(loamery: Loamery) -> None:
    said = loamery("blend", *PAIR, "--units", "us")
    assert said.code == 0
    assert " lb" in said.out
    assert " gal" in said.out
    assert " kg" not in said.out.split("What it is like")[0]


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (("coffee",), "coffee-spent"),
        ((*PAIR, "--total", "much"), '--total "200 kg"'),
        ((*PAIR, "--total", "-5 kg"), "above zero"),
        ((*PAIR, "--total", "5 m2"), "kg"),
        ((*PAIR, "--stock", "coffee-spent"), "NAME=VALUE"),
        ((*PAIR, "--stock", "straw=5 kg"), "coffee-spent"),
        ((*PAIR, "--objective", "best"), "closest"),
        ((*PAIR, "--bucket", "5 kg"), "L"),
        (("coffee-spent", "coffee-spent"), ""),
        ((*PAIR, "--garden", "nowhere"), "loamery init"),
    ],
)
def test_a_wrong_question_ends_with_1(loamery: Loamery, arguments: tuple[str, ...], word: str) -> None:
    said = loamery("blend", *arguments)
    assert said.code == 1
    assert said.out == ""
    assert word in said.err


def test_where_nothing_fits_the_bounds_in_conflict_are_named(loamery: Loamery) -> None:
    said = loamery("blend", "grass-clippings", "--json")
    assert said.code == 1
    document = said.json()
    assert document["error"] == "NoPlan"
    assert document["conflict"]
    assert document["remedies"]


def test_materials_of_a_garden(loamery: Loamery, small: Path) -> None:
    document = loamery(
        "blend",
        "grounds",
        "leaves",
        "--garden",
        small,
        "--stock",
        "grounds=20 kg",
        "--objective",
        "use_most:grounds",
        "--json",
    ).json()
    kg = {one["name"]: one["kg"] for one in document["portions"]}
    assert kg["grounds"] <= 20 + 1e-6
