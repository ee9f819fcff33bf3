"""Trace elements and hygiene against a legal limit: passes, fails, or cannot be told.

A reporting limit above the legal limit never passes, and what was not measured is not known to pass.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Literal

from loamery.errors import UnknownName
from loamery.finding import Band, Finding, Severity
from loamery.garden.report import LabReport
from loamery.lab.composition import Composition
from loamery.lab.sample import Figure, figure
from loamery.names import quantities, quantity
from loamery.reference import family
from loamery.say import Said, say
from loamery.uncertain import band
from loamery.units import to_si, unit, units

Answer = Literal["passes", "fails", "unknown"]
PARTS_OF = {"CrVI": "Cr"}
"""Limits on one form of an element: the whole element below the limit proves the form to be below it."""
ONE_FORM = "limit is for inorganic"
"""Words by which a limit row says that it counts one form while laboratories report the whole element."""
MEASURED_ON = ("compost", "material", "soil", "hygiene")
"""Rows that speak of a concentration; the others (loadings, process times) are not judged from a sample."""
CAUTION = say("A compliance limit is not a health line; follow local codes and ask a licensed professional.")


@dataclass(frozen=True)
class LimitAnswer:
    """One limit and what a sample or a composition says to it.

    Parameters
    ----------
    parameter : as named in the limit, e.g. ``Cd`` or ``fecal_coliform``.
    answer : ``passes``, ``fails`` or ``unknown``.
    limit, unit : as the instrument prints it.
    value : measured value or median, in that unit; the reporting limit for a non-detect; None when not measured.
    ratio : value over limit; None when there is no value or the limit is zero.
    band : 90 % band of the value, in that unit.
    text, because : the answer in words, and its evidence.
    """

    key: str
    parameter: str
    answer: Answer
    limit: float
    unit: str
    value: float | None
    ratio: float | None
    band: Band | None
    text: str
    because: str
    instrument: str
    sources: tuple[str, ...]
    read: str = "found"
    note: str = ""

    def as_dict(self) -> dict[str, object]:
        """Return the answer ready for JSON."""
        out: dict[str, object] = {key: value for key, value in vars(self).items() if key not in ("band", "sources")}
        return out | {"band": self.band.as_dict() if self.band else None, "sources": list(self.sources)}

    def finding(self) -> Finding:
        """Return the answer as a finding."""
        codes: dict[Answer, tuple[str, Severity]] = {
            "passes": ("limit_met", "note"),
            "fails": ("limit_exceeded", "stop"),
            "unknown": ("limit_unknown", "warning"),
        }
        code, severity = codes[self.answer]
        caution = CAUTION if self.answer != "passes" else ""
        return Finding(
            code, severity, self.text, self.because, self.sources, self.parameter, "", caution, band=self.band
        )


@dataclass(frozen=True)
class _Seen:
    """What is known of a parameter, in the unit of the limit."""

    value: float | None
    band: Band | None
    how: str
    below: bool = False
    only_published: bool = False


@cache
def limit_rows(limit_key: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a limit that speak of a measured concentration or count.

    Raises
    ------
    UnknownName : no such limit.
    """
    rows = [row for row in family("limits") if row["key"] == limit_key]
    if not rows:
        known = ", ".join(dict.fromkeys(row["key"] for row in family("limits")))
        raise UnknownName(
            say("limit “{limit_key}”", limit_key=limit_key),
            expected=say("one of {known}", known=known),
            remedy=say("choose one of these"),
        )
    return tuple(row for row in rows if row["applies_to"] in MEASURED_ON)


def judge_limits(source: LabReport | Composition, limit_key: str) -> tuple[LimitAnswer, ...]:
    """Return whether a sample or a composition keeps every concentration and hygiene limit of an instrument.

    Parameters
    ----------
    source : a report (its printed values count) or a composition (its 90 % band counts).
    limit_key : key of limits.csv.

    Returns
    -------
    One answer for each limit; cumulative loadings and process conditions are not judged here.

    Raises
    ------
    UnknownName : no such limit.
    """
    return tuple(_judge(source, row) for row in limit_rows(limit_key))


def _judge(source: LabReport | Composition, row: dict[str, str]) -> LimitAnswer:
    limit, name = float(row["value"]), row["parameter"]
    seen = _seen(source, name, row)
    whole = PARTS_OF.get(name)
    part = ONE_FORM in row["note"]
    if seen is None and whole is not None:
        seen, part = _seen(source, whole, row), True
    answer, text, because = _verdict(seen, limit, row, part)
    value = seen.value if seen else None
    return LimitAnswer(
        row["key"],
        name,
        answer,
        limit,
        row["unit"],
        value,
        value / limit if value is not None and limit > 0 else None,
        seen.band if seen else None,
        text,
        because,
        f"{row['instrument']}, {row['class']}",
        (row["source"],),
        row["read"],
        row["note"],
    )


def _verdict(seen: _Seen | None, limit: float, row: dict[str, str], part: bool) -> tuple[Answer, str, str]:
    """Return the answer to a limit, in words, and its evidence."""
    against = say(
        "limit {limit:g} {row} ({row2}, {row3})",
        limit=limit,
        row=row["unit"],
        row2=row["instrument"],
        row3=row["class"],
    )
    name = _label(row["parameter"])
    if seen is None or seen.value is None:
        text = say("{name}: not known, no usable value.", name=name)
        return "unknown", text, say("not measured; {against}", against=against)
    answer, text = _judged(name, seen, seen.value, limit, row, part)
    return answer, text, say("{how}; {against}", how=seen.how, against=against)


