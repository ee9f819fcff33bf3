"""What a laboratory said: one report, its determinations, and the questions its reading left open."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from loamery.errors import Where
from loamery.finding import Finding
from loamery.names import Basis, Fraction, quantity

Censoring = Literal["no", "below", "above", "trace"]
Subject = Literal["material", "soil"]


@dataclass(frozen=True)
class Determination:
    """One analyte of one sample, as the laboratory reported it, with the unit already turned into SI.

    Parameters
    ----------
    quantity : key of the glossary, e.g. ``P``. Oxides and ions are already turned into the element they count.
    fraction : ``total``, ``extractable``, or ``none`` where the distinction does not apply (pH, moisture).
    method : extractant or method as printed, empty if none.
    value : in the quantity's SI unit (kg/kg for concentrations) on the basis named; None for a non-detect without
        a limit. For a non-detect it is None and `limit` holds the reporting limit.
    basis : ``dry``, ``as_received``, ``not_stated``, or ``none`` where no basis applies.
    censored : ``below`` a reporting limit, ``above`` a range, ``trace``, or ``no``.
    limit : the reporting limit, SI, same basis.
    replicates : replicate values, SI, same basis, if the report prints them.
    sd : standard deviation the laboratory states, SI, same basis.
    raw_name, raw_value, raw_unit : exactly what was printed.
    confirmed : a person has said that the value is right; no check sets it aside any more.
    where : file, sheet or page, row and column.
    """

    quantity: str
    fraction: Fraction
    value: float | None
    basis: Basis
    method: str = ""
    censored: Censoring = "no"
    limit: float | None = None
    replicates: tuple[float, ...] = ()
    sd: float | None = None
    raw_name: str = ""
    raw_value: str = ""
    raw_unit: str = ""
    confirmed: bool = False
    where: Where = field(default_factory=Where)

    @property
    def key(self) -> str:
        """Return the key under which compositions hold it: ``P`` for total, ``P:extractable`` for extractable."""
        return composition_key(self.quantity, self.fraction)

    @property
    def label(self) -> str:
        """Return its name in words."""
        name = quantity(self.quantity).label
        return f"{name}, extractable" if self.fraction == "extractable" else name


def composition_key(quantity_key: str, fraction: str) -> str:
    """Return the key of a quantity in a composition."""
    return f"{quantity_key}:extractable" if fraction == "extractable" else quantity_key


@dataclass(frozen=True)
class Question:
    """Something the reading could not settle; a person answers it before the value counts.

    Parameters
    ----------
    key : what an answer refers to, stable for the same file, e.g. ``basis`` or ``row 7``.
    text : the question in plain words.
    options : answers that are understood.
    proposal : the answer the evidence points to, empty if none; never applied by itself.
    """

    key: str
    text: str
    options: tuple[str, ...]
    proposal: str = ""
    where: Where = field(default_factory=Where)

    def as_dict(self) -> dict[str, object]:
        """Return the question ready for JSON."""
        return {
            "key": self.key,
            "text": self.text,
            "options": list(self.options),
            "proposal": self.proposal,
            "where": self.where.as_dict(),
        }


@dataclass(frozen=True)
class LabReport:
    """One sample of one laboratory document.

    Parameters
    ----------
    file : file name as given.
    sample : sample name or number, empty if the file holds one unnamed sample.
    subject : ``material`` or ``soil``.
    lab, sampled_on, reported_on : as printed, dates in ISO form, empty if not printed.
    invented : the file says of itself that it is invented (demo and tests).
    determinations : everything that was read with certainty.
    questions : everything that was not.
    findings : notes and warnings of the reading itself (mangled dates, unknown rows left out ...).
    """

    file: str
    sample: str = ""
    subject: Subject = "material"
    lab: str = ""
    sampled_on: str = ""
    reported_on: str = ""
    invented: bool = False
    determinations: tuple[Determination, ...] = ()
    questions: tuple[Question, ...] = ()
    findings: tuple[Finding, ...] = ()

    def get(self, key: str) -> Determination | None:
        """Return the first determination under a composition key, or None."""
        return next((one for one in self.determinations if one.key == key), None)

    def all(self, key: str) -> tuple[Determination, ...]:
        """Return every determination under a composition key."""
        return tuple(one for one in self.determinations if one.key == key)

    def with_findings(self, findings: tuple[Finding, ...]) -> LabReport:
        """Return the report with more findings."""
        return replace(self, findings=self.findings + findings)

    @property
    def name(self) -> str:
        """Return file and sample in one short name."""
        return f"{self.file} · {self.sample}" if self.sample else self.file
