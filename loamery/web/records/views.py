"""Pages of records: lists, forms, history, undo; files; the whole folder in and out; settings; health."""

from __future__ import annotations

from pathlib import PurePosixPath

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.db import connection
from django.db.models import Q
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from loamery.errors import GardenError, LoameryError
from loamery.web.pages.forms import person_form
from loamery.web.pages.listing import changed, listed
from loamery.web.people.access import anyone, member, person
from loamery.web.people.limits import UPLOADS, limited
from loamery.web.people.roles import Role
from loamery.web.records import exchange, files, ledger
from loamery.web.records.models import KINDS, Change, Entry, Garden
from loamery.web.records.models.kept import Action
from loamery.web.refusals import in_words, refusal

LOGGED = (
    "loads",
    "batches",
    "batch_parts",
    "applications",
    "turnings",
    "waterings",
    "readings",
    "feedings",
    "harvests",
    "weather",
    "trial_readings",
)
"""What a logger may write down; everything else is a grower's."""
PAGE = 50


def needed(kind: str) -> Role:
    """Return the role that may write a kind of record.

    Raises
    ------
    Http404 : there is no such kind.
    """
    if kind not in KINDS:
        raise Http404
    return Role.LOGGER if kind in LOGGED else Role.GROWER


def _found(request: HttpRequest, kind: str, pk: int) -> Entry:
    needed(kind)
    entry: Entry = get_object_or_404(
        KINDS[kind].every.select_related("garden", *KINDS[kind].links()), pk=pk, garden=request.garden
    )
    return entry


def _may(request: HttpRequest, kind: str) -> bool:
    return bool(request.role >= needed(kind))


@member(Role.READER)
@require_GET
def listing(request: HttpRequest, kind: str) -> HttpResponse:
    """Show the records of one kind, newest first."""
    needed(kind)
    table = KINDS[kind]
    rows = table.objects.filter(garden=request.garden).select_related(*table.links()).order_by("-pk")
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    context = {"kind": kind, "page": page, "may_write": _may(request, kind), **listed(request, kind, page)}
    return render(request, "listing.html.j2", context)


@member(Role.LOGGER)
@limited(UPLOADS)
def add(request: HttpRequest, kind: str) -> HttpResponse:
    """Write a new record."""
    if not _may(request, kind):
        raise PermissionDenied
    form = person_form(request, kind)
    if request.method == "POST" and form.is_valid() and form.save(request.user) is not None:
        messages.success(request, _("Written down."))
        if request.GET.get("then") == "today":  # one of the first steps: the next one stands there
            return redirect("pages:today", request.garden.slug)
        return redirect("records:listing", request.garden.slug, kind)
    return render(
        request, "form.html.j2", {"form": form, "kind": kind, "entry": None}, status=422 if form.errors else 200
    )


