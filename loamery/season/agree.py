"""Solve, play, learn, solve again: until the plan and what the models of heap and bed make of it say the same.

A plan is solved with the bed model's release and published factors of heaps, then played. Where the models disagree, the next plan is
solved with what they found: lead times and losses of each heap recipe, nitrogen from each soil. And where
limits were broken in more seasons than may be, the next plan keeps further away from them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.season.aims import bed_weights, need_scale
from loamery.season.believed import AS_PUBLISHED, Believed
from loamery.season.make import Solved, solve_prepared
from loamery.season.prepare import Prepared
from loamery.season.probe import probe_heaps
from loamery.season.replay import FRESH, Replay, replay
from loamery.season.solve import MOST_NODES
from loamery.season.years import Years, draw_years
from loamery.uncertain import from_range
from loamery.units import to_si

Array = NDArray[np.float64]
Progress = Callable[[str], None]
MOST_ROUNDS, WITHIN = 4, 0.05
LEARN_DRAWS, LIMIT_DRAWS, DRAWS = 20, 400, 60
"""Seasons the models learn from; seasons limits are watched in, by factors; fresh seasons the last plan is judged in."""
SURE, MARGIN = 0.985, 0.03
"""Each kind of limit is kept in so large a share of seasons, so that all of them together are in nine of ten, and a little more for
the seasons that were not watched."""


@dataclass(frozen=True)
class Round:
    """One round.

    Parameters
    ----------
    apart : by what is compared, how far plan and models are apart; shares.
    holds : share of seasons in which no limit is broken, when limits were last watched.
    short : nitrogen short as a share of the need: by the plan, by the models.
    """

    number: int
    apart: Mapping[str, float]
    holds: float
    short: tuple[float, float]

    @property
    def agrees(self) -> bool:
        """Tell whether everything is within the share allowed."""
        return max(self.apart.values(), default=0.0) <= WITHIN

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {"round": self.number, "apart": dict(self.apart), "agrees": self.agrees, "limits_kept_share": self.holds,
                "nitrogen_short": {"plan": self.short[0], "models": self.short[1]}}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Agreement:
    """The last plan, how it came about, and how it does in fresh seasons.

    Parameters
    ----------
    first, solved : the plan with published factors, and the last one. played : the last one in fresh seasons.
    believed : what the last plan was solved with.
    """

    first: Solved
    solved: Solved
    played: Replay
    rounds: tuple[Round, ...]
    believed: Believed

    @property
    def agrees(self) -> bool:
        """Tell whether plan and models agreed in the last round."""
        return self.rounds[-1].agrees

    @property
    def text(self) -> str:
        """Return in a sentence whether they agree, and where not."""
        last = self.rounds[-1]
        rounds = len(self.rounds)
        count = say("{rounds} rounds", rounds=rounds) if rounds > 1 else say("1 round")
        if last.agrees:
            return say("Plan and models agree within {within:.0%} after {count}.", within=WITHIN, count=count)
        off = joined(
            ", ",
            (say("{name} {share:.0%}", name=name, share=share) for name, share in last.apart.items() if share > WITHIN),
        )
        return say(
            "Plan and models do not agree within {within:.0%} after {count}: {off} apart. Trust the models' figures.",
            within=WITHIN,
            count=count,
            off=off,
        )

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {
            "format": "loamery agreement 1",
            "agrees": self.agrees,
            "text": self.text,
            "rounds": [one.as_dict() for one in self.rounds],
            "seasons": self.played.years.n,
            "limits_kept_share": self.played.holds_share,
            "limits": [
                {"key": one.key, "label": one.label, "kept_share": one.kept_share} for one in self.played.limits
            ],
            "balance_error": self.played.balance_error(),
            "keeps_clear_of": dict(self.believed.room),
        }


def agree(
    prepared: Prepared,
    progress: Progress = lambda _: None,
    *,
    first: Solved | None = None,
    most_rounds: int = MOST_ROUNDS,
    draws: int = DRAWS,
    most_nodes: int = MOST_NODES,
) -> Agreement:
    """Return a plan that the models of heap and bed agree with, or say that there is none.

    Parameters
    ----------
    first : the plan with published factors, when it is known. most_rounds : of solving.
    draws : fresh seasons in which the last plan is judged. most_nodes : of the search for each plan.

    Raises
    ------
    NoPlan : as `plan_season`.
    """
    solved = first = first or solve_prepared(prepared, progress)
    seed, calendar = prepared.garden.info.seed + FRESH, first.problem.calendar
    learn = draw_years(prepared, calendar, LEARN_DRAWS, seed + 1)
    watch = draw_years(prepared, calendar, LIMIT_DRAWS, seed + 2)
    believed, rounds = AS_PUBLISHED, []
    for number in range(1, most_rounds + 1):
        played = replay(prepared, solved.problem, solved.solution, years=learn, progress=progress)
        watched = replay(prepared, solved.problem, solved.solution, years=watch, simulate=False)
        rounds.append(_round(number, solved, played, watched))
        if number == most_rounds or (rounds[-1].agrees and watched.holds_share >= _enough()):
            break
        progress(f"learning from the models, round {number}")
        believed = learnt(solved, learn, played, watched, believed)
        solved = solve_prepared(
            prepared, progress, believed=believed, recipes=solved.problem.recipes, most_nodes=most_nodes
        )
    fresh = draw_years(prepared, calendar, draws, seed)
    played = replay(prepared, solved.problem, solved.solution, years=fresh, progress=progress)
    return Agreement(first, solved, played, tuple(rounds), believed)


def _enough() -> float:
    return coefficient("limits_kept_share").value + MARGIN


def _round(number: int, solved: Solved, played: Replay, watched: Replay) -> Round:
    problem = solved.problem
    weight = bed_weights(problem)
    plan = solved.solution.short_n.mean(axis=(0, 2)) / need_scale(problem, "N")
    models = played.outcome.by_bed.mean(axis=0)
    apart: dict[str, float] = {say("nitrogen short"): abs(float(weight @ (plan - models)))}
    apart |= _heaps_apart(solved, played)
    return Round(number, apart, watched.holds_share, (float(weight @ plan), float(weight @ models)))


def _heaps_apart(solved: Solved, played: Replay) -> dict[str, float]:
    """Return how far compost made and its nitrogen are apart, and weeks to readiness where they matter."""
    if not played.batches:
        return {}
    problem, weeks = solved.problem, solved.problem.calendar.weeks
    order = {one.id: index for index, one in enumerate(problem.recipes)}
    planned = sum(one.compost_kg for one in played.batches)
    dry = {one.id: float(np.median(one.dry)) for one in problem.raw}
    wet = 1.0 - coefficient("heap_finished_moisture").value
    pairs = list(zip(played.batches, played.fates, strict=True))
    made = sum(
        sum(kg * dry[key] for key, kg in batch.parts_kg.items()) * float(np.median(fate.dry_left)) / wet
        for batch, fate in pairs
    )
    kept_plan, kept = 0.0, 0.0
    late = []
    for batch, fate in pairs:
        stuff = problem.composts[order[batch.recipe.id]]
        whole = sum(float(np.median(one.nitrogen)) * batch.parts_kg.get(one.id, 0.0) for one in problem.raw)
        kept_plan += float(np.median(stuff.nitrogen)) * batch.compost_kg
        kept += whole * float(np.median(fate.n_left))
        ready = batch.week + _late(fate.ready_days) / 7.0
        said = float(batch.ready_week)
        late.append(abs(min(ready, weeks) - min(said, weeks)) / weeks)
    return {
        say("compost made"): abs(planned - made) / max(made, 1e-9),
        say("nitrogen in compost"): abs(kept_plan - kept) / max(kept, 1e-9),
        say("weeks to compost"): max(late),
    }


def _late(days: Array) -> float:
    """Return the day by which a heap is ready in nine of ten seasons."""
    return float(np.quantile(days, coefficient("limits_kept_share").value, method="higher"))


def learnt(solved: Solved, learn: Years, played: Replay, watched: Replay, before: Believed) -> Believed:
    """Return what the next plan is to be solved with.

    Parameters
    ----------
    learn : seasons in which heaps of every recipe are tried. played : the plan in them.
    watched : the plan in seasons in which limits are watched. before : what this plan was solved with.

    Notes
    -----
    The bed model's release is in the plan from the start, so of beds only what is still apart is learnt: it is laid to the soil.
    """
    problem = solved.problem
    soil, room = _soil_told(solved, played), _room(watched, before.room)
    if before.lead_weeks:
        return replace(before, soil_n_kg_m2=soil, room=room)
    tried = probe_heaps(problem, learn)
    return replace(
        before,
        lead_weeks={key: one.lead_weeks for key, one in tried.items()},
        lost={key: one.lost for key, one in tried.items()},
        soil_n_kg_m2=soil,
        castings_share=_least_castings(),
        room=room,
    )


def _soil_told(solved: Solved, played: Replay) -> dict[str, Array]:
    """Return the soils' nitrogen less what the plan misses less of than the models do, by the end of each week."""
    problem = solved.problem
    plan_kg_m2 = to_si(solved.solution.short_n.mean(axis=0), "g/m2")
    models_kg_m2 = np.stack([one.missing_n_kg_m2.mean(axis=0) for one in played.beds])
    weeks = np.arange(problem.calendar.weeks)
    out = {}
    for bed, need in enumerate(problem.needs):
        apart = np.interp(weeks, problem.checks, (models_kg_m2 - plan_kg_m2)[bed])
        out[need.bed.id] = np.asarray(need.n_soil_kg_m2 - apart)
    return out


def _least_castings() -> float:
    one = coefficient("castings_yield")
    return from_range("lognormal", one.low, one.high, one.value).quantile(-1.96)


def _room(watched: Replay, before: Mapping[str, float]) -> dict[str, float]:
    """Return how near each kind of limit the next plan may come: what kept too seldom, it keeps further away from."""
    room = dict(before)
    for one in watched.limits:
        over = float(np.quantile(one.worst, SURE))
        if one.kept_share >= SURE or over <= 1.0:
            continue
        for row in _rows_of(one.key, watched):
            room[row] = room.get(row, 1.0) / over
    return room


def _rows_of(key: str, watched: Replay) -> Sequence[str]:
    if key == "ceiling_trace":
        keys = {name for need in watched.problem.needs for name in need.ceilings} - {"P", "K", "salt"}
        return [f"ceiling_{name}" for name in sorted(keys)]
    if key.startswith("ceiling_"):
        return [key]
    return []
