"""From a request to what its person sees: the garden's records, what was reckoned, their units and language."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone, translation

from loamery.units import System
from loamery.web.pages import work
from loamery.web.pages.sight import Sight
from loamery.web.pages.words import Words
from loamery.web.people.roles import Role
from loamery.web.records.models import Garden
from loamery.web.records.snapshot import snapshot


def system_of(request: HttpRequest, garden: Garden) -> System:
    """Return the units a person reads: their own choice, else the garden's."""
    chosen = getattr(request.user, "units", "") or garden.units
    return "us" if chosen == "us" else "metric"


def today_of(garden: Garden) -> date:
    """Return today, or the pinned day of an invented garden."""
    pinned: date | None = garden.today_is
    return pinned or timezone.localdate()


def sight_of(request: HttpRequest) -> Sight:
    """Return the garden of a request as its person sees it."""
    garden = request.garden
    reckoned, fresh = work.kept(garden)
    role = getattr(request, "role", None) or 0
    return Sight(
        slug=garden.slug,
        garden=snapshot(garden),
        reckoned=reckoned,
        words=Words(translation.get_language() or "en", system_of(request, garden)),
        on=today_of(garden),
        moves=work.moves(garden),
        fresh=fresh,
        may_log=role >= Role.LOGGER,
        may_plan=role >= Role.GROWER,
        may_own=role >= Role.OWNER,
    )


def job_of(request: HttpRequest) -> dict[str, Any] | None:
    """Return the work that goes on for the garden, None when there is none to tell of."""
    told = work.state(request.garden)
    if told and told.get("what") == work.HEAPS:
        return None  # its page says what is not in the forecast yet; nobody waits for it
    return told if told and (told.get("running") or told.get("failed")) else None


def show(request: HttpRequest, template: str, page: Any, status: int = 200, **more: Any) -> HttpResponse:
    """Return a page of a garden."""
    context = {"page": page, "job": job_of(request), **more}
    return render(request, template, context, status=status)
