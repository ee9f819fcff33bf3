"""The demo garden's plan, held against everything a plan must keep; each figure is computed again from the actions."""

from __future__ import annotations

import math
from collections import defaultdict
from datetime import timedelta

import numpy as np
import pytest

from loamery.bed.kernels import release_kernels
from loamery.bed.matter import matter_of_stuff
from loamery.bed.parameters import bed_parameters
from loamery.bed.simulate import Portion
from loamery.finding import Band
from loamery.reference import cite, coefficient
from loamery.season.actions import LEAST_KG, LEAST_SACKED_KG, least_kg
from loamery.season.aims import slack
from loamery.season.allowed import manure_days
from loamery.season.decision import AIMS
from loamery.season.on_beds import ceiling_contents
from loamery.season.plan import Action
from loamery.season.problem import Problem
from loamery.season.solve import GAPS
from tests.season.conftest import Solved

LEAST = 0.25
"""Kilograms below which no trip is made; the figures of a bed may differ by this much of each stuff and week."""


def tasks(demo: Solved, *names: str) -> list[Action]:
    return [one for one in demo.plan.actions if one.task in names]


def test_the_plan_is_proven_to_be_good(demo: Solved) -> None:
    assert demo.plan.status == "optimal"
    for aim in AIMS:
        assert 0 <= demo.plan.gaps[aim] <= GAPS[aim] + 1e-6, aim
        assert demo.solution.bounds[aim] <= demo.solution.turns[aim] + 1e-6, aim
        assert demo.solution.values[aim] <= demo.solution.turns[aim] + slack_of(aim, demo) + 1e-5, aim


def slack_of(aim: str, demo: Solved) -> float:
    return slack(aim, demo.solution.turns[aim]) if aim != AIMS[-1] else 0.0


def test_something_is_done_with_every_use(demo: Solved) -> None:
    assert {"collect", "build", "turn", "feed", "mulch"} <= {one.task for one in demo.plan.actions}


def test_offered_is_collected_or_left(demo: Solved) -> None:
    for one in demo.plan.materials:
        assert one.offered_kg == pytest.approx(one.collected_kg + one.left_kg, abs=1e-6)
        assert one.left_kg >= -1e-6
        assert one.spent >= 0


def test_nothing_is_offered_that_no_donor_has(demo: Solved) -> None:
    garden, calendar = demo.plan.garden, demo.plan.calendar
    for one in demo.plan.materials:
        days = 0.0
        for supply in garden.supplies:
            if supply.material == one.material:
                first, last = max(supply.first, calendar.start), min(supply.last, calendar.end - timedelta(days=1))
                days += supply.kg_per_week / 7 * max((last - first).days + 1, 0)
        assert one.offered_kg == pytest.approx(days, rel=1e-9), one.name


def used_by_week(demo: Solved) -> dict[str, np.ndarray]:
    out: dict[str, np.ndarray] = defaultdict(lambda: np.zeros(demo.plan.calendar.weeks))
    for one in tasks(demo, "mulch", "dig_in", "feed"):
        out[one.stuff][one.week] += one.kg
    for batch in demo.plan.batches:
        for key, kg in batch.parts_kg.items():
            out[key][batch.week] += kg
    return out


def test_stock_is_never_negative_and_never_older_than_it_keeps(demo: Solved) -> None:
    weeks = demo.plan.calendar.weeks
    for stuff in demo.problem.raw:
        came, used = np.zeros(weeks), used_by_week(demo)[stuff.id]
        for one in tasks(demo, "collect"):
            came[one.week] += one.kg if one.stuff == stuff.id else 0.0
        for good, kg in zip(demo.problem.goods, demo.solution.buy, strict=True):
            came += kg if good.material == stuff.id else 0.0
        stock = np.cumsum(came) - np.cumsum(used)
        assert stock.min() >= -2.0, stuff.name  # trips and handfuls below LEAST are left out on both sides
        kept = int(stuff.storage_weeks)
        for week in range(weeks):
            young = came[max(week - kept + 1, 0) : week + 1].sum() if kept else 0.0
            assert stock[week] <= young + 2.0, (stuff.name, week)


