"""Mass, nitrogen and phosphorus through the plan: what is collected is applied, composted, lost or left, to 1e-9."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.heap.published import finished_share
from loamery.season.prepare import prepare
from loamery.season.problem import make_problem
from loamery.season.stuff import raw_stuff
from loamery.worms.published import nitrogen_lost_share
from tests.season.conftest import Solved

CLOSE = 1e-9
FRESH_SEED = 4321


def totals(demo: Solved) -> dict[str, np.ndarray]:
    """Return kg of each raw material by fate, and of each product by fate."""
    p, s = demo.problem, demo.solution
    raw = len(p.raw)
    spread = np.zeros(len(p.stuffs))
    np.add.at(spread, p.spread_stuff, s.spread.sum(axis=(1, 2)))
    came = np.zeros(raw)
    np.add.at(came, p.lot_material, s.take.sum(axis=1))
    np.add.at(came, p.good_material, s.buy.sum(axis=1))
    built = s.build.sum(axis=(1, 2))
    return {"came": came + p.store_kg[:raw], "spread": spread, "heap": p.shares @ built, "worms": s.feed.sum(axis=(1, 2)),
            "left": s.stock[:, -1], "thrown": s.thrown, "built": built}  # fmt: skip


def test_every_material_s_mass_is_accounted_for(demo: Solved) -> None:
    found, raw = totals(demo), len(demo.problem.raw)
    gone = found["spread"][:raw] + found["heap"] + found["worms"] + found["left"][:raw] + found["thrown"][:raw]
    assert found["came"] == pytest.approx(gone, rel=CLOSE, abs=CLOSE)
    for row, one in enumerate(demo.plan.materials):
        came = one.collected_kg + one.bought_kg + one.stored_kg
        assert came == pytest.approx(sum(one.by_use_kg.values()) + one.in_store_kg + one.thrown_kg, rel=1e-9, abs=1e-5)
        assert one.collected_kg + one.left_kg == pytest.approx(one.offered_kg, rel=CLOSE, abs=CLOSE), row


@pytest.mark.parametrize(("element", "loss"), [("nitrogen", "N"), ("p", "P")])
def test_nitrogen_and_phosphorus_of_heaps_are_accounted_for_in_every_draw(
    demo: Solved, element: str, loss: str
) -> None:
    """What went into heaps is in composts that were spread, lie in store or are ready later, or was lost on the way."""
    p, found = demo.problem, totals(demo)
    put_in = sum(getattr(one, element) * kg for one, kg in zip(p.raw, found["heap"], strict=True))
    made = found["built"] * p.compost_yield
    in_compost = sum(getattr(one, element) * kg for one, kg in zip(p.composts, made, strict=True))
    lost = finished_share(loss).value * put_in
    assert made.sum() > 1, "the demo makes compost"
    assert put_in == pytest.approx(in_compost + lost, rel=CLOSE)
    rows = range(len(p.raw), len(p.raw) + len(p.composts))
    late = (1.0 - p.ready[:, :, -1])[:, None, :] * demo.solution.build * p.compost_yield[:, None, None]
    fates = found["spread"][list(rows)] + found["left"][list(rows)] + late.sum(axis=(1, 2))
    assert made == pytest.approx(fates, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("element", "kept"), [("nitrogen", 1 - nitrogen_lost_share()), ("p", 1.0), ("k", 1.0)])
def test_castings_never_hold_more_than_was_fed(demo: Solved, element: str, kept: float) -> None:
    p, fed = demo.problem, totals(demo)["worms"]
    assert p.castings is not None
    brings = kept * np.array([float(np.median(getattr(one, element))) for one in p.raw])
    share = np.array([dict(p.castings.made_of).get(one.id, 0.0) for one in p.raw])
    holds = float(share @ brings) / float(share @ p.castings_yield)
    assert fed @ brings >= (fed @ p.castings_yield) * holds * (1 - 1e-6)


def test_ceilings_hold_at_the_medians_and_together_in_nine_of_ten_fresh_draws(demo: Solved) -> None:
    """Fresh: compositions drawn anew with another seed, the amounts of the plan as they are."""
    garden = demo.prepared.garden
    anew = garden.model_copy(update={"info": garden.info.model_copy(update={"seed": FRESH_SEED})})
    prepared, p = prepare(anew), demo.problem
    raw = [raw_stuff(one, prepared.compositions[one.id]) for one in anew.materials]
    fresh = make_problem(anew, p.calendar, p.needs, raw, p.recipes, scenarios=1)
    together = np.ones(anew.info.draws, dtype=bool)
    for b, need in enumerate(fresh.needs):
        kg_m2 = demo.solution.spread[:, b].sum(axis=1) / p.area_m2[b]
        for key, ceiling in need.ceilings.items():
            held = [(kg, one.held(key)) for kg, one in zip(kg_m2, fresh.spreads, strict=True)]
            load = sum((kg * draws for kg, draws in held if draws is not None), np.zeros(anew.info.draws))
            assert np.median(load) <= ceiling.limit_kg_m2 * (1 + 1e-6), (need.bed.id, key)
            together &= load <= ceiling.limit_kg_m2 * (1 + 1e-6)
    assert together.mean() >= 0.9
