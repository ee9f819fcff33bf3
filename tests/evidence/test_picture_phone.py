"""The season for a phone: what it leaves out, what it keeps, and that letters can be read on a square card."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loamery.evidence.card import chart_for
from loamery.evidence.chart import Chart
from loamery.evidence.picture import season_picture, stuff_swatches
from loamery.evidence.picture_phone import MOST_PLACES, season_phone
from loamery.evidence.text import Units
from loamery.season.plan import SeasonPlan

METRIC = Units("metric")


@pytest.fixture(scope="module")
def small(plan: SeasonPlan) -> Chart:
    return season_phone(plan, stuff_swatches(plan), METRIC)


def test_every_kilogram_of_the_plan_is_in_its_figures(plan: SeasonPlan, small: Chart) -> None:
    spread = sum(one.kg for one in plan.actions if one.task in ("mulch", "dig_in", "feed"))
    built = sum(sum(one.parts_kg.values()) for one in plan.batches)
    assert sum(float(str(one["kg"])) for one in small.data) == pytest.approx(spread + built, abs=0.01 * len(small.data))


def test_it_shows_no_more_places_than_can_be_read_and_says_how_many_it_leaves_out(
    plan: SeasonPlan, small: Chart
) -> None:
    places = list(dict.fromkeys(str(one["place"]) for one in small.data))
    svg = small.svg()
    drawn = [one for one in places if f">{one[:10]}" in svg]
    assert len(drawn) == min(len(places), MOST_PLACES)
    assert (f"and {len(places) - MOST_PLACES} more" in svg) == (len(places) > MOST_PLACES)


def test_a_card_takes_the_picture_it_shows_larger(plan: SeasonPlan, small: Chart) -> None:
    tall = replace(season_picture(plan, stuff_swatches(plan)), phone=small)
    assert chart_for(tall, "square") is small
    assert chart_for(small, "square") is small  # nothing stands in for it
    flat = replace(small, key="flat", spec={**small.spec, "width": 900, "height": 200}, phone=small)
    assert chart_for(flat, "square") is small and chart_for(flat, "wide") is flat
