"""Work in the background: what it keeps, what a cut or damaged file means, and what was fixed by hand."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from loamery.errors import NoPlan
from loamery.season.plan import SeasonPlan
from loamery.web.pages import foresee, holds, work
from loamery.web.pages.sight import Reckoned
from loamery.web.records.snapshot import snapshot
from tests.web.conftest import World


@pytest.fixture
def garden(world: World) -> Iterator[Any]:
    shutil.rmtree(work.place(world.ours.pk), ignore_errors=True)
    yield world.ours
    world.ours.today_is = None
    shutil.rmtree(work.place(world.ours.pk), ignore_errors=True)


def test_what_another_version_kept_is_not_read(garden: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    work.keep(garden, Reckoned(failure="old"))
    monkeypatch.setattr(work, "FORM", "another")
    work._read.cache_clear()
    assert work.kept(garden) == (Reckoned(), False)


@pytest.mark.parametrize("damage", [b"", b"no json\n", b'{"form": 1}\n', b"cut"])
def test_a_damaged_file_is_reckoned_anew_never_a_fault(garden: Any, damage: bytes) -> None:
    work.keep(garden, Reckoned(failure="whole"))
    path = work.place(garden.pk) / "reckoned"
    path.write_bytes(path.read_bytes()[:60] if damage == b"cut" else damage)
    work._read.cache_clear()
    assert work.kept(garden) == (Reckoned(), False)


@pytest.mark.parametrize("text", ["", "{", "[]"])
def test_a_damaged_state_is_no_state(garden: Any, text: str) -> None:
    (work.place(garden.pk) / "state.json").write_text(text, encoding="utf-8")
    assert work.state(garden) is None
    (work.place(garden.pk) / work.MOVES).write_text(text, encoding="utf-8")
    assert work.moves(garden) == {}
    (work.place(garden.pk) / holds.HELD).write_text(text, encoding="utf-8")
    assert holds.held_in(work.place(garden.pk)) == ()


def _plan(garden: Any, today: date) -> SeasonPlan:
    garden.today_is = today
    work.run(garden)
    told = work.state(garden) or {}
    assert told.get("done"), told
    plan = work.kept(garden)[0].plan
    assert plan is not None
    return plan


def test_what_is_changed_by_hand_outlives_the_next_plan(garden: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foresee, "_heaps", lambda *_more: {})
    monkeypatch.setattr(foresee, "drawings", lambda *_more: {})
    first = _plan(garden, date(2027, 4, 7))
    assert first.from_week == 0, "nothing is written down by then"
    index, one = max(
        ((at, each) for at, each in enumerate(first.actions) if each.task in ("mulch", "dig_in") and each.week > 3),
        key=lambda item: item[1].kg,
    )
    work.keep_moves(garden, {index: (one.kg / 2, one.week)})
    plan = _plan(garden, date(2027, 4, 20))
    assert plan.from_week == 2, "loads and heaps were written down since"
    assert work.moves(garden) == {}, "they have become amounts that are held"
    (held,) = holds.held_in(work.place(garden.pk))
    assert (held.stuff, held.bed, held.day, held.kg) == (one.stuff, one.target, one.day, one.kg / 2)
    same = [each.kg for each in plan.actions if (each.stuff, each.task, each.target, each.day) == (one.stuff, one.task, one.target, one.day)]  # fmt: skip
    assert same == pytest.approx([one.kg / 2], abs=1e-3)

    holds.keep_held(work.place(garden.pk), [replace(held, kg=90_000.0)])
    work.run(garden)
    told = work.state(garden) or {}
    assert told["failed"]
    assert "fixed by hand" in told["words"]
    assert work.kept(garden)[0].plan is not None, "the plan before stays"


def test_later_words_stand_over_earlier_ones(garden: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foresee, "_heaps", lambda *_more: {})
    monkeypatch.setattr(foresee, "drawings", lambda *_more: {})
    plan = _plan(garden, date(2027, 4, 7))
    index = next(at for at, each in enumerate(plan.actions) if each.task in ("mulch", "dig_in"))
    one = plan.actions[index]
    moved = holds.with_moves((), plan, {index: (3.0, one.week + 1)})
    assert [(each.kg, each.day) for each in moved] == [(0.0, one.day), (3.0, plan.calendar.monday(one.week + 1))]
    again = holds.with_moves(moved, plan, {index: (4.0, one.week)})
    assert {each.day: each.kg for each in again} == {one.day: 4.0, plan.calendar.monday(one.week + 1): 3.0}


def test_the_plan_begins_today_once_something_was_done(garden: Any) -> None:
    records = snapshot(garden)
    assert holds.first_day(records, date(2027, 4, 6)) is None
    assert holds.first_day(records, date(2027, 5, 6)) == date(2027, 5, 6)
    assert holds.first_day(records, date(2031, 5, 6)) is None


def test_the_whole_season_is_planned_when_that_is_asked_for(
    garden: Any, client_of: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Any] = []
    garden.today_is = date(2027, 5, 6)
    monkeypatch.setattr(work, "start", lambda _garden, *, asked=None, who: said.append(asked))
    monkeypatch.setattr(work, "reckon", lambda _records, _tell, *, since, held: (asked.append(since), Reckoned())[1])
    said: list[Any] = []
    for fields in ({}, {"whole": "1"}):
        client_of("grower").post("/g/ours/season/solve", fields)
    for one in said:
        work.run(garden, asked=one)
    assert asked == [date(2027, 5, 6), None], "planned from today, then as if nothing had been done"


def test_where_no_plan_from_today_keeps_the_limits_the_whole_season_is_shown(
    garden: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    solve = foresee.solve_prepared

    def only_whole(*given: Any, since: date | None = None, **more: Any) -> Any:
        if since is not None:
            raise NoPlan("no plan keeps the limits")
        return solve(*given, **more)

    monkeypatch.setattr(foresee, "_heaps", lambda *_more: {})
    monkeypatch.setattr(foresee, "drawings", lambda *_more: {})
    monkeypatch.setattr(foresee, "solve_prepared", only_whole)
    plan = _plan(garden, date(2027, 4, 20))
    assert plan.from_week == 0
    assert "not_planned_anew" in {one.code for one in plan.findings}


def test_without_a_plan_the_reason_is_kept(garden: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_more: Any, **_named: Any) -> None:
        raise NoPlan("nothing to plan")

    monkeypatch.setattr(foresee, "_heaps", lambda *_more: {})
    monkeypatch.setattr(foresee, "drawings", lambda *_more: {})
    monkeypatch.setattr(foresee, "solve_prepared", none)
    work.run(garden)
    assert work.kept(garden)[0].failure.startswith("nothing to plan")
    assert Path(work.place(garden.pk) / "reckoned").is_file()
