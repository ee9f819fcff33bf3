"""Where a number of a page comes from: the trace the models left, or one written here for what pages make of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from django.utils.translation import gettext as _

from loamery.finding import Input, Ledger, Trace
from loamery.web.pages.origin_answers import Answers, test_origin, what_if_origin
from loamery.web.pages.origin_beds import bed_origin, moved_origin
from loamery.web.pages.origin_heaps import heap_origin, run_origin, worm_origin
from loamery.web.pages.origin_material import grade_origin, limit_origin, material_origin, reports_origin
from loamery.web.pages.origin_season import chore_origin, season_origin, week_origin
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import stuff_name
from loamery.web.pages.words import Words

Maker = Callable[[Sight, str], Trace | None]
MOST_ROWS = 40
RECORDED = {"loads": "material", "applications": "bed", "feedings": "worm_bed", "harvests": "bed"}
ORDINARY: dict[str, Maker] = {
    "bed": bed_origin, "moved": moved_origin, "chore": chore_origin, "week": week_origin, "season": season_origin,
    "heap": heap_origin, "run": run_origin, "worms": worm_origin, "grade": grade_origin, "limit": limit_origin, "material": material_origin, "reports": reports_origin,
}  # fmt: skip


def origin(sight: Sight, key: str, answers: Answers = lambda _what: None) -> tuple[Trace | None, Ledger]:
    """Return where a number comes from and everything it may lead on to; None where there is no such number.

    Parameters
    ----------
    answers : returns the kept answer to a question of the garden.
    """
    ledger = sight.reckoned.ledger
    if key in ledger:
        return ledger[key], ledger
    head, _slash, rest = key.partition("/")
    if head == "record":
        return _records(sight, rest), ledger
    if head == "test":
        return test_origin(sight, answers("tests"), rest), ledger
    if head == "what-if":
        return what_if_origin(sight, answers("what-if"), rest), ledger
    return (ORDINARY[head](sight, rest) if head in ORDINARY else None), ledger


def leads_on(key: str, ledger: Ledger) -> bool:
    """Tell whether an input's origin can be opened: one the models left, or one that is written when asked for."""
    return key in ledger or key.partition("/")[0] in ORDINARY or key.startswith("record/")


def without_names(trace: Trace) -> Trace:
    """Return an origin as everybody may read it: no names of people, donors or files."""
    return replace(trace, inputs=tuple(replace(one, where="") for one in trace.inputs))


def _records(sight: Sight, rest: str) -> Trace | None:
    """Return the sum of the records behind a number: ``KIND``, ``KIND/ABOUT`` or ``KIND/ABOUT/CROP``."""
    part, about, crop, *_more = [*rest.split("/"), "", ""]
    if part not in RECORDED:
        return None
    rows = [
        one
        for one in getattr(sight.garden, part)
        if about in ("", getattr(one, RECORDED[part])) and crop in ("", getattr(one, "crop", ""))
    ]
    rows.sort(key=lambda one: one.on, reverse=True)
    by = _by_day if about else _by_name
    return Trace(
        f"record/{rest}", _("Sum of what was written down"), sight.words.mass(sum(one.kg for one in rows)),
        _("the weights of {count} records added up, as they were written down").format(count=len(rows)), tuple(by(sight, part, rows)),
    )  # fmt: skip


def _by_day(sight: Sight, part: str, rows: Sequence[Any]) -> list[Input]:
    words = sight.words
    inputs = [
        Input(words.day(one.on), words.mass(one.kg), one.by or _("written down here")) for one in rows[:MOST_ROWS]
    ]
    if len(rows) > MOST_ROWS:
        inputs.append(_earlier(words, rows[MOST_ROWS:]))
    return inputs


def _earlier(words: Words, rows: Sequence[Any]) -> Input:
    return Input(_("{count} earlier records").format(count=len(rows)), words.mass(sum(one.kg for one in rows)))


def _by_name(sight: Sight, part: str, rows: Sequence[Any]) -> list[Input]:
    """Return what was written down about each material, bed or worm bed, added up."""
    column = RECORDED[part]
    sums: dict[str, float] = {}
    for one in rows:
        sums[getattr(one, column)] = sums.get(getattr(one, column), 0.0) + one.kg
    garden = sight.garden
    known = {one.id: one.name for one in garden.materials}
    known |= {one.id: one.name for one in garden.beds} | {one.id: one.name for one in garden.worm_beds}
    return [
        Input(stuff_name(known.get(key, key)), sight.words.mass(kg), "", f"record/{part}/{key}")
        for key, kg in sorted(sums.items(), key=lambda item: -item[1])
    ]
