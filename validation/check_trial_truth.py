"""Trials of a known truth: 90 % intervals hold it in 85 to 95 of 100, and trials of no effect call one in at most 6 of 100.

What is held is the program against itself: 500 simulated trials each, four blocks of three treatments, plots with chance of 1 and blocks
with one of 1.5, laid out and analysed as a garden's own; a second time with the long tail of a log-normal, which no analysis of variance assumes.
"""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np
import pytest

from loamery.trials.analyse import analyse
from loamery.trials.conclude import conclude
from loamery.trials.design import Head, Treatment, Trial, TrialBed
from loamery.trials.folder import Reading
from loamery.trials.lay_out import lay_out

TRIALS, BLOCKS, LEVEL = 500, 4, 10.0
TRUTH = {"none": 0.0, "compost": 1.2, "grounds": 0.3}
STARTS, ENDS = date(2027, 5, 1), date(2027, 9, 30)

pytestmark = pytest.mark.usefixtures("table")


def laid_out(seed: int, control: str) -> Trial:
    design = "complete_blocks" if seed % 2 else "completely_random"
    head = Head.model_validate(
        {
            "name": "mulch",
            "seed": 3,
            "control": control,
            "starts": STARTS,
            "ends": ENDS,
            "design": design,
            "per_m2": False,
        }
    )
    beds = [TrialBed(id=f"bed-{at}", length_m=9.0, width_m=1.2) for at in range(BLOCKS)]
    return lay_out(head, [Treatment(id=one, name=one.capitalize()) for one in TRUTH], beds, BLOCKS)


def readings(made: Trial, seed: int, truth: dict[str, float], *, bell: bool) -> list[Reading]:
    draw = np.random.default_rng(seed)
    block = {one.block: draw.normal(0.0, 1.5) for one in made.plots}
    values = [
        LEVEL + truth[one.treatment] + block[one.block] + draw.normal() if bell else np.exp(draw.normal())
        for one in made.plots
    ]
    return [Reading(plot=one.id, measured_on=date(2027, 8, 1), value=max(float(value), 0.0)) for one, value in zip(made.plots, values, strict=True)]  # fmt: skip


@cache
def held() -> float:
    """Return the share of intervals against the control that hold the true difference."""
    found = []
    for seed in range(TRIALS):
        made = laid_out(seed, "none")
        for one in analyse(made, readings(made, seed, TRUTH, bell=True)).effects:
            found.append(one.difference.low <= TRUTH[one.treatment] <= one.difference.high)
    return float(np.mean(found))


@cache
def called(bell: bool) -> float:
    """Return the share of trials without any effect of which the conclusion claims one."""
    nothing, found = dict.fromkeys(TRUTH, 0.0), 0
    for seed in range(TRIALS):
        made = laid_out(seed, "none" if seed % 4 < 2 else "")
        found += conclude(analyse(made, readings(made, seed, nothing, bell=bell))).verdict == "difference"
    return found / TRIALS


def test_intervals_hold_the_truth_in_nine_of_ten_trials() -> None:
    assert 0.85 <= held() <= 0.95


@pytest.mark.parametrize("bell", [True, False], ids=["bell curve", "long tail"])
def test_trials_of_no_effect_call_one_in_at_most_six_of_a_hundred(bell: bool) -> None:
    assert called(bell) <= 0.06


def main() -> None:
    """Print what was held and what was called."""
    print(f"{'of 500 simulated trials':<52}{'asked':>16}{'found':>8}")
    print(f"{'90 % intervals that hold the true difference, %':<52}{'85 to 95':>16}{100 * held():>8.1f}")
    for bell, name in ((True, "bell curve"), (False, "long tail")):
        print(f"{f'no effect, yet one is called, {name}, %':<52}{'at most 6':>16}{100 * called(bell):>8.1f}")


if __name__ == "__main__":
    main()
