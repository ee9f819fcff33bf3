"""What beds need: curves that add up, shares of beds, seasons that cut a planting."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.demand import crop_demand, soil_nitrogen
from loamery.bed.soil import soil_test
from loamery.garden.model import Planting, SoilValue
from loamery.reference import coefficient
from loamery.season.calendar import calendar_of
from loamery.season.needs import BedNeed, bed_need, overlaps
from tests.season.gardens import day, garden, material, planting, supply


def need_of(*plantings: Planting, soil: tuple[SoilValue, ...] = (), weeks: int = 8) -> BedNeed:
    one = garden((material("a", "compost-finished"),), (supply("a", 10),), plantings, soil=soil, weeks=weeks)
    return bed_need(one, one.beds[0], soil_test("bed", soil, []), calendar_of(one))


def test_a_whole_planting_asks_for_its_whole_uptake() -> None:
    one = planting("bed", "kale")
    need = need_of(one)
    assert need.need_kg_m2["N"] == pytest.approx(crop_demand(one).n_kg_m2, rel=1e-9)
    assert np.all(np.diff(need.n_demand_kg_m2) >= 0)
    assert need.n_demand_kg_m2[0] > 0


def test_two_halves_of_a_bed_ask_for_what_the_whole_does() -> None:
    whole, halves = need_of(planting("bed", "kale")), need_of(*[planting("bed", "kale", share=0.5)] * 2)
    assert halves.n_demand_kg_m2 == pytest.approx(whole.n_demand_kg_m2)
    assert dict(halves.need_kg_m2) == pytest.approx(dict(whole.need_kg_m2))


def test_a_planting_cut_by_the_season_asks_for_its_part() -> None:
    before = need_of(planting("bed", "kale", -4, 4))
    after = need_of(planting("bed", "kale", 4, 12))
    whole = crop_demand(planting("bed", "kale")).n_kg_m2
    assert before.need_kg_m2["N"] + after.need_kg_m2["N"] == pytest.approx(whole, rel=1e-9)
    assert before.n_demand_kg_m2[4:] == pytest.approx([before.n_demand_kg_m2[4]] * 4)
    assert after.n_demand_kg_m2[:4] == pytest.approx([0.0] * 4)


def test_plantings_outside_of_the_season_ask_for_nothing() -> None:
    need = need_of(planting("bed", "kale", -9, -1), planting("bed", "kale", 8, 14))
    assert need.plantings == ()
    assert need.need_kg_m2["N"] == 0
    assert all(value == 0 for value in need.removal_kg_m2.values())


def test_days_at_the_edge_of_the_season() -> None:
    one = garden((), (), ())
    calendar = calendar_of(one)
    assert overlaps(Planting(bed="bed", crop="kale", planted=day(-5), harvested=day(0)), calendar)
    assert not overlaps(Planting(bed="bed", crop="kale", planted=day(-5), harvested=day(-0.15)), calendar)
    assert not overlaps(Planting(bed="bed", crop="kale", planted=day(8), harvested=day(9)), calendar)


def test_a_planting_of_one_day_is_not_divided_by_nothing() -> None:
    need = need_of(Planting(bed="bed", crop="radish", planted=day(2), harvested=day(2)))
    assert np.all(np.isfinite(need.n_demand_kg_m2))


def test_the_soil_gives_its_published_total_over_the_season() -> None:
    line = SoilValue(bed="bed", quantity="organic_matter", value=5.0, unit="%")
    need = need_of(planting("bed", "kale"), soil=(line,))
    assert need.n_soil_kg_m2[-1] == pytest.approx(soil_nitrogen(0.05), rel=1e-9)
    assert np.all(np.diff(need.n_soil_kg_m2) > 0)


def test_carbon_stands_in_for_organic_matter() -> None:
    line = SoilValue(bed="bed", quantity="C", value=2.7, unit="%")
    share = 0.027 / coefficient("carbon_in_organic_matter").value
    assert need_of(soil=(line,)).n_soil_kg_m2[-1] == pytest.approx(soil_nitrogen(share), rel=1e-9)


def test_a_rich_soil_lowers_what_has_to_be_supplied() -> None:
    def phosphorus(mg_kg: float) -> float:
        line = SoilValue(bed="bed", quantity="P", value=mg_kg, unit="mg/kg", extractant="mehlich3")
        return need_of(planting("bed", "kale"), soil=(line,)).need_kg_m2["P"]

    found = [phosphorus(value) for value in (5, 20, 30, 50, 300)]
    assert found == sorted(found, reverse=True)
    assert found[0] > found[-1]


def test_every_ceiling_is_there() -> None:
    assert {"P", "K", "salt", "Cd", "Pb"} <= set(need_of(planting("bed", "kale")).ceilings)
