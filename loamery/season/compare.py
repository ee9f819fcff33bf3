"""Two plans side by side: as it is and as it would be, played in the same seasons that may come."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.say import joined, say
from loamery.season.by_hand import play_by_hand
from loamery.season.carry_out import had_kg
from loamery.season.make import Solved, solve_prepared
from loamery.season.outcome import MEASURES, Measure
from loamery.season.prepare import Prepared
from loamery.season.replay import DRAWS, FRESH, Replay, replay
from loamery.season.what_if import Change, changed
from loamery.season.years import Years, draw_years
from loamery.uncertain import band

Array = NDArray[np.float64]
Progress = Callable[[str], None]
FORMAT = "loamery comparison 1"
CLEAR = 0.9
"""A difference is called clear when so large a share of the seasons agrees on its sign."""


@dataclass(frozen=True, eq=False)
class Side:
    """One of the plans compared: what it is called, and how it was played."""

    label: str
    played: Replay

    def collected_kg(self) -> dict[str, float]:
        """Return what is fetched, bought or in store of each material, kg."""
        raw = enumerate(self.played.problem.raw)
        return {one.id: had_kg(self.played.problem, self.played.solution, index) for index, one in raw}


@dataclass(frozen=True)
class Row:
    """One figure of all sides.

    Parameters
    ----------
    bands : of each side. change : of each side against the first. better : share of seasons in which it is better there.
    """

    measure: Measure
    bands: tuple[Band, ...]
    change: tuple[Band, ...]
    better: tuple[float, ...]
    worse: tuple[float, ...]

    def verdict(self, side: int) -> str:
        """Return how a side stands to the first: ``better``, ``worse`` or ``no clear difference``."""
        if self.better[side] >= CLEAR:
            return "better"
        return "worse" if self.worse[side] >= CLEAR else "no clear difference"


@dataclass(frozen=True, eq=False)
class Comparison:
    """Plans side by side.

    Parameters
    ----------
    question : what is compared, in words. sides : the first is the one the others are held against.
    """

    question: str
    sides: tuple[Side, ...]
    rows: tuple[Row, ...]

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {
            "format": FORMAT,
            "question": self.question,
            "seasons": self.sides[0].played.years.n,
            "sides": [
                {
                    "label": one.label,
                    "limits_kept_share": one.played.holds_share,
                    "limits": {limit.key: limit.kept_share for limit in one.played.limits},
                    "collected_kg": one.collected_kg(),
                    "short_n_by_bed": _by_bed(one.played),
                }
                for one in self.sides
            ],
            "figures": [
                {
                    "key": row.measure.key, "label": row.measure.label, "unit": row.measure.unit,
                    "bands": [one.as_dict() for one in row.bands], "change": [one.as_dict() for one in row.change],
                    "verdict": [row.verdict(side) for side in range(len(self.sides))],
                }
                for row in self.rows
            ],
        }  # fmt: skip


def _by_bed(played: Replay) -> dict[str, float]:
    medians = np.median(played.outcome.by_bed, axis=0)
    return {need.bed.id: float(one) for need, one in zip(played.problem.needs, medians, strict=True)}


def side_by_side(question: str, sides: Sequence[Side]) -> Comparison:
    """Return plans that were played in the same seasons, side by side."""
    return Comparison(question, tuple(sides), tuple(_row(one, sides) for one in MEASURES))


def _row(measure: Measure, sides: Sequence[Side]) -> Row:
    values = [one.played.outcome.figures[measure.key] for one in sides]
    gains = [measure.better * (one - values[0]) for one in values]
    return Row(
        measure,
        tuple(one.played.outcome.band(measure) for one in sides),
        tuple(band(one - values[0], measure.unit, measure.factor) for one in values),
        tuple(float(np.mean(one > 0.0)) for one in gains),
        tuple(float(np.mean(one < 0.0)) for one in gains),
    )


def compare_change(
    prepared: Prepared,
    changes: Sequence[Change],
    *,
    solved: Solved | None = None,
    draws: int = DRAWS,
    progress: Progress = lambda _: None,
) -> Comparison:
    """Return the plan as it is beside the plan of the changed garden.

    Parameters
    ----------
    solved : the plan as it is, when it is known. draws : seasons in which both are played.

    Raises
    ------
    NoPlan : the changed garden has nothing to plan.
    """
    first = solve_prepared(prepared, progress) if solved is None else solved
    after = changed(prepared, changes)
    progress("solving the changed season")
    second = solve_prepared(after, progress)
    sides = [
        Side(label, _played(one, draws, progress))
        for label, one in ((say("as it is"), first), (_label(changes), second))
    ]
    return side_by_side(say("What if {changes}?", changes=_label(changes)), sides)


def _label(changes: Sequence[Change]) -> str:
    return joined(say(" and "), (one.label for one in changes))


def _played(solved: Solved, draws: int, progress: Progress) -> Replay:
    return replay(solved.prepared, solved.problem, solved.solution, draws=draws, progress=progress)


def compare_by_hand(
    solved: Solved, *, played: Replay | None = None, draws: int = DRAWS, progress: Progress = lambda _: None
) -> Comparison:
    """Return the plan beside the rules a careful grower goes by, within the plan's limits and without them.

    Parameters
    ----------
    played : the plan, when it was played already; the others are then played in the same seasons.
    """
    years = _years(solved, played, draws)
    if played is None:
        played = replay(solved.prepared, solved.problem, solved.solution, years=years, progress=progress)
    sides = [Side(say("the plan"), played)]
    for label, within in ((say("by hand, within the same limits"), True), (say("by hand, as usual"), False)):
        progress(f"playing the season {label}")
        problem, decision = play_by_hand(solved.prepared, solved.problem, within_limits=within)
        sides.append(Side(label, replay(solved.prepared, problem, decision, years=years)))
    return side_by_side(say("Does the plan beat the rules a careful grower goes by?"), sides)


def _years(solved: Solved, played: Replay | None, draws: int) -> Years:
    if played is not None:
        return played.years
    return draw_years(solved.prepared, solved.problem.calendar, draws, solved.prepared.garden.info.seed + FRESH)
