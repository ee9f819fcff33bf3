"""Trials made for tests."""

from __future__ import annotations

from datetime import date

import numpy as np

from loamery.trials.design import Design, Head, Treatment, Trial, TrialBed
from loamery.trials.folder import Reading
from loamery.trials.lay_out import lay_out

STARTS, ENDS = date(2027, 5, 1), date(2027, 9, 30)


def head(**more: object) -> Head:
    return Head.model_validate({"name": "mulch", "seed": 3, "control": "none", "starts": STARTS, "ends": ENDS, **more})


def treatments(count: int = 3) -> list[Treatment]:
    names = ["none", "compost", "grounds", "leaves", "chips"][:count]
    return [Treatment(id=one, name=one.capitalize()) for one in names]


def beds(count: int = 4, length_m: float = 9.0) -> list[TrialBed]:
    return [TrialBed(id=f"bed-{at}", length_m=length_m, width_m=1.2) for at in range(1, count + 1)]


def trial(blocks: int = 4, count: int = 3, design: Design = "complete_blocks", **more: object) -> Trial:
    return lay_out(head(design=design, per_m2=False, **more), treatments(count), beds(), blocks)


def readings(made: Trial, effects: dict[str, float] | None = None, seed: int = 1, sd: float = 1.0) -> list[Reading]:
    """Return one reading for each plot: 10, what its treatment adds, what its block adds, and chance."""
    draw = np.random.default_rng(seed)
    block = {one.block: draw.normal(0.0, 1.5) for one in made.plots}
    return [
        Reading(
            plot=one.id, measured_on=date(2027, 8, 1),
            value=max(10.0 + (effects or {}).get(one.treatment, 0.0) + block[one.block] + draw.normal(0.0, sd), 0.0),
        )
        for one in made.plots
    ]  # fmt: skip