@member(Role.LOGGER)
@limited(UPLOADS)
def edit(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Change a record."""
    if not _may(request, kind):
        raise PermissionDenied
    entry = _found(request, kind, pk)
    form = person_form(request, kind, entry)
    if request.method == "POST" and form.is_valid() and form.save(request.user) is not None:
        messages.success(request, _("Saved."))
        return redirect("records:listing", request.garden.slug, kind)
    return render(
        request, "form.html.j2", {"form": form, "kind": kind, "entry": entry}, status=422 if form.errors else 200
    )


@member(Role.READER)
@require_GET
def history(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Show every change of a record: who, when, what it said before."""
    entry = _found(request, kind, pk)
    return render(
        request,
        "history.html.j2",
        {
            "entry": entry,
            "kind": kind,
            "changes": changed(request, ledger.history(entry)),
            "may_write": _may(request, kind),
        },
    )


@member(Role.LOGGER)
@require_POST
def remove(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Take a record out; it can be brought back."""
    return _done(request, kind, pk, "remove")


@member(Role.LOGGER)
@require_POST
def restore(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Bring a removed record back."""
    return _done(request, kind, pk, "restore")


def _done(request: HttpRequest, kind: str, pk: int, what: str) -> HttpResponse:
    if not _may(request, kind):
        raise PermissionDenied
    entry = _found(request, kind, pk)
    try:
        (ledger.remove if what == "remove" else ledger.restore)(entry, request.user)
    except GardenError as error:
        messages.error(request, _told(error))
    else:
        last = ledger.history(entry).first()
        said = _("Removed.") if what == "remove" else _("Brought back.")
        messages.success(request, said, extra_tags=f"undo:{last.pk}" if last else "")
    return redirect(
        "records:history" if what == "restore" else "records:listing",
        request.garden.slug,
        kind,
        *([pk] if what == "restore" else []),
    )


@member(Role.LOGGER)
@require_POST
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one change back."""
    change = get_object_or_404(Change, pk=pk, garden=request.garden)
    settings = change.kind == ledger.GARDEN
    if not (request.role >= Role.OWNER if settings else _may(request, change.kind)):
        raise PermissionDenied
    try:
        (ledger.undo_settings if settings else ledger.undo)(change, request.user)
        messages.success(request, _("Taken back."))
    except GardenError as error:
        messages.error(request, _told(error))
    if settings:
        return redirect("records:changes", request.garden.slug)
    return redirect("records:history", request.garden.slug, change.kind, change.row)


@member(Role.READER)
@require_GET
def changes(request: HttpRequest) -> HttpResponse:
    """Show the latest changes of the whole garden."""
    # a garden brought in is told in one line; each record's own history says so, too
    found = request.garden.changes.exclude(~Q(kind=ledger.GARDEN), action=Action.IMPORT)
    page = Paginator(found.select_related("who"), PAGE).get_page(request.GET.get("page"))
    return render(request, "changes.html.j2", {"page": page, "changes": changed(request, page)})


@member(Role.READER)
@require_GET
def file(request: HttpRequest, path: str) -> HttpResponse:
    """Give a file of the garden: a photo to look at, anything else to download."""
    found = files.path_of(request.garden, path)
    if found is None:
        raise Http404
    ending = PurePosixPath(path).suffix.lower()
    shown = ending in files.PHOTOS
    media = files.MEDIA.get(ending, "text/plain; charset=utf-8")
    response = FileResponse(found.open("rb"), as_attachment=not shown, filename=found.name, content_type=media)
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


@member(Role.READER)
@require_GET
def take_away(request: HttpRequest) -> HttpResponse:
    """Give the whole garden as a zipped folder."""
    try:
        content = exchange.as_zip(request.garden)
    except LoameryError as error:
        return _unable(request, error)
    name = f"{request.garden.slug}.zip"
    return HttpResponse(
        content, content_type="application/zip", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


@person
@limited(UPLOADS)
def bring(request: HttpRequest) -> HttpResponse:
    """Take in a zipped garden folder as a new garden."""
    if request.method != "POST":
        return render(request, "bring.html.j2", {"faults": ()})
    upload = request.FILES.get("folder")
    if upload is None or upload.size > exchange.MOST_ZIP_BYTES:
        said = [_("Choose a zip file of at most {size} MiB.").format(size=exchange.MOST_ZIP_BYTES // 2**20)]
        return render(request, "bring.html.j2", {"faults": said}, status=422)
    try:
        garden = exchange.take_in_zip(upload.file, request.user)
    except LoameryError as error:
        faults = [in_words(fault) for fault in getattr(error, "faults", (error,))]
        return render(request, "bring.html.j2", {"faults": faults[:50]}, status=422)
    _tell_left_out(request, garden)
    return redirect("pages:today", garden.slug)


def _tell_left_out(request: HttpRequest, garden: Garden) -> None:
    left = garden.changes.filter(kind=ledger.GARDEN, action=Action.IMPORT).values_list("after", flat=True)[0][
        "left_out"
    ]
    if left:
        said = _("These files of the folder belong to no part of a garden and were left out: {files}.")
        messages.warning(request, said.format(files=", ".join(left[:20]) + (" …" if len(left) > 20 else "")))


@anyone
@require_GET
def health(request: HttpRequest) -> HttpResponse:
    """Say whether the page and its database work; nothing else, for anybody may ask."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            cursor.fetchone()
    except Exception:  # whatever is wrong with the database, the answer is the same
        return JsonResponse({"status": "down"}, status=503)
    return JsonResponse({"status": "up"})


def _unable(request: HttpRequest, error: LoameryError) -> HttpResponse:
    return render(request, "said.html.j2", {"title": _("This cannot be done yet"), "said": in_words(error)}, status=409)


def _told(error: GardenError) -> str:
    return " ".join(refusal(fault) for fault in error.faults)
