"""The plan as JSON: it serialises, it is whole, and the same seed gives the same document."""

from __future__ import annotations

import json

from loamery.season.make import plan_prepared
from tests.season.conftest import Solved


def document(solved: Solved) -> dict[str, object]:
    found: dict[str, object] = json.loads(json.dumps(solved.plan.as_dict(), allow_nan=False))
    return found


def test_the_document_is_json_without_any_help(demo: Solved) -> None:
    found = document(demo)
    assert found["format"] == "loamery season plan 1"
    assert set(found) == {"format", "garden", "season", "solver", "published_only", "actions", "batches", "beds", "materials",
                          "mulches", "hours_by_week", "money", "findings", "traces"}  # fmt: skip
    assert found["garden"]["invented"] is True  # type: ignore[index]
    assert len(found["hours_by_week"]) == 26  # type: ignore[arg-type]


def test_every_mulch_tells_its_limit_and_what_sets_it(demo: Solved) -> None:
    mulches = {one["stuff"]: one for one in document(demo)["mulches"]}  # type: ignore[attr-defined]
    assert set(mulches) == {one.stuff.id for one in demo.problem.spreads if one.use == "mulch"}
    for one in demo.problem.spreads:
        if one.use == "mulch":
            told = mulches[one.stuff.id]
            assert told["depth_limit_m"] == one.depth_limit_m and told["fault"] == one.stuff.mulch_fault
            assert told["set_by"] == ("model" if one.stuff.mulch_fault else "publication")
    assert {one["set_by"] for one in mulches.values()} == {"model", "publication"}


def test_what_a_person_reads_is_in_the_document(demo: Solved) -> None:
    found = document(demo)
    assert len(found["actions"]) == len(demo.plan.actions)  # type: ignore[arg-type]
    assert [one["id"] for one in found["beds"]] == [one.id for one in demo.plan.beds]  # type: ignore[attr-defined]
    for bed, one in zip(found["beds"], demo.plan.beds, strict=True):  # type: ignore[call-overload]
        assert bed["supplied"]["N"]["median"] == one.supplied["N"].median
        assert {"key", "load", "limit", "share", "kept", "because", "sources"} == set(bed["ceilings"][0])
    assert {"code", "severity", "text", "because", "sources"} <= set(found["findings"][0])  # type: ignore[index]


def test_the_same_garden_gives_the_same_document(demo: Solved) -> None:
    again = json.loads(json.dumps(plan_prepared(demo.prepared).as_dict()))
    first = document(demo)
    for one in (first, again):
        one["solver"].pop("seconds")  # type: ignore[attr-defined]
    assert again == first
