"""The bed model beside the plan: every gift of the plan reaches its bed, and a bed that gets nothing has only its soil."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.bed.parameters import bed_parameters
from loamery.season.bed_course import _gifts, bed_courses
from loamery.season.make import Solved


def test_every_kilogram_of_the_plan_is_given(demo: Solved) -> None:
    plan = demo.plan
    portions, doses = _gifts(plan, bed_parameters(5))
    areas = np.array([one.need_data.bed.area_m2 for one in plan.beds])
    spread = sum(one.kg for one in plan.actions if one.task in ("mulch", "dig_in"))
    assert (doses * areas[None, :, None]).sum() == pytest.approx(spread)
    assert len(portions) == doses.shape[0]


def test_a_course_for_every_bed_and_nothing_from_a_plan_that_spreads_nothing(demo: Solved) -> None:
    plan = demo.plan
    some = bed_courses(plan, 5)
    assert set(some) == {one.id for one in plan.beds}
    none = bed_courses(replace(plan, actions=()), 5)
    for key, course in none.items():
        assert all(one.low == one.high == 0.0 for one in course.net)
        assert len(course.net) == plan.calendar.weeks
        assert course.uptake.median <= sum(course.asked) * (1 + 1e-9)
        assert some[key].soil_gives == pytest.approx(course.soil_gives, rel=0.3)  # a mulch keeps the soil cooler
