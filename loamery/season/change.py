"""What moves when a person changes the plan: an amount, a week. Reckoned from medians at once, without solving again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Finding
from loamery.say import say
from loamery.season.levers import Levers, Way
from loamery.season.plan import Action, SeasonPlan
from loamery.words import NBSP, mass_text, number

Array = NDArray[np.float64]
SPREADING = ("mulch", "dig_in")
TOLD_KG = 1.0
"""A lack below this is rounding, not worth a word."""
OVER = 1.0 + 1e-6


@dataclass(frozen=True)
class Move:
    """One change: the action at a place in ``plan.actions`` gets another amount (kg) and another week."""

    action: int
    kg: float
    week: int


@dataclass(frozen=True)
class BedState:
    """How one bed stands.

    Parameters
    ----------
    supplied, short, need : g per m2 by nutrient.
    ceilings : share of each ceiling that is used, by key; mulch, dug_in : the same for its depth and for what is worked in.
    covered : share of the mulch that growing crops want.
    """

    bed: str
    name: str
    supplied: Mapping[str, float]
    short: Mapping[str, float]
    need: Mapping[str, float]
    ceilings: Mapping[str, float]
    mulch: float
    dug_in: float
    covered: float


@dataclass(frozen=True)
class Effects:
    """What a changed plan does, beside what the plan did.

    Parameters
    ----------
    actions : all actions, changed ones with their new amount and week.
    before, after : state of the beds that anything reaches, in the order of beds.
    hours : by week, after the change.
    findings : what the change would break, and what it asks of donors.
    """

    actions: tuple[Action, ...]
    before: tuple[BedState, ...]
    after: tuple[BedState, ...]
    hours: tuple[float, ...]
    findings: tuple[Finding, ...]


def changed(plan: SeasonPlan, levers: Levers, moves: Sequence[Move]) -> Effects:
    """Return what moves when actions of a plan get another amount or week.

    Parameters
    ----------
    moves : at most one for each action; only what is spread on beds can be changed.

    Raises
    ------
    InputError : a move names no spreading action, a negative amount or a week outside the season.
    """
    actions = list(plan.actions)
    for move in moves:
        actions[move.action] = _moved(plan, move)
    before, after = (_spread(levers, one) for one in (plan.actions, actions))
    grounds = range(len(levers.grounds))
    was, now = (tuple(_state(levers, index, each[:, index]) for index in grounds) for each in (before, after))
    hours = np.asarray(plan.hours) + levers.hours_per_kg * (after - before).sum(axis=(0, 1))
    told = [*_limits(was, now), *_untimely(plan, levers, moves, actions), *_stocks(plan, levers, before, after)]
    told += _hands(plan, levers, hours)
    return Effects(tuple(actions), was, now, tuple(float(one) for one in hours), tuple(told))


def _moved(plan: SeasonPlan, move: Move) -> Action:
    known = 0 <= move.action < len(plan.actions) and plan.actions[move.action].task in SPREADING
    if not known or not 0 <= move.week < plan.calendar.weeks or not move.kg >= 0 or not np.isfinite(move.kg):
        raise InputError(
            say("change of action {action} to {kg} kg in week {week}", action=move.action, kg=move.kg, week=move.week),
            expected=say(
                "something spread on a bed, at least 0 kg, a week from 0 to {weeks}", weeks=plan.calendar.weeks - 1
            ),
            remedy=say("load the page again: the plan may have changed meanwhile"),
        )
    one = plan.actions[move.action]
    scale = move.kg / one.kg if one.kg > 0 else 0.0
    return replace(
        one,
        kg=move.kg,
        week=move.week,
        day=plan.calendar.monday(move.week),
        volume_l=one.volume_l * scale,
        buckets=one.buckets * scale,
        hours=one.hours * scale,
        depth_m=one.depth_m * scale,
    )


def _spread(levers: Levers, actions: Sequence[Action]) -> Array:
    """Return kilograms by way, bed and week, with what lies there already."""
    ways: dict[tuple[str, str], int] = {(one.stuff, one.use): row for row, one in enumerate(levers.ways)}
    beds = {one.bed: index for index, one in enumerate(levers.grounds)}
    out = levers.done_kg.copy()
    for one in actions:
        if one.task in SPREADING:
            row = ways[one.stuff, one.task]
            out[row, beds[one.target], one.week] += one.kg
    return out


def _state(levers: Levers, bed: int, kg: Array) -> BedState:
    """Return how a bed stands; kg has shape (ways, weeks)."""
    ground = levers.grounds[bed]
    kg_m2 = kg / ground.area_m2
    per_way = kg_m2.sum(axis=1)
    n_weekly = sum((one @ way.n_g_kg[bed] for one, way in zip(kg_m2, levers.ways, strict=True)), np.zeros(kg.shape[1]))
    supplied = {"N": float(n_weekly[-1])}
    supplied |= {
        key: float(
            sum(one * getattr(way, f"{key.lower()}_g_kg") for one, way in zip(per_way, levers.ways, strict=True))
        )
        for key in "PK"
    }
    missing = {"N": max(float(ground.n_asked_g_m2[levers.checks[-1]] - n_weekly[levers.checks[-1]]), 0.0)}
    missing |= {key: max(ground.need_g_m2[key] - supplied[key], 0.0) for key in "PK"}
    loads = {
        key: sum(one * way.load_kg_kg.get(key, 0.0) for one, way in zip(per_way, levers.ways, strict=True))
        for key in ground.ceilings_kg_m2
    }
    standing = _standing(levers.ways, kg_m2)
    wanted = standing[ground.cover_looks]
    return BedState(
        bed=ground.bed,
        name=ground.name,
        supplied=supplied,
        short=missing,
        need=ground.need_g_m2,
        ceilings={key: float(load / ground.ceilings_kg_m2[key]) for key, load in loads.items() if ground.ceilings_kg_m2[key] > 0},
        mulch=float(standing.max(initial=0.0)) / levers.mulch_most_m,
        dug_in=float(per_way[[one.use == "dig_in" for one in levers.ways]].sum()) / levers.dug_in_most_kg_m2,
        covered=float(np.minimum(wanted / levers.mulch_wanted_m, 1.0).mean()) if wanted.size else 1.0,
    )  # fmt: skip


def _standing(ways: Sequence[Way], kg_m2: Array) -> Array:
    """Return the depth of mulch that lies at the end of each week, m."""
    laid = [one @ way.left * way.depth_m_per_kg_m2 for one, way in zip(kg_m2, ways, strict=True) if way.use == "mulch"]
    return np.asarray(sum(laid, np.zeros(kg_m2.shape[1])))


def _limits(was: Sequence[BedState], now: Sequence[BedState]) -> list[Finding]:
    """Tell what the change breaks that held before: ceilings and the depth of the mulch."""
    out = []
    for before, after in zip(was, now, strict=True):
        for key, share in after.ceilings.items():
            if share > max(OVER, before.ceilings[key] * OVER):
                out.append(
                    Finding(
                        "change_over_ceiling",
                        "stop",
                        say(
                            "{name}: {value}{nbsp}% of the ceiling for {key}",
                            name=after.name,
                            value=number(100 * share),
                            nbsp=NBSP,
                            key=key,
                        ),
                        say("the load of everything spread on the bed, over what it may take in a season"),
                        about=after.bed,
                        proposal=say("take less, or use something that holds less of it"),
                    )
                )
        if after.dug_in > max(OVER, before.dug_in * OVER):
            out.append(
                Finding(
                    "change_too_much_dug_in",
                    "warning",
                    say(
                        "{name}: {dug_in} times as much would be worked in as soil takes in a season",
                        name=after.name,
                        dug_in=number(after.dug_in),
                    ),
                    say("everything worked into the bed over the season, by its area"),
                    about=after.bed,
                    proposal=say("work in less, and lay the rest on top where it may lie"),
                )
            )
        if after.mulch > max(OVER, before.mulch * OVER):
            out.append(
                Finding(
                    "change_too_deep",
                    "warning",
                    say(
                        "{name}: the mulch would lie {mulch} times as deep as a bed may have",
                        name=after.name,
                        mulch=number(after.mulch),
                    ),
                    say("what is left of every layer at the end of each week, added up"),
                    about=after.bed,
                    proposal=say("spread it in two rounds some weeks apart, or on another bed"),
                )
            )
    return out


def _untimely(
    plan: SeasonPlan, levers: Levers, moves: Sequence[Move], actions: Sequence[Action]
) -> list[Finding]:  # fmt: skip
    """Tell what would be spread in a week in which it may not go there."""
    out = []
    for move in moves:
        one = actions[move.action]
        way = levers.way(one.stuff, one.task)
        if way is None or one.kg <= 0 or way.allowed[one.target][one.week]:
            continue
        out.append(
            Finding(
                "change_untimely",
                "stop",
                say(
                    "{target_name}: {stuff_name} may not go there in the week of {label}",
                    target_name=one.target_name,
                    stuff_name=one.stuff_name.lower(),
                    label=plan.calendar.label(one.week),
                ),
                say(
                    "into the soil before planting, as a mulch once the crop stands, raw manure only outside its waiting time"
                ),
                about=one.target,
                proposal=say("choose another week"),
            )
        )
    return out


def _stocks(plan: SeasonPlan, levers: Levers, before: Array, after: Array) -> list[Finding]:
    """Tell which stuff would run short, and how much of it donors could still give."""
    out = []
    for stuff in dict.fromkeys(one.stuff for one in levers.ways):
        rows = [row for row, one in enumerate(levers.ways) if one.stuff == stuff]
        more = np.cumsum((after - before)[rows].sum(axis=(0, 1)))
        lack = float(more.max(initial=0.0))
        if lack <= TOLD_KG:
            continue
        spare = _spare(plan, levers, stuff)
        name, system = levers.ways[rows[0]].stuff_name, plan.garden.info.units
        enough = lack <= spare + TOLD_KG
        more_text, spare_text = mass_text(lack, system), mass_text(spare, system)
        out.append(
            Finding(
                "change_asks_more",
                "note" if enough else "stop",
                say("{name}: {more_text} more than the plan has by then", name=name, more_text=more_text)
                + (
                    say("; {spare_text} are there to be had", spare_text=spare_text)
                    if enough
                    else say(", and only {spare_text} are to be had", spare_text=spare_text)
                ),
                say("spread so far under the change, less what the plan spreads by the same week"),
                about=stuff,
                proposal=say("fetch more, or solve again so that the rest follows")
                if enough
                else say("take less, or spread it later"),
            )
        )
    return out


def _spare(plan: SeasonPlan, levers: Levers, stuff: str) -> float:
    """Return what the plan leaves of a stuff over the season, kg."""
    if stuff in levers.offered_kg:
        use = next((one for one in plan.materials if one.material == stuff), None)
        fetched = (use.collected_kg - sum(use.by_use_kg.values()) + use.left_kg) if use else 0.0
        return max(fetched, 0.0)
    spread = sum(one.kg for one in plan.actions if one.stuff == stuff and one.task in SPREADING)
    if stuff == levers.castings:
        fed = [one for one in plan.actions if one.task == "feed"]
        made = sum(
            one.kg * levers.castings_yield.get(one.stuff, 0.0) * levers.castings_ready[one.week, -1] for one in fed
        )
    else:
        ready = [one for one in plan.batches if one.recipe.id == stuff and one.ready_week < plan.calendar.weeks]
        made = sum(one.compost_kg for one in ready)
    return max(float(made) - spread, 0.0)


def _hands(plan: SeasonPlan, levers: Levers, hours: Array) -> list[Finding]:
    most = levers.hours_most
    if most is None:
        return []
    over = [week for week, one in enumerate(hours) if one > most * OVER and one > plan.hours[week] + 0.05]
    return [
        Finding(
            "change_too_much_work",
            "warning",
            say(
                "Week of {label}: {hours} hours of work, with hands for {most}",
                label=plan.calendar.label(week),
                hours=number(float(hours[week]), 2),
                most=number(most, 2),
            ),
            say("hours of fetching, building, turning, feeding and spreading in that week"),
            about="garden",
            proposal=say("move something to another week"),
        )
        for week in over
    ]
