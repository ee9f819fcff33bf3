"""Gardens of chance: every field of every record filled with whatever its type allows, all links whole."""

from __future__ import annotations

from datetime import date
from typing import Any

from hypothesis import strategies as st

from loamery.garden import Garden
from loamery.garden.folder import FILES
from loamery.garden.model import Climate, Info, Record

TEXT = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), include_characters="\n\t"), max_size=12
) | st.sampled_from(["=1+1", "'=cmd()", "-5", "@x", '"quoted", with comma', "# no remark", "é;ü"])
KEYS = ("one", "two", "three-3")
DAY = st.dates(date(2020, 1, 1), date(2030, 12, 31))
NUMBER = st.floats(1e-6, 0.99, allow_subnormal=False)
LINKS = {"donor", "material", "bed", "heap", "worm_bed", "batch"}
WITH_ID = ("donors", "materials", "beds", "heaps", "worm_beds", "batches", "loads")
FIXED: dict[str, Any] = {
    "kind": "coffee-spent", "crop": "lettuce-leaf", "quantity": "organic_matter", "unit": "%", "item": "lettuce-leaf",
    "jurisdiction": "ca-a", "test": "compost-full", "photo": "", "share": 0.001,
}  # fmt: skip
"""Fields that must name something of the reference data."""


def value(model: type[Record], name: str) -> st.SearchStrategy[Any]:
    if name in FIXED and not (model.__name__ in ("Donor", "Heap") and name == "kind"):
        return st.just(FIXED[name])
    if name in LINKS:
        return st.sampled_from(KEYS)
    schema = model.model_json_schema()["properties"][name]
    options = schema.get("anyOf", [schema])
    return st.one_of([of_type(one, name in model.model_json_schema().get("required", ())) for one in options])


def of_type(schema: dict[str, Any], required: bool) -> st.SearchStrategy[Any]:
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    if schema.get("format") == "date":
        return DAY
    if schema["type"] == "array":
        return st.lists(st.sampled_from(["mulch", "heap"]), unique=True).map(tuple)
    texts = TEXT.filter(str.strip) if required else TEXT
    return {"string": texts, "number": NUMBER, "null": st.none(), "integer": st.just(100), "boolean": st.booleans()}[
        schema["type"]
    ]


def row(draw: st.DrawFn, model: type[Record], key: str) -> Record:
    given = {name: draw(value(model, name)) for name in model.model_fields if name != "id"}
    if "id" in model.model_fields:
        given["id"] = key
    for first, last in (("first", "last"), ("planted", "harvested"), ("built", "emptied")):
        if first in given:
            given[first], given[last] = date(2020, 1, 1), given[last] and date(2030, 12, 31)
    for choice in (("material", "batch", "worm_bed"), ("batch", "bed", "worm_bed")):
        if all(name in given and not model.model_fields[name].is_required() for name in choice):
            given |= dict.fromkeys(choice) | {draw(st.sampled_from(choice)): "one"}
    if "min_temp_c" in given:
        given |= {"day": date(2021, 1, 1 + KEYS.index(key)), "min_temp_c": -given["max_temp_c"]}
    if "feel" in given:
        given["feel"] = "moist"
    return model.model_validate(given)


@st.composite
def gardens(draw: st.DrawFn) -> Garden:
    """Return a whole garden that a folder can hold."""
    parts = {
        part: tuple(row(draw, model, key) for key in KEYS[: 3 if part in WITH_ID else draw(st.integers(0, 2))])
        for part, (_, model) in FILES.items()
    }
    info = {name: draw(value(Info, name)) for name in Info.model_fields if name not in ("season_weeks", "draws")}
    climate = Climate(mean_temp_c=tuple(draw(st.lists(NUMBER, min_size=12, max_size=12))), rain_mm=(1.5,) * 12)
    return Garden(info=Info(**info), climate=climate, **parts)