def _judged(
    name: str, seen: _Seen, value: float, limit: float, row: dict[str, str], part: bool
) -> tuple[Answer, Said]:  # fmt: skip
    """Return the answer to a limit of what was seen, in words."""
    if seen.below:
        if value <= (limit or _one_in_portion(row["unit"])):
            return "passes", say("{name} passes: not detected, and the reporting limit is below the legal limit.", name=name)  # fmt: skip
        return "unknown", say("{name}: cannot tell, the reporting limit is above the legal limit.", name=name)
    low, high = (seen.band.low, seen.band.high) if seen.band else (value, value)
    if part and high > limit:
        return "unknown", say("{name}: cannot tell, only the whole element is known and it may be above.", name=name)
    figures = {"name": name, "seen": value, "limit": limit, "row": row["unit"]}
    # Hygiene limits are to be stayed below; concentration limits may be met exactly.
    if low > limit or (row["applies_to"] == "hygiene" and low >= limit > 0):
        return "fails", say("{name} fails: {seen:.3g} is above {limit:g} {row}.", **figures)
    if high > limit:
        return "unknown", say("{name} may pass: the band straddles the limit.", name=name)
    if seen.only_published:
        return "unknown", say("{name} may pass: published ranges lie below the limit, but nothing was measured.", name=name)  # fmt: skip
    return "passes", say("{name} passes: {seen:.3g} against {limit:g} {row}.", **figures)


def _label(parameter: str) -> str:
    known = quantities().get(parameter)
    return known.label if known is not None else parameter.replace("_", " ")


def _seen(source: LabReport | Composition, name: str, row: dict[str, str]) -> _Seen | None:
    factor = _factor(row["unit"])
    if name not in quantities() or factor is None or quantity(name).si_unit != _dimension(row["unit"]):
        return None
    if isinstance(source, Composition):
        return _of_composition(source, name, factor, row["unit"])
    return _of_report(source, name, factor, row["unit"])


def _of_composition(source: Composition, name: str, factor: float, unit_name: str) -> _Seen | None:
    if name not in source:
        return None
    one = source[name]
    width = band(one.draws, unit_name, 1.0 / factor)
    how = say(
        "{origin}: {median:.3g} ({low:.3g} to {high:.3g}) {unit_name}",
        origin=one.origin,
        median=width.median,
        low=width.low,
        high=width.high,
        unit_name=unit_name,
    )
    if one.detection_limit is not None:
        # Only non-detects: the published range must not make a sample pass that no laboratory could have caught.
        value = one.detection_limit / factor
        return _Seen(
            value,
            width,
            say(
                "never detected, reporting limit {value:.3g} {unit_name}; {how}",
                value=value,
                unit_name=unit_name,
                how=how,
            ),
            below=True,
        )
    return _Seen(width.median, width, how, only_published=one.origin == "published")


def _of_report(source: LabReport, name: str, factor: float, unit_name: str) -> _Seen | None:
    found = _worst(source, name)
    if found is None:
        return None
    made = found.determination
    printed = " ".join(part for part in (made.raw_value, made.raw_unit) if part)
    value = found.value / factor
    if found.censored:
        how = say("below the reporting limit {value:.3g} {unit_name}", value=value, unit_name=unit_name) + (
            say(" (printed {printed})", printed=printed) if printed else ""
        )
        return _Seen(value, None, how, below=True)
    spread = found.combined_sd / factor
    how = say(
        "measured {value:.4g} {unit_name}, laboratory standard uncertainty {spread:.2g}",
        value=value,
        unit_name=unit_name,
        spread=spread,
    )
    return _Seen(value, None, how + (say(" (printed {printed})", printed=printed) if printed else ""))


def _worst(source: LabReport, name: str) -> Figure | None:
    """Return the figure on dry matter; microbial counts stand as printed, whatever their basis."""
    if quantity(name).si_unit != "1/kg":
        return figure(source, name, censored=True)
    counts = list(_counts(source, name))
    return max(counts, key=lambda one: (not one.censored, one.value), default=None)


def _counts(source: LabReport, name: str) -> Iterator[Figure]:
    for one in source.all(name):
        amount = one.value if one.censored == "no" else one.limit
        if amount is not None and one.censored != "above":
            yield Figure(amount, 0.0, one)


def _factor(unit_name: str) -> float | None:
    """Return the SI value of a limit's unit; counts in any number of grams are understood."""
    if unit_name in units():
        return float(to_si(1.0, unit_name))
    counted = re.fullmatch(r"(?:MPN|CFU)/(\d+(?:\.\d+)?) ?g", unit_name)
    return float(to_si(1.0, "MPN/g")) / float(counted.group(1)) if counted else None


def _one_in_portion(unit_name: str) -> float:
    """Return one organism in the portion a limit of zero speaks of: "absent in 25 g" is met by fewer than one."""
    return 1.0 if re.match(r"(MPN|CFU)/\d", unit_name) else 0.0


def _dimension(unit_name: str) -> str:
    return unit(unit_name).si_unit if unit_name in units() else "1/kg"


def limit_findings(answers: tuple[LimitAnswer, ...]) -> tuple[Finding, ...]:
    """Return the answers as findings."""
    return tuple(one.finding() for one in answers)
