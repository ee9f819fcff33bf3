"""Laboratory reports: upload, look through what was read, answer what is not certain, accept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET

from loamery.errors import GardenError, InputError, LoameryError
from loamery.finding import Finding
from loamery.garden.model import Garden as Snapshot
from loamery.garden.report import Determination, LabReport
from loamery.lab.checks import check_report
from loamery.lab.reading import read_report
from loamery.lab.settle import AS_PRINTED, DOUBTFUL, LEAVE_OUT, settle
from loamery.names import quantity
from loamery.units import from_si
from loamery.web.pages.seeing import show, sight_of
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import quantity_name, told
from loamery.web.people.access import member
from loamery.web.people.limits import UPLOADS, limited
from loamery.web.people.roles import Role
from loamery.web.records import files, ledger
from loamery.web.records.models import KINDS, Entry
from loamery.web.refusals import in_words

SIDES = {
    "dry": gettext_lazy("dry"),
    "as_received": gettext_lazy("as received"),
    "not_stated": gettext_lazy("not stated"),
    "none": "",
}
DESCRIBED = ("a number", "lo-hi", "<limit", "a key of the glossary")
"""Options of a question that say what may be typed; the others can be picked as they are."""
FRACTIONS = {"total": gettext_lazy("total"), "extractable": gettext_lazy("extractable"), "none": ""}


class UploadForm(forms.Form):
    """A laboratory's file and what it is about."""

    file = forms.FileField(
        label=gettext_lazy("File of the laboratory"),
        widget=forms.ClearableFileInput(attrs={"accept": ",".join(files.REPORTS)}),
        help_text=gettext_lazy("CSV, XLSX, or PDF with tables; at most 15 MB."),
    )
    about = forms.ChoiceField(label=gettext_lazy("What it is about"))

    def __init__(self, now: Snapshot, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        materials = [(f"material:{one.id}", told(one.name)) for one in now.materials]
        beds = [(f"bed:{one.id}", one.name) for one in now.beds]
        self.fields["about"].choices = [(_("A material"), materials), (_("The soil of a bed"), beds)]


@dataclass(frozen=True)
class Looked:
    """A report as it was read: one sample of it, and why it could not be when it could not."""

    report: LabReport | None = None
    samples: tuple[str, ...] = ()
    failure: str = ""
    found: tuple[Finding, ...] = field(default_factory=tuple)


@member(Role.READER)
@require_GET
def reports(request: HttpRequest) -> HttpResponse:
    """Show all laboratory reports of the garden."""
    found = (
        KINDS["reports"]
        .objects.filter(garden=request.garden)
        .select_related("material", "bed")
        .order_by("accepted", "-pk")
    )
    rows = [
        {
            "pk": one.pk,
            "file": one.file.rsplit("/", 1)[-1],
            "about": (one.material or one.bed).name,
            "accepted": one.accepted,
        }
        for one in found
    ]
    return show(request, "reports.html.j2", None, rows=rows)


@member(Role.GROWER)
@limited(UPLOADS)
def upload(request: HttpRequest) -> HttpResponse:
    """Take a laboratory's file; it does not count before it was looked through."""
    sight = sight_of(request)
    about = {"about": f"material:{request.GET['material']}"} if "material" in request.GET else {}
    form = UploadForm(sight.garden, request.POST or None, request.FILES or None, initial=about)
    if request.method == "POST" and form.is_valid():
        try:
            path = files.keep(request.garden, form.cleaned_data["file"], "reports", request.user)
            kind, _colon, key = form.cleaned_data["about"].partition(":")
            entry = ledger.add(request.garden, "reports", {"file": path, kind: key, "accepted": False}, request.user)
        except GardenError as error:
            for fault in error.faults:
                form.add_error("file", in_words(fault))
        except InputError as error:
            form.add_error("file", in_words(error))
        else:
            return redirect("pages:review", request.garden.slug, entry.pk)
    return show(request, "upload.html.j2", None, status=422 if form.errors else 200, form=form)


def look(sight: Sight, entry: Entry) -> Looked:
    """Read a report as it stands, with the answers given so far."""
    path = entry.garden.folder / entry.file
    subject = {"subject": "soil" if entry.bed is not None else "material"}
    try:
        samples = read_report(path, answers={**subject, **entry.answers})
    except LoameryError as error:
        return Looked(failure=str(error))
    names = tuple(one.sample for one in samples)
    report = next((one for one in samples if one.sample == entry.sample), samples[0])
    found: tuple[Finding, ...] = ()
    if entry.material is not None:
        report = report.with_findings(tuple(check_report(report, entry.material.kind)))
        found = report.findings
        try:
            report = settle(report, entry.said)  # type: ignore[arg-type]
        except LoameryError as error:
            return Looked(report, names if len(names) > 1 else (), str(error), found)
    return Looked(report, names if len(names) > 1 else (), "", found)


@member(Role.GROWER)
def review(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what was read of a report, take answers, accept it or take it out."""
    table = KINDS["reports"]
    entry = table.objects.filter(garden=request.garden, pk=pk).select_related("garden", "material", "bed").first()
    if entry is None:
        raise Http404
    if request.method == "POST":
        try:
            return _answered(request, entry)
        except GardenError as error:
            messages.error(request, " ".join(in_words(one) for one in error.faults))
    sight = sight_of(request)
    return show(request, "review.html.j2", None, **_review(sight, entry))


def _answered(request: HttpRequest, entry: Entry) -> HttpResponse:
    what = request.POST.get("do", "")
    if what == "remove":
        ledger.remove(entry, request.user)
        messages.success(request, _("Taken out. The history of changes can bring it back."))
        return redirect("pages:reports", request.garden.slug)
    if what == "accept":
        sight = sight_of(request)
        looked = look(sight, entry)
        if looked.report is None or looked.failure:
            messages.error(request, in_words(looked.failure))
        else:
            sample = {"sample": looked.report.sample} if looked.samples and not entry.sample else {}
            ledger.edit(entry, {"accepted": True, **sample}, request.user)
            messages.success(request, _("Accepted. It counts from the next plan on."))
    elif what == "sample":
        ledger.edit(entry, {"sample": request.POST.get("sample", "")}, request.user)
    elif what == "answer":
        given = {
            name.removeprefix("answer:"): _meant(value.strip())
            for name, value in request.POST.items()
            if name.startswith("answer:")
        }
        kept = {**entry.answers, **given}
        ledger.edit(entry, {"answers": {name: value for name, value in kept.items() if value}}, request.user)
    return redirect("pages:review", request.garden.slug, entry.pk)


def _meant(answer: str) -> str:
    """Return an answer as `settle` knows it, whatever language it was picked in."""
    return next((one for one in (AS_PRINTED, LEAVE_OUT) if answer.casefold().replace("'", "’") == told(one)), answer)


def _choice(option: str) -> str:
    """Return an option of a question in the person's language."""
    return str(SIDES.get(option) or FRACTIONS.get(option) or told(option))


def _review(sight: Sight, entry: Entry) -> dict[str, Any]:
    looked = look(sight, entry)
    report = looked.report
    out: dict[str, Any] = {
        "pk": entry.pk, "file": entry.file.rsplit("/", 1)[-1], "path": entry.file, "accepted": entry.accepted, "sample": entry.sample,
        "title": report.name if report else entry.file.rsplit("/", 1)[-1], "about": told((entry.material or entry.bed).name),
        "failure": looked.failure, "samples": looked.samples, "questions": [], "doubts": [], "values": None, "findings": [],
    }  # fmt: skip
    if report is None:
        return out
    doubts = [one for one in looked.found if one.code in DOUBTFUL and one.severity != "note" and one.about]
    answered = [name.removeprefix("use ") for name in entry.answers if name.startswith("use ")]
    return {
        **out,
        "questions": [_question(one, entry.answers) for one in report.questions],
        "doubts": [_doubt(one, entry.answers) for one in doubts],
        "values": _values(sight, report) if report.determinations else None,
        "findings": [one for one in report.findings if one not in doubts and one.about not in answered],
    }


def _question(one: Any, answers: Mapping[str, str]) -> dict[str, Any]:
    answer = answers.get(one.key, "")
    picked = [each for each in one.options if each not in DESCRIBED]
    return {
        "key": one.key,
        "text": one.text,
        "hint": ", ".join(_choice(each) for each in one.options if each in DESCRIBED),
        "options": [(each, _choice(each)) for each in picked],
        "proposal": one.proposal,
        "answer": answer if answer in picked else told(answer),
    }


def _doubt(one: Finding, answers: Mapping[str, str]) -> dict[str, str]:
    label = quantity_name(one.about.split("/")[0])
    return {
        "key": one.about,
        "label": label,
        "text": one.text,
        "proposal": one.proposal,
        "answer": told(answers.get(f"use {one.about}", "")),
    }


def _values(sight: Sight, report: LabReport) -> dict[str, Any]:
    rows = [
        [_name(one), _value(sight, one), str(SIDES.get(one.basis, one.basis)), _printed(one), one.method]
        for one in report.determinations
    ]
    heads = [_("Quantity"), _("Value"), _("Basis"), _("As printed"), _("Method")]
    names = [{"name": name, "right": place == 1} for place, name in enumerate(heads)]
    return {
        "caption": _("Values read from the report"),
        "heads": names,
        "rows": rows,
        "note": "",
        "cards": True,
        "told": True,
    }


def _name(one: Determination) -> str:
    fraction = str(FRACTIONS.get(one.fraction, ""))
    return quantity_name(one.quantity) + (f", {fraction}" if fraction else "")


def _value(sight: Sight, one: Determination) -> str:
    unit = quantity(one.quantity).display_unit
    tail = "" if unit in ("pH", "1") else f" {unit}"
    if one.value is not None:
        return sight.words.number(float(from_si(one.value, unit))) + tail
    if one.limit is not None:
        return _("below {value}").format(value=sight.words.number(float(from_si(one.limit, unit))) + tail)
    return _("not given")


def _printed(one: Determination) -> str:
    return " ".join(
        filter(
            None,
            (getattr(one, "raw_name", "") or getattr(one, "label", ""), getattr(one, "raw_value", ""), one.raw_unit),
        )
    )
