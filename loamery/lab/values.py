"""The value of one entry as printed: a number, a limit, a mean of replicates, or the doubt that stands in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loamery.garden.report import Censoring
from loamery.lab.case import LEAVE_OUT, Case, Reading
from loamery.lab.cells import CellValue, DecimalStyle, decimals, parse_cell, real_date
from loamery.lab.tables import Cell
from loamery.reference import coefficient
from loamery.say import Verbatim, either, say


def cell_value(cell: Cell, style: DecimalStyle) -> CellValue:
    """Return what a cell says, true numbers and dates taken as they are."""
    if cell.date is not None:
        return real_date(cell.date)
    if cell.number is not None:
        return CellValue("number", cell.text, cell.number, unit="%" if cell.percent else "")
    return parse_cell(cell.text, style)


def read_value(case: Case) -> Reading | None:
    """Return the printed value; None when it is blank, left out, or after a question where it is not certain."""
    entry = case.entry
    values = [cell_value(cell, case.style) for cell in entry.values]
    values = [one for one in values if one.kind != "blank"]
    if not values and entry.mean is not None:
        values = [cell_value(entry.mean, case.style)]
    if not values or values[0].kind == "blank":
        return None
    if (doubt := _slipped(case) or next((found for one in values if (found := doubt_of(case, one))), None)) is not None:
        return settle_doubt(case, doubt)
    if len(values) < entry.printed:
        missing = say(
            "{missing} of {printed} replicates blank", missing=entry.printed - len(values), printed=entry.printed
        )
        case.find(
            "replicate_missing", "note", say("Not every replicate of “{name}” is printed.", name=case.name), missing
        )
    return _single(case, values[0]) if len(values) == 1 else _replicated(case, values)


@dataclass(frozen=True)
class Doubt:
    """Why a value is not certain: the question, its options, and the finding that goes with it (code, text, evidence)."""

    text: str
    options: tuple[str, ...]
    proposal: str = ""
    finding: tuple[str, str, str] | None = None


def settle_doubt(case: Case, doubt: Doubt) -> Reading | None:
    """Return the value a person gave in answer to a doubt; without an answer ask, say why, and return None."""
    answer = case.ask("value of", doubt.text, doubt.options, doubt.proposal)
    if answer:
        return answered(case, answer)
    if doubt.finding is not None:
        code, text, because = doubt.finding
        case.find(code, "warning", text, because, doubt.proposal)
    return None


def answered(case: Case, answer: str) -> Reading | None:
    """Return an answer as a value: a number, ``lo-hi``, ``<limit`` or ND; None for ``leave out`` and for nonsense."""
    if answer.casefold() == LEAVE_OUT:
        return None
    one = parse_cell(answer, "point")
    if one.kind == "range" and one.low is not None and one.high is not None:
        width = one.high - one.low
        middle = one.low + coefficient("range_centre").value * width
        return Reading(
            middle, sd=coefficient("range_sd").value * width / 2.0, unit=one.unit, shown=answer, confirmed=True
        )
    if one.kind in ("number", "below", "above") and one.value is not None and one.value >= 0:
        censored: Censoring = "below" if one.kind == "below" else "above" if one.kind == "above" else "no"
        return Reading(one.value, censored, unit=one.unit, shown=answer, confirmed=True)
    if one.kind in ("below", "trace") and one.value is None:
        return Reading(None, "below" if one.kind == "below" else "trace", shown=answer, confirmed=True)
    case.ask_again("value of", answer, ("a number", "lo-hi", LEAVE_OUT))
    return None


def _slipped(case: Case) -> Doubt | None:
    """Return the doubt about a row whose cells may have slipped, or a table whose columns nothing names."""
    entry = case.entry
    if not (entry.ragged or entry.unlabelled):
        return None
    why = say("the row does not fit its head") if entry.ragged else say("no column of numbers is headed as the result")
    shown = tuple(dict.fromkeys(cell.text for cell in entry.values))
    text = say(
        "Which value has “{name}”? It may be {value}, but {why}.",
        name=case.name,
        value=either(map(Verbatim, shown)),
        why=why,
    )
    return Doubt(
        text,
        (*shown, LEAVE_OUT),
        "",
        ("unreadable_value", say("The value of “{name}” is not certain.", name=case.name), why),
    )


def doubt_of(case: Case, one: CellValue) -> Doubt | None:
    """Return why a cell cannot be read with certainty, None when it can."""
    name = case.name
    if one.kind == "date":
        text = say(
            "A spreadsheet turned the value of “{name}” into the date {text}. Which value stood there?",
            name=name,
            text=one.text,
        )
        because = say("printed {text}; most likely a range typed with a dash", text=one.text)
        return Doubt(
            text,
            one.options,
            one.options[0],
            ("date_in_value", say("The value of “{name}” is a date.", name=name), because),
        )
    if one.kind == "text":
        finding = (
            "unreadable_value",
            say("The value of “{name}” cannot be read.", name=name),
            say("printed “{text}”", text=one.text),
        )
        return Doubt(
            say("“{text}” is not a value. Which value has “{name}”?", text=one.text, name=name),
            ("a number", LEAVE_OUT),
            "",
            finding,
        )
    if one.kind == "range":
        low, high = f"{one.low:g}", f"{one.high:g}"
        text = say("“{name}” is printed as the range {text}. Which value holds?", name=name, text=one.text)
        return Doubt(text, (f"{low}-{high}", low, high, LEAVE_OUT), f"{low}-{high}")
    if one.kind == "ambiguous":
        return _two_readings(one)
    if one.value is not None and one.value < 0:
        finding = (
            "negative_value",
            say("“{name}” is below zero.", name=name),
            say("printed {text}; a concentration cannot be", text=one.text),
        )
        text = say("“{name}” is printed as {text}, below zero. Which value holds?", name=name, text=one.text)
        return Doubt(text, ("ND", LEAVE_OUT), "", finding)
    return None


def _two_readings(one: CellValue) -> Doubt:
    readings = (f"{one.flag}{one.low:.12g}", f"{one.flag}{one.high:.12g}")
    why = say("the file shows no other number that tells its decimal mark")
    text = say(
        "“{text}” can be {value}: {why}. Which is it?",
        text=Verbatim(one.text),
        value=either(map(Verbatim, readings)),
        why=why,
    )
    return Doubt(text, (*readings, LEAVE_OUT))


_BELOW_SIGNS = ("<", "≤", "<=", "=<", "u", "nd", "bdl", "n.d.")
_ABOVE_SIGNS = (">", "≥", ">=", "=>")


def _single(case: Case, one: CellValue) -> Reading:
    censored: Censoring = "no"
    if one.kind in ("below", "above", "trace"):
        censored = one.kind
    sign = case.entry.qualifier.strip().casefold()
    if censored == "no":
        censored = "below" if sign in _BELOW_SIGNS else "above" if sign in _ABOVE_SIGNS else "no"
    known = ("", "=", *_BELOW_SIGNS, *_ABOVE_SIGNS)
    for flag in (one.flag, case.entry.qualifier.strip()):
        if flag.casefold() not in known:
            text = say("The laboratory flags “{name}” with {flag}.", name=case.name, flag=flag)
            case.find("flagged_value", "note", text, say("printed {text}", text=one.text))
    value = one.value
    if value is None and censored in ("below", "trace") and case.entry.limit is not None:
        limit = cell_value(case.entry.limit, case.style)
        value = limit.value if limit.kind in ("number", "below") else None
    return Reading(value, censored, sd=_sd(case, one), unit=one.unit, shown=one.text)


def _sd(case: Case, one: CellValue) -> float | None:
    if one.sd is not None or case.entry.sd is None:
        return one.sd
    sd = cell_value(case.entry.sd, case.style)
    usable = sd.kind == "number" and sd.value is not None and sd.value >= 0 and not sd.unit
    return (sd.value or 0.0) / case.entry.sd_factor if usable else None


def _replicated(case: Case, values: Sequence[CellValue]) -> Reading | None:
    """Return the mean of replicates, checked against the mean the laboratory printed."""
    shown = " / ".join(one.text for one in values)
    if any(one.kind != "number" or one.value is None for one in values) or len({one.unit for one in values}) > 1:
        if all(one.kind == "below" for one in values) and len({one.value for one in values}) == 1:
            return replace(_single(case, values[0]), shown=shown)
        text = say(
            "The replicates of “{name}” ({shown}) are not all plain numbers. Which value holds?",
            name=case.name,
            shown=shown,
        )
        return settle_doubt(case, Doubt(text, ("a number", "<limit", LEAVE_OUT)))
    numbers = tuple(one.value for one in values if one.value is not None)
    mean = sum(numbers) / len(numbers)
    if (doubt := _odd_mean(case, mean, shown)) is not None:
        return settle_doubt(case, doubt)
    spread = (max(numbers) - min(numbers)) / mean if mean else 0.0
    if spread > coefficient("replicate_spread").value:
        because = say("replicates {shown}, spread {spread:.0%} of the mean", shown=shown, spread=spread)
        case.find("replicate_spread", "note", say("The replicates of “{name}” lie far apart.", name=case.name), because)
    return Reading(mean, replicates=numbers, unit=values[0].unit, shown=shown)


def _odd_mean(case: Case, mean: float, shown: str) -> Doubt | None:
    """Return the doubt where the printed mean is not the mean of the printed replicates, to its last digit."""
    if case.entry.mean is None:
        return None
    printed = cell_value(case.entry.mean, case.style)
    if printed.kind == "blank":
        return None
    if printed.value is not None and abs(printed.value - mean) <= _half_digit(printed.text) + 1e-9 * abs(mean):
        return None
    text = say(
        "The replicates of “{name}” ({shown}) have the mean {mean:.6g}, the report prints {text}.",
        name=case.name,
        shown=shown,
        mean=mean,
        text=printed.text,
    )
    return Doubt(say("{text} Which holds?", text=text), (f"{mean:.6g}", printed.text, LEAVE_OUT))


def _half_digit(text: str) -> float:
    """Return half of the last digit of a printed number, and a little for the rounding of fives."""
    return 0.51 * 10.0 ** -decimals(text)
