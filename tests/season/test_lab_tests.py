"""Which tests there are, what they cost, and what they would say."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.garden.model import LabPrice
from loamery.season.lab_tests import possible_tests, signal_of, worth_of_tests
from loamery.season.prepare import prepare
from loamery.season.which_test import said, which_test
from loamery.season.years import draw_years
from tests.season.small_season import small, small_garden


def test_every_material_on_offer_and_every_untested_bed_can_be_tested() -> None:
    found = possible_tests(small().prepared)
    assert {one.about for one in found if one.subject == "material"} == {
        "grass",
        "leaves",
        "chips",
        "trimmings",
        "compost",
    }
    assert {one.about for one in found if one.subject == "soil"} == {"one", "two"}
    assert all(one.price > 0.0 and one.source for one in found)


def test_what_nobody_gives_is_not_tested() -> None:
    garden = small_garden()
    fewer = garden.model_copy(update={"supplies": tuple(one for one in garden.supplies if one.material != "grass")})
    assert "grass" not in {one.about for one in possible_tests(prepare(fewer))}


def test_the_garden_may_name_its_own_price() -> None:
    garden = small_garden(test_prices=(LabPrice(test="compost-full", price=95.0),))
    prices = {one.kind: (one.price, one.printed) for one in possible_tests(prepare(garden))}
    assert prices["compost-full"] == (95.0, "test_prices.csv of the garden")
    assert prices["compost-standard"][0] == 50.0
    assert "one for one" in prices["compost-standard"][1]


def test_a_signal_follows_what_it_measures_and_not_too_closely() -> None:
    one = small()
    years = draw_years(one.prepared, one.problem.calendar, 400, 9)
    test = next(
        each for each in possible_tests(one.prepared) if each.about == "grass" and each.kind == "compost-standard"
    )
    said_n = signal_of(test, years)[:, test.measures.index("N")]
    truth = np.log(years.compositions["grass"].draws("N"))
    assert 0.6 < float(np.corrcoef(said_n, truth)[0, 1]) < 0.98


def test_a_test_is_worth_what_it_changes() -> None:
    one = small()
    years = draw_years(one.prepared, one.problem.calendar, 400, 9)
    tests = possible_tests(one.prepared)
    grass = np.log(years.compositions["grass"].draws("N"))
    gamble = 10.0 * (grass - grass.mean())
    benefit = np.column_stack([np.zeros(400), gamble])
    found, certainty = worth_of_tests(tests, benefit, years)
    assert found[0].test.about == "grass"
    assert 0.0 < found[0].worth.value <= certainty
    assert found[0].per_price == pytest.approx(found[0].worth.value / found[0].test.price)
    others = [each.worth.value for each in found if each.test.about not in ("grass",)]
    assert max(others) < 0.2 * found[0].worth.value


def test_an_answer_narrows_a_material_and_no_other() -> None:
    one = small().prepared
    poor, rich = said(one, "grass", 0), said(one, "grass", 2)
    n = [each.compositions["grass"].draws("N") for each in (poor, one, rich)]
    assert n[0].max() <= np.quantile(n[1], 0.35)
    assert n[2].min() >= np.quantile(n[1], 0.65)
    assert poor.compositions["leaves"] is one.compositions["leaves"]
    ratio = poor.compositions["grass"].draws("C") / poor.compositions["grass"].draws("N")
    known = one.compositions["grass"].draws("C") / one.compositions["grass"].draws("N")
    assert np.isin(np.round(ratio, 9), np.round(known, 9)).all()  # all figures of a draw stay together


def test_tests_of_a_whole_plan_are_told_with_what_they_rest_on() -> None:
    found = which_test(small(), draws=200, materials=1)
    assert 1 <= len(found.plans) <= 3
    assert len(found.tests) == len(possible_tests(small().prepared))
    assert all(0.0 <= one.worth.value <= found.certainty + 3 * one.worth.error for one in found.tests)
    assert found.as_dict()["seasons"] == 200
