"""One printed entry on its way to a determination: what is known around it, what was asked, what was found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from loamery.errors import Where
from loamery.finding import Finding, Severity
from loamery.garden.report import Censoring, Question
from loamery.lab.cells import DecimalStyle
from loamery.lab.layout import Entry
from loamery.say import say

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
    asked : the questions of the sample so far, with the place each is about; shared by all its entries.
    """

    entry: Entry
    style: DecimalStyle
    subject: str
    general: str
    unit: str
    answers: Mapping[str, str]
    asked: dict[str, Where] = field(default_factory=dict)
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

    def ask(self, kind: str, text: str, options: Sequence[str], proposal: str = "") -> str:
        """Return the answer a person gave; without one, ask and return an empty string.

        An answer belongs to one place: a second question about the same name gets a key of its own.
        """
        key = self._key(f"{kind} {self.name}", whole_row=kind != "value of")
        answer = self.answers.get(key, "").strip()
        if not answer:
            self.questions.append(Question(key, text, tuple(options), proposal, self.where))
        return answer

    def ask_again(self, kind: str, answer: str, options: Sequence[str]) -> None:
        """Ask once more after an answer that cannot be used."""
        key = self._key(f"{kind} {self.name}", whole_row=kind != "value of")
        self.questions.append(
            Question(key, say("The answer “{answer}” cannot be used.", answer=answer), tuple(options), "", self.where)
        )

    def _key(self, key: str, *, whole_row: bool) -> str:
        here = self.where
        first = self.asked.setdefault(key, here)
        if first == here or (whole_row and (first.sheet, first.page, first.row) == (here.sheet, here.page, here.row)):
            return key
        place = str(replace(here, file=None))
        return f"{key} ({place})"

    def find(self, code: str, severity: Severity, text: str, because: str, proposal: str = "") -> None:
        """Keep a finding about this entry."""
        self.findings.append(
            Finding(
                code,
                severity,
                text,
                say("{because} ({where})", because=because, where=str(self.where)),
                about=self.name,
                proposal=proposal,
            )
        )


@dataclass(frozen=True)
class Reading:
    """The value of an entry before units: numbers as printed, or as a person confirmed them."""

    value: float | None
    censored: Censoring = "no"
    replicates: tuple[float, ...] = ()
    sd: float | None = None
    unit: str = ""
    shown: str = ""
    confirmed: bool = False
