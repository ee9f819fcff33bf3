"""Plots on the beds of a garden, given to treatments by chance."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from loamery.errors import InputError, Where
from loamery.garden.model import Bed
from loamery.reference import coefficient
from loamery.say import say
from loamery.trials.design import Head, Plot, Treatment, Trial, TrialBed

STEP_M = 0.05
"""Plots are laid to the nearest hand's breadth below the longest that fits."""


def bed_shapes(beds: Sequence[Bed], sizes: Mapping[str, tuple[float, float]]) -> tuple[TrialBed, ...]:
    """Return beds as rectangles.

    Parameters
    ----------
    sizes : length and width of beds that were measured, m; the others get the usual width and the length their area asks for.

    Raises
    ------
    InputError : a size is given for no bed of these, or one that is far from the bed's area.
    """
    known = {one.id for one in beds}
    if strange := [key for key in sizes if key not in known]:
        raise InputError(
            say("a size for bed “{strange}”", strange=strange[0]), where=Where(column="--size"), expected=say("one of ") + ", ".join(sorted(known)),
            remedy=say("correct the name, or add the bed with --bed"),
        )  # fmt: skip
    usual = coefficient("trial_bed_width").value
    return tuple(_shape(one, sizes.get(one.id), usual) for one in beds)


def _shape(bed: Bed, size: tuple[float, float] | None, usual_m: float) -> TrialBed:
    if size is None:
        width = min(usual_m, math.sqrt(bed.area_m2))
        return TrialBed(id=bed.id, length_m=bed.area_m2 / width, width_m=width)
    length, width = max(size), min(size)
    if not 0.8 <= length * width / bed.area_m2 <= 1.25:
        raise InputError(
            say("{length:g} m by {width:g} m for bed “{bed_id}”", length=length, width=width, bed_id=bed.id), where=Where(column="--size"),
            expected=say("about the {area_m2:g} m² of beds.csv", area_m2=bed.area_m2), remedy=say("measure again, or correct area_m2 in beds.csv"),
        )  # fmt: skip
    return TrialBed(id=bed.id, length_m=length, width_m=width)


def lay_out(
    head: Head,
    treatments: Sequence[Treatment],
    beds: Sequence[TrialBed],
    blocks: int,
    gap_m: float | None = None,
    *,
    across: bool = False,
) -> Trial:
    """Return a trial with its plots drawn by lot.

    Parameters
    ----------
    blocks : how many blocks, or how often each treatment stands where there are none.
    gap_m : untreated strip between plots, m; the usual one when None.
    across : whether blocks may run on from one bed to the next in their order where the beds do not hold enough whole ones.

    Raises
    ------
    InputError : treatments or control that make no trial, or beds that cannot hold so many plots.
    """
    _check(head, treatments, blocks)
    gap = coefficient("trial_gap").value if gap_m is None else gap_m
    together = len(treatments) if head.design == "complete_blocks" else 1
    groups = blocks if head.design == "complete_blocks" else blocks * len(treatments)
    if across and not _hold(beds, together, coefficient("trial_least_plot").value, gap) >= groups:
        length = _longest(beds, 1, groups * together, gap)
        places = _places_across(beds, together, length, gap)
    else:
        length = _longest(beds, together, groups, gap)
        places = _places(beds, together, length, gap)
    order = _order(head, [one.id for one in treatments], blocks)
    plots = tuple(
        Plot(
            id=f"{block}{place:02d}", block=block, bed=bed.id, treatment=treatment,
            x_m=round(x, 3), length_m=length, width_m=round(bed.width_m, 3),
        )
        for (block, place, treatment), (bed, x) in zip(order, places, strict=False)
    )  # fmt: skip
    used = {one.bed for one in plots}
    return Trial(
        trial=head, treatments=tuple(treatments), beds=tuple(one for one in beds if one.id in used), plots=plots
    )


