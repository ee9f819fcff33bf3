"""A plan with its explanation: agreed with the models, beside the rules of the hand, with what more of anything would bring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from loamery.heap.compiled import Ahead
from loamery.season.agree import DRAWS, MOST_ROUNDS, Agreement, agree
from loamery.season.compare import Comparison, compare_by_hand
from loamery.season.make import Solved, solve_prepared
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared
from loamery.season.sensitivity import Mover, movers
from loamery.season.shadow import Spare, spares
from loamery.season.solve import MOST_NODES, SOON_NODES
from loamery.season.which_test import MATERIALS, NextTests, which_test

Progress = Callable[[str], None]
FORMAT = "loamery explanation 1"
QUICK_ROUNDS, QUICK_DRAWS, QUICK_MATERIALS = 2, 40, 1
"""For a report that is to be there soon; the commands take their time."""


@dataclass(frozen=True, eq=False)
class Explained:
    """A plan and what there is to say about it.

    Parameters
    ----------
    agreement : the plan, in how far the models agree, and how it does in fresh seasons.
    by_hand : beside the rules a careful grower goes by. spares : what more of this or that would spare.
    movers : what moves the nitrogen that is short. tests : which laboratory test is worth its price.
    """

    agreement: Agreement
    by_hand: Comparison
    spares: tuple[Spare, ...]
    movers: tuple[Mover, ...]
    tests: NextTests

    @property
    def plan(self) -> SeasonPlan:
        """Return the plan that is explained."""
        return self.agreement.solved.plan

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {
            "format": FORMAT,
            "agreement": self.agreement.as_dict(),
            "by_hand": self.by_hand.as_dict(),
            "spares": [one.as_dict() for one in self.spares],
            "moves_the_shortfall": [one.as_dict() for one in self.movers],
            "tests": self.tests.as_dict(),
        }


def explain_season(
    prepared: Prepared,
    progress: Progress = lambda _: None,
    *,
    first: Callable[[], Solved] | None = None,
    quick: bool = False,
) -> Explained:
    """Return the plan of a garden with its explanation.

    Parameters
    ----------
    first : gives the plan by published factors, such as one that was kept; solved when None.
    quick : fewer rounds, seasons and trials, as the season report takes them.

    Raises
    ------
    NoPlan : as `plan_season`.
    """
    rounds, draws = (QUICK_ROUNDS, QUICK_DRAWS) if quick else (MOST_ROUNDS, DRAWS)
    nodes = SOON_NODES if quick else MOST_NODES
    with Ahead() as ahead:
        # solved in full: from a rough one the limits that matter are not learnt, and the last plan breaks them
        made = first() if first else solve_prepared(prepared, progress)
        ahead.wait()
    agreed = agree(prepared, progress, first=made, most_rounds=rounds, draws=draws, most_nodes=nodes)
    solved, problem = agreed.solved, agreed.solved.problem
    progress("playing the rules of the hand")
    hand = compare_by_hand(solved, played=agreed.played)
    progress("trying what more would spare")
    found = spares(problem, solved.solution, tried=not quick)
    materials = QUICK_MATERIALS if quick else MATERIALS
    tests = which_test(solved, believed=agreed.believed, materials=materials, progress=progress)
    return Explained(agreed, hand, found, tuple(movers(agreed.played)), tests)
