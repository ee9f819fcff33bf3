"""What a grower's own thermometer says of a heap: a few numbers of the model, moved no further than the readings can tell."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Band
from loamery.heap.climate import Normals
from loamery.heap.forecast import CELLS, HeapPlan, depths_m, members
from loamery.heap.model import ensemble, simulate
from loamery.heap.parameters import drawn_parameters, heap_parameters
from loamery.heap.readings import Reading
from loamery.heap.result import EnsembleRun, HeapRun
from loamery.reference import coefficient
from loamery.say import Said, say
from loamery.uncertain import scores

Array = NDArray[np.float64]
Z90 = 1.645
FLATTER = 0.9
RUNS, RUNS_SEED = 240, 11
"""Runs from which the bands are taken."""
MOST_STEPS, NUDGE, FURTHEST = 20, 0.1, 3.0
NOT_BELIEVED = 3.0
"""Standard deviations from the fitted course beyond which a reading is named as not believed."""
TOLD = 0.15
"""A number is told as changed when it moved by more than this share of its own spread."""
SAID = {
    "k_fast": (say("the fast matter (sugars, starch, fat, protein) decays"), say("as fast")),
    "k_slow": (say("the slow matter (cellulose) decays"), say("as fast")),
    "activity_fresh": (say("the active share at the start, with which the heap wakes up, is"), say("as large")),
    "chimney": (say("the draught of warm air through the heap is"), say("as strong")),
    "convection_calm": (say("the surface loses heat"), say("as fast")),
}
FITTED = ("k_fast", "k_slow", "activity_fresh", "chimney", "convection_calm")


@dataclass(frozen=True)
class Moved:
    """One number of the model before and after the readings, 90 % bands."""

    name: str
    before: Band
    after: Band
    words: str

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {"name": self.name, "before": self.before.as_dict(), "after": self.after.as_dict(), "words": self.words}


@dataclass(frozen=True, eq=False)
class Calibration:
    """What the readings told.

    Parameters
    ----------
    values : best fit of the numbers, for a run in the middle.
    moved : each number before and after.
    weights : how far each reading was believed, 0 to 1, in the order of the readings.
    doubted : readings that are not believed.
    misfit_before, misfit_after : typical distance of the believed readings from the course, K.
    scores_mean, scores_cov : posterior on the standard scale, shapes (p,) and (p, p).
    """

    readings: tuple[Reading, ...]
    values: Mapping[str, float]
    moved: tuple[Moved, ...]
    weights: Array
    doubted: tuple[Reading, ...]
    misfit_before: float
    misfit_after: float
    scores_mean: Array
    scores_cov: Array
    words: tuple[str, ...]

    def draws(self, n: int, seed: int) -> list[dict[str, float]]:
        """Return n draws of the model's numbers: those fitted from what is known now, the others as published."""
        plain = drawn_parameters(n, seed)
        standard = np.stack([scores(n, seed, "calibrated", name) for name in FITTED])
        root = np.linalg.cholesky(self.scores_cov + 1e-12 * np.eye(len(FITTED)))
        moved = self.scores_mean[:, None] + root @ standard
        return [{**plain[i], **fitted_numbers(moved[:, i])} for i in range(n)]

    def weights_of(self, run: EnsembleRun) -> Array:
        """Return how well each member of an ensemble agrees with the readings, shape (members,), together 1.

        Notes
        -----
        Materials and weather are not fitted; members in which they agree with the readings count more. The weights are flattened until at
        least a share of the members, `reading_least_share`, still counts.
        """
        return _weights(run, depths_m(run.specs[0], run.temp_c.shape[2]), self.readings)

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        doubted = [{"date": one.on.isoformat(), "depth_m": one.depth_m, "temp_c": one.temp_c} for one in self.doubted]
        return {
            "readings": len(self.readings), "misfit_before": self.misfit_before, "misfit_after": self.misfit_after,
            "moved": [one.as_dict() for one in self.moved], "doubted": doubted, "words": list(self.words),
        }  # fmt: skip


def calibrate(
    plan: HeapPlan,
    readings: Sequence[Reading],
    normals: Normals,
    *,
    progress: Callable[[str], None] = lambda _: None,
) -> Calibration:
    """Return what thermometer readings say of a heap.

    Parameters
    ----------
    plan : the heap as built.
    readings : as `read_readings` returns them.

    Notes
    -----
    Least squares on a few numbers of the model, each held by its published range (a standard normal on a logarithmic scale).
    A fit with a loss that bends (soft L1) finds readings far off and the course of the middle run. The bands come from an ensemble that draws everything
    (the fitted numbers in their published ranges, materials, weather, the other numbers) and from how the numbers and the temperatures
    go together in it (Bayes linear), so that the numbers do not take the blame for what materials and weather may have done. Readings
    that are not believed stay out of the bands.

    Raises
    ------
    InputError : no reading, or one later or deeper than can be simulated.
    """
    from scipy.optimize import least_squares

    if not readings:
        raise InputError(say("no readings"), expected=say("at least one reading"), remedy=say("add what you read"))
    course = _Course(plan, readings, normals)
    progress(f"fitting {len(readings)} readings")
    n = len(readings)

    def loss(z: Array) -> Any:
        # soft L1 for the readings; the published ranges keep their plain squares
        bent = np.stack([2.0 * (np.sqrt(1.0 + z) - 1.0), (1.0 + z) ** -0.5, -0.5 * (1.0 + z) ** -1.5])
        straight = np.stack([z, np.ones_like(z), np.zeros_like(z)])
        return np.where(np.arange(z.size) < n, bent, straight)

    start = np.zeros(len(FITTED))
    found = least_squares(
        course.residuals, start, loss=loss, bounds=(-FURTHEST, FURTHEST), diff_step=None, x_scale=1.0,
        jac=lambda x: course.slopes(x), max_nfev=MOST_STEPS,
    )  # fmt: skip
    off = course.residuals(np.asarray(found.x))[:n]
    progress("asking what else may have made the readings")
    mean, cov = _posterior(course, normals, np.abs(off) <= NOT_BELIEVED)
    return _result(tuple(readings), course, np.asarray(found.x), off, mean, cov)


