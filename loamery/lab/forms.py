"""What a printed number counts: its unit, the species weighed, and whether it is the total or an extract."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from loamery.garden.report import Question, Subject
from loamery.lab.entries import Case, Reading
from loamery.lab.spellings import UnitReading, extractant_of, has_forms, parse_phrase, parse_unit, plain_fraction
from loamery.lab.vocabulary import Analyte, norm
from loamery.names import Fraction, Quantity
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


def unit_in(case: Case, one: Quantity, reading: Reading) -> UnitReading | None:
    """Return the unit of an entry; None after a question where none is printed or several disagree."""
    if (answer := case.answers.get(f"unit of {case.name}", "").strip()) and (given := parse_unit(answer)) is not None:
        return given
    texts = [
        text for text in (reading.unit, *case.entry.units, *(unit.printed for unit in case.entry.phrase.units)) if text
    ]
    section = parse_phrase(case.entry.section, "statement").units if case.entry.section else ()
    if not texts:
        texts = [case.unit] if case.unit else [section[0].printed] if len(section) == 1 else []
    found = [parse_unit(text) for text in texts]
    if one.key in ("pH", "buffer_pH", "CN") and all(unit is None or unit.unit in ("pH", "ratio", "") for unit in found):
        return UnitReading("ratio", texts[0] if texts else "")
    if not found:
        _no_unit(case, one, reading)
        return None
    known = [unit for unit in found if unit is not None and unit.unit]
    if len(known) < len(found) or len({(unit.unit, unit.species) for unit in known}) > 1:
        _odd_unit(case, one, texts, found)
        return None
    best = next((unit for unit in known if unit.basis), known[0])
    if len({unit.basis for unit in known if unit.basis}) > 1:
        best = replace(best, basis="both")
    if best.unit != "% of N" and not fits(best.unit, one):
        _odd_unit(case, one, texts, found)
        return None
    return best


def fits(name: str, one: Quantity) -> bool:
    """Tell whether a unit can measure a quantity: a mass fraction, or charge for an exchangeable cation."""
    dimension = unit(name).dimension
    if dimension in DIMENSIONS.get(one.si_unit, ()):
        return True
    return dimension == "charge" and one.key in ("K", "Ca", "Mg", "Na", "Al")


def _no_unit(case: Case, one: Quantity, reading: Reading) -> None:
    from loamery.lab.proposals import propose_unit

    options = UNIT_OPTIONS.get(one.si_unit, ("%",))
    proposal = propose_unit(one, reading.value, options) if reading.value else ""
    case.ask(
        "unit of", f"“{case.name}” has the value {reading.shown} and no unit. In which unit is it?", options, proposal
    )
    case.find("unit_missing", "warning", f"“{case.name}” has no unit.", f"printed {reading.shown}", proposal)


def _odd_unit(case: Case, one: Quantity, texts: Sequence[str], found: Sequence[UnitReading | None]) -> None:
    options = UNIT_OPTIONS.get(one.si_unit, ("%",))
    notes = [unit.note for unit in found if unit is not None and not unit.unit and unit.note]
    what = " and ".join(f"“{text}”" for text in dict.fromkeys(texts))
    why = f" ({notes[0]})" if notes else ""
    case.ask("unit of", f"“{case.name}” is printed in {what}{why}. In which unit is the value?", options)
    case.find("unit_missing", "warning", f"The unit of “{case.name}” is not certain.", f"printed {what}{why}")


def factor_in(case: Case, analyte: Analyte, one: Quantity, found: UnitReading) -> float | None:
    """Return the share of the quantity in the species that was weighed: 0.4364 for P2O5; None after a question."""
    choices = _species(analyte, found)
    if len(choices) > 1:
        options = tuple(f"as {choice}" for choice in choices)
        text = f"Does “{case.name}” count {' or '.join(choices)}?"
        answer = case.answers.get(f"form of {case.name}", "").strip()
        picked = [choice for choice in choices if norm(answer) in (norm(choice), norm(f"as {choice}"))]
        if not picked:
            case.ask("form of", text, options) if not answer else case.questions.append(
                Question(f"form of {case.name}", text, options, "", case.where)
            )
            return None
        choices = picked
    species = choices[0] if choices else ""
    if not species or species == one.formula or one.key in ("C", "CCE", "CaCO3", "CrVI"):
        return 1.0
    share = element_share(one.formula, species) if one.formula else 0.0
    if share <= 0.0:
        case.ask(
            "unit of",
            f"“{case.name}” is printed in {found.printed}, which counts another element. In which unit is it?",
            UNIT_OPTIONS["kg/kg"],
        )
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
    answer = norm(case.answers.get(f"form of {case.name}", ""))
    if answer in ("total", "extractable"):
        return plain_fraction(answer), method
    stated = _stated_fractions(case, analyte)
    options = ("total", "extractable")
    if len(stated) > 1:
        case.ask("form of", f"“{case.name}” is called both total and extractable. Which is it?", options)
        return None
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
        case.ask(
            "form of",
            f"“{case.name}” in soil: is it the total, or what an extractant takes out?",
            ("total", "extractable"),
            "extractable",
        )
        return None
    if not case.subject and not bulky:
        return None  # waits for the question about the subject
    return "total", method


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
