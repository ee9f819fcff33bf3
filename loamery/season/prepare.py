"""From the garden folder to what the plan computes with: reports read, compositions combined, soils judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from loamery.bed.soil import SoilTest, soil_findings, soil_test
from loamery.errors import InputError, Where
from loamery.finding import Finding
from loamery.garden.model import Garden, ReportEntry
from loamery.garden.report import LabReport
from loamery.lab.checks import check_report
from loamery.lab.combine import compose
from loamery.lab.composition import Composition
from loamery.lab.limits import LimitAnswer, judge_limits
from loamery.lab.reading import read_report
from loamery.lab.settle import DOUBTFUL, settle
from loamery.reference import table
from loamery.say import joined, say

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Prepared:
    """A garden with everything laboratories said about it taken in.

    Parameters
    ----------
    reports : by material id; soil_reports : by bed id.
    compositions : by material id. soils : by bed id. limits : by material id.
    """

    garden: Garden
    reports: dict[str, tuple[LabReport, ...]]
    soil_reports: dict[str, tuple[LabReport, ...]]
    compositions: dict[str, Composition]
    soils: dict[str, SoilTest]
    limits: dict[str, tuple[LimitAnswer, ...]]
    findings: tuple[Finding, ...]


def prepare(garden: Garden, progress: Progress = lambda _: None) -> Prepared:
    """Return a garden with its reports read, its compositions combined and its soils judged.

    Raises
    ------
    InputError : a report file cannot be used; the text names the file and what to do.
    """
    progress("reading laboratory reports")
    reports: dict[str, tuple[LabReport, ...]] = {one.id: () for one in garden.materials}
    soil_reports: dict[str, tuple[LabReport, ...]] = {one.id: () for one in garden.beds}
    findings: list[Finding] = []
    for entry in (one for one in garden.reports if one.accepted):
        report = read_entry(garden, entry)
        if entry.material is not None:
            kind = garden.material(entry.material).kind
            report = settle(report.with_findings(tuple(check_report(report, kind))), entry)
            reports[entry.material] += (report,)
            about = garden.material(entry.material).name
        else:
            soil_reports[entry.bed or ""] += (report,)
            about = garden.bed(entry.bed or "").name
        findings += [replace(one, about=about) for one in _worth_telling(report)]
        findings += [_open_question(report, question.text, about) for question in report.questions]
    progress("combining reports with published ranges")
    compositions = {one.id: _composition(garden, one.id, reports[one.id]) for one in garden.materials}
    for one in garden.materials:
        findings += [
            replace(found, about=one.name) for found in compositions[one.id].findings if found.severity != "note"
        ]
    soils = {bed.id: _soil(garden, bed.id, soil_reports[bed.id]) for bed in garden.beds}
    for bed in garden.beds:
        findings += soil_findings(soils[bed.id], bed.name)
    limits = {one.id: _limits(garden, compositions[one.id], reports[one.id]) for one in garden.materials}
    findings += [
        _limit_finding(garden, key, answer) for key, answers in limits.items() for answer in answers if _tells(answer)
    ]
    return Prepared(garden, reports, soil_reports, compositions, soils, limits, tuple(_unique(findings)))


def read_entry(garden: Garden, entry: ReportEntry) -> LabReport:
    """Return the one sample an entry of reports.toml speaks of.

    Raises
    ------
    InputError : the file holds several samples and the entry names none of them, or one that is not there.
    """
    subject = {"subject": "soil" if entry.bed is not None else "material"}
    samples = read_report(Path(garden.folder) / entry.file, answers={**subject, **entry.answers})
    wanted = [one for one in samples if not entry.sample or one.sample == entry.sample]
    if len(wanted) == 1:
        return wanted[0]
    names = ", ".join(f"“{one.sample}”" for one in samples)
    raise InputError(
        say("sample “{sample}”", sample=entry.sample)
        if entry.sample
        else say("{count} samples in one file", count=len(samples)),
        where=Where(file=entry.file),
        expected=say("one of {names}", names=names),
        remedy=say("write the sample's name into reports.toml"),
    )


def _worth_telling(report: LabReport) -> list[Finding]:
    """Return the warnings of a report, without those that a value set aside or an open question already tells."""
    aside = {one.about for one in report.findings if one.code == "set_aside"}
    told = {*(ASKED if report.questions else ()), *(code for key in aside for code in FOLLOWS.get(key, ()))}
    return [
        one
        for one in report.findings
        if one.severity != "note" and one.code not in told and not (one.code in DOUBTFUL and one.about in aside)
    ]


FOLLOWS = {"N": ("implied_carbon", "cn_mismatch", "cn_out_of_range", "mineral_n_above_total", "protein_nitrogen")}
"""Findings that only repeat that a value is wrong which has been set aside."""
ASKED = ("date_in_value", "basis_not_stated", "unit_missing", "unreadable_value", "negative_value", "percent_over_100")
"""Findings of the reading that stand beside a question of their own."""


def _composition(garden: Garden, material: str, reports: Sequence[LabReport]) -> Composition:
    kind = garden.material(material).kind
    return compose(kind, reports, material=material, n=garden.info.draws, seed=garden.info.seed)


def _soil(garden: Garden, bed: str, reports: Sequence[LabReport]) -> SoilTest:
    return soil_test(bed, [one for one in garden.soil_values if one.bed == bed], reports)


def compost_limit_keys(garden: Garden) -> list[str]:
    """Return the keys of limits.csv that the garden's jurisdiction sets for what is spread."""
    row = next(row for row in table("jurisdictions") if row["key"] == garden.info.jurisdiction)
    return row["compost_limits"].split(";")[:1]


def _limits(garden: Garden, composition: Composition, reports: Sequence[LabReport]) -> tuple[LimitAnswer, ...]:
    """Judge each report by itself where there is one, otherwise the composition."""
    sources: Sequence[LabReport | Composition] = reports or (composition,)
    return tuple(answer for key in compost_limit_keys(garden) for one in sources for answer in judge_limits(one, key))


def _open_question(report: LabReport, text: str, about: str) -> Finding:
    return Finding(
        "question_open",
        "warning",
        say("A question about {name} is open; the value behind it is not used.", name=report.name),
        text,
        about=about,
        proposal=say("answer it in reports.toml (answers = {{ … }})"),
    )


def _unique(findings: Sequence[Finding]) -> list[Finding]:
    return list({(one.code, one.about, one.text, one.because): one for one in findings}.values())


def _tells(answer: LimitAnswer) -> bool:
    """Keep what a grower has to know: limits missed, and reporting limits too high to tell."""
    return answer.answer == "fails" or (answer.answer == "unknown" and answer.value is not None and answer.band is None)


def _limit_finding(garden: Garden, material: str, answer: LimitAnswer) -> Finding:
    return replace(answer.finding(), about=garden.material(material).name)


def barred_materials(prepared: Prepared) -> dict[str, Finding]:
    """Return the materials that miss a legal limit and are therefore kept out of the plan, with the reason."""
    out = {}
    for material, answers in prepared.limits.items():
        failed = [one for one in answers if one.answer == "fails"]
        if failed:
            name = prepared.garden.material(material).name
            out[material] = Finding(
                "material_barred",
                "stop",
                say("{name} is kept out of the plan: it misses a limit.", name=name),
                joined("; ", (one.text for one in failed)),
                tuple(dict.fromkeys(key for one in failed for key in one.sources)),
                about=name,
                proposal=say("have another load tested; some places allow restricted uses of such material"),
                caution=say(
                    "A compliance limit is not a health line. Follow local codes; ask a licensed professional."
                ),
            )
    return out