def test_the_stock_of_the_programme_is_exact(demo: Solved) -> None:
    """The same with what was solved, so that no rounding hides a fault."""
    problem, solution = demo.problem, demo.solution
    for row, stuff in enumerate(problem.raw):
        came = solution.take[problem.lot_material == row].sum(axis=0)
        came = came + solution.buy[problem.good_material == row].sum(axis=0)
        came[0] += problem.store_kg[row] - solution.thrown[row]
        used = solution.feed[row].sum(axis=0)
        for at, spread in enumerate(problem.spreads):
            used = used + solution.spread[at].sum(axis=0) * (spread.stuff.id == stuff.id)
        for at, recipe in enumerate(problem.recipes):
            used = used + dict(recipe.shares).get(stuff.id, 0.0) * solution.build[at].sum(axis=0)
        stock = np.cumsum(came - used)
        assert stock == pytest.approx(solution.stock[row], abs=1e-6)
        assert stock.min() >= -1e-4, stuff.name
        kept = int(stuff.storage_weeks)
        for week in range(problem.calendar.weeks):
            assert stock[week] <= (came[max(week - kept + 1, 0) : week + 1].sum() if kept else 0.0) + 1e-4, (
                stuff.name,
                week,
            )


def test_what_was_collected_is_at_least_what_is_used(demo: Solved) -> None:
    for one in demo.plan.materials:
        assert sum(one.by_use_kg.values()) <= one.collected_kg + one.bought_kg + 1.0, one.name


def test_uses_are_those_the_grower_allows(demo: Solved) -> None:
    for one in demo.plan.materials:
        assert set(one.by_use_kg) <= set(demo.plan.garden.material(one.material).uses), one.name


def test_everything_is_spread_where_and_when_it_may_be(demo: Solved) -> None:
    plan, calendar = demo.plan, demo.plan.calendar
    for one in tasks(demo, "mulch", "dig_in"):
        crops = [crop for crop in plan.garden.plantings if crop.bed == one.target]
        standing = [
            crop for crop in crops if calendar.week_of(crop.planted) <= one.week <= calendar.week_of(crop.harvested)
        ]
        ages = [one.week - calendar.week_of(crop.planted) for crop in standing]
        if one.task == "mulch":
            assert standing
            assert min(ages) >= coefficient("mulch_wait_weeks").value
        else:
            assert all(age <= coefficient("dig_in_wait_weeks").value for age in ages), "dug into a standing crop"


def test_raw_manure_stays_off_beds_with_a_crop(demo: Solved) -> None:
    manures = {one.id for one in demo.problem.raw if one.is_raw_manure}
    assert manures, "the demo has some, or this says nothing"
    for one in tasks(demo, "mulch", "dig_in"):
        if one.stuff in manures:
            until = one.day + timedelta(days=manure_days(demo.plan.garden))
            assert not [
                c
                for c in demo.plan.garden.plantings
                if c.bed == one.target and c.planted < until and c.harvested >= one.day
            ]


def test_ceilings_hold_in_the_actions(demo: Solved) -> None:
    stuffs = {spread.stuff.id: spread for spread in demo.problem.spreads}
    level = coefficient("ceiling_confidence").value
    least = np.array([least_kg(one.stuff) for one in demo.problem.spreads]).reshape(-1, 1, 1)
    handfuls = np.where(demo.solution.spread <= least, demo.solution.spread, 0.0).sum(axis=2)
    for at, bed in enumerate(demo.plan.beds):
        for reached in bed.ceilings:
            key, load = reached.ceiling.key, 0.0
            per_kg = ceiling_contents(demo.problem, key)
            left_out = float(per_kg @ handfuls[:, at]) / bed.need_data.bed.area_m2
            for one in tasks(demo, "mulch", "dig_in"):
                if one.target == bed.id:
                    stuff = stuffs[one.stuff].stuff
                    draws = {"P": stuff.p, "K": stuff.k, "salt": stuff.salts}.get(key, stuff.trace.get(key))
                    gone_in = 1.0 if key in ("K", "salt") or one.task == "dig_in" else stuff.decay.decomposed_frac
                    load += (
                        0.0
                        if draws is None
                        else one.kg * float(np.quantile(draws, level)) * gone_in / bed.need_data.bed.area_m2
                    )
            assert load <= reached.ceiling.limit_kg_m2 * (1 + 1e-6) + 1e-12, (bed.name, key)
            assert reached.load_kg_m2 == pytest.approx(load, rel=0.05, abs=1e-6 + left_out), (bed.name, key)
            assert reached.band.low <= reached.band.median <= reached.band.high


