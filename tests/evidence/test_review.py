"""Looking back on a season: skill that does not overstate, coverage with known truth, and plain words when there is nothing."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.evidence.review_facts import (
    Facts,
    SoilChange,
    _harvests,
    _scatter,
    gather_facts,
    season_of,
    soil_changes,
    within,
)
from loamery.evidence.review_sheet import review_page, write_review
from loamery.evidence.skill import Pair, skill_of
from loamery.finding import Band
from loamery.garden.model import Bed, Climate, Donor, Garden, Heap, Info, Material, Planting, SoilValue
from loamery.garden.records import Batch, BatchPart, Harvest, Load, Reading, Turning
from loamery.season.prepare import prepare

START = date(2027, 5, 3)


def pair(measured: float, of: str = "a", middle: float = 10.0) -> Pair:
    return Pair("x", "x", "2027-05-05", Band(middle, middle - 1.645, middle + 1.645, "K"), measured, of)


def garden(**more: object) -> Garden:
    info = Info(
        name="Test (invented)", jurisdiction="ca-a", season_start=START, season_weeks=20, draws=200, invented=True
    )
    parts: dict[str, object] = {
        "donors": (Donor(id="cafe", name="Cafe"),), "beds": (Bed(id="bed", name="Bed", area_m2=10),), "heaps": (Heap(id="bin", name="Bin", capacity_m3=1.0),),
        "materials": (Material(id="grass", name="Grass", kind="grass-clippings"), Material(id="leaves", name="Leaves", kind="leaves-mixed")),
    }  # fmt: skip
    return Garden(info=info, climate=Climate(mean_temp_c=(14.0,) * 12, rain_mm=(60.0,) * 12), **(parts | more))


def test_skill_of_good_bands_is_called_good_and_bias_has_its_sign() -> None:
    draw = np.random.default_rng(1)
    found = skill_of([pair(10.0 + float(draw.normal()), of=str(at)) for at in range(200)])
    assert found is not None and found.inside.median == pytest.approx(0.9, abs=0.06)
    assert "what bands of nine in ten should" in found.words
    low = skill_of([pair(14.0, of=str(at)) for at in range(30)])
    assert low is not None and low.bias == pytest.approx(4.0) and "ran low" in low.words and "too narrow" in low.words


def test_many_readings_of_one_heap_do_not_pass_for_many_heaps() -> None:
    one, many = skill_of([pair(10.0)] * 100), skill_of([pair(10.0, of=str(at)) for at in range(100)])
    assert one is not None and many is not None
    assert one.inside.low < 0.3 < 0.9 < many.inside.low and "100 readings on 1" in one.words


def test_readings_that_hang_together_are_worth_less() -> None:
    draw = np.random.default_rng(2)
    apart = skill_of([pair(10.0 + float(draw.normal()), of=str(at % 10)) for at in range(100)])
    heaps = draw.normal(size=10)
    hung = skill_of([pair(10.0 + float(heaps[at % 10] + 0.1 * draw.normal()), of=str(at % 10)) for at in range(100)])
    assert apart is not None and hung is not None
    assert 10 <= hung.worth < 12 < 60 < apart.worth <= 100
    assert hung.inside.high - hung.inside.low > apart.inside.high - apart.inside.low


def test_nothing_measured_has_no_skill() -> None:
    assert skill_of([]) is None


def test_a_year_or_the_garden_season() -> None:
    assert season_of(garden(), 2026) == (date(2026, 1, 1), date(2026, 12, 31))
    assert season_of(garden(), None) == (START, date(2027, 9, 19))
    with pytest.raises(InputError, match="a year such as"):
        season_of(garden(), 17)


def test_only_records_of_the_season_count() -> None:
    loads = tuple(Load(id=f"l{at}", donor="cafe", material="grass", on=date(2020 + at, 6, 1), kg=5) for at in range(9))
    batches = (Batch(id="old", heap="bin", built=date(2026, 6, 1)), Batch(id="new", heap="bin", built=date(2027, 6, 1)))
    readings = (
        Reading(batch="old", on=date(2027, 6, 5), temp_c=30),
        Reading(batch="new", on=date(2027, 6, 5), temp_c=50),
    )
    kept = within(garden(loads=loads, batches=batches, readings=readings), *season_of(garden(), None))
    assert (
        [one.id for one in kept.loads] == ["l7"]
        and [one.id for one in kept.batches] == ["new"]
        and len(kept.readings) == 1
    )


def test_no_records_are_said_plainly(tmp_path: Path) -> None:
    facts = gather_facts(garden())
    write_review(review_page(facts, None, ()), tmp_path, formats=("html",))
    text = re.sub(r"<[^>]+>", " ", (tmp_path / "evidence.html").read_text(encoding="utf-8"))
    for words in (
        "there is no evidence of it",
        "what was done cannot be told",
        "no heap forecast can be judged",
        "no change of a soil can be told",
        "nothing can be said of what was saved",
        "No material has a laboratory report",
    ):
        assert words in text


@pytest.fixture(scope="module")
def with_heap() -> Facts:
    days = (1, 2, 4, 7, 10)
    return gather_facts(
        garden(
            loads=(
                Load(id="l1", donor="cafe", material="grass", on=START, kg=300),
                Load(id="l2", donor="cafe", material="leaves", on=START, kg=100),
            ),
            batches=(Batch(id="one", heap="bin", built=START),),
            batch_parts=(
                BatchPart(batch="one", material="grass", kg=200),
                BatchPart(batch="one", material="leaves", kg=80),
            ),
            turnings=(Turning(batch="one", on=date(2027, 5, 9)),),
            readings=tuple(Reading(batch="one", on=date(2027, 5, 3 + day), depth_m=0.3, temp_c=50) for day in days),
        )
    )


def test_a_heap_is_foreseen_from_what_went_in_and_its_band_holds_the_scatter_of_a_reading(with_heap: Facts) -> None:
    assert with_heap.heaps[0].told.plan.turn_days == (6.0,)
    assert len(with_heap.pairs) == 5 and {one.of for one in with_heap.pairs} == {"one"}
    assert all(one.foreseen.high - one.foreseen.low > 2 * 1.6 * 4 for one in with_heap.pairs)  # reading_sd is 4 K
    assert with_heap.calibration is not None and with_heap.calibration[0] == "one"


def test_the_sheet_shows_it(with_heap: Facts, tmp_path: Path) -> None:
    files = write_review(review_page(with_heap, None, ()), tmp_path, formats=("html",))
    assert {"thermometer.svg", "given.svg", "gases.svg"} <= {path.name for path in files}
    assert "5 readings on 1" in (tmp_path / "evidence.html").read_text(encoding="utf-8")


def test_soils_are_compared_only_like_with_like() -> None:
    def value(day: date, amount: float, extractant: str = "mehlich3") -> SoilValue:
        return SoilValue(bed="bed", quantity="P", value=amount, unit="mg/kg", extractant=extractant, sampled_on=day)

    two = garden(soil_values=(value(date(2026, 10, 1), 30), value(date(2027, 10, 1), 60)))
    found = list(soil_changes(two, prepare(two)))
    assert len(found) == 1 and found[0].beyond and found[0].after == pytest.approx(60e-6)
    other = garden(soil_values=(value(date(2026, 10, 1), 30), value(date(2027, 10, 1), 60, "olsen")))
    assert list(soil_changes(other, prepare(other))) == []


def test_no_change_of_a_soil_is_called_one_in_one_of_ten_cases_at_most() -> None:
    draw, called = np.random.default_rng(3), 0
    for _ in range(500):
        before, after = 40e-6 * (1 + 0.01 * 2 ** (1 - 0.5 * np.log10(40e-6)) * draw.normal(size=2))
        called += SoilChange(
            "bed", "P", START, START, float(before), float(after), _scatter("P", float(before), float(after))
        ).beyond
    assert called / 500 <= 0.13


def test_finished_plantings_are_held_against_what_was_expected() -> None:
    planting = Planting(
        bed="bed",
        crop="lettuce-leaf",
        planted=date(2027, 5, 10),
        harvested=date(2027, 6, 20),
        share=0.5,
        yield_kg_m2=2.0,
    )
    picked = tuple(Harvest(bed="bed", crop="lettuce-leaf", on=date(2027, 6, day), kg=4) for day in (1, 10, 20))
    found = list(_harvests(garden(plantings=(planting,), harvests=picked), START, date(2027, 9, 1)))
    assert (
        len(found) == 1 and found[0].foreseen.median == pytest.approx(10.0) and found[0].measured == pytest.approx(12.0)
    )
    unfinished = tuple(one for one in picked if one.on < date(2027, 6, 20))
    assert list(_harvests(garden(plantings=(planting,), harvests=unfinished), START, date(2027, 9, 1))) == []
