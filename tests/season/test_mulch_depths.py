"""How deep a mulch may lie in a plan: the published depth, or what the heap model says that this garden bears."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.heap.matter import Part
from loamery.heap.mulch_depth import greatest_depth
from loamery.heap.mulch_limit import mulch_limit
from loamery.lab.combine import compose
from loamery.reference import coefficient
from loamery.season import mulch_depths
from loamery.season.make import Solved
from loamery.season.mulch_depths import MULCH_DRAWS, bearable, mulch_findings, mulch_site
from loamery.season.stuff import published_depth_m, raw_stuff


def _raw(demo: Solved, key: str):  # type: ignore[no-untyped-def]
    return raw_stuff(demo.plan.garden.material(key), demo.plan.compositions[key])


def test_grounds_lie_as_thin_as_the_model_says_and_the_reason_is_told(demo: Solved) -> None:
    air_c, month_mm = mulch_site(demo.plan.garden)
    grounds = demo.plan.compositions["grounds"]
    full = mulch_limit((Part(grounds, 1.0),), air_c, MULCH_DRAWS, demo.plan.garden.info.seed, month_mm=month_mm)
    found = bearable(_raw(demo, "grounds"), grounds, demo.plan.garden)
    assert found.mulch_depth_m == pytest.approx(full.limit.low, rel=1e-6)
    assert found.mulch_depth_m < published_depth_m("coffee-spent")
    assert found.mulch_fault == "seals"


def test_what_bears_the_published_depth_keeps_it(demo: Solved) -> None:
    leaves = bearable(_raw(demo, "leaves"), demo.plan.compositions["leaves"], demo.plan.garden)
    assert (leaves.mulch_depth_m, leaves.mulch_fault) == (published_depth_m("leaves-mixed"), "")


@pytest.mark.parametrize("kind", ["compost-finished", "worm-castings"])
def test_what_a_garden_makes_itself_never_comes_near_what_the_model_bears(kind: str) -> None:
    """Why the plan does not run layers of its own composts: the published depth binds first, however warm and wet."""
    part = Part(compose(kind, ()), 1.0)
    bears = [greatest_depth((part,), 35.0, mm, most_m=0.3, draws=MULCH_DRAWS, seed=7).depth.low for mm in (0.0, 250.0)]
    assert min(bears) > 1.5 * coefficient("mulch_depth_compost").value


def test_warmth_and_rain_are_those_of_the_warmest_month(demo: Solved) -> None:
    climate = demo.plan.garden.climate
    air_c, month_mm = mulch_site(demo.plan.garden)
    assert (air_c, month_mm) in zip(climate.mean_temp_c, climate.rain_mm, strict=True)
    assert air_c == max(climate.mean_temp_c)


def test_a_material_the_model_cannot_run_keeps_the_published_depth(
    demo: Solved, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lacks(*_parts: object, **_more: object) -> None:
        raise InputError("no carbon", expected="a figure", remedy="test it")

    monkeypatch.setattr(mulch_depths, "greatest_depth", lacks)
    grounds = _raw(demo, "grounds")
    assert bearable(grounds, demo.plan.compositions["grounds"], demo.plan.garden) is grounds


def test_the_plan_keeps_the_limits_and_tells_those_of_what_it_lays(demo: Solved) -> None:
    limits = {one.stuff.id: one for one in demo.problem.spreads if one.use == "mulch"}
    laid = {one.stuff: one for one in demo.plan.actions if one.task == "mulch" and one.stuff in limits}
    for key, one in laid.items():
        assert one.depth_m <= limits[key].depth_limit_m + 1e-9
    told = {one.about for one in mulch_findings(demo.plan, demo.problem)}
    assert told == {one.stuff.name for key, one in limits.items() if key in laid and one.stuff.mulch_fault}
    assert all(np.isfinite(one.depth_limit_m) for one in limits.values())