def _check(head: Head, treatments: Sequence[Treatment], blocks: int) -> None:
    ids = [one.id for one in treatments]
    faults = [
        (len(ids) < 2, say("1 treatment") if len(ids) == 1 else say("{count} treatments", count=len(ids)), say("two treatments or more"), say("name what is compared, the untreated one too"), "--treatment"),
        (len(set(ids)) < len(ids), say("a treatment twice"), say("each treatment once"), say("give one of them another id"), "--treatment"),
        (bool(head.control) and head.control not in ids, say("control “{control}”", control=head.control), say("one of {names}", names=", ".join(ids)), say("name one of the treatments"), "--control"),
        (blocks < 2, say("{blocks} block", blocks=blocks), say("two blocks or more"), say("with one block nothing tells a difference from chance; three to six are usual"), "--blocks"),
        (head.ends < head.starts, say("{ends} before {starts}", ends=str(head.ends), starts=str(head.starts)), say("an end on or after the start"), say("swap the dates"), "--ends"),
    ]  # fmt: skip
    for wrong, read, expected, remedy, option in faults:
        if wrong:
            raise InputError(read, where=Where(column=option), expected=expected, remedy=remedy)


def _fits(bed: TrialBed, together: int, plot_m: float, gap_m: float) -> int:
    """Return how many groups of plots a bed holds end to end."""
    return int((bed.length_m + gap_m + 1e-9) / (together * (plot_m + gap_m)))


def _hold(beds: Sequence[TrialBed], together: int, plot_m: float, gap_m: float) -> int:
    """Return how many groups of plots all beds hold."""
    return sum(_fits(one, together, plot_m, gap_m) for one in beds)


def _longest(beds: Sequence[TrialBed], together: int, groups: int, gap_m: float) -> float:
    """Return the longest plot of which the beds hold enough, m."""
    least = coefficient("trial_least_plot").value
    most = max((one.length_m for one in beds), default=0.0)
    steps = np.arange(math.floor(most / STEP_M), 0, -1) * STEP_M
    for length in steps[steps >= least - 1e-9]:
        if _hold(beds, together, float(length), gap_m) >= groups:
            return round(float(length), 2)
    hold = _hold(beds, together, least, gap_m)
    kind = say("blocks") if together > 1 else say("plots")
    raise InputError(
        say("{groups} {kind} on {beds}", groups=groups, kind=kind, beds=say("{count} beds", count=len(beds)) if len(beds) != 1 else say("1 bed")), where=Where(column="--blocks"),
        expected=say("at most {hold} {kind} with plots of {least:g} m and strips of {gap_m:g} m between them", hold=hold, kind=kind, least=least, gap_m=gap_m)
        if hold else say("beds long enough for one block: {together} plots of {least:g} m", together=together, least=least),
        remedy=say("fewer blocks or treatments, more beds (--bed), or a narrower strip (--gap)")
        + (say("; with --across a block may run on from one bed to the next") if together > 1 else ""),
    )  # fmt: skip


def _places(beds: Sequence[TrialBed], together: int, plot_m: float, gap_m: float) -> Iterator[tuple[TrialBed, float]]:
    for bed in beds:
        for number in range(_fits(bed, together, plot_m, gap_m) * together):
            yield bed, number * (plot_m + gap_m)


def _places_across(
    beds: Sequence[TrialBed], together: int, plot_m: float, gap_m: float
) -> Iterator[tuple[TrialBed, float]]:
    """Yield places for whole blocks first, then what is left at the ends of the beds, in their order."""
    rest: list[tuple[TrialBed, float]] = []
    for bed in beds:
        places = [(bed, number * (plot_m + gap_m)) for number in range(_fits(bed, 1, plot_m, gap_m))]
        whole = len(places) // together * together
        yield from places[:whole]
        rest += places[whole:]
    yield from rest


def _order(head: Head, ids: Sequence[str], blocks: int) -> Iterator[tuple[int, int, str]]:
    """Yield block, place in it and treatment, drawn by lot; a trial without blocks draws over all plots at once."""
    draw = np.random.default_rng([head.seed, *hashlib.sha256(head.name.encode()).digest()[:8]])
    if head.design == "complete_blocks":
        for block in range(1, blocks + 1):
            for place, at in enumerate(draw.permutation(len(ids)), start=1):
                yield block, place, ids[at]
        return
    for place, at in enumerate(draw.permutation(np.repeat(np.arange(len(ids)), blocks)), start=1):
        yield 1, place, ids[at]
