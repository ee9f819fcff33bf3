"""Why no plan exists: the smallest set of limits in conflict, and how far each of them would have to give.

Crops may go short in every plan, so from the first day of a season doing nothing keeps all limits; what contradicts them is what
was done already, or fixed by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from loamery.errors import NoPlan
from loamery.names import quantity
from loamery.say import say
from loamery.season.matrix import Array, Index, Matrix
from loamery.season.on_beds import ceiling_contents, ceiling_limits
from loamery.season.problem import Problem
from loamery.season.programme import season_matrix
from loamery.season.solver import as_lp
from loamery.units import from_si, show
from loamery.words import mass_text, number, quantity_text, rate_text

SHORT_S = 20.0
Remedy = Callable[[str], str]
"""What loosens a limit, once it is told by how much."""
ROWS: tuple[tuple[str, tuple[str, ...], str, Remedy], ...] = (
    (say("the hours of work in a week"), ("hands",), "h",
     lambda much: say("raise hours_per_week in garden.toml by {much}, or leave it out", much=much)),
    (say("what does not keep has to be used in time"), ("keeps",), "kg",
     lambda much: say("find a use for {much}, or a store in which it keeps (storage_weeks)", much=much)),
    (say("size and number of the heaps"), ("heap_holds", "heap_heats", "one_batch_at_a_time"), "m3",
     lambda much: say("add a heap ({much}), or wait until one is free", much=much)),
    (say("what the worms eat, and what castings hold"), ("worms_eat", "castings_nitrogen", "castings_p", "castings_k"), "kg",
     lambda much: say("add a worm bed that eats {much} a week", much=much)),
    (say("what the sacks hold"), ("sacks",), "kg", lambda much: say("find sacks with {much} more", much=much)),
    (say("how deep a mulch may lie"), ("layer", "mulch"), "m",
     lambda much: say("lay {much} less at a time, in several rounds or on more beds", much=much)),
    (say("how much may be worked in, and how much ash"), ("dug_in", "ash"), "kg/m2",
     lambda much: say("spread {much} less on each bed, over more beds", much=much)),
)  # fmt: skip
"""Groups of rows: in words, blocks of the programme, unit, and what loosens them."""
CEILING = "ceiling_"
KINDS = {"kg": "mass", "m3": "heap volume", "m": "depth", "kg/m2": "rate"}
"""Units of limits as `loamery.units.show` knows them."""
SUMMED = ("kg", "sacks")
"""Units in which what several limits give is added up; of others the most counts."""


@dataclass(frozen=True, eq=False)
class Group:
    """Limits that are let go together.

    Parameters
    ----------
    name : in words. unit : of what they limit. remedy : what loosens them, told by how much.
    rows : of the programme. columns : whose bounds these limits are.
    scale : of the rows, in that unit.
    """

    name: str
    unit: str
    remedy: Remedy
    rows: Index
    columns: Index
    scale: float = 1.0


def explain_no_plan(problem: Problem) -> NoPlan:
    """Return the error that names the smallest set of limits in conflict, and by how much giving way on one alone would help.

    Source
    ------
    Chinneck and Dravnieks 1991, ORSA J. Computing 3:157, deletion filter and elastic programmes (recalled).
    """
    matrix, _ = season_matrix(problem)
    groups = _groups(problem, matrix)
    trial = _Trial(matrix)
    kept = list(groups)
    for one in groups:
        rest = [other for other in kept if other is not one]
        if not trial.fits(rest, groups):
            kept = rest
    ways = [(trial.least_give(one, kept, groups), one) for one in kept]
    remedies = [_remedy(problem, one, give) for give, one in ways if give is not None]
    if not remedies:
        remedies = [say("loosen more than one of these: giving way on any one alone is not enough")]
    text = say("No plan keeps all limits at once.")
    return NoPlan(text, conflict=[one.name for one in kept], remedies=remedies)


def _remedy(problem: Problem, one: Group, give: float) -> str:
    system, amount = problem.garden.info.units, give * one.scale
    if one.unit == "g/m2":
        return one.remedy(rate_text(amount, system))
    if one.unit == "sacks":
        return one.remedy(number(amount, 2))
    shown = show(amount, KINDS[one.unit], system) if one.unit in KINDS else (amount, one.unit)
    return one.remedy(quantity_text(*shown, 3 if one.unit == "kg" else 2))


def _groups(p: Problem, m: Matrix) -> list[Group]:
    """Return every limit that may be let go, what explains least first, so that it is the first to be done without."""
    none = np.zeros(0, dtype=np.int64)
    rows = m.row_blocks
    out = [
        Group(name, unit, remedy, _there([rows[key] for key in blocks if key in rows]), none)
        for name, blocks, unit, remedy in ROWS
    ]
    out += [_ceiling(p, key.removeprefix(CEILING), rows[key]) for key in rows if key.startswith(CEILING)]
    take, sacks, spread = m.block("take"), m.block("sacks"), m.block("spread")
    out.append(
        Group(
            say("what donors give"),
            "kg",
            lambda much: say("find a donor who gives {much} more", much=much),
            none,
            _there([take]),
        )
    )
    out.append(
        Group(
            say("the number of sacks for sale"),
            "sacks",
            lambda much: say("raise most in goods.csv by {much}", much=much),
            none,
            _there([sacks]),
        )
    )
    out += [_fixed(p, s, b, spread) for s, b in np.argwhere(p.fixed.any(axis=2))]
    past = (p.so_far.spread > 0) & ~p.fixed
    if past.any():
        out.append(Group(say("what was spread already"), "kg", _off, none, _there([spread[past]])))
    return [one for one in out if one.rows.size or one.columns.size]


def _off(much: str) -> str:
    return say("take off {much} of what lies there, or correct the records", much=much)


def _ceiling(p: Problem, key: str, rows: Index) -> Group:
    """Return a ceiling on all beds; it is no limit to raise, so what it would have to give is what has to stay away."""
    what = say("salt") if key == "salt" else quantity(key).label.lower()
    most = float(from_si(ceiling_limits(p, key, ceiling_contents(p, key)).max(), "g/m2"))

    def remedy(much: str) -> str:
        return say(
            "bring a bed {much} less {what}: spread less there, over more beds, or what holds less of it",
            much=much,
            what=what,
        )

    return Group(
        say("the ceiling for {what}", what=what), "g/m2", remedy, rows.ravel(), np.zeros(0, dtype=np.int64), most
    )


def _fixed(p: Problem, s: int, b: int, spread: Index) -> Group:
    """Return what a person fixed of one spread on one bed."""
    kg = float(np.nansum(p.held[s, b])) if p.held is not None else 0.0
    what = say(
        "{mass} of {stuff} on {bed}",
        mass=mass_text(kg, p.garden.info.units),
        stuff=p.spreads[s].stuff.name.lower(),
        bed=p.needs[b].bed.name,
    )

    def remedy(much: str) -> str:
        return say("let go of {much} of the {what}, fixed by hand", much=much, what=what)

    name = say("{what}, fixed by hand", what=what)
    return Group(name, "kg", remedy, np.zeros(0, dtype=np.int64), _there([spread[s, b][p.fixed[s, b]]]))


def _there(blocks: Sequence[Index]) -> Index:
    whole = np.concatenate([one.ravel() for one in blocks]) if blocks else np.zeros(0, dtype=np.int64)
    return np.asarray(whole[whole >= 0], dtype=np.int64)


class _Trial:
    """The programme without aims, tried with some of its limits let go."""

    def __init__(self, matrix: Matrix) -> None:
        import highspy

        self._highspy, self._matrix = highspy, matrix
        self._lp = as_lp(highspy, matrix)
        # where fractions of heaps and sacks would do, whole ones are part of the conflict
        self._relaxed = not self._status(self._bounds([]), relaxed=True)[0]

    def fits(self, kept: Sequence[Group], groups: Sequence[Group]) -> bool:
        """Tell whether some plan keeps these groups."""
        return self._status(self._bounds([one for one in groups if one not in kept]), relaxed=self._relaxed)[0]

    def least_give(self, one: Group, kept: Sequence[Group], groups: Sequence[Group]) -> float | None:
        """Return the least by which a group has to give in all for the others of the conflict to hold; None when that does not help."""
        gone = [other for other in groups if other not in kept or other is one]
        return self._status(self._bounds(gone), relaxed=self._relaxed, elastic=one)[1]

    def _bounds(self, gone: Sequence[Group]) -> tuple[Array, Array, Array, Array]:
        (low, high), (least, most) = self._matrix.bounds(), self._matrix.sides()
        for one in gone:
            least[one.rows], most[one.rows] = -np.inf, np.inf
            low[one.columns], high[one.columns] = 0.0, np.inf
        return low, high, least, most

    def _status(
        self, bounds: tuple[Array, Array, Array, Array], *, relaxed: bool, elastic: Group | None = None
    ) -> tuple[bool, float | None]:
        """Return whether there is a plan, and how far an elastic group has to give."""
        highs = self._highspy.Highs()
        highs.setOptionValue("output_flag", False)
        highs.setOptionValue("time_limit", SHORT_S)
        highs.setOptionValue("mip_rel_gap", 0.05)
        highs.passModel(self._lp)
        infinity = self._highspy.kHighsInf
        low, high, least, most = (np.clip(one, -infinity, infinity) for one in bounds)
        rows, columns = least.size, low.size
        highs.changeColsBounds(columns, np.arange(columns, dtype=np.int32), low, high)
        highs.changeRowsBounds(rows, np.arange(rows, dtype=np.int32), least, most)
        whole = self._matrix.whole.astype(np.int32)
        if relaxed and whole.size:
            kinds = np.full(whole.size, self._highspy.HighsVarType.kContinuous)
            highs.changeColsIntegrality(whole.size, whole, kinds)
        if elastic is not None:
            self._give(highs, elastic)
        highs.run()
        found = highs.getInfo().primal_solution_status == self._highspy.SolutionStatus.kSolutionStatusFeasible
        return found, float(highs.getInfo().objective_function_value) if found and elastic is not None else None

    def _give(self, highs: Any, one: Group) -> None:
        """Add to the sides of a group's limits what they give, at a cost of one each: kilograms in all, of the rest the most."""
        infinity, shared = self._highspy.kHighsInf, one.unit not in SUMMED
        (low, high), (least, most) = self._matrix.bounds(), self._matrix.sides()
        lower, upper = np.append(least[one.rows], low[one.columns]), np.append(most[one.rows], high[one.columns])
        rows = list(one.rows)
        for column in one.columns:
            highs.addRow(-infinity, infinity, 1, np.array([column], dtype=np.int32), np.ones(1))
            rows.append(highs.getNumRow() - 1)
        for row, least_side, most_side in zip(rows, lower, upper, strict=True):
            highs.changeRowBounds(int(row), max(least_side, -infinity), min(most_side, infinity))
        for sign, sides in ((1.0, lower), (-1.0, upper)):
            there = np.array(rows, dtype=np.int32)[np.isfinite(sides)]
            for part in [there] if shared else np.split(there, there.size):
                if part.size:
                    highs.addCol(1.0, 0.0, infinity, part.size, part, np.full(part.size, sign))
