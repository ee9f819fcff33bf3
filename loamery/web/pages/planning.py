"""The season: the picture that can be changed, and solving it in the background."""

from __future__ import annotations

import math
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from loamery.errors import InputError
from loamery.say import say
from loamery.season.change import SPREADING
from loamery.units import show as in_units
from loamery.web.pages import holds, work
from loamery.web.pages import season as season_page
from loamery.web.pages.seeing import show, sight_of
from loamery.web.pages.sight import Sight
from loamery.web.people.access import member
from loamery.web.people.roles import Role

SAME_KG = 0.06
"""A typed amount nearer than this to the planned one is no change: fields show one decimal."""


@member(Role.READER)
@require_GET
def season(request: HttpRequest) -> HttpResponse:
    """Show the season as a picture."""
    sight = sight_of(request)
    page = season_page.season(sight, request.GET.get("bed", ""))
    held = season_page.held_rows(sight, holds.held_in(work.place(request.garden.pk)))
    return show(request, "season.html.j2", page, typed_open="bed" in request.GET, held=held)


@member(Role.GROWER)
@require_POST
def change(request: HttpRequest) -> HttpResponse:
    """Take down changed amounts and show what moves."""
    sight = sight_of(request)
    if sight.solved is None:
        return redirect("pages:season", request.garden.slug)
    try:
        moves = changed_moves(sight, request.POST)
        told = Sight(**{**vars_of(sight), "moves": moves})
        effects = season_page.effects(told)
    except InputError as error:
        return show(request, "refused.html.j2", None, status=422, said=str(error))
    work.keep_moves(request.garden, moves)
    if request.headers.get("HX-Request"):
        return show(request, "effects.html.j2", {"effects": effects})
    return redirect(f"{request.path.rsplit('/', 1)[0]}/?bed={request.POST.get('bed', '')}")


def vars_of(sight: Sight) -> dict[str, Any]:
    """Return the fields of a sight, to see the same garden with something changed."""
    return {name: getattr(sight, name) for name in Sight.__dataclass_fields__}


def changed_moves(sight: Sight, post: Any) -> dict[int, tuple[float, int]]:
    """Return the changes so far with those of a form, amounts in the person's units, weeks counted from one.

    Raises
    ------
    InputError : something that is no number.
    """
    plan, moves = sight.solved, dict(sight.moves)
    assert plan is not None
    factor = in_units(1.0, "mass", sight.words.system)[0]
    for name in post:
        head, _dash, tail = name.partition("-")
        if head != "kg" or not tail.isdecimal() or int(tail) >= len(plan.actions):
            continue
        index = int(tail)
        kg = _number(post[name]) / factor
        week = int(_number(post.get(f"week-{index}", ""))) - 1
        one = plan.actions[index]
        if one.task not in SPREADING:
            continue
        moves.pop(index, None)
        if abs(kg - one.kg) > SAME_KG or week != one.week:
            moves[index] = (kg, week)
    return moves


def _number(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"“{text[:40]}”", expected=say("a number"), remedy=say("write a number, such as 12.5"))
    return value


@member(Role.GROWER)
@require_POST
def unchange(request: HttpRequest) -> HttpResponse:
    """Throw all changes by hand away, or let one of the amounts that were fixed in an earlier plan go, or all of these."""
    place, which = work.place(request.garden.pk), request.POST.get("held", "")
    held = holds.held_in(place)
    if which == "all":
        holds.keep_held(place, ())
    elif which.isdecimal():
        holds.keep_held(place, (one for index, one in enumerate(held) if index != int(which)))
    else:
        work.keep_moves(request.garden, {})
    if which:
        messages.info(request, _("Let go. Solve again, and the plan chooses."))
    return redirect("pages:season", request.garden.slug)


@member(Role.GROWER)
@require_POST
def solve(request: HttpRequest) -> HttpResponse:
    """Begin to reckon the garden anew: from today once something was done, or the whole season when that is asked for."""
    whole = {work.WHOLE: True} if request.POST.get(work.WHOLE) else None
    work.start(request.garden, asked=whole, who=request.user)
    return redirect("pages:season", request.garden.slug)


@member(Role.GROWER)
@require_POST
def stop(request: HttpRequest) -> HttpResponse:
    """End the work that goes on."""
    work.stop(request.garden)
    messages.info(request, _("Stopped. Nothing was changed."))
    return redirect("pages:season", request.garden.slug)


@member(Role.READER)
@require_GET
def job(request: HttpRequest) -> HttpResponse:
    """Show how far the work is."""
    return show(request, "progress.html.j2", None, job=work.state(request.garden))
