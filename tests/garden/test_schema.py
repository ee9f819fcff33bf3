"""The published schema: the file in docs is the one the code makes, it accepts gardens and refuses others."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from loamery.garden import Garden, garden_schema, read_garden
from loamery.garden.schema import schema_text

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "loamery" / "demo" / "garden"
PUBLISHED = ROOT / "docs" / "garden.schema.json"


def test_the_published_schema_is_the_one_the_code_makes() -> None:
    """Made anew with ``loamery schema > docs/garden.schema.json``."""
    assert PUBLISHED.read_text(encoding="utf-8") == schema_text()


def demo_document() -> dict[str, Any]:
    document: dict[str, Any] = json.loads(read_garden(DEMO).model_dump_json())
    return document


def violations(document: object) -> list[str]:
    jsonschema = pytest.importorskip("jsonschema", reason="comes with altair")
    jsonschema.Draft202012Validator.check_schema(garden_schema())
    return [error.json_path for error in jsonschema.Draft202012Validator(garden_schema()).iter_errors(document)]


def test_the_demo_garden_keeps_the_schema() -> None:
    assert violations(demo_document()) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("beds", 0, "area_m2"), -1),
        (("beds", 0, "texture"), "mud"),
        (("beds", 0, "colour"), "brown"),
        (("beds", 0, "id"), "Bed 1"),
        (("info", "season_weeks"), 0),
        (("info", "units"), "imperial"),
        (("climate", "mean_temp_c"), [1, 2, 3]),
        (("plantings", 0, "share"), 1.5),
        (("materials", 0, "uses"), ["eat"]),
        (("info",), None),
    ],
)
def test_the_schema_and_the_model_refuse_the_same(path: tuple[str | int, ...], value: object) -> None:
    document: Any = demo_document()
    spot = document
    for step in path[:-1]:
        spot = spot[step]
    spot[path[-1]] = value
    assert violations(document)
    with pytest.raises(ValidationError):
        Garden.model_validate(document)


def test_a_garden_goes_to_json_and_back() -> None:
    garden = read_garden(DEMO)
    assert Garden.model_validate_json(garden.model_dump_json()) == garden
    assert Garden.model_validate(garden.model_dump()) == garden


def test_records_cannot_be_changed() -> None:
    garden = read_garden(DEMO)
    with pytest.raises(ValidationError):
        garden.beds[0].area_m2 = 99.0


def test_fields_say_their_unit() -> None:
    schema = garden_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    supply = schema["$defs"]["Supply"]["properties"]  # type: ignore[index]
    assert supply["kg_per_week"]["description"] == "as received"
    assert supply["first"]["format"] == "date"
