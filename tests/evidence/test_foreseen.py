"""The heap model's say in the season report: a picture and a row for each batch, mulches and worm beds beside their limits."""

from __future__ import annotations

from dataclasses import replace

from loamery.evidence.block import Figure, Grid, Section, Table
from loamery.evidence.foreseen import foreseen_sections
from loamery.evidence.text import Units
from loamery.season.foresee import Foreseen
from loamery.season.plan import SeasonPlan


def blocks(section: Section, kind: type) -> list:
    flat = [part for one in section.parts for part in (one.parts if isinstance(one, Grid) else [one])]
    return [one for one in flat if isinstance(one, kind)]


def test_each_batch_has_a_picture_and_a_row(plan: SeasonPlan, foreseen: Foreseen) -> None:
    heaps, _ = foreseen_sections(foreseen, Units("metric"))
    figures, (table,) = blocks(heaps, Figure), blocks(heaps, Table)
    assert [one.chart.key for one in figures] == [f"heat-{one.id}" for one in plan.batches]
    assert len(table.rows) == len(plan.batches)
    assert all("plan" in str(row[-1]) for row in table.rows)


def test_a_batch_is_run_as_the_plan_builds_and_turns_it(plan: SeasonPlan, foreseen: Foreseen) -> None:
    for one in foreseen.batches:
        assert one.told.plan.start == one.batch.day
        assert one.told.plan.volume_m3 == one.batch.volume_m3
        others = [two.day for two in plan.batches if two.heap == one.batch.heap and two.day > one.batch.day]
        last = min([one.batch.ready_day, *others])
        assert all(0 < day <= (last - one.batch.day).days for day in one.told.plan.turn_days)
    assert any(one.told.plan.turn_days for one in foreseen.batches)


def test_mulches_and_feeds_stand_beside_their_limits(plan: SeasonPlan, foreseen: Foreseen) -> None:
    spread = {one.stuff for one in plan.actions if one.task == "mulch" and one.stuff in plan.compositions}
    assert {one.material for one in foreseen.mulches} == spread
    fed = sum(one.kg for one in plan.actions if one.task == "feed")
    assert sum(sum(one.weekly_kg) for one in foreseen.worm_beds) > 0.99 * fed
    _, layers = foreseen_sections(foreseen, Units("us"))
    assert sum(len(one.rows) for one in blocks(layers, Table)) == len(spread) + len(foreseen.worm_beds[0].feeds)


def test_a_thick_mulch_is_told(foreseen: Foreseen) -> None:
    thick = tuple(replace(one, planned_m=0.4) for one in foreseen.mulches)
    _, layers = foreseen_sections(replace(foreseen, mulches=thick), Units("metric"))
    table = blocks(layers, Table)[0]
    assert all("thinner" in str(row[-1]) for row in table.rows)


def test_nothing_foreseen_is_no_section() -> None:
    assert foreseen_sections(Foreseen((), (), ()), Units("metric")) == []
