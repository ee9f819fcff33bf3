"""When to turn and to water a heap: found by trying, one event after another, on a few draws of the heap."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.heap import layout as at
from loamery.heap.climate import Normals
from loamery.heap.forecast import HeapPlan, ready_days, with_schedule
from loamery.heap.hygiene import HygieneRule, judge
from loamery.heap.matter import stuff_draws
from loamery.heap.model import ensemble
from loamery.heap.parameters import drawn_parameters
from loamery.heap.readiness import pools_left
from loamery.heap.result import EnsembleRun
from loamery.reference import coefficient
from loamery.say import say

Array = NDArray[np.float64]
WEIGHTS: dict[str, tuple[float, float]] = {"hygiene": (1.0, 0.1), "speed": (0.0, 1.0), "both": (0.6, 0.4)}
MEMBERS, CELLS, MOST_ROUNDS, STEP_DAYS, LAST_SHARE = 5, 10, 6, 3, 0.7
FIRSTS, GAPS, COUNTS = (3, 6, 10, 15), (3, 4, 6, 9), (3, 5)
"""Rows of turnings that are tried as one: several together may gain what one alone does not."""
DRY = 0.03
"""A heap is watered only when its moisture is this much below what is aimed at."""


@dataclass(frozen=True)
class Step:
    """Events found worth their work together, in words, and what the score became with them."""

    events: tuple[str, ...]
    score: float


@dataclass(frozen=True)
class Schedule:
    """Days of turning and watering.

    Parameters
    ----------
    turn_days : days from the start; waterings (day, kg).
    before, after : score without any event and with these; 1 is best.
    steps : events in the order in which they were found.
    tried : heaps simulated.
    """

    goal: str
    turn_days: tuple[float, ...]
    waterings: tuple[tuple[float, float], ...]
    before: float
    after: float
    steps: tuple[Step, ...]
    tried: int

    def as_dict(self) -> dict[str, object]:
        """Return the schedule ready for JSON."""
        waterings = [{"day": day, "kg": kg} for day, kg in self.waterings]
        steps = [vars(one) for one in self.steps]
        return {**vars(self), "waterings": waterings, "steps": steps, "turn_days": list(self.turn_days)}


def search_schedule(
    plan: HeapPlan,
    normals: Normals,
    days: int = 90,
    *,
    goal: str = "both",
    rule: HygieneRule | None = None,
    seed: int = 1,
    progress: Callable[[str], None] = lambda _: None,
) -> Schedule:
    """Return when to turn and water a heap.

    Parameters
    ----------
    goal : ``hygiene`` (share of the matter that keeps the rule), ``speed`` (how far decay has come, and when it is ready) or
        ``both``.
    rule : of hygiene; three hot days (40 CFR 503 in-vessel row) when None.

    Notes
    -----
    Greedy: every third day is tried for one more turning and, where the heap is dry, for one more watering, and rows of three
    or five turnings at several distances; the best is kept while it gains more than `schedule_gain_min` for each event.

    Raises
    ------
    InputError : an unknown goal, or a number out of bounds.
    """
    if goal not in WEIGHTS:
        raise InputError(
            say("goal “{goal}”", goal=goal),
            expected=say("hygiene, speed or both"),
            remedy=say("choose one of the three"),
        )
    trial = _Trial(plan, normals, days, goal, rule or _three_days(), seed)
    best = trial.scores([plan_events(plan)])[0]
    before, events = best, plan_events(plan)
    steps: list[Step] = []
    least = coefficient("schedule_gain_min").value
    while len(steps) < MOST_ROUNDS:
        progress(f"trying days, round {len(steps) + 1}")
        choices = trial.choices(events)
        scores = trial.scores([(*events, *one) for one in choices])
        gains = [score - best - least * len(one) for score, one in zip(scores, choices, strict=True)]
        place = int(np.argmax(gains)) if choices else -1
        if place < 0 or gains[place] <= 0.0:
            break
        events, best = (*events, *choices[place]), scores[place]
        steps.append(Step(tuple(_words(one) for one in choices[place]), best))
    turns, waters = _split(events)
    return Schedule(goal, turns, waters, before, best, tuple(steps), trial.tried)


Event = tuple[int, float, float]


def plan_events(plan: HeapPlan) -> tuple[Event, ...]:
    """Return what is planned already, as (kind, day, kg)."""
    turns = tuple((at.TURN, float(day), 0.0) for day in plan.turn_days)
    return turns + tuple((at.GIVE_WATER, float(day), kg) for day, kg in plan.waterings)


def _words(event: Event) -> str:
    kind, day, kg = event
    return f"turn on day {day:g}" if kind == at.TURN else f"give {kg:g} kg of water on day {day:g}"


def _split(events: Sequence[Event]) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...]]:
    turns = tuple(sorted(day for kind, day, _ in events if kind == at.TURN))
    return turns, tuple(sorted((day, kg) for kind, day, kg in events if kind == at.GIVE_WATER))


def _three_days() -> HygieneRule:
    from loamery.heap.hygiene import hygiene_rules

    return next(one for one in hygiene_rules(["us-503-hygiene"]) if one.parameter == "process_in_vessel")


class _Trial:
    """A few draws of one heap, on which schedules are tried."""

    def __init__(self, plan: HeapPlan, normals: Normals, days: int, goal: str, rule: HygieneRule, seed: int) -> None:
        self.plan, self.days, self.goal, self.rule, self.tried = plan, days, goal, rule, 0
        self.numbers = drawn_parameters(MEMBERS, seed)
        self.stuff = stuff_draws(plan.parts, MEMBERS, seed, water_kg=plan.water_kg, compost_share=plan.compost_share)
        self.weather = normals.draws(plan.start, days, MEMBERS, seed)

    def choices(self, events: Sequence[Event]) -> list[tuple[Event, ...]]:
        """Return what to try next: one more turning, a row of turnings, one more watering."""
        singles: list[tuple[Event, ...]] = [(one,) for one in (*self.turnings(events), *self.waterings(events))]
        if any(kind == at.TURN for kind, _, _ in events):
            return singles
        rows = [
            tuple((at.TURN, float(first + gap * i), 0.0) for i in range(n))
            for first in FIRSTS
            for gap in GAPS
            for n in COUNTS
        ]
        return [*singles, *(row for row in rows if row[-1][1] < self.days)]

    def turnings(self, events: Sequence[Event]) -> list[Event]:
        """Return turnings to try."""
        taken = {day for kind, day, _ in events if kind == at.TURN}
        last = LAST_SHARE * self.days
        free = [float(day) for day in range(STEP_DAYS, int(last), STEP_DAYS)]
        return [(at.TURN, day, 0.0) for day in free if all(abs(day - one) >= STEP_DAYS for one in taken)]

    def waterings(self, events: Sequence[Event]) -> list[Event]:
        """Return waterings to try, each bringing the heap up to the moisture aimed at; with the last scored schedule's moisture."""
        aim = coefficient("watering_aim").value
        run = self._run([events])
        moisture = np.median(_moisture(run), axis=0)
        dry = np.median(run.dry_kg.sum(axis=2), axis=0)
        out: list[Event] = []
        for day in range(STEP_DAYS, int(LAST_SHARE * self.days), 2 * STEP_DAYS):
            now = int(np.searchsorted(run.day, day))
            if moisture[now] < aim - DRY:
                wanted = dry[now] * (aim / (1.0 - aim) - moisture[now] / (1.0 - moisture[now]))
                out.append((at.GIVE_WATER, float(day), float(round(wanted, 1))))
        return out

    def scores(self, schedules: Sequence[Sequence[Event]]) -> list[float]:
        """Return the mean score of each schedule over the draws."""
        if not schedules:
            return []
        run = self._run(schedules)
        one = self._member_scores(run).reshape(len(schedules), MEMBERS)
        return [float(value) for value in one.mean(axis=1)]

    def _run(self, schedules: Sequence[Sequence[Event]]) -> EnsembleRun:
        plans = [with_schedule(self.plan, *_split(events)) for events in schedules]
        specs = [plan.spec(self.stuff[m], self.weather[m], self.numbers[m]) for plan in plans for m in range(MEMBERS)]
        self.tried += len(specs)
        return ensemble(specs, self.days, CELLS, every_days=0.5)

    def _member_scores(self, run: EnsembleRun) -> Array:
        clean, fast = WEIGHTS[self.goal]
        hygiene = np.array([self._hygiene(run, m) for m in range(len(run.specs))]) if clean else 0.0
        ready = np.minimum(ready_days(run), float(self.days))
        speed = 0.5 * (1.0 - ready / self.days) + 0.5 * np.array([_decay(run, m) for m in range(len(run.specs))])
        return np.asarray((clean * hygiene + fast * speed) / (clean + fast))

    def _hygiene(self, run: EnsembleRun, m: int) -> float:
        dry = run.dry_kg[m, 0]
        status = judge(run.day, run.temp_c[m], dry / dry.sum(), run.specs[m].turn_days, self.rule)
        turned = min(status.turnings_hot / self.rule.turnings, 1.0) if self.rule.turnings else 1.0
        # time near the rule counts a little, so that a heap just short of it is still led towards it
        near = min(status.core_days / self.rule.hold_days, 1.0)
        return 0.8 * status.share + 0.1 * near + 0.1 * turned


def _decay(run: EnsembleRun, m: int) -> float:
    """Return the share of the fast and half of the slow matter that has gone by the end."""
    spec, dry = run.specs[m], run.dry_kg[m].sum(axis=1)
    ash = spec.stuff.ash_dm * dry[0]
    fast, slow, _ = pools_left(spec, np.array([(dry[-1] - ash) / (dry[0] - ash)]))
    start = spec.stuff.fast + 0.5 * spec.stuff.slow
    return float(1.0 - (fast[0] + 0.5 * slow[0]) / start) if start > 0.0 else 1.0


def _moisture(run: EnsembleRun) -> Array:
    dry = run.dry_kg.sum(axis=2)
    water = (run.dry_kg * run.moisture / (1.0 - run.moisture)).sum(axis=2)
    return np.asarray(water / (water + dry))
