"""Which test next: plans that would be chosen after one or the other answer of a laboratory, and what knowing the answer is worth."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.lab.composition import Composition
from loamery.season.believed import AS_PUBLISHED, Believed
from loamery.season.decision import Decision
from loamery.season.lab_tests import WorthOfTest, possible_tests, worth_of_tests
from loamery.season.make import Solved, solve_prepared
from loamery.season.outcome import worth_of
from loamery.season.prepare import Prepared
from loamery.season.problem import Problem
from loamery.season.replay import FRESH, Replay, replay
from loamery.season.sensitivity import Mover, movers
from loamery.season.solve import ROUGH_GAPS
from loamery.season.years import Years, draw_years

Array = NDArray[np.float64]
Progress = Callable[[str], None]
DRAWS, SCENARIOS, MATERIALS = 800, 4, 3
"""Seasons in which plans are weighed; scenarios of the plans after an answer; so many materials get such plans."""
THIRDS = 3


@dataclass(frozen=True, eq=False)
class NextTests:
    """Every possible test with its worth, and what the weighing rests on.

    Parameters
    ----------
    tests : the best for its price first. certainty : what knowing everything would be worth, in the garden's currency.
    plans : names of the plans that could be chosen; the worth of a test is what choosing among them gains, so a floor.
    movers : what moves the worth of the season most. harvest_price : money for a kilogram of harvest.
    """

    tests: tuple[WorthOfTest, ...]
    certainty: float
    plans: tuple[str, ...]
    movers: tuple[Mover, ...]
    draws: int
    harvest_price: float | None

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {
            "format": "loamery tests 1",
            "tests": [one.as_dict() for one in self.tests],
            "knowing_everything": self.certainty,
            "plans_to_choose_from": list(self.plans),
            "seasons": self.draws,
            "moves_the_season": [one.as_dict() for one in self.movers],
        }


def which_test(
    solved: Solved,
    *,
    believed: Believed = AS_PUBLISHED,
    draws: int = DRAWS,
    harvest_price: float | None = None,
    materials: int = MATERIALS,
    progress: Progress = lambda _: None,
) -> NextTests:
    """Return what each possible laboratory test would be worth to the plan.

    Parameters
    ----------
    solved : the plan. believed : what it was solved with.
    draws : seasons in which the plans are weighed, by published factors. harvest_price : money for a kilogram of harvest.
    materials : so many of those that move the season most get plans for after an answer.

    Notes
    -----
    The plans to choose from are the plan itself and those that would be made were a material known to be poor, ordinary or
    rich; more plans could only add to the worth of a test.
    """
    years = draw_years(solved.prepared, solved.problem.calendar, draws, solved.prepared.garden.info.seed + FRESH + 3)
    base = _weighed(solved.prepared, solved.problem, solved.solution, years)
    moving = movers(base, "worth")
    names, played = ["as planned"], [base]
    for label, other in _after_answers(solved, believed, _materials(solved, moving)[:materials], progress):
        names.append(label)
        played.append(_weighed(solved.prepared, other.problem, other.solution, years))
    benefit = np.stack([worth_of(solved.problem, one.outcome.figures, harvest_price) for one in played], axis=1)
    found, certainty = worth_of_tests(possible_tests(solved.prepared), benefit, years, progress)
    return NextTests(tuple(found), certainty, tuple(names), tuple(moving), draws, harvest_price)


def _weighed(prepared: Prepared, problem: Problem, decision: Decision, years: Years) -> Replay:
    return replay(prepared, problem, decision, years=years, simulate=False)


def _materials(solved: Solved, moving: Sequence[Mover]) -> list[str]:
    """Return the materials whose composition moves the season most, each once."""
    names = {one.name: one.id for one in solved.prepared.garden.materials}
    ranked = [names[one.name.split(": ")[0]] for one in moving if one.kind == "composition" and one.told]
    return list(dict.fromkeys(ranked))


def _after_answers(
    solved: Solved, believed: Believed, materials: Sequence[str], progress: Progress
) -> list[tuple[str, Solved]]:
    """Return the plans that would be made after a test said poor, ordinary or rich in nitrogen."""
    out = []
    for key in materials:
        name = solved.prepared.garden.material(key).name.lower()
        for third, word in ((0, "poor"), (THIRDS - 1, "rich")):
            progress(f"solving for {name} {word} in nitrogen")
            told = said(solved.prepared, key, third)
            recipes = solved.problem.recipes
            other = solve_prepared(told, believed=believed, recipes=recipes, scenarios=SCENARIOS, gaps=ROUGH_GAPS)
            out.append((f"{name} {word}", other))
    return out


def said(prepared: Prepared, material: str, third: int) -> Prepared:
    """Return a garden in which a material is known to lie in one third of what is possible by its nitrogen.

    Parameters
    ----------
    third : 0 the poorest, 1 the middle, 2 the richest.
    """
    whole = prepared.compositions[material]
    order = np.argsort(whole.draws("N"), kind="stable")
    picked = np.resize(np.array_split(order, THIRDS)[third], order.size)
    return replace(prepared, compositions={**prepared.compositions, material: _picked(whole, picked)})


def _picked(whole: Composition, picked: NDArray[np.int64]) -> Composition:
    estimates = {key: replace(one, draws=one.draws[picked]) for key, one in whole.estimates.items()}
    return replace(whole, estimates=estimates)