def test_heaps_are_large_enough_small_enough_and_used_once_at_a_time(demo: Solved) -> None:
    active = math.ceil(coefficient("heap_active_weeks").value)
    least = coefficient("heap_min_volume").value
    by_heap: dict[str, list[int]] = defaultdict(list)
    for batch in demo.plan.batches:
        heap = next(one for one in demo.plan.garden.heaps if one.id == batch.heap)
        assert min(least, heap.capacity_m3) - 1e-6 <= batch.volume_m3 <= heap.capacity_m3 + 1e-6
        by_heap[batch.heap].append(batch.week)
        mass = sum(batch.parts_kg.values())
        assert batch.volume_m3 == pytest.approx((mass + batch.water_l) / batch.recipe.density_kg_m3, rel=1e-9)
        assert dict(batch.recipe.shares) == pytest.approx({key: kg / mass for key, kg in batch.parts_kg.items()})
        assert 0 < batch.compost_kg < mass + batch.water_l
    for weeks in by_heap.values():
        assert all(later - earlier >= active for earlier, later in zip(sorted(weeks), sorted(weeks)[1:], strict=False))
    assert len({batch.id for batch in demo.plan.batches}) == len(demo.plan.batches)


def test_every_batch_is_built_and_turned(demo: Solved) -> None:
    built = [(one.target, one.week, one.kg) for one in tasks(demo, "build")]
    assert sorted(built) == sorted((one.heap, one.week, sum(one.parts_kg.values())) for one in demo.plan.batches)
    turned = {(one.target, one.week) for one in tasks(demo, "turn")}
    for batch in demo.plan.batches:
        mine = [week for heap, week in turned if heap == batch.heap and batch.week < week < batch.week + 14]
        left = demo.plan.calendar.weeks - batch.week
        assert len(mine) >= min(int(coefficient("turnings_per_batch").value), left // 3 - 1)


def test_compost_is_not_used_before_it_is_ready(demo: Solved) -> None:
    for batch in demo.plan.batches:
        assert batch.ready_week >= batch.week + math.ceil(coefficient("heap_lead_time_weeks").value)
        assert batch.ready_day == demo.plan.calendar.monday(batch.ready_week)
    for stuff in (*demo.problem.composts, *([demo.problem.castings] if demo.problem.castings else [])):
        made = np.zeros(demo.plan.calendar.weeks)
        for batch in demo.plan.batches:
            if batch.recipe.id == stuff.id and batch.ready_week < made.size:
                made[batch.ready_week] += batch.compost_kg
        if stuff.form == "castings":
            wait = math.ceil(coefficient("worm_lead_weeks").value)
            index = {one.id: row for row, one in enumerate(demo.problem.raw)}
            for one in tasks(demo, "feed"):
                if one.week + wait < made.size:
                    made[one.week + wait] += one.kg * demo.problem.castings_yield[index[one.stuff]]
        assert np.all(np.cumsum(used_by_week(demo)[stuff.id]) <= np.cumsum(made) + 1.0), stuff.name


def test_worms_eat_no_more_than_they_can(demo: Solved) -> None:
    for box in demo.plan.garden.worm_beds:
        # half their mass a day (common practice, no source)
        most = 7 * 0.5 * (box.worms_kg or 1.6 * box.area_m2)
        fed: dict[int, float] = defaultdict(float)
        for one in tasks(demo, "feed"):
            fed[one.week] += one.kg if one.target == box.id else 0.0
        assert max(fed.values()) <= most + 1e-6


def test_mulch_never_lies_deeper_than_it_may(demo: Solved) -> None:
    """Without any decay between layers of a bed's own season the depth would be at most the sum; with it, the limit."""
    problem = demo.problem
    deepest = coefficient("standing_mulch_max").value
    for bed in demo.plan.beds:
        standing = np.zeros(problem.calendar.weeks)
        for spread in problem.spreads:
            if spread.use != "mulch":
                continue
            own = np.zeros(problem.calendar.weeks)
            for one in tasks(demo, "mulch"):
                if (one.target, one.stuff) == (bed.id, spread.stuff.id):
                    depth = one.kg / float(np.median(spread.stuff.density)) / bed.need_data.bed.area_m2
                    assert one.depth_m == pytest.approx(depth, rel=1e-9)
                    own += depth * spread.left[one.week]
            # looked at every other week; between two looks one more layer may lie for a week
            assert own[1::2].max() <= spread.stuff.mulch_depth_m + 1e-6, (bed.name, spread.name)
            standing += own
        assert standing[1::2].max() <= deepest + 1e-6, bed.name
        assert standing.max() <= 2 * deepest


def test_hours_are_those_of_the_actions(demo: Solved) -> None:
    by_week = np.zeros(demo.plan.calendar.weeks)
    for one in demo.plan.actions:
        by_week[one.week] += one.hours
    assert by_week == pytest.approx(np.array(demo.plan.hours))
    limit = demo.plan.garden.info.hours_per_week
    assert limit is not None
    assert by_week.max() <= limit + 1e-6


def test_amounts_of_an_action_agree(demo: Solved) -> None:
    for one in demo.plan.actions:
        assert 0 <= one.week < demo.plan.calendar.weeks
        assert one.day == demo.plan.calendar.monday(one.week)
        if one.task == "turn":
            assert one.kg == 0
            continue
        assert one.kg >= (LEAST_SACKED_KG if one.stuff == "feather-meal" else LEAST)
        step = 1.0 if one.task == "build" else 0.5
        exact = one.volume_l / demo.plan.garden.info.bucket_l
        assert one.buckets % step == 0
        assert exact - 1e-6 <= one.buckets < exact + step + 1e-6, (one.task, one.stuff)


def test_chores_hold_every_action_in_order(demo: Solved) -> None:
    chores = demo.plan.chores()
    assert list(chores) == sorted(chores)
    assert sum(len(one) for one in chores.values()) == len(demo.plan.actions)
    assert all(one.week == week for week, found in chores.items() for one in found)


def nitrogen(demo: Solved, bed_id: str, area_m2: float) -> tuple[np.ndarray, float]:
    """Return cumulative nitrogen of a bed, g/m2, from its actions, and what left-out handfuls may add.

    The bed model runs each stuff at best values through the middle of the seasons, without patterns and draws.
    """
    seasons, weeks = demo.problem.seasons, demo.plan.calendar.weeks
    row = [bed.id for bed in demo.plan.beds].index(bed_id)
    temp, moisture = np.median(seasons.temp_c, axis=1), np.median(seasons.moisture[:, seasons.soil_of[row]], axis=1)
    total, slack = np.zeros(weeks), 0.0
    stuffs = {spread.stuff.id: spread.stuff for spread in demo.problem.spreads}
    kernels: dict[tuple[str, str], np.ndarray] = {}
    for one in tasks(demo, "mulch", "dig_in"):
        if one.target != bed_id:
            continue
        way = (one.stuff, one.task)
        if way not in kernels:
            matter = matter_of_stuff(stuffs[one.stuff], bed_parameters(1))
            run = release_kernels([Portion(matter, one.task == "mulch")], temp, moisture=moisture[:, None])
            kernels[way] = run[0, :, :, 0]
        total += one.kg * kernels[way][one.week] * 1000 / area_m2
        slack += LEAST * np.abs(kernels[way]).max() * 1000 / area_m2
    for spread, kg in zip(demo.problem.spreads, demo.solution.spread[:, row], strict=True):
        slack += kg[kg <= LEAST_KG].sum() * np.abs(spread.n_kg_kg).max() * 1000 / area_m2
    return total, slack


def test_nitrogen_supplied_is_what_the_actions_give(demo: Solved) -> None:
    for bed in demo.plan.beds:
        total, slack = nitrogen(demo, bed.id, bed.need_data.bed.area_m2)
        # a median of draws is not the run at best values
        assert np.abs(np.array(bed.supply_n) - total).max() <= 0.15 * max(total[-1], 1.0) + slack, bed.name


def test_shortfall_is_the_mean_of_what_scenarios_lack(demo: Solved) -> None:
    """Nitrogen is followed from check to check: what lies unused may wash out, what was missed is caught up in part."""
    problem, grams = demo.problem, 1000.0
    scenarios, checks = problem.scenarios, problem.checks
    for row, bed in enumerate(demo.plan.beds):
        kg_m2 = demo.solution.spread[:, row] / problem.area_m2[row]
        comes = np.zeros((problem.calendar.weeks, scenarios.count))
        for s, spread in enumerate(problem.spreads):
            draws = spread.release.on_bed(row).nitrogen(kg_m2[s]) * grams
            comes += draws[:, scenarios.picked] * scenarios.arrives[:, s]
        demand = np.array(bed.demand_n)[checks]
        spare = comes[checks].T + scenarios.soil_n_kg_m2[:, row][:, checks] * grams - demand
        last = [lacking(spare[j], demand, problem, j, row) for j in range(scenarios.count)]
        assert bed.short["N"] == pytest.approx(np.mean(last), abs=2e-3), bed.name
        assert bed.need["N"] == pytest.approx(bed.demand_n[-1])
        for key in "NPK":
            assert bed.worst[key] >= bed.short[key] >= 0


def lacking(spare: np.ndarray, demand: np.ndarray, problem: Problem, j: int, row: int) -> float:
    """Return what a bed lacks at the last check of a scenario, g per m2, from what came less what crops asked by each check."""
    scenarios, checks = problem.scenarios, problem.checks
    bare = scenarios.lying_kg_m2[j, row, checks] * 1000.0
    short = lying = gone = before = asked = 0.0
    since = 0
    for at, check in enumerate(checks):
        half = (1.0 - math.exp(-scenarios.drained[j, row, since : check + 1].sum())) / 2.0
        usual = bare[at] + before
        may_catch_up = (scenarios.catch_up[j] - 1.0) * (demand[at] - asked)
        empty = gone + max(half * (lying - usual), 0.0)
        short = max(short - may_catch_up, empty - spare[at], 0.0)
        room = spare[at] + short - gone
        now = (room - half * (lying - usual)) / (1.0 + half)
        lying = now if now + lying > usual else room
        gone = spare[at] + short - lying
        since, before, asked = check + 1, bare[at], demand[at]
    return short


def bands(demo: Solved) -> list[Band]:
    out = [band for bed in demo.plan.beds for band in bed.supplied.values()]
    out += [band for bed in demo.plan.beds for one in bed.given for band in (one.n, one.p, one.k)]
    return out + [one.band for one in demo.plan.findings if one.band is not None]


def test_bands_hold_their_medians(demo: Solved) -> None:
    for band in bands(demo):
        assert all(math.isfinite(one) for one in (band.low, band.median, band.high))
        assert band.low <= band.median <= band.high
        assert band.unit


def test_parts_given_add_up_to_what_is_supplied(demo: Solved) -> None:
    for bed in demo.plan.beds:
        for key in "PK":
            parts = sum(getattr(one, key.lower()).median for one in bed.given)
            # medians of sums are not sums of medians; a tenth is the most they differ here
            assert parts == pytest.approx(bed.supplied[key].median, rel=0.12, abs=0.05), (bed.name, key)


def test_every_link_of_every_trace_resolves(demo: Solved) -> None:
    ledger = demo.plan.ledger
    broken = [
        (trace.id, one.trace) for trace in ledger for one in trace.inputs if one.trace and one.trace not in ledger
    ]
    assert broken == []
    assert not [trace.id for trace in ledger if not trace.inputs]
    for trace in ledger:
        assert trace.title
        assert trace.value
        assert trace.equation
        cite(trace.sources)


def test_every_figure_of_a_bed_has_a_trace(demo: Solved) -> None:
    for bed in demo.plan.beds:
        wanted = [f"bed/{bed.id}/{what}/{key}" for what in ("need", "supply") for key in "NPK"]
        wanted += [f"bed/{bed.id}/soil/N", *(f"bed/{bed.id}/ceiling/{one.ceiling.key}" for one in bed.ceilings)]
        assert [one for one in wanted if one not in demo.plan.ledger] == []
    assert [one.id for one in demo.plan.batches if f"batch/{one.id}" not in demo.plan.ledger] == []


def test_every_finding_says_why_and_its_sources_exist(demo: Solved) -> None:
    for one in demo.plan.findings:
        assert one.text.strip()
        assert one.because.strip(), one.code
        assert one.severity in ("note", "warning", "stop")
        cite(one.sources)
    order = [("stop", "warning", "note").index(one.severity) for one in demo.plan.findings]
    assert order == sorted(order)


def test_lead_in_the_soil_stops_with_a_caution(demo: Solved) -> None:
    (found,) = [one for one in demo.plan.findings if one.code == "soil_limit_exceeded"]
    assert found.severity == "stop"
    assert "lead 180 mg/kg" in found.text
    assert "local codes" in found.caution


def test_the_manure_is_spoken_of_with_its_caution(demo: Solved) -> None:
    (found,) = [one for one in demo.plan.findings if one.code == "manure_interval"]
    assert "120 days" in found.text
    assert "licensed professional" in found.caution


def test_a_reporting_limit_above_the_legal_one_is_unknown_and_never_passes(demo: Solved) -> None:
    (found,) = [one for one in demo.plan.findings if one.code == "limit_unknown"]
    assert "Cadmium" in found.text
