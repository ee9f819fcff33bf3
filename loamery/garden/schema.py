"""The published JSON Schema of a garden."""

from __future__ import annotations

import json

from loamery.garden.model import Garden


def garden_schema() -> dict[str, object]:
    """Return the JSON Schema (2020-12) of a whole garden."""
    schema = Garden.model_json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Loamery garden"}
    return {**head, **schema, **head}


def schema_text() -> str:
    """Return the schema as the text of docs/garden.schema.json."""
    return json.dumps(garden_schema(), indent=2, ensure_ascii=False) + "\n"
