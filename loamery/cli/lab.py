"""``loamery lab``: read a report, show the review table, the label grade and the findings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loamery.cli.show import console, literal, number, pairs, print_findings, print_json, print_table
from loamery.errors import InputError, Where
from loamery.finding import Finding, by_severity
from loamery.units import PREFERRED, System, convert, from_si

if TYPE_CHECKING:
    from loamery.garden.report import Determination, LabReport
    from loamery.lab.label import LabelGrade
    from loamery.lab.limits import LimitAnswer

EVERY = "all"


def run(
    file: Path,
    material: str | None,
    sample: str | None,
    answers: Sequence[str],
    limits: str | None,
    system: System,
    json: bool,
) -> None:
    """Read a laboratory report and print what it says; the JSON document is the same in every system of units."""
    from loamery.lab.reading import read_report

    if material is not None:
        _known_material(material)
    limit_keys = _limit_keys(limits)
    reports = read_report(file, answers=pairs(answers, "--answer"))
    chosen = _chosen(file, reports, sample)
    looked_at = [_look(one, material, limit_keys) for one in chosen]
    if json:
        documents = [one.document() for one in looked_at]
        print_json(documents[0] if sample != EVERY else {"format": FORMAT, "file": file.name, "samples": documents})
        return
    for one in looked_at:
        one.print(system)


FORMAT = "loamery lab 1"
TERMS = ("N", "P2O5", "K2O")


def _known_material(slug: str) -> None:
    from loamery.errors import UnknownName
    from loamery.garden.rows import nearest
    from loamery.reference import table

    slugs = [row["slug"] for row in table("materials")]
    if slug not in slugs:
        near = nearest(slug, slugs)
        raise UnknownName(
            f"material “{slug}”",
            where=Where(column="--material"),
            expected="a reference material: " + ", ".join(slugs),
            remedy=f"did you mean “{near}”?" if near else "choose one of these, or leave --material out",
        )


def _limit_keys(jurisdiction: str | None) -> tuple[str, ...]:
    if jurisdiction is None:
        return ()
    from loamery.errors import UnknownName
    from loamery.reference import table

    rows = {row["key"]: row for row in table("jurisdictions")}
    if jurisdiction not in rows:
        raise UnknownName(
            f"limits of “{jurisdiction}”",
            where=Where(column="--limits"),
            expected="one of " + ", ".join(rows),
            remedy="choose one of these",
        )
    row = rows[jurisdiction]
    return tuple(key for column in ("compost_limits", "hygiene_limits") for key in row[column].split(";") if key)


def _chosen(file: Path, reports: Sequence[LabReport], sample: str | None) -> Sequence[LabReport]:
    if sample == EVERY:
        return reports
    wanted = [one for one in reports if sample is None or one.sample == sample]
    if len(wanted) == 1:
        return wanted
    names = ", ".join(f"“{one.sample}”" for one in reports)
    raise InputError(
        f"{len(reports)} samples" if sample is None else f"sample “{sample}”",
        where=Where(file=file.name),
        expected=f"one of {names}",
        remedy=f"name it with --sample, or take them all with --sample {EVERY}",
    )


class _Look:
    """One sample with everything there is to say of it."""

    def __init__(
        self, report: LabReport, grade: LabelGrade, findings: Sequence[Finding], limits: Sequence[LimitAnswer]
    ) -> None:
        self.report, self.grade, self.findings, self.limits = report, grade, findings, limits

    def document(self) -> dict[str, Any]:
        """Return the sample as a JSON document; docs/lab.md describes it."""
        report = self.report
        kept = ("file", "sample", "subject", "lab", "sampled_on", "reported_on", "invented")
        return {
            "format": FORMAT,
            **{key: getattr(report, key) for key in kept},
            "label_grade": self.grade.as_dict(),
            "determinations": [_determination(one) for one in report.determinations],
            "questions": [one.as_dict() for one in report.questions],
            "findings": [one.as_dict() for one in self.findings],
            "limits": [one.as_dict() for one in self.limits],
            "traces": [one.as_dict() for one in self.grade.traces],
        }

    def print(self, system: System) -> None:
        """Print the review table, the open questions, the label grade, the limits and the findings."""
        report, out = self.report, console()
        made = ", ".join(filter(None, (report.lab, report.sampled_on and f"sampled {report.sampled_on}")))
        out.print(
            f"[bold]{literal(report.name)}[/]  {literal(made)}{'  [yellow](invented)[/]' if report.invented else ''}\n"
        )
        head = ("analyte", "as printed", "read as", "basis", "method", "place")
        print_table("What was read", head, [_review_row(one, system) for one in report.determinations], ("read as",))
        for question in report.questions:
            proposal = f"  [dim](the evidence points to {literal(question.proposal)})[/]" if question.proposal else ""
            out.print(f"[bold yellow]question[/]  {literal(question.text)}{proposal}")
            out.print(
                f'          [dim]--answer "{literal(question.key)}=…"   {literal(" | ".join(question.options))}[/]'
            )
        if report.questions:
            out.print()
        if report.subject == "material":
            self._print_grade(system)
        if self.limits:
            rows = [
                (one.parameter, one.answer, number(one.value), f"{one.limit:g} {one.unit}", one.instrument)
                for one in self.limits
            ]
            print_table(
                "Held against limits", ("parameter", "answer", "value", "limit", "instrument"), rows, ("value",)
            )
        print_findings(self.findings)

    def _print_grade(self, system: System) -> None:
        unit = "lb/ton" if system == "us" else "%"
        words = {"long_run": "in the long run (total)", "today": "available today (extractable)"}
        rows = []
        for when, sides in self.grade.as_dict().items():
            for side, grade in sides.items():
                figures = (None if (one := grade[term]) is None else convert(one, "%", unit) for term in TERMS)
                rows.append((words[when], side.replace("_", " "), *(number(one, 4) for one in figures)))
        terms = tuple(f"{term} {unit}" for term in TERMS)
        print_table("Label grade", ("", "basis", *terms), rows, terms)


def _look(report: LabReport, material: str | None, limit_keys: Sequence[str]) -> _Look:
    from loamery.lab.checks import check_report
    from loamery.lab.label import label_grade
    from loamery.lab.limits import judge_limits

    grade = label_grade(report)
    findings = [*report.findings, *check_report(report, material)]
    if report.subject == "material":
        findings += grade.findings
    limits = [answer for key in dict.fromkeys(limit_keys) for answer in judge_limits(report, key)]
    return _Look(report, grade, by_severity(findings), limits)


def _determination(one: Determination) -> dict[str, Any]:
    kept = (
        "quantity",
        "fraction",
        "method",
        "value",
        "basis",
        "censored",
        "limit",
        "sd",
        "raw_name",
        "raw_value",
        "raw_unit",
    )
    from loamery.names import quantity

    return {
        "key": one.key,
        **{key: getattr(one, key) for key in kept},
        "unit": quantity(one.quantity).si_unit,
        "replicates": list(one.replicates),
        "where": one.where.as_dict(),
    }


def _review_row(one: Determination, system: System) -> tuple[str, ...]:
    from loamery.names import quantity

    unit = quantity(one.quantity).display_unit
    unit = PREFERRED["density"][system] if one.quantity == "bulk_density" else unit
    value = one.value if one.censored == "no" else one.limit
    mark = {"below": "< ", "above": "> ", "trace": "trace ", "no": ""}[one.censored]
    shown = "–" if value is None else f"{mark}{number(from_si(value, unit), 4)} {'' if unit == 'pH' else unit}".strip()
    printed = f"{one.raw_name}: {one.raw_value} {one.raw_unit}".strip()
    place = f"row {one.where.row}" if one.where.row else ""
    return (one.label, printed, shown, one.basis.replace("_", " "), one.method, place)
