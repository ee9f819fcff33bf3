"""The pages of a garden: today, materials, beds, heaps, worm beds, where numbers come from, settings."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.conf import settings as conf
from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from loamery.errors import GardenError
from loamery.season.plan import Action
from loamery.web.pages import bed as bed_page
from loamery.web.pages import heap as heap_page
from loamery.web.pages import material as material_page
from loamery.web.pages import today as today_page
from loamery.web.pages import work
from loamery.web.pages.chores import deed_of
from loamery.web.pages.climate import ClimateForm
from loamery.web.pages.first_steps import first_steps
from loamery.web.pages.forms import PersonForm
from loamery.web.pages.origin import origin as origin_of
from loamery.web.pages.seeing import show, sight_of, system_of
from loamery.web.pages.settings_forms import GardenForm, MyForm
from loamery.web.pages.sight import Sight
from loamery.web.people.access import anyone, member, person
from loamery.web.people.models import Membership
from loamery.web.people.roles import Role
from loamery.web.records import ledger
from loamery.web.records.models import KINDS
from loamery.web.refusals import in_words

YEAR_S = 365 * 24 * 3600


@person
def entrance(request: HttpRequest) -> HttpResponse:
    """Go to the only garden there is, or show all of them."""
    mine = Membership.objects.filter(person=request.user, garden__removed_at=None).select_related("garden")
    gardens = [one.garden for one in mine.order_by("garden__name")]
    if len(gardens) == 1:
        return redirect("pages:today", gardens[0].slug)
    return render(request, "entrance.html.j2", {"gardens": gardens})


@anyone
@require_POST
def language(request: HttpRequest) -> HttpResponse:
    """Show pages in another language from now on."""
    wanted = request.POST.get("language", "")
    back = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = "/"
    response = HttpResponseRedirect(back)
    if wanted in dict(conf.LANGUAGES):
        response.set_cookie(conf.LANGUAGE_COOKIE_NAME, wanted, max_age=YEAR_S, samesite="Lax", httponly=True)
    return response


@member(Role.READER)
@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """Show what there is to do and what needs attention."""
    sight = sight_of(request)
    week = request.GET.get("week", "")
    most = sight.plan.calendar.weeks if sight.plan else 0
    chosen = int(week) if week.isdecimal() and int(week) < most else None
    steps = first_steps(sight.garden, sight.slug)
    return show(
        request, "today.html.j2", today_page.today(sight, chosen), today_words=sight.words.day(sight.on), steps=steps,
        ready=all(one["count"] for one in steps),
    )  # fmt: skip


def _action(sight: Sight, index: int) -> Action:
    if sight.plan is None or index >= len(sight.plan.actions):
        raise Http404
    return sight.plan.actions[index]


@member(Role.LOGGER)
@require_POST
def done(request: HttpRequest, index: int) -> HttpResponse:
    """Write a chore down as done as planned."""
    sight = sight_of(request)
    action = _action(sight, index)
    on = min(max(sight.on, action.day - timedelta(7)), action.day + timedelta(27))
    kind, values, parts = deed_of(sight, action, min(on, sight.on))
    if values is None:
        messages.error(request, _("Write down first which heap stands there: there is none to turn."))
        return redirect("pages:today", request.garden.slug)
    if kind == "loads" and "donor" not in values:
        messages.info(
            request, _("Say once which shop the sacks came from; add it to the donors where it is not among them.")
        )
        return redirect("pages:differently", request.garden.slug, index)
    try:
        with transaction.atomic():  # a heap without its parts would be a heap of nothing
            entry = ledger.add(request.garden, kind, values, request.user)
            for part in parts:
                ledger.add(request.garden, "batch_parts", part, request.user)
    except GardenError as error:
        messages.error(request, " ".join(in_words(one) for one in error.faults))
    else:
        last = ledger.history(entry).first()
        messages.success(request, _("Written down as planned."), extra_tags=f"undo:{last.pk}")
    week = request.POST.get("week", "")
    address = redirect("pages:today", request.garden.slug)
    if week.isdecimal():
        address["Location"] += f"?week={week}"
    return address


@member(Role.LOGGER)
def differently(request: HttpRequest, index: int) -> HttpResponse:
    """Write a chore down with other amounts or on another day."""
    sight = sight_of(request)
    action = _action(sight, index)
    kind, values, _parts = deed_of(sight, action, sight.on)
    form = PersonForm(
        request.garden,
        sight.garden,
        kind,
        system_of(request, request.garden),
        request.POST or None,
        request.FILES or None,
        given=values or {},
    )
    if request.method == "POST" and form.is_valid() and form.save(request.user) is not None:
        messages.success(request, _("Written down."))
        return redirect("pages:today", request.garden.slug)
    what = today_page.chore(sight, index, action, {})["what"]
    return show(request, "differently.html.j2", None, status=422 if form.errors else 200, form=form, what=what)


@member(Role.READER)
@require_GET
def more(request: HttpRequest) -> HttpResponse:
    """Show the places that have no room at the foot of a phone."""
    return show(request, "more.html.j2", None)


@member(Role.READER)
@require_GET
def origin(request: HttpRequest) -> HttpResponse:
    """Show where a number comes from: as a page, or as the inside of a sheet over another page."""
    trace, traces = origin_of(
        sight_of(request), request.GET.get("of", ""), lambda what: work.answer(request.garden, what)
    )
    if trace is None:
        raise Http404
    template = "origin.html.j2" if request.headers.get("HX-Request") else "origin_page.html.j2"
    back = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = f"/g/{request.garden.slug}/"
    return show(request, template, None, trace=trace, ledger=traces, back=back)


@member(Role.READER)
@require_GET
def kept(request: HttpRequest, kind: str, place: int) -> HttpResponse:
    """Go to the history of a record that a page showed, by its place among its kind; to all of them when something changed since."""
    if kind not in KINDS:
        raise Http404
    if request.GET.get("as", "") == str(request.garden.version):
        rows = KINDS[kind].objects.filter(garden=request.garden).values_list("pk", flat=True)
        if place < len(rows):
            return redirect("records:history", request.garden.slug, kind, rows[place])
    return redirect("records:listing", request.garden.slug, kind)


@member(Role.READER)
@require_GET
def materials(request: HttpRequest) -> HttpResponse:
    """Show all materials."""
    return show(request, "materials.html.j2", material_page.materials(sight_of(request)))


@member(Role.READER)
@require_GET
def material(request: HttpRequest, key: str) -> HttpResponse:
    """Show one material and what it is worth."""
    sight = sight_of(request)
    return show(request, "material.html.j2", material_page.material(sight, _one(sight.garden.materials, key)))


@member(Role.READER)
@require_GET
def beds(request: HttpRequest) -> HttpResponse:
    """Show all beds."""
    return show(request, "beds.html.j2", bed_page.beds(sight_of(request)))


@member(Role.READER)
@require_GET
def bed(request: HttpRequest, key: str) -> HttpResponse:
    """Show one bed: what it needs and what it got."""
    sight = sight_of(request)
    return show(request, "bed.html.j2", bed_page.bed(sight, _one(sight.garden.beds, key)))


@member(Role.READER)
@require_GET
def heaps(request: HttpRequest) -> HttpResponse:
    """Show heaps and worm beds."""
    return show(request, "heaps.html.j2", heap_page.heaps(sight_of(request)))


@member(Role.READER)
@require_GET
def heap(request: HttpRequest, key: str) -> HttpResponse:
    """Show one heap, built or planned: the forecast beside the readings."""
    sight = sight_of(request)
    planned = sight.plan.batches if sight.plan else ()
    batch = next((one for one in sight.garden.batches if one.id == key), None)
    coming = next((one for one in planned if f"plan-{one.id}" == key), None)
    if batch is None and coming is None:
        raise Http404
    return show(request, "heap.html.j2", heap_page.heap(sight, batch, None if batch else coming))


@member(Role.READER)
@require_GET
def inside(request: HttpRequest, key: str) -> HttpResponse:
    """Show the pictures of the inside of a heap: as a page, or as the inside of another page when it is asked for."""
    charts = sight_of(request).charts(f"heap/{key}")
    if not charts:
        raise Http404
    template = "inside.html.j2" if request.headers.get("HX-Request") else "inside_page.html.j2"
    return show(request, template, None, charts=charts[1:], key=key)


@member(Role.READER)
@require_GET
def worms(request: HttpRequest, key: str) -> HttpResponse:
    """Show one worm bed."""
    sight = sight_of(request)
    return show(request, "worms.html.j2", heap_page.worm_bed(sight, _one(sight.garden.worm_beds, key)))


@member(Role.READER)
def settings(request: HttpRequest) -> HttpResponse:
    """Show and change what a person reads and how the garden is set up."""
    post = request.POST if request.method == "POST" else None
    whose = post.get("whose") if post else ""
    mine = MyForm(post if whose == "mine" else None, instance=request.user, theme=request.COOKIES.get("theme", ""))
    theirs = climate = None
    if request.role >= Role.OWNER:
        theirs = GardenForm(post if whose == "garden" else None, instance=request.garden)
        climate = ClimateForm(
            post if whose == "climate" else None,
            climate=request.garden.normals,
            system=system_of(request, request.garden),
        )
    if whose == "mine" and mine.is_valid():
        mine.save()
        response = redirect("pages:settings", request.garden.slug)
        response.set_cookie("theme", mine.cleaned_data["theme"], max_age=YEAR_S, samesite="Lax", httponly=True)
        messages.success(request, _("Kept."))
        return response
    if whose == "garden" and theirs is not None and theirs.is_valid():
        theirs.save()
        ledger.changed(request.garden, request.user)
        messages.success(request, _("Kept."))
        return redirect("pages:settings", request.garden.slug)
    if whose == "climate" and climate is not None and climate.is_valid():
        request.garden.climate = climate.climate().model_dump(mode="json")
        request.garden.save(update_fields=["climate"])
        ledger.changed(request.garden, request.user)
        messages.success(request, _("Kept."))
        return redirect("pages:settings", request.garden.slug)
    wrong = any(one is not None and one.errors for one in (mine, theirs, climate))
    return show(
        request, "settings.html.j2", None, status=422 if wrong else 200, mine=mine, theirs=theirs, climate=climate
    )


def _one(found: Any, key: str) -> Any:
    one = next((each for each in found if each.id == key), None)
    if one is None:
        raise Http404
    return one
