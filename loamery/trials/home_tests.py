"""Two tests for the kitchen table: do seedlings stand it, and does it still heat."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, TypeVar

import numpy as np
from pydantic import Field

from loamery.errors import GardenError, InputError, UnreadableFile, Where
from loamery.finding import Band, Finding
from loamery.garden.fields import NotNegative, Record
from loamery.garden.rows import read_rows
from loamery.reference import coefficient, table
from loamery.say import say
from loamery.uncertain import Draws, band
from loamery.words import NBSP, number

T = TypeVar("T", bound=Record)
CONTROL = "water"
DRAWS, SEED = 4000, 3


class Dish(Record):
    """One dish of a germination test."""

    sample: str = Field(description="what the seeds stood in; water is the control")
    seeds: Annotated[int, Field(ge=1, le=500)] = Field(description="seeds laid out")
    sprouted: Annotated[int, Field(ge=0)] = Field(description="seeds with a root of 1 mm or more")
    root_mm: tuple[NotNegative, ...] = Field(default=(), description="length of each root, mm, separated by ;")


class Warmth(Record):
    """One reading of a self-heating test."""

    day: NotNegative = Field(description="days since the flask was filled")
    temp_c: Annotated[float, Field(ge=-20, le=95)] = Field(description="in the middle of the flask, °C")
    room_c: Annotated[float, Field(ge=-20, le=50)] = Field(description="of the room beside it, °C")


@dataclass(frozen=True)
class HomeTest:
    """The outcome of a home test.

    Parameters
    ----------
    value : index in percent, or the highest rise over the room in K, with its band.
    classes : published classes the band reaches, one when it is clear.
    """

    test: str
    sample: str
    value: Band
    classes: tuple[dict[str, str], ...]
    findings: tuple[Finding, ...]

    @property
    def text(self) -> str:
        """Return the outcome in words, no firmer than the band."""
        if any(one.severity == "stop" for one in self.findings):
            return say("No class can be given.")
        told = [say("class {name} ({meaning})", name=one["class"], meaning=one["meaning"]) for one in self.classes]
        if len(told) == 1:
            return say("{only}.", only=told[0])
        return say("Between {low} and {high}.", low=told[0], high=told[-1])

    def as_dict(self) -> dict[str, object]:
        """Return the outcome ready for JSON."""
        return {
            "test": self.test,
            "sample": self.sample,
            "value": self.value.as_dict(),
            "classes": [one["class"] for one in self.classes],
            "text": self.text,
            "findings": [one.as_dict() for one in self.findings],
        }


def read_home_test(path: Path, model: type[T]) -> list[T]:
    """Return the rows of a home test's CSV file.

    Raises
    ------
    UnreadableFile : there is no such file, or it holds no rows.
    GardenError : rows that cannot be used, all listed at once.
    """
    faults: list[InputError] = []
    rows = [one for _, one in read_rows(path, model, faults)]
    if faults:
        raise GardenError(faults)
    if not rows:
        raise UnreadableFile(
            say("no rows") if path.exists() else say("no such file"), where=Where(file=path.name),
            expected=say("the columns ") + ", ".join(model.model_fields), remedy=say("without a file the command prints how the test is done and what to write down"),
        )  # fmt: skip
    return rows


def germination(dishes: Sequence[Dish]) -> list[HomeTest]:
    """Return the germination index of every sample against the dishes with plain water.

    Returns
    -------
    Index 100 (G/Gc)(L/Lc) in percent: G share of seeds that sprouted, L mean length of their roots, c of the control.

    Raises
    ------
    InputError : no control, no sample, more sprouted than seeds, or roots that were not measured.

    Source
    ------
    Zucconi et al. 1981.
    """
    for one in dishes:
        _check_dish(one)
    control = [one for one in dishes if one.sample.casefold() == CONTROL]
    names = list(dict.fromkeys(one.sample for one in dishes if one.sample.casefold() != CONTROL))
    if not control or not names:
        raise InputError(
            say("no dish of plain water") if not control else say("no dish but plain water"), where=Where(column="sample"),
            expected=say("dishes of “{CONTROL}” and of at least one sample", CONTROL=CONTROL), remedy=say("the index compares with plain water: lay out both, side by side"),
        )  # fmt: skip
    return [_germination(name, [one for one in dishes if one.sample == name], control) for name in names]


def _check_dish(one: Dish) -> None:
    if one.sprouted > one.seeds or (one.root_mm and len(one.root_mm) != one.sprouted):
        raise InputError(
            say("{sprouted} of {seeds} seeds sprouted, {count} roots measured in a dish of “{sample}”", sprouted=one.sprouted, seeds=one.seeds, count=len(one.root_mm), sample=one.sample),
            where=Where(column="sprouted"), expected=say("at most as many sprouted as seeds, and a root length for each"),
            remedy=say("count again; write every root's length, separated by ;"),
        )  # fmt: skip
    if one.sprouted and not one.root_mm:
        raise InputError(
            say("no root lengths for a dish of “{sample}”", sample=one.sample), where=Where(column="root_mm"), expected=say("{sprouted} lengths in mm", sprouted=one.sprouted),
            remedy=say("measure each root with a ruler"),
        )  # fmt: skip


def _germination(name: str, dishes: Sequence[Dish], control: Sequence[Dish]) -> HomeTest:
    draw = np.random.default_rng(SEED)
    grown, plain = _growth(dishes, draw), _growth(control, draw)
    value = band(100.0 * grown / np.maximum(plain, 1e-9), "%")
    exact = 100.0 * _mean_growth(dishes) / max(_mean_growth(control), 1e-9)
    value = Band(exact, min(value.low, exact), max(value.high, exact), "%")
    sprouted = sum(one.sprouted for one in control) / sum(one.seeds for one in control)
    least = coefficient("germination_control")
    findings = []
    if sprouted < least.value:
        findings.append(
            Finding("germination_control_poor", "stop", say("Only {share} of the seeds in plain water sprouted: the test does not count.", share=f"{100 * sprouted:.0f}{NBSP}%"),
                    say("at least {share} should", share=f"{100 * least.value:g}{NBSP}%"), (least.source,), proposal=say("repeat with fresh seed"))
        )  # fmt: skip
    if len(dishes) < 3 or len(control) < 3:
        findings.append(
            Finding("germination_few_dishes", "note", say("Fewer than three dishes of each: one odd dish weighs much."),
                    say("{count} of {name}, {plain} of plain water", count=len(dishes), name=name, plain=len(control)), ("PRACTICE",),
                    proposal=say("lay out three dishes or more of each"))
        )  # fmt: skip
    return HomeTest("germination", name, value, classes_of("germination", value), tuple(findings))


def _mean_growth(dishes: Sequence[Dish]) -> float:
    roots = [length for one in dishes for length in one.root_mm]
    share = sum(one.sprouted for one in dishes) / sum(one.seeds for one in dishes)
    return share * (float(np.mean(roots)) if roots else 0.0)


def _growth(dishes: Sequence[Dish], draw: np.random.Generator) -> Draws:
    """Return draws of sprouted share times mean root: a share by Jeffreys' prior, the mean by Student's t."""
    sprouted, seeds = sum(one.sprouted for one in dishes), sum(one.seeds for one in dishes)
    roots = np.array([length for one in dishes for length in one.root_mm])
    share = draw.beta(sprouted + 0.5, seeds - sprouted + 0.5, DRAWS)
    if len(roots) < 2:
        return np.asarray(share * (roots[0] if len(roots) else 0.0))
    mean = roots.mean() + draw.standard_t(len(roots) - 1, DRAWS) * roots.std(ddof=1) / math.sqrt(len(roots))
    return np.asarray(share * np.maximum(mean, 0.0))


def classes_of(test: str, value: Band) -> tuple[dict[str, str], ...]:
    """Return the published classes that a band reaches, in the order of the table."""
    rows = [row for row in table("home_test_classes") if row["test"] == test]
    reached = [row for row in rows if float(row["low"]) < value.high and value.low < float(row["high"])]
    if value.low == value.high:
        reached = [row for row in rows if float(row["low"]) <= value.median < float(row["high"])]
    return tuple(reached or rows[-1:])


def self_heating(readings: Sequence[Warmth], sample: str = "compost") -> HomeTest:
    """Return the class of a compost by the highest rise over the room in an insulated flask.

    Source
    ------
    Brinton et al. 1995, the test of Jourdan 1982.
    """
    ordered = sorted(readings, key=lambda one: one.day)
    rises = [one.temp_c - one.room_c for one in ordered]
    highest = max(rises)
    error = coefficient("dewar_reading").value
    value = Band(highest, highest - error, highest + error, "K")
    return HomeTest(
        "self-heating", sample, value, classes_of("self-heating", value), tuple(_warm_findings(ordered, rises))
    )


def _warm_findings(ordered: Sequence[Warmth], rises: Sequence[float]) -> list[Finding]:
    days, low, high = (coefficient(f"dewar_{key}") for key in ("days", "room_low", "room_high"))
    found = []
    if rises[-1] >= max(rises) - 0.5 and rises[-1] > 2.0 and len(rises) > 1:
        found.append(
            Finding("self_heating_still_rising", "stop", say("The flask was still warming at the last reading: its highest point is not known yet."),
                    say("{rise}\u00a0K over the room on day {day}", rise=number(rises[-1], 2), day=number(ordered[-1].day)), ("PRACTICE",),
                    proposal=say("read on each day until it falls"))
        )  # fmt: skip
    elif ordered[-1].day < days.value:
        found.append(
            Finding("self_heating_too_short", "stop", say("Read for {days} days only: too short for a class.", days=number(ordered[-1].day)),
                    say("at least {days:g} days", days=days.value), (days.source,), proposal=say("read on each day"))
        )  # fmt: skip
    rooms = [one.room_c for one in ordered]
    if min(rooms) < low.value or max(rooms) > high.value:
        found.append(
            Finding("self_heating_room", "warning", say("The room was {least} to {most}\u00a0°C; the classes hold for about 20\u00a0°C.", least=number(min(rooms), 3), most=number(max(rooms), 3)),
                    say("{low:g} to {high:g}\u00a0°C", low=low.value, high=high.value), (low.source,), proposal=say("repeat it in a room that keeps even"))
        )  # fmt: skip
    return found


GUIDES: dict[str, tuple[str, ...]] = {
    "germination": (
        say(
            "Stir one part of the material into ten parts of water by mass, let it stand for an hour or two, and strain it through a cloth or coffee filter."
        ),
        say(
            "Lay a filter paper into each of six dishes or saucers. Wet three with the strained water and three with plain water, 5 mL each."
        ),
        say(
            "Lay ten to twenty cress seeds from one fresh packet on each paper. Cover, and keep all six in the dark, side by side, at about 25 °C."
        ),
        say(
            "After two to three days count the seeds with a root of 1 mm or more, and measure each root in millimetres."
        ),
        say(
            "Write one row for each dish: sample (the control is called water), seeds, sprouted, root_mm with a ; between the lengths."
        ),
        say(
            "Wear gloves with raw manure or half-finished compost, and throw the dishes away afterwards; nothing of this is eaten."
        ),
    ),
    "self-heating": (
        say(
            "Take a mixed sample from several places of the heap, two litres. Wet it until a handful squeezed hard gives a drop or two, no more."
        ),
        say(
            "Let it stand in the room for a day, then fill it loosely into a wide vacuum flask of 1 to 2 litres. Push a thermometer down to 5 cm above the bottom."
        ),
        say(
            "Leave the flask open, in a room that keeps about 20 °C, out of the sun. Keep a second thermometer beside it."
        ),
        say("Read both each day at the same hour, for five days at the least, until the flask cools again."),
        say("Write one row for each reading: day, temp_c, room_c."),
        say(
            "Fresh material can pass 60 °C in a flask: do not touch it bare, keep it away from children, and do not close the flask."
        ),
    ),
}
"""How each test is done, step by step."""
