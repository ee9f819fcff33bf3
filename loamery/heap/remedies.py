"""What would bring more of a heap through the heat: the same heap insulated, turned, larger, run and judged again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loamery.finding import Band
from loamery.heap.climate import Normals
from loamery.heap.forecast import Forecast, HeapPlan, members
from loamery.heap.hygiene import HygieneRule, judge
from loamery.heap.model import ensemble
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import band

MEMBERS, CELLS, MOST_DAYS = 12, 10, 90
LARGER = 2.0


@dataclass(frozen=True)
class Remedy:
    """One change to a heap and how much of the matter would then keep each rule.

    Parameters
    ----------
    change : in words; the first of a list is the heap as planned.
    share : of the matter, one band for each rule.
    met : share of runs in which all of it keeps the rule.
    """

    change: str
    share: tuple[Band, ...]
    met: tuple[float, ...]

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {"change": self.change, "share": [one.as_dict() for one in self.share], "met": list(self.met)}


def remedies(
    told: Forecast,
    normals: Normals,
    seed: int = 1,
    *,
    changes: Sequence[Mapping[str, float]] | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[Remedy, ...]:
    """Return what changes to a heap would do for hygiene, the heap as planned first.

    Parameters
    ----------
    told : its forecast; the rules are those it was held against.
    changes : parameters of the model's draws, as for `forecast`.

    Notes
    -----
    A smaller ensemble than the forecast's, cut at `MOST_DAYS`: shares differ a little from the forecast's own.
    """
    progress("trying what would make it hotter")
    days = min(round(float(told.day[-1])), MOST_DAYS)
    rules = [one.rule for one in told.hygiene]
    tried = list(_variants(told))
    specs = [spec for _, plan in tried for spec in members(plan, normals, days, MEMBERS, seed, changes=changes)]
    run = ensemble(specs, days, CELLS, every_days=0.5)
    out = []
    for i, (words, _) in enumerate(tried):
        held = [
            [judge(run.day, run.temp_c[m], _shares(run.dry_kg[m, 0]), run.specs[m].turn_days, rule) for rule in rules]
            for m in range(i * MEMBERS, (i + 1) * MEMBERS)
        ]
        out.append(Remedy(
            words, tuple(band([one[r].share for one in held], "1") for r in range(len(rules))),
            tuple(float(np.mean([one[r].state == "met" for one in held])) for r in range(len(rules))),
        ))  # fmt: skip
    return tuple(out)


def _shares(dry_kg: np.ndarray) -> np.ndarray:
    return np.asarray(dry_kg / dry_kg.sum())


def _variants(told: Forecast) -> Iterator[tuple[str, HeapPlan]]:
    plan = told.plan
    yield say("as planned"), plan
    turned, words = _turned(plan, told)
    yield words, turned
    if plan.shelter != "insulated":
        walls = say("insulate walls and top") if plan.shape == "bin" else say("insulate the whole of it")
        yield walls, replace(plan, shelter="insulated")
        yield say("{one} and {other}", one=walls, other=words), replace(turned, shelter="insulated")
    yield say("build it {times:g} times as large", times=LARGER), replace(plan, volume_m3=LARGER * plan.volume_m3)


def _turned(plan: HeapPlan, told: Forecast) -> tuple[HeapPlan, str]:
    """Return the heap turned as a windrow is, from the day it is hot, or warmest where it never is."""
    rule = next((one.rule for one in told.hygiene if one.rule.turnings), None)
    count, gap = _row(rule)
    hottest = told.run.hottest_c
    hot = np.flatnonzero(hottest >= min(rule.temp_c if rule else hottest.max(), hottest.max()))
    first = round(float(told.run.day[hot[0]])) + gap
    days = tuple(float(first + gap * i) for i in range(count))
    kept = tuple(one for one in plan.turn_days if one < first)
    words = say("turn it {count} times, every {gap} days from day {first}", count=count, gap=gap, first=first)
    return replace(plan, turn_days=(*kept, *days)), words


def _row(rule: HygieneRule | None) -> tuple[int, int]:
    count = rule.turnings if rule else round(coefficient("hygiene_turns").value)
    days = rule.hold_days if rule else coefficient("hygiene_turn_gap").value * count
    return count, max(round(days / count), 1)
