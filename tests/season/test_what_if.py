"""Gardens changed in one respect."""

from __future__ import annotations

import pytest

from loamery.errors import InputError, UnknownName
from loamery.season.what_if import bed_added, changed, donor_stops, price_changes, rain_changes
from tests.season.small_season import small, small_garden


def test_a_donor_stops() -> None:
    garden = small_garden()
    after = changed(small().prepared, [donor_stops(garden, "far")]).garden
    assert {one.donor for one in garden.supplies} - {one.donor for one in after.supplies} == {"far"}
    assert after.donors == garden.donors


def test_a_bed_is_added_with_its_crop_and_no_soil_test() -> None:
    garden = small_garden()
    after = changed(small().prepared, [bed_added(garden, "cabbage", 6.0), bed_added(garden, "leek", 2.0)])
    new = after.garden.beds[-2:]
    assert len({one.id for one in after.garden.beds}) == len(garden.beds) + len({one.id for one in new})
    assert [one.area_m2 for one in new] == [6.0, 2.0]
    assert not after.soils[new[0].id].values
    planted = {one.bed: one for one in after.garden.plantings}
    same = next(one for one in garden.plantings if one.crop == "cabbage")
    assert planted[new[0].id].planted == same.planted
    assert planted[new[1].id].crop == "leek"


def test_rain_and_prices_change() -> None:
    garden = small_garden()
    after = changed(small().prepared, [rain_changes(garden, 0.4), price_changes(garden, "compost", 0.3)]).garden
    assert after.climate.rain_mm[0] == pytest.approx(0.4 * garden.climate.rain_mm[0])
    assert {one.price_per_kg for one in after.supplies if one.material == "compost"} == {0.3}
    assert {one.price_per_kg for one in after.supplies if one.material != "compost"} == {0.0}


def test_names_nobody_knows_are_refused_with_the_nearest() -> None:
    garden = small_garden()
    with pytest.raises(UnknownName, match="did you mean “near”"):
        donor_stops(garden, "nearr")
    with pytest.raises(UnknownName, match="did you mean “cabbage”"):
        bed_added(garden, "cabbag", 3.0)
    with pytest.raises(UnknownName, match="compost"):
        price_changes(garden, "composte", 1.0)


def test_impossible_amounts_are_refused() -> None:
    garden = small_garden()
    for refused in (
        lambda: bed_added(garden, "cabbage", 0.0),
        lambda: bed_added(garden, "cabbage", float("nan")),
        lambda: rain_changes(garden, -0.1),
        lambda: rain_changes(garden, float("nan")),
        lambda: price_changes(garden, "compost", -1.0),
    ):
        with pytest.raises(InputError):
            refused()
