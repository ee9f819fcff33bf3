"""From a printed entry to a determination: its value, unit, species, fraction and basis, or the question that stands in the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from loamery.errors import Where
from loamery.finding import Finding, Severity
from loamery.garden.report import Censoring, Question
from loamery.lab.cells import CellValue, DecimalStyle, decimals, parse_cell, real_date
from loamery.lab.layout import Entry
from loamery.lab.tables import Cell
from loamery.lab.vocabulary import Analyte, analyte_table, norm
from loamery.names import quantities
from loamery.reference import coefficient

LEAVE_OUT = "leave out"


@dataclass
class Case:
    """One entry on its way: what is known of the document, and the questions and findings met.

    Parameters
    ----------
    style : decimal mark of the document.
    subject : soil or material, empty while it is open.
    general : extractant that the document names for all results, as printed, empty if none.
    answers : what a person has answered so far.
    """

    entry: Entry
    style: DecimalStyle
    subject: str
    general: str
    unit: str
    answers: Mapping[str, str]
    questions: list[Question] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    @property
    def name(self) -> str:
        """Return the printed name of the analyte."""
        return self.entry.name

    @property
    def where(self) -> Where:
        """Return the place of the value."""
        cell = self.entry.values[0] if self.entry.values else self.entry.mean
        return self.entry.grid.where(cell) if cell is not None else Where(self.entry.grid.file)

    def ask(self, kind: str, text: str, options: Sequence[str], proposal: str = "") -> str | None:
        """Return the answer a person gave, or ask and return None."""
        key = f"{kind} {self.name}" if kind != "basis" else "basis"
        answer = self.answers.get(key, "").strip()
        if answer:
            return answer
        self.questions.append(Question(key, text, tuple(options), proposal, self.where))
        return None

    def find(self, code: str, severity: Severity, text: str, because: str, proposal: str = "") -> None:
        """Keep a finding about this entry."""
        self.findings.append(
            Finding(code, severity, text, f"{because} ({self.where})", about=self.name, proposal=proposal)
        )


@dataclass(frozen=True)
class Reading:
    """The value of an entry before units: numbers as printed."""

    value: float | None
    censored: Censoring = "no"
    replicates: tuple[float, ...] = ()
    sd: float | None = None
    unit: str = ""
    shown: str = ""


def analyte_in(case: Case) -> Analyte | None:
    """Return the analyte of an entry; None after a question or a finding where it is not certain."""
    phrase = case.entry.phrase
    key = case.answers.get(f"analyte {case.name}", "").strip()
    if key:
        chosen = quantities().get(key)
        return Analyte(key) if chosen else analyte_table().get(norm(key))
    one = phrase.analyte
    if one is not None and one.role != "left_out" and not _saturation(case.entry):
        return one
    if one is None and phrase.guess is not None and phrase.guess.role != "left_out" and phrase.unknown:
        words = ", ".join(f"“{word}”" for word in phrase.unknown if word)
        case.ask(
            "analyte",
            f"“{case.name}” holds words that were not understood ({words}). Which quantity is it?",
            (phrase.guess.quantity, LEAVE_OUT),
            phrase.guess.quantity,
        )
        return None
    why = "is known but not kept" if one is not None else "is no analyte known here"
    shown = ", ".join(cell.text for cell in case.entry.values)
    case.find("unknown_analyte", "note", f"“{case.name}” {why}; it was left out.", f"printed value {shown}")
    return None


def _saturation(entry: Entry) -> bool:
    """Tell whether an entry stands in a section of shares of the exchange capacity."""
    return "saturation" in norm(entry.section) and "extract" not in norm(entry.section)


def cell_value(cell: Cell, style: DecimalStyle) -> CellValue:
    """Return what a cell says, true numbers and dates taken as they are."""
    if cell.date is not None:
        return real_date(cell.date)
    if cell.number is not None:
        return CellValue("number", cell.text, cell.number, unit="%" if cell.percent else "")
    return parse_cell(cell.text, style)


def read_value(case: Case) -> Reading | None:
    """Return the printed value; None when it is blank, or after a question where it is not certain."""
    answer = case.answers.get(f"value of {case.name}", "").strip()
    if answer:
        return _answered(case, answer)
    entry = case.entry
    if entry.ragged or entry.unlabelled:
        why = "the row has more cells than its head" if entry.ragged else "no column of numbers is headed as the result"
        shown = tuple(cell.text for cell in entry.values)
        case.ask("value of", f"Which value has “{case.name}”? {why.capitalize()}.", (*shown, LEAVE_OUT))
        return None
    values = [cell_value(cell, case.style) for cell in entry.values]
    values = [one for one in values if one.kind != "blank"]
    if not values and entry.mean is not None:
        values = [cell_value(entry.mean, case.style)]
    if not values:
        return None
    if len(values) < entry.printed:
        missing = f"{entry.printed - len(values)} of {entry.printed} replicates"
        case.find("replicate_missing", "note", f"Not every replicate of “{case.name}” is printed.", f"{missing} blank")
    for one in values:
        if not _certain(case, one):
            return None
    return _single(case, values[0]) if len(values) == 1 else _replicated(case, values)


def _answered(case: Case, answer: str) -> Reading | None:
    if answer.casefold() == LEAVE_OUT:
        return None
    one = parse_cell(answer, "point")
    if one.kind == "range" and one.low is not None and one.high is not None:
        width = one.high - one.low
        middle = one.low + coefficient("range_centre").value * width
        return Reading(middle, sd=coefficient("range_sd").value * width / 2.0, unit=one.unit, shown=answer)
    if one.kind in ("number", "below", "above") and one.value is not None:
        censored: Censoring = {"below": "below", "above": "above"}.get(one.kind, "no")  # type: ignore[assignment]
        return Reading(one.value, censored, unit=one.unit, shown=answer)
    if one.kind in ("below", "trace"):
        return Reading(None, "below" if one.kind == "below" else "trace", shown=answer)
    case.questions.append(
        Question(
            f"value of {case.name}",
            f"The answer “{answer}” is no value.",
            ("a number", "lo-hi", LEAVE_OUT),
            "",
            case.where,
        )
    )
    return None


def _certain(case: Case, one: CellValue) -> bool:
    """Ask where a cell cannot be read with certainty; tell whether it can."""
    if one.kind == "date":
        text = f"A spreadsheet turned the value of “{case.name}” into the date {one.text}. Which value stood there?"
        case.ask("value of", text, one.options, one.options[0])
        case.find(
            "date_in_value",
            "warning",
            f"The value of “{case.name}” is a date.",
            f"printed {one.text}; most likely a range typed with a dash",
            one.options[0],
        )
        return False
    if one.kind == "text":
        case.ask("value of", f"“{one.text}” is not a value. Which value has “{case.name}”?", ("a number", LEAVE_OUT))
        case.find("unreadable_value", "warning", f"The value of “{case.name}” cannot be read.", f"printed “{one.text}”")
        return False
    if one.kind == "range":
        low, high = f"{one.low:g}", f"{one.high:g}"
        case.ask(
            "value of",
            f"“{case.name}” is printed as the range {one.text}. Which value holds?",
            (f"{low}-{high}", low, high, LEAVE_OUT),
            f"{low}-{high}",
        )
        return False
    if one.kind == "ambiguous":
        text = f"“{one.text}” can be {one.low:g} or {one.high:g}: the file shows no other number that tells its decimal mark. Which is it?"
        case.ask("value of", text, (f"{one.flag}{one.low:.12g}", f"{one.flag}{one.high:.12g}", LEAVE_OUT))
        return False
    if one.value is not None and one.value < 0:
        case.ask(
            "value of",
            f"“{case.name}” is printed as {one.text}, below zero. Which value holds?",
            ("0", "ND", LEAVE_OUT),
        )
        case.find(
            "negative_value",
            "warning",
            f"“{case.name}” is below zero.",
            f"printed {one.text}; a concentration cannot be",
        )
        return False
    return True


def _single(case: Case, one: CellValue) -> Reading:
    entry = case.entry
    censored: Censoring = "no"
    if one.kind in ("below", "above", "trace"):
        censored = one.kind
    sign = entry.qualifier.strip().casefold()
    if sign and censored == "no":
        censored = (
            "below"
            if sign in ("<", "≤", "<=", "u", "nd", "bdl", "n.d.", "=<")
            else "above"
            if sign in (">", "≥", ">=")
            else "no"
        )
        if censored == "no" and sign not in ("=", ""):
            case.find(
                "flagged_value",
                "note",
                f"The laboratory flags “{case.name}” with {entry.qualifier}.",
                f"printed {one.text}",
            )
    if one.flag:
        case.find(
            "flagged_value", "note", f"The laboratory flags “{case.name}” with {one.flag}.", f"printed {one.text}"
        )
    value = one.value
    if value is None and censored in ("below", "trace") and entry.limit is not None:
        limit = cell_value(entry.limit, case.style)
        value = limit.value if limit.kind in ("number", "below") else None
    return Reading(value, censored, sd=_sd(case, one), unit=one.unit, shown=one.text)


def _sd(case: Case, one: CellValue) -> float | None:
    if one.sd is not None:
        return one.sd
    if case.entry.sd is None:
        return None
    sd = cell_value(case.entry.sd, case.style)
    return (
        sd.value / case.entry.sd_factor
        if sd.kind == "number" and sd.value is not None and sd.value >= 0 and not sd.unit
        else None
    )


def _replicated(case: Case, values: Sequence[CellValue]) -> Reading | None:
    """Return the mean of replicates, checked against the mean the laboratory printed."""
    shown = " / ".join(one.text for one in values)
    if any(one.kind != "number" or one.value is None for one in values) or len({one.unit for one in values}) > 1:
        if all(one.kind == "below" for one in values) and len({one.value for one in values}) == 1:
            return replace(_single(case, values[0]), shown=shown)
        case.ask(
            "value of",
            f"The replicates of “{case.name}” ({shown}) are not all plain numbers. Which value holds?",
            ("a number", "<limit", LEAVE_OUT),
        )
        return None
    numbers = tuple(one.value for one in values if one.value is not None)
    mean = sum(numbers) / len(numbers)
    if case.entry.mean is not None:
        printed = cell_value(case.entry.mean, case.style)
        if printed.kind != "blank" and (
            printed.value is None or abs(printed.value - mean) > _half_digit(printed.text) + 1e-9 * abs(mean)
        ):
            text = f"The replicates of “{case.name}” ({shown}) have the mean {mean:.6g}, the report prints {printed.text}. Which holds?"
            case.ask("value of", text, (f"{mean:.6g}", printed.text, LEAVE_OUT))
            return None
    spread = (max(numbers) - min(numbers)) / mean if mean else 0.0
    if spread > coefficient("replicate_spread").value:
        because = f"replicates {shown}, spread {spread:.0%} of the mean"
        case.find("replicate_spread", "note", f"The replicates of “{case.name}” lie far apart.", because)
    return Reading(mean, replicates=numbers, sd=None, unit=values[0].unit, shown=shown)


def _half_digit(text: str) -> float:
    """Return half of the last digit of a printed number, and a little for the rounding of fives."""
    return 0.51 * 10.0 ** -decimals(text)
