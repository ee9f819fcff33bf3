"""The way in, and the first page of a garden."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from loamery.web.people.access import member, person
from loamery.web.people.models import Membership
from loamery.web.people.roles import Role
from loamery.web.records.models import KINDS
from loamery.web.records.snapshot import snapshot


@person
def entrance(request: HttpRequest) -> HttpResponse:
    """Go to the only garden there is, or show all of them."""
    mine = Membership.objects.filter(person=request.user, garden__removed_at=None).select_related("garden")
    gardens = [one.garden for one in mine.order_by("garden__name")]
    if len(gardens) == 1:
        return redirect("pages:today", gardens[0].slug)
    return render(request, "entrance.html.j2", {"gardens": gardens})


@member(Role.READER)
def today(request: HttpRequest) -> HttpResponse:
    """Show what there is in the garden."""
    held = snapshot(request.garden)
    counts = [(kind, len(getattr(held, kind))) for kind in KINDS]
    return render(request, "today.html.j2", {"counts": counts})
