"""Phosphorus, potassium and the other elements of a run: what is still in the material, what came free, what crops carry off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.crop import Crop
from loamery.bed.record import BedRun
from loamery.bed.simulate import WEEK, Portion

Array = NDArray[np.float64]
SOLUBLE = ("K", "Na", "Cl", "B")
"""What washes out of a material at once; other elements come free as its carbon decays."""


@dataclass(frozen=True, eq=False)
class ElementCourse:
    """The course of one element, kg per m2, at the start and after each week, shape (weeks + 1, beds, draws).

    Parameters
    ----------
    brought : by all gifts so far. held : still in the material. freed : come free into the soil. carried : off with harvests.
    """

    brought: Array
    held: Array
    freed: Array
    carried: Array

    @property
    def soil_gain(self) -> Array:
        """Return what the soil has gained, below zero what it has lost."""
        return self.freed - self.carried

    def gap(self) -> Array:
        """Return what the account misses: brought = held + gained by the soil + carried off; zero but for rounding."""
        return np.asarray(self.brought - self.held - self.soil_gain - self.carried)


def element_course(run: BedRun, portions: Sequence[Portion], key: str, crop: Crop | None = None) -> ElementCourse:
    """Return what became of an element that materials brought.

    Parameters
    ----------
    run : of these portions. key : such as ``P``. crop : its removal of P or K is booked; none when None.

    Notes
    -----
    An element lies with the carbon of its material and comes free with it, in ash and shell with the lime that dissolves;
    what is soluble, or lies in a material without either, is free at once.
    """
    shape = run.stock["nitrate"].shape
    brought, freed = np.zeros(shape), np.zeros(shape)
    for index, one in enumerate(portions):
        content = one.matter.elements.get(key, np.zeros(1))
        given = _doses_so_far(run, index) * content
        brought = brought + given
        freed = freed + given * _gone(run, index, one, key)
    return ElementCourse(brought, brought - freed, freed, _carried(crop, key, shape))


def _gone(run: BedRun, index: int, portion: Portion, key: str) -> Array:
    """Return the share of a portion's element that is free, shape (weeks + 1, beds, draws)."""
    if key not in SOLUBLE and portion.matter.mineral and np.median(portion.matter.lime) > 0:
        return _dissolved(run, index, portion)
    bare = float(np.median(portion.matter.carbon)) < LEAST_CARBON * float(np.median(portion.matter.dry))
    if key in SOLUBLE or bare:
        return np.ones_like(run.carbon_left[:, index])
    given = run.carbon_given[:, index]
    return np.where(given > 0, 1.0 - run.carbon_left[:, index] / np.maximum(given, 1e-15), 0.0)


def _dissolved(run: BedRun, index: int, portion: Portion) -> Array:
    given = _doses_so_far(run, index) * portion.matter.lime
    return np.where(given > 0, 1.0 - run.lime_left[:, index] / np.maximum(given, 1e-15), 0.0)


def _doses_so_far(run: BedRun, index: int) -> Array:
    """Return kilograms of a portion given by the start and by the end of each week, shape (weeks + 1, beds, 1)."""
    none = np.zeros((1, run.doses.shape[1]))
    return np.concatenate([none, np.cumsum(run.doses[index], axis=1).T])[:, :, None]


LEAST_CARBON = 0.01
"""Matter with less carbon than this, kg per kg dry, is mineral: its elements do not wait for decay."""


def _carried(crop: Crop | None, key: str, shape: tuple[int, ...]) -> Array:
    if crop is None or key not in ("P", "K"):
        return np.zeros(shape)
    removed = crop.p_kg_m2 if key == "P" else crop.k_kg_m2
    return np.asarray(np.broadcast_to(removed[:, : WEEK * shape[0] : WEEK].T[:, :, None], shape))
