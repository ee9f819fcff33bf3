"""Answers to questions that take longer than a page may: which test next, what if, and the sheets made for them."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from loamery.errors import InputError
from loamery.finding import Band
from loamery.garden.model import Garden
from loamery.reference import table
from loamery.units import show as in_units
from loamery.web.pages import work
from loamery.web.pages.asking import SHEETS, Compared, TestsFound, changes_of
from loamery.web.pages.seeing import job_of, show, sight_of
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import crop, measure_name, stuff_name
from loamery.web.pages.words import Shown
from loamery.web.people.access import member
from loamery.web.people.roles import Role
from loamery.web.refusals import in_words

MOST_TESTS = 12


class WhatIfForm(forms.Form):
    """What would be different: one respect or more."""

    donor = forms.ChoiceField(required=False)
    crop = forms.ChoiceField(required=False)
    area = forms.FloatField(required=False, min_value=0.1, max_value=10_000)
    rain = forms.FloatField(required=False, min_value=0, max_value=500)
    material = forms.ChoiceField(required=False)
    price = forms.FloatField(required=False, min_value=0)

    def __init__(self, sight: Sight, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        garden, none = sight.garden, [("", _("no change"))]
        self.sight = sight
        offered = {one.material for one in garden.supplies}
        choices = {
            "donor": [(one.id, one.name) for one in garden.donors],
            "crop": sorted(((row["slug"], crop(row["slug"])) for row in table("crops")), key=lambda one: one[1]),
            "material": [(one.id, stuff_name(one.name)) for one in garden.materials if one.id in offered],
        }
        for name, found in choices.items():
            self.fields[name].choices = none + found
        size, unit = in_units(1.0, "area", sight.words.system)
        self.m2 = 1.0 / size
        labels = {
            "donor": _("A donor gives nothing any more"), "crop": _("A bed is added, with"),
            "area": _("Area of that bed, {unit}").format(unit=unit),
            "rain": _("Rain that falls, % of the usual"), "material": _("Another price for"),
            "price": _("That price, {currency} a kilogram").format(currency=garden.info.currency),
        }  # fmt: skip
        for name, label in labels.items():
            self.fields[name].label = label

    def clean(self) -> dict[str, Any]:
        """Hold what belongs together, and the changes against the garden."""
        found: dict[str, Any] = super().clean() or {}
        for first, second in (("crop", "area"), ("material", "price")):
            if not self.errors and bool(found.get(first)) != (found.get(second) is not None):
                self.add_error(second, _("Fill in both, or neither."))
        if not self.errors:
            try:
                changes_of(self.sight.garden, self.asked())
            except InputError as error:
                self.add_error(None, in_words(error) if any(found.values()) else _("Choose what would be different."))
        return found

    def asked(self) -> dict[str, Any]:
        """Return the question as the background work takes it."""
        found = self.cleaned_data
        area, rain = found.get("area"), found.get("rain")
        return {
            "donor": found.get("donor"),
            "crop": found.get("crop"),
            "area_m2": None if area is None else area * self.m2,
            "rain": None if rain is None else rain / 100.0,
            "material": found.get("material"),
            "price": found.get("price"),
        }


@member(Role.READER)
@require_GET
def tests(request: HttpRequest) -> HttpResponse:
    """Show which laboratory test is worth its price."""
    sight, found = sight_of(request), work.answer(request.garden, "tests")
    return show(request, "tests.html.j2", tests_page(sight, found), fresh=_fresh(request, found))


@member(Role.READER)
def what_if(request: HttpRequest) -> HttpResponse:
    """Ask what if, and show the answers there are."""
    sight, found = sight_of(request), work.answer(request.garden, "what-if") or []
    form = WhatIfForm(sight, request.POST if request.method == "POST" else None)
    if request.method == "POST":
        if request.role < Role.GROWER:
            messages.info(request, _("Growers ask this."))
            return redirect("pages:what-if", request.garden.slug)
        if form.is_valid():
            work.start(request.garden, "what-if", form.asked(), request.user)
            return redirect("pages:what-if", request.garden.slug)
    pages = [{**compared_page(sight, one, place), "fresh": _fresh(request, one)} for place, one in enumerate(found)]
    return show(request, "what_if.html.j2", pages, status=422 if form.errors else 200, form=form)


@member(Role.GROWER)
@require_POST
def ask(request: HttpRequest) -> HttpResponse:
    """Begin to answer a question that needs nothing more than the garden."""
    what = request.POST.get("what", "")
    if what not in ("tests", *SHEETS):
        raise Http404
    if (job_of(request) or {}).get("running"):
        messages.info(request, _("Other work is going on. Ask again when it is done."))
    else:
        work.start(request.garden, what, who=request.user)
    return redirect("pages:tests" if what == "tests" else "pages:sheets", request.garden.slug)


def _fresh(request: HttpRequest, found: TestsFound | Compared | None) -> bool:
    return found is not None and found.version == request.garden.version


def tests_page(sight: Sight, found: TestsFound | None) -> dict[str, Any] | None:
    """Return what the page of tests shows, None before it was asked."""
    if found is None:
        return None
    words = sight.words
    rows = [
        {
            "name": stuff_name(one.test.name),
            "about": stuff_name(one.test.about_name),
            "price": Shown(words.number(one.test.price), "", f"test/{place}/price"),
            "worth": Shown(
                words.number(one.worth.value, 2), f"± {words.number(one.worth.error, 1)}", f"test/{place}/worth"
            ),
            "ratio": Shown(words.number(one.per_price, 2), "", f"test/{place}/ratio"),
            "changes": Shown(words.share(one.worth.changes), "", f"test/{place}/changes"),
            "pays": one.per_price > 1.0,
        }
        for place, one in enumerate(found.tests.tests[:MOST_TESTS])
    ]
    return {
        "rows": rows,
        "seasons": found.tests.draws,
        "plans": len(found.tests.plans),
        "everything": Shown(
            f"{words.number(found.tests.certainty, 2)} {sight.garden.info.currency}", "", "test/everything"
        ),
        "spares": [one.text for one in found.spares],
        "charts": found.charts,
        "currency": sight.garden.info.currency,
    }


def compared_page(sight: Sight, found: Compared, place: int) -> dict[str, Any]:
    """Return one answer to what if as the page shows it; `place` is its own among those that are kept."""
    words, verdicts = sight.words, {"better": _("better"), "worse": _("worse"), "no clear difference": _("no clear difference")}  # fmt: skip

    def told(key: str, side: int, one: Band) -> Shown:
        between = "" if abs(one.high - one.low) <= 1e-9 * max(abs(one.median), 1.0) else words.between(one)
        return Shown(words.number(one.median, 3), between, f"what-if/{place}/{key}/{side}")

    rows = [
        {
            "name": measure_name(row.measure.key, row.measure.label),
            "unit": row.measure.unit or sight.garden.info.currency,
            "sides": [told(row.measure.key, side, one) for side, one in enumerate(row.bands)],
            "verdict": verdicts[row.verdict(1)],
            "kind": {"better": "good", "worse": "warn"}.get(row.verdict(1), ""),
        }
        for row in found.rows
    ]
    kept = [Shown(words.share(one), "", f"what-if/{place}/kept/{side}") for side, one in enumerate(found.kept_shares)]
    return {"question": found.question, "seasons": found.seasons, "label": found.labels[1], "rows": rows, "kept": kept, "chart": found.chart}  # fmt: skip


def sheets_kept(garden: Any, records: Garden) -> list[dict[str, Any]]:
    """Return the sheets that are made when asked for, and which of their files are there."""
    folder = work.answers(garden)
    donors = [(one.name, f"thanks-{one.id}.pdf") for one in records.donors]
    words = {
        "benefit": (_("What was replaced and saved"), _("Fertiliser and purchases replaced, gases avoided, each figure with what it rests on, and a thank-you sheet for each donor.")),
        "review": (_("Looking back"), _("The season as it was written down: planned and done, forecasts beside what was measured, soil before and after.")),
    }  # fmt: skip
    return [
        {
            "what": what,
            "title": words[what][0],
            "about": words[what][1],
            "name": name,
            "made": (folder / f"{name}.html").is_file(),
            "more": [(who, file) for who, file in donors if (folder / file).is_file()] if what == "benefit" else [],
        }
        for what, name in SHEETS.items()
    ]
