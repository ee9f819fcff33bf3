"""How good forecasts were: how often the band held what was measured, and whether they ran high or low."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loamery.finding import Band
from loamery.say import joined, say
from loamery.words import NBSP, number


@dataclass(frozen=True)
class Pair:
    """One forecast beside what was measured.

    Parameters
    ----------
    what : group it belongs to; name : what was measured, and where. of : the one thing (a heap, a planting) it was
        measured on; what is measured on one thing hangs together.
        foreseen : with its 90 % band. key : of the glossary, for what a laboratory measures.
    """

    what: str
    name: str
    when: str
    foreseen: Band
    measured: float
    of: str
    key: str = ""

    @property
    def inside(self) -> bool:
        """Return whether the band holds what was measured."""
        return self.foreseen.low <= self.measured <= self.foreseen.high


@dataclass(frozen=True)
class Skill:
    """The skill of several forecasts.

    Parameters
    ----------
    count : of pairs. things : how many heaps or plantings they were measured on.
    worth : how many independent readings they count for. inside : share held by the 90 % band, with the interval that
        so many allow (Wilson).
    bias : median of measured less the middle of the forecast; a forecast's middle is a median, so of a good one this is nought,
        which of the mean of lopsided forecasts it is not. miss : root mean square of the same; both in the pairs' unit.
    """

    count: int
    things: int
    inside: Band
    bias: float
    miss: float
    unit: str
    worth: float

    @property
    def words(self) -> str:
        """Return the skill in a sentence, no stronger than the count allows."""
        share, low, high = (number(100 * one, 2) for one in (self.inside.median, self.inside.low, self.inside.high))
        held = say(
            "The 90{NBSP}% band held {share}{NBSP}% of {of} (so many allow {low} to {high}{NBSP}%): {verdict}.",
            NBSP=NBSP, share=share, of=self._of, low=low, high=high, verdict=self._verdict,
        )  # fmt: skip
        known = {"off": number(abs(self.bias), 2), "miss": number(self.miss, 2), "unit": self.unit, "NBSP": NBSP}
        ran = (
            say(
                "The forecast ran low by {off}{NBSP}{unit} in the middle of them; typical miss (root mean square) {miss}{NBSP}{unit}.",
                **known,
            )
            if self.bias > 0
            else say(
                "The forecast ran high by {off}{NBSP}{unit} in the middle of them; typical miss (root mean square) {miss}{NBSP}{unit}.",
                **known,
            )
        )
        return joined(" ", (held, ran))

    @property
    def _of(self) -> str:
        """Return how many readings were judged, on how many things, and what they are worth."""
        known = {"count": self.count, "things": self.things}
        if self.things >= self.count:
            return f"{self.count}"
        if self.things >= self.worth:
            return say("{count} readings on {things} of its kind", **known)
        worth = number(self.worth, 2)
        return say("{count} readings on {things} of its kind, worth {worth} by themselves", worth=worth, **known)

    @property
    def _verdict(self) -> str:
        if self.inside.low > 0.9:
            return say("the bands are wider than they need be")
        if self.inside.high < 0.9:
            return say("the bands are too narrow, or the forecast is off")
        return say("what bands of nine in ten should")

    def as_dict(self) -> dict[str, object]:
        """Return the skill ready for JSON."""
        return {
            "count": self.count,
            "things": self.things,
            "worth": self.worth,
            "inside": self.inside.as_dict(),
            "bias": self.bias,
            "miss": self.miss,
            "unit": self.unit,
            "words": self.words,
        }


def skill_of(pairs: Sequence[Pair]) -> Skill | None:
    """Return the skill of forecasts, None when there is nothing to judge.

    Source
    ------
    Wilson 1927, interval of a share; common statistics, no table.
    """
    if not pairs:
        return None
    off = np.array([one.measured - one.foreseen.median for one in pairs])
    share = sum(one.inside for one in pairs) / len(pairs)
    things = len({one.of for one in pairs})
    worth = _worth(pairs)
    return Skill(
        len(pairs),
        things,
        _wilson(share, worth),
        float(np.median(off)),
        float(np.sqrt((off**2).mean())),
        pairs[0].foreseen.unit,
        worth,
    )


FEWEST_THINGS = 3
"""Below this many heaps or beds nobody can tell how much their readings hang together: each counts once."""


def _worth(pairs: Sequence[Pair]) -> float:
    """Return how many independent readings they are worth, from one for each thing to one for each reading.

    Source
    ------
    Design effect 1 + (m - 1) rho of Kish 1965, with rho from the analysis of variance of the misses (recalled). A miss is
    measured in half widths of its band.
    """
    misses: dict[str, list[float]] = {}
    for one in pairs:
        half = max(0.5 * (one.foreseen.high - one.foreseen.low), 1e-12)
        misses.setdefault(one.of, []).append((one.measured - one.foreseen.median) / half)
    count, things = len(pairs), len(misses)
    if things < FEWEST_THINGS or count == things:
        return float(things)
    sizes = np.array([len(one) for one in misses.values()], dtype=np.float64)
    means = np.array([float(np.mean(one)) for one in misses.values()])
    grand = float((sizes * means).sum() / count)
    between = float((sizes * (means - grand) ** 2).sum()) / (things - 1)
    within = sum(float(((np.array(one) - np.mean(one)) ** 2).sum()) for one in misses.values()) / (count - things)
    usual = (count - float((sizes**2).sum()) / count) / (things - 1)
    rho = (between - within) / max(between + (usual - 1.0) * within, 1e-12)
    return float(np.clip(count / (1.0 + (usual - 1.0) * float(np.clip(rho, 0.0, 1.0))), things, count))


def _wilson(share: float, count: float) -> Band:
    z = 1.6448536269514722
    denominator = 1.0 + z * z / count
    middle = (share + z * z / (2 * count)) / denominator
    half = z * float(np.sqrt(share * (1.0 - share) / count + z * z / (4 * count * count))) / denominator
    return Band(share, max(middle - half, 0.0), min(middle + half, 1.0), "1")
