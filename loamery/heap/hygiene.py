"""Time and temperature rules of hygiene, held against what every part of a heap went through."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loamery.heap.result import HeapRun
from loamery.reference import coefficient, table
from loamery.say import joined, say

Array = NDArray[np.float64]
State = Literal["met", "in part", "not met"]
PROFILES = ("process_in_vessel", "process_static_aerated", "process_windrow", "process_profile_")
WAYS = {
    "process_in_vessel": "in a closed vessel",
    "process_static_aerated": "pile that is not turned",
    "process_windrow": "turned windrow",
}
PARCELS = 4000
"""Parcels of matter followed through random places after each mixing; their share has an error below 1 %."""
SLACK_DAYS = 1e-6


@dataclass(frozen=True)
class HygieneRule:
    """One rule: stay at or above a temperature for a number of days.

    Parameters
    ----------
    key : set of limits.csv it belongs to; parameter its row.
    way : kind of heap it is written for, in words.
    turnings : that must fall into the hot days; 0 when none is asked for.
    read : ``found`` or ``recalled``.
    """

    key: str
    parameter: str
    instrument: str
    way: str
    temp_c: float
    hold_days: float
    turnings: int
    source: str
    read: str

    @property
    def words(self) -> str:
        """Return the rule in words."""
        turned = say(" with at least {turnings} turnings while hot", turnings=self.turnings) if self.turnings else ""
        return say(
            "{instrument}, {way}: {temp_c:g} °C or more for {hold_days:g} days{turned}",
            instrument=self.instrument,
            way=self.way,
            temp_c=self.temp_c,
            hold_days=self.hold_days,
            turned=turned,
        )


@dataclass(frozen=True)
class HygieneStatus:
    """How a heap stands to one rule.

    Parameters
    ----------
    state : ``met`` by all of the matter, ``in part``, or ``not met``.
    coldest_days : longest unbroken time at the temperature in the coldest cell, days; core_days in the hottest.
    share : of the matter that kept the rule, turning taken to mix it fully.
    turnings_hot : turnings done while the middle was at the temperature.
    probe : whether a thermometer in the middle would call the rule kept.
    needs : what would meet it, empty when it is met.
    """

    rule: HygieneRule
    state: State
    coldest_days: float
    core_days: float
    share: float
    turnings_hot: int
    probe: bool
    needs: str

    def as_dict(self) -> dict[str, object]:
        """Return the status ready for JSON."""
        own = {key: value for key, value in vars(self).items() if key != "rule"}
        rule = {key: getattr(self.rule, key) for key in ("key", "parameter", "temp_c", "hold_days", "source", "read")}
        return {"rule": {**rule, "turnings_asked": self.rule.turnings, "words": self.rule.words}, **own}


def hygiene_rules(keys: Sequence[str] = ()) -> tuple[HygieneRule, ...]:
    """Return the rules of the data, of all sets of limits or of those named."""
    rows = [row for row in table("limits") if row["parameter"].startswith(PROFILES)]
    return tuple(_rule(row) for row in rows if not keys or row["key"] in keys)


def _rule(row: dict[str, str]) -> HygieneRule:
    way = WAYS.get(row["parameter"], "any part of the batch")
    turnings = int(float(row["turnings"] or 0))
    figures = (float(row["value"]), float(row["hold_days"]))
    return HygieneRule(
        row["key"], row["parameter"], row["instrument"], way, *figures, turnings, row["source"], row["read"]
    )


def judge(
    day: Array, temp_c: Array, shares: Array, turn_days: Sequence[float], rule: HygieneRule, seed: int = 1
) -> HygieneStatus:
    """Return how a heap stands to a rule.

    Parameters
    ----------
    day : times of the record, shape (times,), days.
    temp_c : shape (times, cells).
    shares : share of the matter in each cell, shape (cells,).
    turn_days : when it was turned, days.
    """
    turns = sorted(one for one in turn_days if day[0] <= one < day[-1])
    hot = temp_c >= rule.temp_c
    runs = longest_runs(day, hot, ())
    core = temp_c.max(axis=1)
    core_days = float(np.sum(np.diff(day) * (core[1:] >= rule.temp_c) * (core[:-1] >= rule.temp_c)))
    hot_turns = sum(bool(core[max(np.searchsorted(day, one) - 1, 0)] >= rule.temp_c) for one in turns)
    coldest = float(runs[int(np.argmin(temp_c.mean(axis=0)))])
    share = _share(day, hot, shares, turns, rule, seed)
    enough_turns = hot_turns >= rule.turnings
    whole = share >= coefficient("hygiene_whole").value and enough_turns
    state: State = "met" if whole else "in part" if share > 0.0 else "not met"
    longest_core = float(longest_runs(day, (core >= rule.temp_c)[:, None], ())[0])
    probe = enough_turns and (core_days if rule.turnings else longest_core) >= rule.hold_days - SLACK_DAYS
    needs = "" if whole else _needs(rule, day, hot, shares, turns, hot_turns, core_days, float(core.max()))
    return HygieneStatus(rule, state, coldest, core_days, share, hot_turns, bool(probe), needs)


def hygiene_status(run: HeapRun, rules: Sequence[HygieneRule]) -> tuple[HygieneStatus, ...]:
    """Return how one run stands to each rule."""
    dry = run.dry_kg[0]
    return tuple(judge(run.day, run.temp_c, dry / dry.sum(), run.spec.turn_days, rule) for rule in rules)


def longest_runs(day: Array, hot: NDArray[np.bool_], turns: Sequence[float]) -> Array:
    """Return the longest unbroken hot time of each cell, days, shape (cells,); a turning breaks it."""
    place = np.arange(day.size)[:, None]
    begins = np.where(hot, 0, place + 1)  # a hot time can begin only after the last cold record, or after a turning
    for one in turns:
        after = int(np.searchsorted(day, one, side="right"))
        if 0 < after < day.size:
            begins[after] = np.maximum(begins[after], after)
    begin = np.minimum(np.maximum.accumulate(begins, axis=0), place)
    return np.asarray(np.where(hot, day[:, None] - day[begin], 0.0).max(axis=0))


def _spans(day: Array, turns: Sequence[float]) -> list[NDArray[np.bool_]]:
    """Return which records lie in each span between turnings."""
    edges = [-math.inf, *turns, math.inf]
    return [(day >= low) & (day < high) for low, high in itertools.pairwise(edges)]


def _share(
    day: Array, hot: NDArray[np.bool_], shares: Array, turns: Sequence[float], rule: HygieneRule, seed: int
) -> float:
    """Return the share of the matter that kept the rule, parcels put in random places by each turning."""
    rng = np.random.default_rng(seed)
    total, held = np.zeros(PARCELS), np.zeros(PARCELS)
    if not turns:
        runs = longest_runs(day, hot, ())
        return float(shares[runs >= rule.hold_days - SLACK_DAYS].sum())
    for span in _spans(day, turns):
        if span.sum() < 2:
            continue
        times, inside = day[span], hot[span]
        place = rng.choice(shares.size, PARCELS, p=shares / shares.sum())
        steps = np.diff(times)[:, None] * (inside[1:] & inside[:-1])
        total += steps.sum(axis=0)[place]
        held = np.maximum(held, longest_runs(times, inside, ())[place])
    kept = total if rule.turnings else held
    return float(np.mean(kept >= rule.hold_days - SLACK_DAYS))


def _needs(
    rule: HygieneRule, day: Array, hot: NDArray[np.bool_], shares: Array, turns: Sequence[float], hot_turns: int,
    core_days: float, peak_c: float,
) -> str:  # fmt: skip
    """Return in words what would meet the rule."""
    if peak_c < rule.temp_c:
        return say(
            "the middle reaches only {peak_c:.0f} °C: build it larger, insulate it, or add what heats (fresh green matter, water if dry, coarse pieces if airless)",
            peak_c=peak_c,
        )
    if core_days < rule.hold_days:
        return say(
            "the middle holds {temp_c:g} °C for {core_days:.1f} days of {hold_days:g}: build it larger or insulate it, keep it moist, and mix in more fresh matter",
            temp_c=rule.temp_c,
            core_days=core_days,
            hold_days=rule.hold_days,
        )
    lacking = max(rule.turnings - hot_turns, 0)
    told = [say("{lacking} more turnings while the middle is hot", lacking=lacking)] if lacking else []
    inside = float(shares[longest_runs(day, hot, turns) >= min(rule.hold_days, 3.0)].sum())
    goal = coefficient("hygiene_mixed_goal").value
    if 0.0 < inside < 1.0:
        often = math.ceil(math.log(1.0 - goal) / math.log(1.0 - inside)) - 1
        told.append(
            say(
                "only {inside:.0%} of the matter lies in the hot zone at a time: bring the outside in by about {max} full turnings, each followed by three hot days, or insulate walls and top so that the outside is hot too",
                inside=inside,
                max=max(often, 1),
            )
        )
    return joined("; ", told) or say(
        "insulate walls and top so that the outside is hot too, or turn the outside in while it is hot"
    )
