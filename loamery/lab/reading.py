"""Reading a laboratory report: file in, one report per sample out, with every doubt as a question.

A value is among the determinations only when name, number, unit, form and basis are all certain, or a person has
answered what was not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from loamery.errors import Where
from loamery.finding import Finding
from loamery.garden.report import Determination, LabReport, Question
from loamery.lab.basis import Open, settle_basis
from loamery.lab.case import LEAVE_OUT, Case, Reading
from loamery.lab.cells import DecimalStyle, decimal_style
from loamery.lab.facts import subject_of
from loamery.lab.forms import analyte_in, factor_in, fraction_in, general_extractant, si_value, subject_word, unit_in
from loamery.lab.layout import Aside, Context, Sheet, lay_out
from loamery.lab.repeats import without_repeats
from loamery.lab.spellings import UnitReading, parse_phrase
from loamery.lab.tables import TYPE_IT_IN, Document, read_document, unreadable
from loamery.lab.values import Doubt, read_value, settle_doubt
from loamery.lab.vocabulary import Analyte
from loamery.names import Quantity, quantity
from loamery.say import say
from loamery.units import to_si

MAY_EXCEED_ONE = ("CCE",)
"""Mass fractions that can rightly be above one: pure magnesia neutralises more than its mass of lime."""


@dataclass
class Draft:
    """One sample while it is read."""

    determinations: list[Determination] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    recognised: int = 0
    waiting: list[str] = field(default_factory=list)


def read_report(path: Path, *, answers: Mapping[str, str] | None = None) -> tuple[LabReport, ...]:
    """Read a laboratory file.

    Parameters
    ----------
    path : CSV, TSV, text, XLSX, XLS, ODS or PDF.
    answers : question key to answer, for questions an earlier reading asked. ``basis``: dry or as_received;
        ``subject``: material or soil; ``unit of X``: a unit; ``value of X``: a number, ``lo-hi``, ``<limit`` or
        ``leave out``; ``analyte X``: a key of the glossary or ``leave out``; ``form of X``: total or extractable, or
        a species such as ``as P2O5``. An answer goes to every sample that asked; write ``SAMPLE: KEY`` to answer for
        one sample alone.

    Returns
    -------
    One report per sample of the file, in the order printed; values in SI.

    Raises
    ------
    UnreadableFile : missing, empty, or not a laboratory report.
    """
    path = Path(path)
    document = read_document(path)
    sheets, context = lay_out(document)
    style = decimal_style(_number_texts(document))
    drafts = [(sheet, *_read_sheet(sheet, context, style, _answers_for(sheet, answers or {}))) for sheet in sheets]
    kept = [one for one in drafts if one[1].recognised]
    if not kept:
        raise _no_report(path, document)
    return tuple(_report(path, document, context, one, len(kept)) for one in kept)


def _no_report(path: Path, document: Document) -> Exception:
    if any(grid.page for grid in document.grids):
        return unreadable(
            path,
            say("a PDF without a table of analytes"),
            say("if its table is a picture, {type_it_in}", type_it_in=TYPE_IT_IN),
        )
    return unreadable(
        path,
        say("no analyte with a value in it: this is no laboratory report"),
        say("check the file, or {type_it_in}", type_it_in=TYPE_IT_IN),
    )


def _number_texts(document: Document) -> list[str]:
    return [
        cell.text
        for grid in document.grids
        for row in grid.rows
        for cell in row
        if cell.number is None
        and cell.date is None
        and len(cell.text) < 40
        and not parse_phrase(cell.text, "head").methods
    ]


def _answers_for(sheet: Sheet, answers: Mapping[str, str]) -> dict[str, str]:
    """Return the answers for one sample: those written for it alone go before those for all."""
    prefix = f"{sheet.name}: "
    own = {key.removeprefix(prefix): value for key, value in answers.items() if key.startswith(prefix)}
    return {**answers, **own}


def _read_sheet(sheet: Sheet, context: Context, style: DecimalStyle, answers: Mapping[str, str]) -> tuple[Draft, str]:
    """Read all entries of one sample; return the draft and the subject found."""
    draft = Draft()
    subject = _subject(sheet, context, answers)
    general = general_extractant(context.facts.notes, context.facts.extractant or sheet.facts.extractant)
    base = answers.get("basis", "").strip().replace(" ", "_")
    relative: list[tuple[Case, Reading, Analyte]] = []
    opened: list[Open] = []
    asked: dict[str, Where] = {}
    for entry in sheet.entries:
        case = Case(entry, style, subject, general, sheet.facts.unit or context.facts.unit, answers, asked)
        made = _determine(case, draft, relative)
        if made is not None:
            opened.append(made)
        draft.questions += case.questions
        draft.findings += case.findings
    draft.determinations = settle_basis(opened, subject, base, draft.questions, draft.findings)
    _resolve_relative(relative, draft)
    draft.determinations = without_repeats(draft.determinations, draft.questions, draft.findings, answers)
    _ask_subject(subject, draft)
    draft.findings += [_aside(one) for one in (*sheet.asides, *context.asides)]
    draft.questions = _distinct(draft.questions)
    return draft, subject


def _determine(case: Case, draft: Draft, relative: list[tuple[Case, Reading, Analyte]]) -> Open | None:
    """Return one entry as a determination whose basis may still be open; None where a question or finding stands."""
    analyte = analyte_in(case)
    if case.entry.phrase.guess is not None or analyte is not None:
        draft.recognised += 1
    if analyte is None or not analyte.quantity:
        return None
    reading = read_value(case)
    if reading is None:
        return None
    one = quantity(analyte.quantity)
    found = unit_in(case, one, reading)
    if found is None:
        return None
    if found.unit == "% of N":
        relative.append((case, reading, analyte))
        return None
    factor = factor_in(case, analyte, one, found)
    form = fraction_in(case, analyte, one, found) if factor is not None else None
    if factor is None or form is None:
        if factor is not None and not case.questions:
            draft.waiting.append(case.name)
        return None
    return _converted(case, analyte, one, found, reading, factor, form)


def _converted(
    case: Case,
    analyte: Analyte,
    one: Quantity,
    found: UnitReading,
    reading: Reading,
    factor: float,
    form: tuple[str, str],
) -> Open | None:
    """Return the determination in SI; None where its size is impossible."""

    def si(amount: float | None) -> float | None:
        return None if amount is None else si_value(amount, one, found.unit, factor)

    if _too_much(one, si(reading.value)):
        given = settle_doubt(case, _too_much_doubt(case, reading, found))
        if given is None or _too_much(one, si(given.value)):
            if given is not None:
                case.ask_again("value of", given.shown, ("a number", LEAVE_OUT))
            return None
        reading = given
    value = si(reading.value)
    if reading.censored != "no":
        _non_detect(case, reading, found)
    limit = value if reading.censored in ("below", "above", "trace") else None
    made = Determination(
        one.key,
        form[0],  # type: ignore[arg-type]
        value if reading.censored == "no" else None,
        "none",
        method=form[1],
        censored=reading.censored,
        limit=limit,
        replicates=tuple(si_value(amount, one, found.unit, factor) for amount in reading.replicates),
        sd=si(reading.sd),
        raw_name=case.name,
        raw_value=reading.shown,
        raw_unit=found.printed,
        confirmed=reading.confirmed,
        where=case.where,
    )
    return _turned(case, made, analyte, Open(made, case, found))


def _too_much(one: Quantity, value: float | None) -> bool:
    """Tell whether a share is above the whole."""
    whole = to_si(100.0, "%") * (1 + 1e-12)
    return value is not None and one.si_unit == "kg/kg" and one.key not in MAY_EXCEED_ONE and value > whole


def _too_much_doubt(case: Case, reading: Reading, found: UnitReading) -> Doubt:
    printed = f"{reading.shown} {found.printed}"
    text = say(
        "“{name}” is printed as {printed}, more than the whole. Which value holds?", name=case.name, printed=printed
    )
    finding = (
        "percent_over_100",
        say("“{name}” is more than the whole.", name=case.name),
        say("printed {printed}", printed=printed),
    )
    return Doubt(text, ("a number", LEAVE_OUT), "", finding)


def _non_detect(case: Case, reading: Reading, found: UnitReading) -> None:
    words = {
        "below": say("“{name}” was not found.", name=case.name),
        "trace": say("“{name}” was found in traces only.", name=case.name),
        "above": say("“{name}” is above the range of the method.", name=case.name),
    }
    limit = (
        say("limit {value:g} {printed}", value=reading.value, printed=found.printed)
        if reading.value is not None
        else say("no limit printed")
    )
    code = "non_detect" if reading.censored != "above" else "above_range"
    case.find(code, "note", words[reading.censored], say("printed {shown}; {limit}", shown=reading.shown, limit=limit))


def _turned(case: Case, made: Determination, analyte: Analyte, opened: Open) -> Open | None:
    """Return dry matter as moisture; a limit on dry matter has no plain meaning and is asked."""
    if analyte.role != "solids":
        return opened
    if made.value is None:
        case.ask(
            "value of",
            say("“{name}” is printed as {raw_value}. How much is it?", name=case.name, raw_value=made.raw_value),
            (LEAVE_OUT,),
        )
        return None
    twins = tuple(1.0 - one for one in made.replicates)
    return replace(opened, made=replace(made, value=1.0 - made.value, replicates=twins))


def _resolve_relative(relative: Sequence[tuple[Case, Reading, Analyte]], draft: Draft) -> None:
    """Turn shares of total nitrogen into contents, on the basis the nitrogen is printed on."""
    for case, reading, analyte in relative:
        totals = [one for one in draft.determinations if one.key == "N" and one.value is not None]
        if not totals or reading.value is None or reading.censored != "no":
            case.ask(
                "value of",
                say("“{name}” is a share of total nitrogen, which was not read.", name=case.name),
                (LEAVE_OUT,),
            )
            draft.questions += case.questions[-1:]
            continue
        share = to_si(reading.value, "%")
        for total in totals[: 1 if len({one.basis for one in totals}) == 1 else None]:
            if share > 1.0:
                continue
            draft.determinations.append(
                Determination(
                    analyte.quantity,
                    "none",
                    share * (total.value or 0.0),
                    total.basis,
                    method=f"share of {total.raw_name}",
                    raw_name=case.name,
                    raw_value=reading.shown,
                    raw_unit="% of total N",
                    where=case.where,
                )
            )


def _subject(sheet: Sheet, context: Context, answers: Mapping[str, str]) -> str:
    """Return soil or material; empty when nothing tells."""
    answer = answers.get("subject", "").strip().casefold()
    if answer in ("soil", "material"):
        return answer
    stated = [sheet.facts.subject, sheet.type_text, sheet.name]
    for texts in (*([one] for one in stated if one), [*context.facts.notes, *sheet.facts.notes]):
        found = subject_of(texts)
        if found in ("soil", "material"):
            return found
    sheets = {entry.grid.sheet for entry in sheet.entries if entry.grid.sheet}
    found = subject_of([one for one in sheets if one])
    return found if found in ("soil", "material") else _subject_by_analytes(sheet)


def _subject_by_analytes(sheet: Sheet) -> str:
    soil = material = 0
    for entry in sheet.entries:
        one = entry.phrase.guess
        extracts = [
            *entry.phrase.extractants,
            *(slug for text in entry.extra for slug in parse_phrase(text, "head").extractants),
        ]
        key = one.quantity if one else ""
        soil += key in ("buffer_pH", "CEC", "sand", "silt", "clay") or any(
            slug in ("mehlich3", "olsen", "bray1", "bray2", "ammonium_acetate", "morgan", "kelowna")
            for slug in extracts
        )
        material += key in ("moisture", "ash", "CN", "protein", "lignin") or (
            one is not None and one.species in ("P2O5", "K2O")
        )
    return "soil" if soil and not material else "material" if material and not soil else ""


def _ask_subject(subject: str, draft: Draft) -> None:
    if subject or not draft.waiting:
        return
    names = ", ".join(dict.fromkeys(draft.waiting))
    text = say(
        "Is this a sample of soil or of a material such as compost or grounds? {names} mean another thing in each.",
        names=names,
    )
    draft.questions.append(Question("subject", text, ("material", "soil")))


def _aside(one: Aside) -> Finding:
    words = {
        "qc_row_skipped": say("“{name}” is quality control, not a result; it was left out.", name=one.name),
        "unread_row": say(
            "The row of “{name}” belongs to no table that was understood; it was left out.", name=one.name
        ),
        "unread_column": say(
            "“{name}” holds numbers, and nothing says that they are results; they were left out.", name=one.name
        ),
    }
    return Finding(
        one.code,
        "warning" if one.code == "unread_row" else "note",
        words[one.code],
        say("at {where}", where=str(one.grid.where(one.cell))),
        about=one.name,
    )


def _distinct(questions: Sequence[Question]) -> list[Question]:
    """Return each question once, by its key."""
    return list({one.key: one for one in reversed(questions)}.values())[::-1]


def _report(path: Path, document: Document, context: Context, one: tuple[Sheet, Draft, str], count: int) -> LabReport:
    sheet, draft, subject = one
    facts, own = context.facts, sheet.facts
    findings = [*document.findings, *draft.findings]
    if count > 1:
        findings.append(
            Finding(
                "several_samples",
                "note",
                say("The file holds {count} samples; this is “{name}”.", count=count, name=sheet.name),
                path.name,
                about=sheet.name,
            )
        )
    return LabReport(
        path.name,
        sheet.name,
        subject_word(subject),
        lab=own.lab or facts.lab,
        sampled_on=own.sampled_on or facts.sampled_on,
        reported_on=own.reported_on or facts.reported_on,
        invented=facts.invented or own.invented or "invented" in sheet.name.casefold(),
        determinations=tuple(draft.determinations),
        questions=tuple(draft.questions),
        findings=tuple(findings),
    )
