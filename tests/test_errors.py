"""Errors: one family, whole texts, nothing lost on the way to JSON."""

from __future__ import annotations

import json
import pickle

import pytest

from loamery import errors
from loamery.errors import GardenError, InputError, LoameryError, NoPlan, UnknownName, UnreadableFile, Where


def fault(**more: object) -> InputError:
    where = Where(file="beds.csv", row=3, column="area_m2")
    return InputError("“-4”", where=where, expected="a number above 0", remedy="correct the cell", **more)


def test_every_error_of_the_module_is_of_one_family() -> None:
    raised = [one for one in vars(errors).values() if isinstance(one, type) and issubclass(one, Exception)]
    assert len(raised) >= 6
    assert all(issubclass(one, LoameryError) for one in raised)


def test_the_text_says_what_where_expected_and_remedy_in_this_order() -> None:
    text = str(fault())
    parts = ["beds.csv", "row 3", "column area_m2", "“-4”", "a number above 0", "correct the cell"]
    places = [text.index(part) for part in parts]
    assert places == sorted(places)


def test_the_parts_survive_into_json() -> None:
    document = json.loads(json.dumps(fault().as_dict()))
    assert document == {
        "error": "InputError",
        "read": "“-4”",
        "where": {"file": "beds.csv", "row": 3, "column": "area_m2"},
        "expected": "a number above 0",
        "remedy": "correct the cell",
    }


@pytest.mark.parametrize(
    ("where", "text"),
    [
        (Where(), "the input"),
        (Where(file="a.xlsx", sheet="Sheet 1", row=2), "a.xlsx, sheet “Sheet 1”, row 2"),
        (Where(file="a.pdf", page=4), "a.pdf, page 4"),
        (Where(column="--stock"), "--stock"),
    ],
)
def test_a_place_is_told_as_a_person_counts(where: Where, text: str) -> None:
    assert str(where) == text


def test_builtin_families_are_kept() -> None:
    assert issubclass(InputError, ValueError)
    assert issubclass(UnknownName, KeyError)
    assert issubclass(GardenError, ValueError)


def test_an_unknown_name_reads_as_text_and_not_as_a_quoted_key() -> None:
    error = UnknownName("crop “tomatoe”", expected="a crop", remedy="did you mean “tomato”?")
    assert str(error).startswith("the input: crop “tomatoe”")
    assert "\\n" not in str(error)
    assert error.as_dict()["error"] == "UnknownName"


def test_a_garden_error_lists_every_fault_and_counts_them() -> None:
    one = GardenError([fault()])
    assert str(one).startswith("1 thing in the garden folder needs mending")
    three = GardenError([fault(), fault(), UnreadableFile("no such file", expected="it", remedy="make it")])
    assert str(three).startswith("3 things in the garden folder need mending")
    assert str(three).count("what to do:") == 3
    assert [one["error"] for one in three.as_dict()["faults"]] == ["InputError", "InputError", "UnreadableFile"]  # type: ignore[union-attr,index]


def test_no_plan_names_the_conflict_and_what_would_help() -> None:
    error = NoPlan("Nothing fits.", conflict=["moisture at most 65 %", "no water"], remedies=["add dry leaves"])
    assert "moisture at most 65 %; no water" in str(error)
    assert "add dry leaves" in str(error)
    assert error.as_dict() == {
        "error": "NoPlan",
        "read": "Nothing fits.",
        "conflict": ["moisture at most 65 %", "no water"],
        "remedies": ["add dry leaves"],
    }


def test_the_family_catches_them_all() -> None:
    for error in (fault(), GardenError([fault()]), NoPlan("x")):
        with pytest.raises(LoameryError):
            raise error


def test_places_can_be_sent_between_processes() -> None:
    where = Where(file="beds.csv", row=3)
    assert pickle.loads(pickle.dumps(where)) == where
