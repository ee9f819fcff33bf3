"""Starting a new garden in the browser: its name, place, rules, season and climate."""

from __future__ import annotations

from datetime import date, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from loamery.garden.model import Info
from loamery.web.pages.climate import ClimateForm, starter_normals
from loamery.web.pages.settings_forms import GardenForm
from loamery.web.people.access import person
from loamery.web.people.limits import UPLOADS, limited
from loamery.web.records import exchange
from loamery.web.records.models import Garden

APRIL, LAST_FOR_THIS_YEAR = 4, 8


def season_of(day: date) -> date:
    """Return the first Monday of April that a garden begun on a day is likely planned from."""
    first = date(day.year + (day.month > LAST_FOR_THIS_YEAR), APRIL, 1)
    return first + timedelta(days=-first.weekday() % 7)


@person
@limited(UPLOADS)
def begin(request: HttpRequest) -> HttpResponse:
    """Start a garden of one's own."""
    system, post = request.user.units or "metric", request.POST or None
    form = GardenForm(post, instance=Garden(season_start=season_of(date.today()), units=system))
    climate = ClimateForm(post, climate=starter_normals(), system=system)
    if request.method == "POST" and all([form.is_valid(), climate.is_valid()]):
        said = {name: value for name, value in form.cleaned_data.items() if name in Info.model_fields}
        garden = exchange.begin(Info.model_validate(said), climate.climate(), request.user)
        messages.success(request, _("Your garden is there. Next come its beds, and what is given to you."))
        return redirect("pages:today", garden.slug)
    wrong = form.errors or climate.errors
    return render(request, "begin.html.j2", {"form": form, "climate": climate}, status=422 if wrong else 200)