def _posterior(course: _Course, normals: Normals, believed: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Return the mean and the covariance of the fitted numbers' scores given the readings, shapes (p,) and (p, p).

    Notes
    -----
    Bayes linear: means and covariances of scores and temperatures over an ensemble give E(z|y) = C_zy (C_yy + R)^-1 (y - Ey) and
    Cov(z|y) = C_zz - C_zy (C_yy + R)^-1 C_yz. The draws are made to have mean 0 and covariance 1 exactly, so no spread can come out wider
    than its published range. Weighing the runs instead left the chance of some sixty runs in every band.

    Source
    ------
    Goldstein and Wooff 2007, Bayes Linear Statistics, adjusted expectation and variance (recalled).
    """
    if not believed.any():
        return np.zeros(len(FITTED)), np.eye(len(FITTED))
    drawn = _standard(np.stack([scores(RUNS, RUNS_SEED, "prior", name) for name in FITTED], axis=1))
    specs = members(course.plan, normals, course.days, RUNS, RUNS_SEED)
    ours = [replace(one, changes={**one.changes, **fitted_numbers(z)}) for one, z in zip(specs, drawn, strict=True)]
    run = ensemble(ours, course.days, CELLS, every_days=0.5)
    taken = np.stack([_at(run.day, one, course.depth, course.readings) for one in run.temp_c])[:, believed]
    away = taken - taken.mean(axis=0)
    along = drawn.T @ away / RUNS
    spread = away.T @ away / RUNS + course.sd**2 * np.eye(away.shape[1])
    gain = np.linalg.solve(spread, along.T).T
    cov = np.eye(len(FITTED)) - gain @ along.T
    return gain @ (course.observed[believed] - taken.mean(axis=0)), (cov + cov.T) / 2.0


def _standard(drawn: Array) -> Array:
    """Return draws with mean 0 and covariance 1 to rounding, shape (draws, p)."""
    off = drawn - drawn.mean(axis=0)
    root = np.linalg.cholesky(off.T @ off / len(off))
    return np.asarray(np.linalg.solve(root, off.T).T)


def _weights(run: EnsembleRun, depth_m: Array, readings: Sequence[Reading]) -> Array:
    """Return how well each run agrees with the readings, flattened, together 1, shape (members,)."""
    taken = np.stack([_at(run.day, one, depth_m, readings) for one in run.temp_c])
    off = (taken - np.array([one.temp_c for one in readings])) / coefficient("reading_sd").value
    loss = np.sum(np.sqrt(1.0 + off**2) - 1.0, axis=1)
    return _flattened(loss - loss.min(), coefficient("reading_least_share").value)


class _Course:
    """The temperatures that the model gives where and when somebody read."""

    def __init__(self, plan: HeapPlan, readings: Sequence[Reading], normals: Normals) -> None:
        last = max(one.day for one in readings)
        self.days = math.ceil(last) + 1
        if self.days > 3650:
            raise InputError(
                say("a reading on day {last:g}", last=last),
                expected=say("within ten years"),
                remedy=say("check the dates"),
            )
        self.plan, self.readings = plan, readings
        self.weather, self.stuff = normals.weather(plan.start, self.days), plan.middle
        self.sd = coefficient("reading_sd").value
        self.depth = depths_m(plan.spec(self.stuff, self.weather), CELLS)
        self.observed = np.array([one.temp_c for one in readings])

    def run(self, x: Array) -> HeapRun:
        """Return the run with numbers at standard scores x."""
        spec = self.plan.spec(self.stuff, self.weather, fitted_numbers(x))
        return simulate(spec, self.days, CELLS, every_days=0.25)

    def temps(self, x: Array) -> Array:
        """Return the model's temperature for each reading, °C."""
        run = self.run(x)
        return _at(run.day, run.temp_c, self.depth, self.readings)

    def residuals(self, x: Array) -> Array:
        """Return readings' distances in standard deviations, then the scores themselves."""
        return np.concatenate([(self.temps(x) - self.observed) / self.sd, x])

    def slopes(self, x: Array) -> Array:
        """Return the Jacobian by central differences wide enough to stand above the steps of the solution."""
        columns = []
        for i in range(x.size):
            step = np.zeros(x.size)
            step[i] = NUDGE
            columns.append((self.temps(x + step) - self.temps(x - step)) / (2.0 * NUDGE * self.sd))
        return np.concatenate([np.stack(columns, axis=1), np.eye(x.size)])


def _at(day: Array, temp_c: Array, depth_m: Array, readings: Sequence[Reading]) -> Array:
    """Return the temperatures of a run, shape (times, cells), where and when somebody read, shape (readings,)."""
    out = np.empty(len(readings))
    for i, one in enumerate(readings):
        column = np.array([np.interp(one.day, day, temp_c[:, cell]) for cell in range(temp_c.shape[1])])
        depth = depth_m[0] if one.depth_m is None else min(one.depth_m, float(depth_m[0]))
        out[i] = np.interp(depth, depth_m[::-1], column[::-1])
    return out


def _flattened(loss: Array, least: float) -> Array:
    """Return weights exp(-loss), flattened until the effective share of members is at least a share."""
    power = 1.0
    while True:
        weights = np.exp(-power * loss)
        weights /= weights.sum()
        if 1.0 / float(np.sum(weights**2)) >= least * loss.size:
            return weights
        power *= FLATTER


def fitted_numbers(x: Array) -> dict[str, float]:
    """Return the numbers at standard scores: a score of 1.645 is the end of the published range on that side."""
    out = {}
    for name, score in zip(FITTED, x, strict=True):
        one = heap_parameters()[name]
        end = one.high if score > 0.0 else one.low
        value = one.value * math.exp(abs(float(score)) / Z90 * math.log(end / one.value))
        out[name] = min(value, 1.0) if name == "activity_fresh" else value
    return out


def _result(
    readings: tuple[Reading, ...], course: _Course, best: Array, off: Array, mean: Array, cov: Array
) -> Calibration:
    off_before = course.residuals(np.zeros(best.size))[: len(readings)]
    believed = np.abs(off) <= NOT_BELIEVED
    doubted = tuple(one for one, ok in zip(readings, believed, strict=True) if not ok)
    moved = tuple(_moved(i, mean, cov) for i in range(best.size))
    typical = [
        float(np.sqrt(np.mean(one[believed] ** 2))) * course.sd if believed.any() else math.nan
        for one in (off_before, off)
    ]
    words, weights = _words(moved, readings, doubted, typical[0], typical[1]), (1.0 + off**2) ** -0.5
    return Calibration(
        readings, fitted_numbers(best), moved, weights, doubted, typical[0], typical[1], mean, cov, words
    )


def _moved(i: int, x: Array, cov: Array) -> Moved:
    one = heap_parameters()[FITTED[i]]
    spread = math.sqrt(float(cov[i, i]))

    def at(score: float) -> float:
        return fitted_numbers(np.where(np.arange(x.size) == i, score, 0.0))[one.key]

    after = Band(at(float(x[i])), at(float(x[i]) - Z90 * spread), at(float(x[i]) + Z90 * spread), one.unit)
    before = Band(one.value, one.low, one.high, one.unit)
    unit = "" if one.unit == "1" else f" {one.unit}"
    ratio, narrower = after.median / before.median, 1.0 - spread
    if abs(float(x[i])) < TOLD and narrower < TOLD:
        words = ""
    else:
        said, how = SAID[one.key]
        pace = (
            say("{ratio:.2g} times {how} as assumed", ratio=ratio, how=how)
            if not 0.97 < ratio < 1.03
            else say("{how} as assumed", how=how)
        )
        words = say(
            "{said} {pace} ({low:.2g} to {high:.2g}{unit}, before {low2:.2g} to {high2:.2g})",
            said=said,
            pace=pace,
            low=after.low,
            high=after.high,
            unit=unit,
            low2=before.low,
            high2=before.high,
        )
    return Moved(one.key, before, after, words)


def _words(
    moved: Sequence[Moved], readings: Sequence[Reading], doubted: Sequence[Reading], before: float, after: float
) -> tuple[str, ...]:
    told = [one.words for one in moved if one.words]
    many = say("{count} readings", count=len(readings)) if len(readings) > 1 else say("1 reading")
    lines: list[str] = [
        say(
            "{many}; the course misses them by {after:.1f} K, before by {before:.1f} K.",
            many=many,
            after=after,
            before=before,
        )
        if math.isfinite(after)
        else say("{many}; none fits any course of this heap: check depth, date and the day it was built.", many=many)
    ]
    lines += [Said(f"{one[:1].upper()}{one[1:]}.", parts=(one, ".")) for one in told] or [
        say("They change none of the model's numbers to speak of.")
    ]
    for one in doubted:
        depth = say("in the middle") if one.depth_m is None else say("at {value:.0f} cm", value=100 * one.depth_m)
        lines.append(
            say(
                "The reading of {on} {depth}, {temp_c:.0f} °C, does not fit the others and counts little: was the probe in the sun, or not deep enough?",
                on=one.on.isoformat(),
                depth=depth,
                temp_c=one.temp_c,
            )
        )
    return tuple(lines)
