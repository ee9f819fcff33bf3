from loamery.evidence.cautions import cautions_for, general_cautions


def _codes(*args: object) -> set[str]:
    return {one.code for one in cautions_for(*args)}  # type: ignore[arg-type]


def test_cautions_follow_material_and_use() -> None:
    assert "wood-ash-caustic" in _codes("wood-ash", ["heap"])
    assert "wood-ash-ph" in _codes("wood-ash", ["dig_in"])
    assert "wood-ash-ph" not in _codes("wood-ash", ["heap"])
    assert "coffee-thick-layer" in _codes("coffee-spent", ["mulch"])
    assert "coffee-thick-layer" not in _codes("coffee-spent", ["heap"])


def test_a_group_is_meant_by_its_name() -> None:
    assert "manure-harvest-interval" in _codes("manure-horse-straw", ["dig_in"])


def test_general_cautions_stand_apart() -> None:
    assert "hot-heap-steam" not in _codes("coffee-spent", ["heap"])
    assert "hot-heap-steam" in {one.code for one in general_cautions(["heap"])}
    assert "hot-heap-steam" not in {one.code for one in general_cautions(["mulch"])}


def test_stops_come_first() -> None:
    found = [one.severity for one in cautions_for("chips-arborist", ["mulch", "collect"])]
    assert found[0] == "stop"
    assert found == sorted(found, key=["stop", "warning", "note"].index)
