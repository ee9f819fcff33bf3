"""The label grade N - P2O5 - K2O of a sample: available today (extractable) and in the long run (total)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from loamery.finding import Finding, Trace
from loamery.garden.report import LabReport
from loamery.lab.sample import Figure, Side, as_input, figure, kjeldahl, moisture_of, total_nitrogen
from loamery.names import LABEL_TERMS, NUTRIENTS, quantity
from loamery.say import joined, say
from loamery.units import from_si, to_compound

When = Literal["long_run", "today"]
WHENS: tuple[When, ...] = ("long_run", "today")
SIDES: tuple[Side, ...] = ("dry", "as_received")
WHEN_WORDS = {"long_run": say("in the long run (total)"), "today": say("available today (extractable)")}
Grade = Mapping[str, float | None]


@dataclass(frozen=True)
class LabelGrade:
    """N, P2O5 and K2O of one sample in percent, both ways and on both bases.

    Parameters
    ----------
    long_run, today : by basis ``dry`` and ``as_received``, then by label term; None where it cannot be known.
    findings : what could not be known, and why.
    traces : where every number comes from.
    """

    long_run: Mapping[str, Grade]
    today: Mapping[str, Grade]
    findings: tuple[Finding, ...] = ()
    traces: tuple[Trace, ...] = field(default=(), repr=False)

    def as_dict(self) -> dict[str, dict[str, dict[str, float | None]]]:
        """Return the figures ready for JSON."""
        return {when: {side: dict(self.of(when)[side]) for side in SIDES} for when in WHENS}

    def of(self, when: When) -> Mapping[str, Grade]:
        """Return one of the two grades."""
        return self.long_run if when == "long_run" else self.today

    def text(self, when: When, side: Side = "dry") -> str:
        """Return a grade as printed on a sack, e.g. ``2.05 - 0.30 - 0.75``; a question mark where not known."""
        grade = self.of(when)[side]
        return " - ".join("?" if (one := grade[LABEL_TERMS[key]]) is None else f"{one:.3g}" for key in NUTRIENTS)


@dataclass(frozen=True)
class _Part:
    """One figure of a label: its parts (nitrogen may be a sum) and a remark."""

    parts: tuple[Figure, ...]
    remark: str = ""

    @property
    def value(self) -> float:
        return sum(one.value for one in self.parts)


def label_grade(report: LabReport) -> LabelGrade:
    """Return the label grade of a sample.

    Parameters
    ----------
    report : one sample; dry and as-received figures are turned into each other by its own moisture only.

    Returns
    -------
    Percent by mass of N, P2O5 and K2O. A value whose basis is not stated, or whose conversion needs a moisture that
    the report does not give, is None and a finding says so.
    """
    grades: dict[When, dict[str, dict[str, float | None]]] = {when: {side: {} for side in SIDES} for when in WHENS}
    traces: list[Trace] = []
    remarks: dict[str, None] = {}
    for when in WHENS:
        for side in SIDES:
            for key in NUTRIENTS:
                part = _total(report, key, side) if when == "long_run" else _available(report, key, side)
                grades[when][side][LABEL_TERMS[key]] = _percent(key, part)
                if part is not None:
                    traces.append(_trace(report, when, side, key, part))
                    if part.remark:
                        remarks[part.remark] = None
    findings = (*_gaps(report, grades), *(_remark(text, report) for text in remarks))
    return LabelGrade(grades["long_run"], grades["today"], findings, tuple(traces))


def _percent(key: str, part: _Part | None) -> float | None:
    return None if part is None else float(from_si(part.value * _factor(key), "%"))


def _factor(key: str) -> float:
    term = LABEL_TERMS[key]
    return 1.0 if term == key else to_compound(key, term)


def _total(report: LabReport, key: str, side: Side) -> _Part | None:
    if key != "N":
        found = figure(report, key, side)
        return None if found is None else _Part((found,))
    parts = total_nitrogen(report, side)
    if not parts or not kjeldahl(parts[0]):
        return _Part(parts) if parts else None
    whole = len(parts) > 1
    return _Part(
        parts,
        say("Total N is Kjeldahl nitrogen plus nitrate.")
        if whole
        else say("Total N is Kjeldahl nitrogen, which leaves nitrate out."),
    )


def _available(report: LabReport, key: str, side: Side) -> _Part | None:
    if key != "N":
        found = figure(report, f"{key}:extractable", side)
        return None if found is None else _Part((found,))
    mineral = {name: figure(report, name, side) for name in ("NH4_N", "NO3_N")}
    parts = tuple(one for one in mineral.values() if one is not None)
    missing = [quantity(name).label.lower() for name, one in mineral.items() if one is None]
    whole = figure(report, "N:extractable", side)
    if not missing or (parts and whole is None):
        remark = (
            say("Available N leaves out {missing}, which has no usable figure.", missing=missing[0]) if missing else ""
        )
        return _Part(parts, remark)
    return None if whole is None else _Part((whole,))


def _trace(report: LabReport, when: When, side: Side, key: str, part: _Part) -> Trace:
    term, basis = LABEL_TERMS[key], side.replace("_", " ")
    water = next((one.moisture for one in part.parts if one.moisture is not None), None)
    inputs = tuple(as_input(one) for one in part.parts) + (() if water is None else (as_input(water),))
    steps = [" + ".join(one.determination.key for one in part.parts)]
    if water is not None:
        steps.append(say("÷ (1 − moisture)") if side == "dry" else say("× (1 − moisture)"))
    if term != key:
        steps.append(say("× {factor:.4f} ({key} to {term})", factor=_factor(key), key=key, term=term))
    value = f"{from_si(part.value * _factor(key), '%'):.4g} %"
    title = say("{term} {when}, {basis}", term=term, when=WHEN_WORDS[when], basis=basis)
    name = f"label/{report.name}/{when}/{side}/{term}"
    return Trace(
        name,
        title,
        value,
        say("{term} = ", term=term) + joined(" ", steps),
        inputs,
        ("CIAAW",) * (term != key),
        part.remark,
    )


def _remark(text: str, report: LabReport) -> Finding:
    return Finding(
        "label_remark",
        "note",
        text,
        say("the figures of {name}", name=report.name),
        about="N",
    )


def _gaps(report: LabReport, grades: Mapping[When, Mapping[str, Mapping[str, float | None]]]) -> list[Finding]:
    return [
        one
        for one in (_no_basis(report), _no_moisture(report, grades), _no_extractable(report), _below_limit(report))
        if one is not None
    ]


def _no_moisture(report: LabReport, grades: Mapping[When, Mapping[str, Mapping[str, float | None]]]) -> Finding | None:
    lacking = [
        say("{term} {basis}", term=LABEL_TERMS[key], basis=side.replace("_", " "))
        for side, other in (SIDES, SIDES[::-1])
        for key in NUTRIENTS
        if grades["long_run"][side][LABEL_TERMS[key]] is None
        and grades["long_run"][other][LABEL_TERMS[key]] is not None
    ]
    if moisture_of(report) is not None or not lacking:
        return None
    return Finding(
        "no_moisture",
        "note",
        say("The report gives no moisture, so the other basis cannot be known."),
        say("not known: ") + joined(", ", lacking),
        about="moisture",
        proposal=say("Ask the laboratory for moisture, or weigh a sample before and after drying."),
    )


def _no_extractable(report: LabReport) -> Finding | None:
    keys = [key for key in NUTRIENTS if not _said_available(report, key)]
    if not keys:
        return None
    return Finding(
        "no_extractable",
        "note",
        say(
            "What is available today cannot be known for {join}: the report holds no extractable figure.",
            join=joined(", ", keys),
        ),
        say("extractable figures found for: ")
        + (", ".join(key for key in NUTRIENTS if key not in keys) or say("none")),
        about=", ".join(keys),
        proposal=say("Ask for ammonium and nitrate nitrogen and for extractable phosphorus and potassium."),
    )


def _said_available(report: LabReport, key: str) -> bool:
    names = ("NH4_N", "NO3_N", "N:extractable") if key == "N" else (f"{key}:extractable",)
    return any(report.all(name) for name in names)


def _label_keys() -> tuple[str, ...]:
    return (*NUTRIENTS, *(f"{key}:extractable" for key in NUTRIENTS), "NH4_N", "NO3_N")


def _no_basis(report: LabReport) -> Finding | None:
    names = [key for key in _label_keys() for one in report.all(key) if one.basis == "not_stated"]
    if not names:
        return None
    return Finding(
        "basis_not_stated",
        "warning",
        say("Figures whose basis is not stated are left out of the label grade."),
        say("basis not stated for ") + joined(", ", dict.fromkeys(names)),
        about=", ".join(dict.fromkeys(names)),
        proposal=say("Answer whether they are on dry matter or as received."),
    )


def _below_limit(report: LabReport) -> Finding | None:
    names = [key for key in _label_keys() if figure(report, key) is None and figure(report, key, censored=True)]
    if not names:
        return None
    return Finding(
        "non_detect",
        "note",
        say("Some figures are below the reporting limit; the label grade shows them as not known, not as zero."),
        say("below the limit: ") + joined(", ", names),
        ("HELSEL",),
        about=", ".join(names),
    )
