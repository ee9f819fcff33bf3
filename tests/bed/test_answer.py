"""What a gift does to a bed: the bed with it against the bed without it, and what a person is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from loamery.bed.advice import bed_advice, trace_advice
from loamery.bed.answer import BedAnswer, BedQuestion, answer_bed
from loamery.bed.ceilings import Ceiling
from loamery.bed.soil import soil_test
from loamery.garden.model import SoilValue
from tests.bed.beds import START, numbers, portion, soil, tomatoes, weather

DRAWS = 20


def ask(
    kind: str, kg: float, surface: bool = False, ceilings: dict[str, Ceiling] | None = None, **changed: object
) -> BedAnswer:
    question = BedQuestion(
        (portion(kind, surface, DRAWS),), (kg,), soil(), weather(DRAWS), tomatoes(), ("tomato",), START, date(2027, 5, 3), numbers(DRAWS)
    )  # fmt: skip
    return answer_bed(replace(question, **changed), ceilings)


def codes(answer: BedAnswer, kind: str) -> set[str]:
    return {one.code for one in bed_advice(answer, [kind], "a bed")}


def test_fresh_grounds_draw_down_and_compost_does_not() -> None:
    grounds, compost = ask("coffee-spent", 4.0), ask("compost-yard", 4.0)
    assert grounds.lowest.median < -0.5
    assert grounds.total[-1].median > grounds.lowest.median + 0.5
    assert compost.lowest.median > -0.05
    assert {"bed_draws_down", "bed_seedlings"} <= codes(grounds, "coffee-spent")
    assert not codes(compost, "compost-yard") & {"bed_draws_down", "bed_seedlings"}


def test_nothing_happens_before_it_is_given() -> None:
    one = ask("coffee-spent", 4.0)
    week = one.question.week
    assert week == 4
    assert all(band.low == band.high == 0.0 for band in one.net[:week])
    assert one.weeks[week] >= one.question.day


def test_totals_are_sums_and_years_hold_no_more_than_was_brought() -> None:
    one = ask("grass-clippings", 2.0)
    assert one.season == one.total[-1]
    for key in ("P", "K", "Ca"):
        years = sum(band.median for band in one.years[key])
        assert 0.0 < years <= one.brought[key].median * 1.001, key
    assert one.years["K"][0].median == pytest.approx(one.brought["K"].median)


def test_a_ceiling_passed_is_told_with_how_much_would_do() -> None:
    tight = {"P": Ceiling("P", 0.0002, "a very rich soil", ("JUDGE",))}
    one = ask("compost-finished", 5.0, ceilings=tight)
    told = next(each for each in bed_advice(one, ["compost-finished"]) if each.code == "bed_ceiling_passed")
    assert "phosphorus" in told.text
    assert "a very rich soil" in told.because
    assert one.reaches[0].share > 1.0


def test_salt_costs_a_sensitive_crop_yield_where_it_does_not_rain() -> None:
    salty = replace(soil(), ec_si=np.array([[0.35]]))
    dry = replace(weather(DRAWS), rain_mm=0.0 * weather(DRAWS).rain_mm)
    one = ask("litter-broiler", 2.0, place=salty, weather=dry)
    assert one.ec_before == pytest.approx(3.5)
    assert one.ec_peak.median > 3.6
    assert one.yields["tomato"].median < 0.95
    assert "bed_salts_up" in codes(one, "litter-broiler")
    assert ask("litter-broiler", 2.0, place=salty).yields["tomato"].median > one.yields["tomato"].median


def test_much_ash_moves_a_sand() -> None:
    one = ask("wood-ash", 1.0, place=soil("sand", 1.0, 5.5))
    assert one.ph_change.median > 0.3
    assert "bed_ph_moves" in codes(one, "wood-ash")


def test_plenty_before_rain_leaches() -> None:
    one = ask("blood-meal", 0.4, place=soil("sand", 1.0))
    assert one.leached.median > 5.0
    assert "bed_leaches" in codes(one, "blood-meal")


def test_texts_speak_the_units_asked_for() -> None:
    one = ask("coffee-spent", 4.0)
    metric, us = (
        next(each.text for each in bed_advice(one, ["coffee-spent"], system=system) if each.code == "bed_draws_down")
        for system in ("metric", "us")
    )  # fmt: skip
    assert "g/m²" in metric
    assert "1000 ft²" in us


def test_lead_in_the_soil_is_held_against_the_guideline() -> None:
    one = ask("compost-finished", 5.0)
    clean, old = (
        soil_test("b", [SoilValue(bed="b", quantity="Pb", value=ppm, unit="mg/kg")], []) for ppm in (20.0, 160.0)
    )  # fmt: skip
    assert trace_advice(one, clean, "ca-a") == ()
    told = trace_advice(one, old, "ca-a", "a bed")
    assert [each.code for each in told] == ["bed_trace_limit"]
    assert "already above" in told[0].text
    assert "licensed professional" in told[0].caution
