"""Soil tests beside their forecast: what was spread moves it the right way, bands hold scatter, and what cannot be foreseen is said."""

from __future__ import annotations

from datetime import date

import pytest

from loamery.evidence.review_facts import Facts, soil_changes
from loamery.evidence.review_sheet import review_page, skills
from loamery.evidence.review_soil import soil_pairs
from loamery.evidence.skill import Pair
from loamery.finding import Finding
from loamery.garden.model import Bed, Climate, Donor, Garden, Heap, Info, Material, Planting, SoilValue, WormBed
from loamery.garden.records import Application, Batch, BatchPart, Feeding
from loamery.season.prepare import prepare

START, END = date(2027, 5, 3), date(2027, 9, 6)
FIGURES = (("pH", 6.0, "pH", ""), ("K", 100.0, "mg/kg", "mehlich3"), ("P", 40.0, "mg/kg", "mehlich3"),
           ("NO3_N", 20.0, "mg/kg", "KCl"), ("EC", 0.6, "dS/m", "saturated paste"))  # fmt: skip


def both(figures: tuple[tuple[str, float, str, str], ...] = FIGURES, last: date = END) -> tuple[SoilValue, ...]:
    return tuple(
        SoilValue(bed="bed", quantity=key, value=value, unit=unit, extractant=how, sampled_on=day)
        for day in (START, last)
        for key, value, unit, how in figures
    )


def soil_garden(*spread: Application, **more: object) -> Garden:
    return Garden(
        info=Info(name="Test (invented)", jurisdiction="ca-a", season_start=START, season_weeks=18, draws=100, invented=True),
        climate=Climate(mean_temp_c=(14.0,) * 12, rain_mm=(50.0,) * 12),
        **({
            "donors": (Donor(id="cafe", name="Cafe"),), "beds": (Bed(id="bed", name="Bed", area_m2=10),), "heaps": (Heap(id="bin", name="Bin", capacity_m3=1.0),),
            "worm_beds": (WormBed(id="box", name="Box", area_m2=1.0),), "applications": spread, "soil_values": both(),
            "materials": (Material(id="ash", name="Ash", kind="wood-ash"), Material(id="grass", name="Grass", kind="grass-clippings")),
            "batches": (Batch(id="one", heap="bin", built=date(2026, 5, 1)),),
        } | more),
    )  # fmt: skip


def foreseen(*spread: Application, **more: object) -> tuple[dict[str, Pair], list[Finding]]:
    garden = soil_garden(*spread, **more)
    known = prepare(garden)
    pairs, findings = soil_pairs(garden, known.compositions, known.soils, list(soil_changes(garden, known)))
    return {one.key: one for one in pairs}, findings


@pytest.fixture(scope="module")
def bare() -> dict[str, Pair]:
    return foreseen()[0]


def spread(what: str, kg: float, day: date = date(2027, 5, 20)) -> Application:
    return Application(bed="bed", on=day, kg=kg, use="dig_in", **{what.split(" ")[0]: what.split(" ")[1]})  # type: ignore[arg-type]


def test_every_figure_that_the_bed_model_tells_is_foreseen(bare: dict[str, Pair]) -> None:
    assert set(bare) == {"pH", "K", "P", "NO3_N", "EC"}
    assert bare["K"].foreseen.unit == "mg/kg" and bare["K"].measured == pytest.approx(100.0)
    assert bare["P"].foreseen.median == pytest.approx(40.0, rel=0.1)


def test_the_band_holds_the_scatter_of_both_tests(bare: dict[str, Pair]) -> None:
    half = 0.5 * (bare["pH"].foreseen.high - bare["pH"].foreseen.low)
    assert half > 1.645 * 1.414 * 0.15  # review_ph_sd twice; its own range and the model come on top


def test_ash_raises_the_reaction_and_potassium(bare: dict[str, Pair]) -> None:
    limed = foreseen(spread("material ash", 5.0))[0]
    assert limed["pH"].foreseen.median > bare["pH"].foreseen.median + 0.1
    assert limed["K"].foreseen.median > bare["K"].foreseen.median + 5.0


def test_only_what_was_spread_between_the_tests_counts(bare: dict[str, Pair]) -> None:
    for day in (date(2027, 4, 1), date(2027, 10, 1)):
        assert foreseen(spread("material ash", 5.0, day))[0]["pH"].foreseen == bare["pH"].foreseen


def test_a_crop_takes_nitrate_and_potassium(bare: dict[str, Pair]) -> None:
    planting = Planting(bed="bed", crop="tomato", planted=date(2027, 5, 10), harvested=date(2027, 9, 1))
    grown = foreseen(plantings=(planting,))[0]
    assert grown["NO3_N"].foreseen.median < bare["NO3_N"].foreseen.median
    assert grown["K"].foreseen.median < bare["K"].foreseen.median


def test_compost_and_castings_are_made_of_what_went_in() -> None:
    parts = (BatchPart(batch="one", material="grass", kg=100.0),)
    fed = (Feeding(worm_bed="box", material="grass", on=date(2027, 5, 4), kg=10.0),)
    pairs, findings = foreseen(spread("batch one", 50.0), spread("worm_bed box", 5.0), batch_parts=parts, feedings=fed)
    assert not findings and pairs["K"].foreseen.median > 110.0


def test_compost_of_unknown_parts_is_said_and_nothing_is_claimed() -> None:
    pairs, findings = foreseen(spread("batch one", 50.0))
    assert not pairs and [one.code for one in findings] == ["review_no_soil_forecast"]
    assert "what went into it was not written down" in findings[0].because


def test_another_extract_and_a_few_days_are_not_foreseen() -> None:
    assert foreseen(soil_values=both((("EC", 0.2, "dS/m", "1:5 water"),)))[0] == {}
    assert foreseen(soil_values=both(last=date(2027, 5, 6)))[0] == {}


def test_the_review_tells_the_skill_of_soil_forecasts(bare: dict[str, Pair]) -> None:
    garden = Garden(
        info=Info(name="Test", jurisdiction="ca-a", season_start=START, season_weeks=18, draws=100),
        climate=Climate(mean_temp_c=(14.0,) * 12, rain_mm=(50.0,) * 12), beds=(Bed(id="bed", name="Bed", area_m2=10),), soil_values=both(),
    )  # fmt: skip
    known = prepare(garden)
    facts = Facts(garden, START, END, known, soils=list(soil_changes(garden, known)), soil_pairs=list(bare.values()))
    assert {"soil pH", "soil salt", "soil nitrate"} <= set(skills(facts))
    page = review_page(facts, None, ())
    told = str(page.data["sections"])
    drawn = {(one["figure"], one["held"]) for one in page.charts["soil-tests"].data}
    assert len(drawn) == len(bare) and {held for _, held in drawn} <= {"held", "missed"}
    assert sum(held == "held" for _, held in drawn) == sum(one.inside for one in bare.values())
    assert "Foreseen" in told and "100" in told and "mg/kg" in told
