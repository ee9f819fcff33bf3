"""One best figure out of several published ones; and the loader that reads them."""

from __future__ import annotations

from statistics import median

import pytest

from loamery.errors import DamagedReference, UnknownName
from loamery.reference import cite, coefficient, coefficients, family, source, table
from loamery.reference.lookup import SUSPECT, Figure, figure, figure_or, need_figure


def rows_of(table_name: str, slug: str, quantity: str) -> list[dict[str, str]]:
    return [row for row in table(table_name) if row["slug"] == slug and row["quantity"] == quantity]


def whole(key: tuple[str, str, str]) -> bool:
    """Tell whether the rows of a figure are in one unit and on one basis."""
    good = [row for row in rows_of(*key) if not row["note"].startswith(SUSPECT)]
    return len({(row["unit"], row.get("basis", "")) for row in good}) <= 1


ALL = sorted(
    {(name, row["slug"], row["quantity"]) for name in ("material_values", "crop_values") for row in table(name)}
)
EVERY = [key for key in ALL if whole(key)]
TRAITS = ("storage_life", "mulch_depth_max", "decomposed_fraction", "decay_rate_25c", "release_lag", "P_available_share", "K_available_share")  # fmt: skip


def test_every_figure_lies_in_its_range_and_names_its_sources() -> None:
    for key in EVERY:
        found = figure(*key)
        if found is None:
            assert all(row["note"].startswith(SUSPECT) for row in rows_of(*key)), key
            continue
        assert found.low <= found.value <= found.high, key
        assert found.sources, key
        assert cite(found.sources), key


def test_units_and_bases_are_never_mixed_in_silence() -> None:
    mixed = [key for key in ALL if not whole(key)]
    assert mixed
    for key in mixed:
        with pytest.raises(DamagedReference, match="several units"):
            figure(*key)


def test_what_the_plan_looks_up_is_never_mixed() -> None:
    for slug in (row["slug"] for row in table("materials")):
        for trait in TRAITS:
            figure("material_values", slug, trait)
    assert all(whole(key) for key in ALL if key[0] == "crop_values")


def test_values_that_were_read_go_before_those_recalled() -> None:
    both = 0
    for key in EVERY:
        rows = [row for row in rows_of(*key) if not row["note"].startswith(SUSPECT)]
        read = [float(row["typical"]) for row in rows if row["read"] == "found" and row["typical"]]
        recalled = [row for row in rows if row["read"] == "recalled"]
        if read and recalled:
            both += 1
            found = figure(*key)
            assert found is not None
            assert found.value == pytest.approx(median(read)), key
            assert found.read == "found"
    assert both > 10


def test_suspect_rows_give_no_figure() -> None:
    suspect = [row for row in table("material_values") if row["note"].startswith(SUSPECT)]
    assert suspect
    for row in suspect:
        if not whole(("material_values", row["slug"], row["quantity"])):
            continue
        others = [
            one
            for one in rows_of("material_values", row["slug"], row["quantity"])
            if not one["note"].startswith(SUSPECT)
        ]
        found = figure("material_values", row["slug"], row["quantity"])
        if not others:
            assert found is None
        elif row["source"] not in {one["source"] for one in others}:
            assert found is not None
            assert row["source"] not in found.sources


def test_what_nobody_published() -> None:
    assert figure("material_values", "coffee-spent", "no such quantity") is None
    assert figure("material_values", "no such thing", "N") is None
    with pytest.raises(UnknownName, match="yield of “coffee-spent”"):
        need_figure("crop_values", "coffee-spent", "yield")


def test_a_general_figure_stands_in() -> None:
    found = figure_or("crop_values", "no such crop", "n_harvest_index", "n_harvest_index_default")
    one = coefficient("n_harvest_index_default")
    assert found == Figure(one.value, one.low, one.high, one.unit, (one.source,), one.read)


def test_strawberries_can_be_salted_by_maas_and_hoffman() -> None:
    # Maas 1990: strawberry threshold 1.0 dS/m, slope 33 % per dS/m; bean 1.0 and 19; tomato 2.5 and 9.9
    for crop, threshold, slope in (("strawberry", 1.0, 33.0), ("bean-snap", 1.0, 19.0), ("tomato", 2.5, 9.9)):
        assert need_figure("crop_values", crop, "ece_threshold").value == pytest.approx(threshold)
        assert need_figure("crop_values", crop, "ece_slope").value == pytest.approx(slope)


def test_coefficients_carry_their_range_and_mark() -> None:
    one = coefficient("worm_stocking")
    assert (one.value, one.low, one.high, one.unit) == (1.6, 1.0, 5.0, "kg/m2")
    assert one.read in ("found", "recalled")
    assert all(each.low <= each.value <= each.high for each in coefficients().values())


def test_unknown_names_say_what_to_do() -> None:
    with pytest.raises(UnknownName, match="add the row with its source"):
        coefficient("gravity")
    with pytest.raises(UnknownName, match="source “NOBODY”"):
        source("NOBODY")
    with pytest.raises(UnknownName):
        cite(["NOBODY"])


def test_citations_come_once_and_in_order() -> None:
    keys = ["PRACTICE", "JUDGE", "PRACTICE"]
    assert cite(keys) == [source("PRACTICE").citation, source("JUDGE").citation]


def test_a_file_that_is_missing_is_our_fault_and_says_so() -> None:
    with pytest.raises(DamagedReference, match="install Loamery again"):
        table("no_such_file")


def test_companions_of_a_file_are_found() -> None:
    assert len(family("coefficients")) > len(table("coefficients"))
    assert {row["key"] for row in table("sources_general")} <= {row["key"] for row in family("sources")}
