"""What cannot be planned says what is wrong and what would help; what can only partly be planned gives the best there is."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from loamery.errors import GardenError, NoPlan
from loamery.garden import Garden, read_garden, write_starter
from loamery.garden.model import Good, Heap, SoilValue, Store
from loamery.season.make import plan_season, solve_prepared
from loamery.season.prepare import prepare
from loamery.season.solver import Answer, Engine
from tests.season.gardens import garden, material, planting, supply


def plain(**more: object) -> Garden:
    one = garden((material("m", "compost-finished"),), (supply("m", 30),), (planting("bed", "kale"),))
    return one.model_copy(update=more)


def test_no_supply_in_the_season_is_refused_with_what_would_help() -> None:
    for supplies in ((), (supply("m", 0),), (supply("m", 30, 60, 70),)):
        with pytest.raises(NoPlan) as why:
            plan_season(plain(supplies=supplies))
        assert why.value.conflict and why.value.remedies


def test_a_store_or_goods_alone_are_enough() -> None:
    stored = plan_season(plain(supplies=(), stores=(Store(material="m", kg=40),)))
    assert any(one.task == "dig_in" for one in stored.actions)
    sold = plan_season(plain(supplies=(), goods=(Good(material="m", sack_kg=20, price=3),)))
    assert sold.materials[0].bought_kg > 1
    assert sold.money == pytest.approx(3 * np.ceil(sold.materials[0].bought_kg / 20 - 1e-6))


def test_nothing_that_may_be_spread_is_refused() -> None:
    with pytest.raises(NoPlan, match="may be spread"):
        plan_season(plain(materials=(material("m", "brewers-grain", "heap"),)))


def test_a_bed_of_no_area_and_an_unknown_climate_are_told_by_row_and_file(tmp_path) -> None:
    folder = write_starter(tmp_path / "garden")
    beds = (folder / "beds.csv").read_text(encoding="utf-8").splitlines()
    head, row = beds[0].split(","), next(line for line in beds[1:] if not line.startswith("#")).split(",")
    row[head.index("area_m2")] = "0"
    (folder / "beds.csv").write_text("\n".join([beds[0], ",".join(row)]) + "\n", encoding="utf-8")
    toml = (folder / "garden.toml").read_text(encoding="utf-8")
    (folder / "garden.toml").write_text(toml[: toml.index("[climate]")], encoding="utf-8")
    with pytest.raises(GardenError) as why:
        read_garden(folder)
    text = str(why.value)
    assert "beds.csv" in text and "area_m2" in text
    assert "garden.toml" in text and "mean_temp_c" in text


def test_limits_that_leave_no_room_give_a_plan_that_does_nothing_and_says_what_binds() -> None:
    """No hands, and a soil so full of salt and phosphorus that nothing fits: the crops go short, the plan says so."""
    soil = (
        SoilValue(bed="bed", quantity="P", value=900, unit="mg/kg", extractant="mehlich3"),
        SoilValue(bed="bed", quantity="EC", value=9, unit="dS/m", extractant="saturated paste"),
    )
    one = plain(soil_values=soil)
    found = plan_season(one.model_copy(update={"info": one.info.model_copy(update={"hours_per_week": 0.0})}))
    assert not found.actions
    assert "short_of_nutrient" in {each.code for each in found.findings}


def test_a_search_without_any_time_falls_back_on_doing_nothing_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    minimise, asked = Engine.minimise, []

    def none_at_first(engine: Engine, cost: Any, *, gap: float) -> Answer:
        asked.append(gap)
        out_of_time = Answer(np.zeros(0), np.nan, np.nan, "time limit reached")
        return out_of_time if len(asked) == 1 else minimise(engine, cost, gap=gap)

    monkeypatch.setattr(Engine, "minimise", none_at_first)
    found = solve_prepared(prepare(plain()))
    assert found.solution.status == "time limit reached"
    assert found.solution.gaps["shortfall"] == np.inf
    (told,) = [each for each in found.plan.findings if each.code == "plan_not_proven"]
    assert "time limit reached" in told.because


def test_out_of_time_gives_the_best_plan_so_far_with_its_gap_or_says_there_is_none() -> None:
    heaps = tuple(Heap(id=f"h{n}", name=f"H{n}", capacity_m3=0.8 + 0.1 * n) for n in range(3))
    kinds = {"grounds": "coffee-spent", "leaves": "leaves-mixed", "grass": "grass-clippings", "straw": "straw-wheat"}
    one = garden(
        tuple(material(key, kind, "mulch", "heap") for key, kind in kinds.items()),
        tuple(supply(key, 60, 0, 26) for key in kinds),
        (planting("bed", "kale", 0, 26),),
        heaps=heaps,
        weeks=26,
    )
    prepared = prepare(one)
    try:
        found = solve_prepared(prepared, time_limit_s=0.01)
    except NoPlan as why:
        assert "in the time it has" in str(why) and why.remedies
        return
    if found.solution.status != "optimal":
        (told,) = [each for each in found.plan.findings if each.code == "plan_not_proven"]
        assert "at most" in told.text
        assert found.solution.gaps["cost"] >= 0
