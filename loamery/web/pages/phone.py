"""At the heap with a phone: a page that opens without a network, and the door its records come in by."""

from __future__ import annotations

import json
import uuid
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from loamery.web.pages import labels
from loamery.web.pages.forms import PersonForm
from loamery.web.pages.seeing import show, sight_of, system_of
from loamery.web.pages.sight import Sight
from loamery.web.people.access import anyone, member
from loamery.web.people.limits import Limit
from loamery.web.people.roles import Role
from loamery.web.records.models import KINDS

NEEDED = (
    "css/look.css",
    "js/page.js",
    "js/here.js",
    "mark.svg",
    "fonts/Karla-Regular.otf",
    "fonts/Karla-Bold.otf",
    "fonts/Karla-Italic.otf",
)
ASKED = {
    "readings": ("batch", "temp_c", "depth_m", "feel", "smell", "photo", "note", "on"),
    "loads": ("donor", "material", "kg", "photo", "note", "on"),
    "turnings": ("batch", "note", "on"),
    "waterings": ("batch", "kg", "note", "on"),
    "feedings": ("worm_bed", "material", "kg", "note", "on"),
    "harvests": ("bed", "crop", "kg", "note", "on"),
}
"""What is asked for at the heap, by kind of record, in the order of the fields; the day is filled in."""
LACKING = {
    "readings": "batches",
    "turnings": "batches",
    "waterings": "batches",
    "feedings": "worm_beds",
    "loads": "donors",
    "harvests": "beds",
}
SENT = Limit("sent", 600, 600)


@member(Role.READER)
@require_GET
def here(request: HttpRequest) -> HttpResponse:
    """Show the page for the heap."""
    sight = sight_of(request)
    forms = [_asked(request, sight, kind) for kind in ASKED] if sight.may_log else []
    return show(request, "here.html.j2", None, forms=forms, job=None)


def _asked(request: HttpRequest, sight: Sight, kind: str) -> dict[str, Any]:
    form = PersonForm(
        request.garden,
        sight.garden,
        kind,
        system_of(request, request.garden),
        auto_id=f"{kind}_%s",
        given={"on": sight.on},
    )
    for name in [name for name in form.fields if name not in ASKED[kind]]:
        del form.fields[name]
    form.order_fields(ASKED[kind])
    for field in form.fields.values():
        if field.unit:
            field.widget.attrs["data-unit"] = field.unit
    ready = bool(getattr(sight.garden, LACKING[kind]))
    lacking = _("There is nothing to choose from yet. Write it down on the page of records first.")
    return {"kind": kind, "name": labels.KINDS[kind], "form": form, "ready": ready, "lacking": lacking}


@member(Role.LOGGER)
@never_cache
@require_GET
def token(request: HttpRequest) -> HttpResponse:
    """Give what a form must carry to be taken."""
    return JsonResponse({"token": get_token(request)})


@member(Role.LOGGER)
@require_POST
def send(request: HttpRequest) -> HttpResponse:
    """Take one record from a phone; one that came before is answered like the first time and not written twice."""
    kind = request.POST.get("kind", "")
    try:
        number = uuid.UUID(request.POST.get("id", ""))
    except ValueError:
        return _refused(_("This is no record of ours."))
    if kind not in ASKED:
        return _refused(_("This is no record of ours."))
    if not SENT.tried(str(request.user.pk)):
        return JsonResponse({"says": _("Too many at once. Wait a while, then try again.")}, status=429)
    if KINDS[kind].every.filter(garden=request.garden, sent_as=number).exists():
        return JsonResponse({"kept": "before"})
    return _kept(request, kind, number)


def _kept(request: HttpRequest, kind: str, number: uuid.UUID) -> HttpResponse:
    sight = sight_of(request)
    data = request.POST.copy()
    data.setdefault("on", _day(request.POST.get("made", "")) or sight.on.isoformat())
    form = PersonForm(request.garden, sight.garden, kind, system_of(request, request.garden), data, request.FILES)
    if not form.is_valid() or form.save(request.user, sent_as=number) is None:
        says = " ".join(
            f"{form.fields[name].label if name in form.fields else ''} {' '.join(found)}".strip()
            for name, found in form.errors.items()
        )
        return _refused(says)
    return JsonResponse({"kept": "now"})


def _refused(says: str) -> HttpResponse:
    return JsonResponse({"says": says}, status=422)


def _day(made: str) -> str:
    """Return the day of a moment a phone wrote down, empty when it is none."""
    try:
        return datetime.fromisoformat(made.replace("Z", "+00:00")).date().isoformat()
    except ValueError:
        return ""


@anyone
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """Give the service worker; its version changes with every file it keeps."""
    text = _content("js/worker.js").decode()
    files = [staticfiles_storage.url(f"loamery/{one}") for one in NEEDED]
    version = sha256(b"".join(_content(one) for one in NEEDED)).hexdigest()[:16]
    text = text.replace("{{version}}", version).replace("{{files}}", json.dumps(files))
    response = HttpResponse(text, content_type="text/javascript")
    response["Service-Worker-Allowed"] = "/"
    response["Cache-Control"] = "no-cache"
    return response


def _content(name: str) -> bytes:
    return Path(str(finders.find(f"loamery/{name}"))).read_bytes()
