"""What a printed number counts: its unit, the species weighed, and whether it is the total or an extract."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from loamery.garden.report import Subject
from loamery.lab.case import LEAVE_OUT, Case, Reading
from loamery.lab.layout import Entry
from loamery.lab.spellings import UnitReading, extractant_of, has_forms, parse_phrase, parse_unit, plain_fraction
from loamery.lab.vocabulary import Analyte, analyte_table, norm
from loamery.names import Fraction, Quantity, quantities
from loamery.say import either, joined, say
from loamery.units import charge_mass, element_share, unit

UNIT_OPTIONS = {
    "kg/kg": ("%", "mg/kg", "g/kg", "lb/ton", "meq/100g"),
    "S/m": ("dS/m", "uS/cm", "mS/m"),
    "mol/kg": ("meq/100g", "mmol(+)/kg"),
    "kg/m3": ("kg/m3", "lb/yd3", "lb/ft3", "g/cm3"),
    "1/kg": ("MPN/g", "MPN/4 g", "CFU/g"),
    "m": ("mm", "cm", "um"),
    "1": ("ratio",),
}
"""Units offered where none is printed, by the SI unit of the quantity."""
DIMENSIONS = {
    "kg/kg": ("fraction",),
    "S/m": ("conductivity",),
    "mol/kg": ("charge",),
    "kg/m3": ("density",),
    "1/kg": ("count",),
    "m": ("length",),
    "1": ("ratio", "pH"),
}
CONTAMINANTS = ("As", "Ba", "Cd", "Co", "Cr", "Hg", "Ni", "Pb", "Se")
"""Elements whose plain name means the total in soil and in materials alike; soil tests for plants do not extract them."""


def analyte_in(case: Case) -> Analyte | None:
    """Return the analyte of an entry; None after a question or a finding where it is not certain."""
    phrase = case.entry.phrase
    one = phrase.analyte
    if one is not None and one.role != "left_out" and not _saturation(case.entry):
        return one
    if one is None and phrase.guess is not None and phrase.guess.role != "left_out" and phrase.unknown:
        words = joined(", ", (say("“{word}”", word=word) for word in phrase.unknown if word))
        text = say(
            "“{name}” holds words that were not understood ({words}). Which quantity is it?",
            name=case.name,
            words=words,
        )
        answer = case.ask("analyte", text, (phrase.guess.quantity, LEAVE_OUT), phrase.guess.quantity)
        return _named(case, answer, phrase.guess)
    if answer := case.answers.get(f"analyte {case.name}", "").strip():
        return _named(case, answer, one)
    why = (
        say("“{name}” is known but not kept; it was left out.", name=case.name)
        if one is not None
        else say("“{name}” is no analyte known here; it was left out.", name=case.name)
    )
    shown = ", ".join(cell.text for cell in case.entry.values)
    case.find("unknown_analyte", "note", why, say("printed value {shown}", shown=shown))
    return None


def _named(case: Case, answer: str, guess: Analyte | None) -> Analyte | None:
    """Return the analyte a person named, by glossary key or in any spelling that is known."""
    if not answer or answer.casefold() == LEAVE_OUT:
        return None
    if guess is not None and answer == guess.quantity:
        return guess
    found = Analyte(answer) if answer in quantities() else analyte_table().get(norm(answer))
    if found is None:
        case.ask_again("analyte", answer, ("a key of the glossary", LEAVE_OUT))
    return found


def _saturation(entry: Entry) -> bool:
    """Tell whether an entry stands in a section of shares of the exchange capacity."""
    return "saturation" in norm(entry.section) and "extract" not in norm(entry.section)


def unit_in(case: Case, one: Quantity, reading: Reading) -> UnitReading | None:
    """Return the unit of an entry; None after a question where none is printed or several disagree."""
    texts = [
        text for text in (reading.unit, *case.entry.units, *(unit.printed for unit in case.entry.phrase.units)) if text
    ]
    section = parse_phrase(case.entry.section, "statement").units if case.entry.section else ()
    if not texts:
        texts = [case.unit] if case.unit else [section[0].printed] if len(section) == 1 else []
    found = [parse_unit(text) for text in texts]
    if one.key in ("pH", "buffer_pH") and not reading.unit:
        return UnitReading("pH", texts[0] if texts else "")  # a unit in the head is meant for the others
    if one.key in ("pH", "buffer_pH", "CN") and all(unit is None or unit.unit in ("pH", "ratio", "") for unit in found):
        return UnitReading("ratio", texts[0] if texts else "")
    if not found:
        return _no_unit(case, one, reading)
    known = [unit for unit in found if unit is not None and unit.unit]
    if len(known) < len(found) or len({(unit.unit, unit.species) for unit in known}) > 1:
        return _odd_unit(case, one, texts, found)
    best = next((unit for unit in known if unit.basis), known[0])
    if len({unit.basis for unit in known if unit.basis}) > 1:
        best = replace(best, basis="both")
    if best.unit != "% of N" and not fits(best.unit, one):
        return _odd_unit(case, one, texts, found)
    return best


def fits(name: str, one: Quantity) -> bool:
    """Tell whether a unit can measure a quantity: a mass fraction, or charge for an exchangeable cation."""
    dimension = unit(name).dimension
    if dimension in DIMENSIONS.get(one.si_unit, ()):
        return True
    return dimension == "charge" and one.key in ("K", "Ca", "Mg", "Na", "Al")


def _no_unit(case: Case, one: Quantity, reading: Reading) -> UnitReading | None:
    from loamery.lab.proposals import propose_unit

    options = UNIT_OPTIONS.get(one.si_unit, ("%",))
    proposal = propose_unit(one, reading.value, options) if reading.value else ""
    text = say("“{name}” has the value {shown} and no unit. In which unit is it?", name=case.name, shown=reading.shown)
    found = _unit_answer(case, one, case.ask("unit of", text, options, proposal))
    if found is None:
        case.find(
            "unit_missing",
            "warning",
            say("“{name}” has no unit.", name=case.name),
            say("printed {shown}", shown=reading.shown),
            proposal,
        )
    return found


def _odd_unit(
    case: Case, one: Quantity, texts: Sequence[str], found: Sequence[UnitReading | None]
) -> UnitReading | None:
    options = UNIT_OPTIONS.get(one.si_unit, ("%",))
    notes = [unit.note for unit in found if unit is not None and not unit.unit and unit.note]
    what = joined(say(" and "), (say("“{word}”", word=text) for text in dict.fromkeys(texts)))
    why = say(" ({note})", note=notes[0]) if notes else ""
    text = say("“{name}” is printed in {what}{why}. In which unit is the value?", name=case.name, what=what, why=why)
    given = _unit_answer(case, one, case.ask("unit of", text, options))
    if given is None:
        case.find(
            "unit_missing",
            "warning",
            say("The unit of “{name}” is not certain.", name=case.name),
            say("printed {what}{why}", what=what, why=why),
        )
    return given


def _unit_answer(case: Case, one: Quantity, answer: str) -> UnitReading | None:
    """Return the unit a person gave; ask again where it cannot measure the quantity."""
    if not answer or answer.casefold() == LEAVE_OUT:
        return None
    given = parse_unit(answer)
    if given is None or not given.unit or (given.unit != "% of N" and not fits(given.unit, one)):
        case.ask_again("unit of", answer, UNIT_OPTIONS.get(one.si_unit, ("%",)))
        return None
    return given


def factor_in(case: Case, analyte: Analyte, one: Quantity, found: UnitReading) -> float | None:
    """Return the share of the quantity in the species that was weighed: 0.4364 for P2O5; None after a question."""
    choices = _species(analyte, found)
    if len(choices) > 1:
        options = tuple(say("as {choice}", choice=choice) for choice in choices)
        answer = case.ask(
            "form of", say("Does “{name}” count {value}?", name=case.name, value=either(choices)), options
        )
        choices = [choice for choice in choices if norm(choice) in norm(answer).split()]
        if answer and len(choices) != 1:
            case.ask_again("form of", answer, options)
        if len(choices) != 1:
            return None
    species = choices[0] if choices else ""
    if not species or species == one.formula or one.key in ("C", "CCE", "CaCO3", "CrVI"):
        return 1.0
    share = element_share(one.formula, species) if one.formula else 0.0
    if share <= 0.0:
        text = say(
            "“{name}” is printed in {printed}, which counts another element. In which unit is it?",
            name=case.name,
            printed=found.printed,
        )
        case.ask("unit of", text, UNIT_OPTIONS["kg/kg"])
        return None
    return share


def _species(analyte: Analyte, found: UnitReading) -> list[str]:
    """Return the species that may have been weighed: the name's, narrowed by the unit's; several when they disagree."""
    named = [part for part in analyte.species.split("|") if part]
    if not found.species:
        return named
    if not named or (found.species in named and len(named) > 1):
        return [found.species]
    return list(dict.fromkeys([*named, found.species]))


def fraction_in(case: Case, analyte: Analyte, one: Quantity, found: UnitReading) -> tuple[Fraction, str] | None:
    """Return fraction and method; None after a question.

    In a material an unnamed form is the total; in soil it is asked, since soil tests are extracts.
    """
    method = _method(case, analyte)
    if not has_forms(one.key):
        return "none", method
    stated = _stated_fractions(case, analyte)
    if len(stated) > 1:
        return _asked_fraction(
            case, method, say("“{name}” is called both total and extractable. Which is it?", name=case.name)
        )
    if stated:
        return plain_fraction(stated.pop()), method
    return _unstated_fraction(case, one, found, method)


def _unstated_fraction(case: Case, one: Quantity, found: UnitReading, method: str) -> tuple[Fraction, str] | None:
    if case.subject == "soil" and case.general:
        return "extractable", method or case.general
    if found.unit in ("meq/100g", "mmol(+)/kg"):
        return "extractable", method
    bulky = found.unit in ("%", "g/kg", "lb/ton", "lb/100lb") or one.key in ("N", "C")
    if one.key in CONTAMINANTS:
        return "total", method
    if case.subject == "soil" and not (one.key == "N" and bulky):
        text = say("“{name}” in soil: is it the total, or what an extractant takes out?", name=case.name)
        return _asked_fraction(case, method, text, "extractable")
    if not case.subject and not bulky:
        return None  # waits for the question about the subject
    return "total", method


def _asked_fraction(case: Case, method: str, text: str, proposal: str = "") -> tuple[Fraction, str] | None:
    options = ("total", "extractable")
    answer = case.ask("form of", text, options, proposal)
    picked = [option for option in options if option in norm(answer).split()]
    if answer and len(picked) != 1:
        case.ask_again("form of", answer, options)
    return (plain_fraction(picked[0]), method) if len(picked) == 1 else None


def _stated_fractions(case: Case, analyte: Analyte) -> set[str]:
    """Return the fractions stated nearest to the value: its name, else its column, else its section."""
    entry = case.entry
    name = {part for part in (analyte.fraction, entry.phrase.fraction) if part}
    beside = {fraction for text in entry.extra if (fraction := parse_phrase(text, "head").fraction)}
    near = name | beside
    section = parse_phrase(entry.section, "statement").fraction if entry.section else ""
    found = near or ({section} if section else set())
    return {"total", "extractable"} if "both" in found else found


def _method(case: Case, analyte: Analyte) -> str:
    entry = case.entry
    section = parse_phrase(entry.section, "statement").methods if entry.section else ()
    parts = [analyte.method, *entry.phrase.methods, *entry.extra]
    own = list(dict.fromkeys(part for part in parts if part and part not in ("total", "extractable")))
    return ", ".join(own) or ", ".join(section)


def general_extractant(notes: Sequence[str], printed: str) -> str:
    """Return the one extractant that the head of a report names for all its results, empty if none or several."""
    if printed and extractant_of(printed):
        return printed
    slugs = {
        slug: phrase.methods[0]
        for note in notes
        if (phrase := parse_phrase(note, "statement")).extractants
        for slug in phrase.extractants
    }
    slugs.pop("water", None)
    return next(iter(slugs.values())) if len(slugs) == 1 else ""


def si_value(amount: float, one: Quantity, name: str, factor: float) -> float:
    """Return a printed amount in the SI unit of its quantity.

    Parameters
    ----------
    amount : in the unit `name`.
    factor : share of the quantity in the species weighed.
    """
    if unit(name).dimension == "charge" and one.si_unit == "kg/kg":
        return amount * unit(name).factor * charge_mass(one.formula)
    return amount * unit(name).factor * factor


def subject_word(value: str) -> Subject:
    """Return the subject of a report, material unless it is soil."""
    return "soil" if value == "soil" else "material"
