"""Findings and traces: what was concluded, why, and where every number comes from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

Severity = Literal["note", "warning", "stop"]
SEVERITIES: tuple[Severity, ...] = ("note", "warning", "stop")


@dataclass(frozen=True)
class Band:
    """A value with its 90 % band, in the unit named beside it.

    Parameters
    ----------
    median, low, high : 50th, 5th and 95th percentile, low <= median <= high.
    unit : the unit all three are in, as printed.
    """

    median: float
    low: float
    high: float
    unit: str = ""

    def scaled(self, factor: float, unit: str) -> Band:
        """Return the band times a positive factor, in another unit."""
        return Band(self.median * factor, self.low * factor, self.high * factor, unit)

    def as_dict(self) -> dict[str, object]:
        """Return the band ready for JSON."""
        return {"median": self.median, "low": self.low, "high": self.high, "unit": self.unit}


@dataclass(frozen=True)
class Finding:
    """One computed statement.

    Parameters
    ----------
    code : stable lower-case name of the check, e.g. ``extractable_above_total``.
    severity : ``note``, ``warning`` or ``stop``.
    text : the statement in plain words.
    because : the evidence, with the numbers that led to it.
    sources : source keys of the reference data that the check rests on.
    about : what it is about (a determination, a bed, a material).
    proposal : a corrected value or an action that is proposed, never applied by itself.
    caution : a safety caution that goes with it.
    """

    code: str
    severity: Severity
    text: str
    because: str
    sources: tuple[str, ...] = ()
    about: str = ""
    proposal: str = ""
    caution: str = ""
    band: Band | None = None

    def as_dict(self) -> dict[str, object]:
        """Return the finding ready for JSON; the first five keys are a kept contract."""
        out: dict[str, object] = {
            "code": self.code,
            "severity": self.severity,
            "text": self.text,
            "because": self.because,
            "sources": list(self.sources),
        }
        out |= {key: value for key in ("about", "proposal", "caution") if (value := getattr(self, key))}
        if self.band is not None:
            out["band"] = self.band.as_dict()
        return out


def by_severity(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings with stops first, then warnings, then notes; order within a kind is kept."""
    return sorted(findings, key=lambda finding: -SEVERITIES.index(finding.severity))


@dataclass(frozen=True)
class Input:
    """One input of a traced number: a label, its value with unit, and where it was read or which trace made it."""

    label: str
    value: str
    where: str = ""
    trace: str = ""


@dataclass(frozen=True)
class Trace:
    """Where a number comes from.

    Parameters
    ----------
    id : stable name, unique within one ledger, e.g. ``composition/coffee/N``.
    title : what the number is, in plain words.
    value : the number as printed, with band and unit.
    equation : how it was computed, in one line a person can follow.
    inputs : what went in.
    sources : source keys of the reference data used.
    note : what is assumed or weak about it.
    """

    id: str
    title: str
    value: str
    equation: str
    inputs: tuple[Input, ...] = ()
    sources: tuple[str, ...] = ()
    note: str = ""

    def as_dict(self) -> dict[str, object]:
        """Return the trace ready for JSON."""
        return {
            "id": self.id,
            "title": self.title,
            "value": self.value,
            "equation": self.equation,
            "inputs": [vars(one) for one in self.inputs],
            "sources": list(self.sources),
            "note": self.note,
        }


@dataclass
class Ledger:
    """All traces of one computation, by id, in the order they were made."""

    traces: dict[str, Trace] = field(default_factory=dict)

    def add(self, trace: Trace) -> str:
        """Keep a trace and return its id; the same id again replaces the earlier one."""
        self.traces[trace.id] = trace
        return trace.id

    def merge(self, other: Ledger | Mapping[str, Trace]) -> None:
        """Take over every trace of another ledger."""
        self.traces.update(other.traces if isinstance(other, Ledger) else other)

    def __iter__(self) -> Iterator[Trace]:
        return iter(self.traces.values())

    def __contains__(self, key: object) -> bool:
        return key in self.traces

    def __getitem__(self, key: str) -> Trace:
        return self.traces[key]
