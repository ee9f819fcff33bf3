"""The readings of a trial as numbers per plot, and what makes them unfit to be analysed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Finding
from loamery.reference import coefficient
from loamery.say import say
from loamery.trials.design import Trial
from loamery.trials.folder import Reading
from loamery.words import NBSP


@dataclass(frozen=True)
class Frame:
    """One number for each plot that has one.

    Parameters
    ----------
    values : in the trial's unit, per m2 where the trial says so, shape (n,).
    treatment, block : places in `keys` and `blocks`, shape (n,).
    plots : ids of the plots, shape (n,).
    """

    values: NDArray[np.float64]
    treatment: NDArray[np.int64]
    block: NDArray[np.int64]
    plots: tuple[str, ...]
    keys: tuple[str, ...]
    blocks: tuple[int, ...]
    unit: str
    blocked: bool
    control: str

    @property
    def means(self) -> NDArray[np.float64]:
        """Return the plain mean of each treatment."""
        return np.array([self.values[self.treatment == one].mean() for one in range(len(self.keys))])

    @property
    def complete(self) -> bool:
        """Return whether every treatment stands equally often, in every block once where there are blocks."""
        counts = np.bincount(self.treatment, minlength=len(self.keys))
        if self.blocked:
            return len(self.values) == len(self.keys) * len(self.blocks)
        return bool((counts == counts[0]).all())


def make_frame(trial: Trial, readings: Sequence[Reading]) -> Frame:
    """Return the numbers of a trial, several readings of a plot summed or averaged as the trial says."""
    found: dict[str, list[float]] = {}
    lost = {one.plot for one in readings if one.lost}
    for one in readings:
        if one.value is not None and one.plot not in lost:
            found.setdefault(one.plot, []).append(one.value)
    plots = [one for one in trial.plots if one.id in found]
    keys = tuple(one.id for one in trial.treatments)
    blocks = tuple(sorted({one.block for one in trial.plots}))
    gather = np.sum if trial.trial.several == "sum" else np.mean
    values = [float(gather(found[one.id])) / (one.area_m2 if trial.trial.per_m2 else 1.0) for one in plots]
    return Frame(
        np.array(values),
        np.array([keys.index(one.treatment) for one in plots], dtype=np.int64),
        np.array([blocks.index(one.block) for one in plots], dtype=np.int64),
        tuple(one.id for one in plots), keys, blocks, trial.unit,
        trial.trial.design == "complete_blocks", trial.trial.control,
    )  # fmt: skip


def unfit(trial: Trial, readings: Sequence[Reading], frame: Frame) -> list[Finding]:
    """Return why no conclusion can be drawn from a trial, empty when one can."""
    return [*_missing(trial, readings, frame), *_too_little(trial, frame), *_uneven(trial, readings)]


def lost_plots(trial: Trial, readings: Sequence[Reading]) -> dict[str, str]:
    """Return the plots that were lost, with the reason given."""
    return {one.plot: one.lost for one in readings if one.lost}


def _missing(trial: Trial, readings: Sequence[Reading], frame: Frame) -> Iterator[Finding]:
    lost = lost_plots(trial, readings)
    silent = [one.id for one in trial.plots if one.id not in frame.plots and one.id not in lost]
    if silent:
        yield Finding(
            "trial_missing_plots", "stop", _silent(silent),
            say("{count} of {total} plots have one; plots that are left out may be just those a treatment harmed", count=len(frame.plots), total=len(trial.plots)),
            ("PRACTICE",), proposal=say("enter the readings, or say in the column “lost” why there is none"),
        )  # fmt: skip
    most = coefficient("trial_missing_share")
    if len(lost) > most.value * len(trial.plots):
        yield Finding(
            "trial_too_many_lost", "stop", say("{count} of {total} plots were lost: too many to conclude anything.", count=len(lost), total=len(trial.plots)),
            say("more than {share} of the plots", share=f"{100 * most.value:g}{NBSP}%"), (most.source,), proposal=say("lay the trial out again next season"),
        )  # fmt: skip


def _silent(plots: Sequence[str]) -> str:
    if len(plots) == 1:
        return say("No reading of plot {plot}, and no word why.", plot=plots[0])
    return say("No reading of plots {plots}, and no word why.", plots=", ".join(plots))


def _too_little(trial: Trial, frame: Frame) -> Iterator[Finding]:
    counts = np.bincount(frame.treatment, minlength=len(frame.keys))
    blocks = len(set(frame.block.tolist()))
    if frame.blocked and blocks < 2:
        yield Finding(
            "trial_one_block", "stop", say("One block only: nothing tells a difference between treatments from one between plots."),
            say("{count} block has readings; each treatment stands once", count=blocks), ("PRACTICE",),
            proposal=say("repeat the trial with three blocks or more; until then these are single readings, not a comparison"),
        )  # fmt: skip
    elif thin := [frame.keys[at] for at, count in enumerate(counts) if count < 2]:
        yield Finding(
            "trial_no_repeats", "stop", say("Fewer than two readings of {treatments}.", treatments=", ".join(thin)),
            say("without repeats nothing tells a difference from chance"), ("PRACTICE",), proposal=say("repeat the trial with more plots"),
        )  # fmt: skip
    if len(frame.values) > 1 and np.ptp(frame.values) <= 1e-9 * max(abs(frame.values).max(), 1.0):
        yield Finding(
            "trial_all_equal", "stop", say("All readings are the same, {value:.3g} {unit}.", value=float(frame.values[0]), unit=frame.unit),
            say("living plots differ: readings without any spread were rounded, copied or estimated"), ("PRACTICE",),
            proposal=say("look at how it was measured; weigh or count again"),
        )  # fmt: skip


def _uneven(trial: Trial, readings: Sequence[Reading]) -> Iterator[Finding]:
    """Find plots that were read more often than others where readings are summed."""
    if trial.trial.several != "sum":
        return
    counts: dict[str, int] = {}
    for one in readings:
        if one.value is not None:
            counts[one.plot] = counts.get(one.plot, 0) + 1
    often = sorted(set(counts.values()))
    if len(often) > 1:
        few = [plot for plot, count in counts.items() if count < often[-1]]
        yield Finding(
            "trial_uneven_readings", "stop", say("Some plots have {most} readings, others {least}: sums cannot be compared.", most=often[-1], least=often[0]),
            say("fewer on plots {plots}", plots=", ".join(few[:8])), ("PRACTICE",), proposal=say("enter a 0 where nothing was harvested, or what is missing"),
        )  # fmt: skip
