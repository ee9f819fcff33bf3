"""Evidence: sheets to print, made once for each plan, and one page open to everybody where an owner wishes it."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from loamery.errors import LoameryError
from loamery.evidence.factsheet import fact_page
from loamery.evidence.html import html_page
from loamery.evidence.page import Page
from loamery.evidence.pdf import pdf_one_page, pdf_page
from loamery.evidence.report import season_page
from loamery.saving import save_bytes
from loamery.say import ENGLISH
from loamery.web.pages import work
from loamery.web.pages.answers import sheets_kept
from loamery.web.pages.bed import beds as bed_list
from loamery.web.pages.origin import origin, without_names
from loamery.web.pages.origin_material import grade_text
from loamery.web.pages.seeing import show, sight_of, today_of
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import stuff_name
from loamery.web.pages.today import heap_name
from loamery.web.pages.trials import trial_cards, trial_sheet
from loamery.web.pages.words import Shown, Words
from loamery.web.people.access import anyone, member
from loamery.web.people.models import audit
from loamery.web.people.roles import Role
from loamery.web.records import ledger
from loamery.web.records.models import Garden
from loamery.web.records.snapshot import snapshot
from loamery.web.records.trials import damaged, trials_of
from loamery.web.refusals import in_words

MEDIA = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}
SEASON = ("season.html", "season.pdf")
ASKED = re.compile(r"(benefit|evidence|thanks-[a-z0-9-]+)\.(html|pdf)")
TRIAL = re.compile(r"trial-([\w-]+?)(-lay-out)?\.(html|pdf)")


@member(Role.READER)
@require_GET
def sheets(request: HttpRequest) -> HttpResponse:
    """Show which sheets there are, and the page for everybody."""
    sight = sight_of(request)
    public_url = request.build_absolute_uri(f"/open/{request.garden.slug}/")
    return show(
        request,
        "sheets.html.j2",
        None,
        ready=sight.plan is not None,
        materials=sight.garden.materials,
        asked=sheets_kept(request.garden, sight.garden),
        trials=trial_cards(trials_of(request.garden)),
        damaged=damaged(request.garden),
        public_url=public_url,
    )


@member(Role.READER)
@require_GET
def sheet(request: HttpRequest, name: str) -> HttpResponse:
    """Give a sheet as a web page of its own or as PDF: the season report, one that was asked for, or that of a trial."""
    sight, kind = sight_of(request), name.rpartition(".")[2]
    if ASKED.fullmatch(name):
        path = work.sheet_path(request.garden, name, translation.get_language() or ENGLISH)
        path = path if path.is_file() else work.answers(request.garden) / name  # from before sheets were told in French
        if not path.is_file():
            raise Http404
        return _sent(request.garden, name, path.read_bytes())
    trial = TRIAL.fullmatch(name)
    if trial is not None:
        return _of_trial(request, sight, name, trial)
    plan = sight.solved
    if plan is None or name not in SEASON:
        raise Http404
    language = translation.get_language() or ENGLISH
    return _given(
        request.garden, name, lambda: _printed(season_page(plan, sight.on).in_language(language), kind), language
    )


def _of_trial(request: HttpRequest, sight: Sight, name: str, asked: re.Match[str]) -> HttpResponse:
    kept = trials_of(request.garden).get(asked[1])
    if kept is None:
        raise Http404
    try:
        page = trial_sheet(sight.garden, kept, bool(asked[2]), sight.on).in_language(translation.get_language() or "en")
    except LoameryError as error:
        context = {"title": _("This cannot be done yet"), "said": in_words(error)}
        return render(request, "said.html.j2", context, status=409)
    return _sent(request.garden, name, _printed(page, asked[3]))


def _printed(page: Page, kind: str) -> bytes:
    return html_page(page).encode() if kind == "html" else pdf_page(page)


@member(Role.READER)
@require_GET
def factsheet(request: HttpRequest, key: str) -> HttpResponse:
    """Give the fact sheet of one material as a PDF of one page."""
    sight = sight_of(request)
    prepared = sight.prepared
    if prepared is None or key not in prepared.compositions:
        raise Http404

    language = translation.get_language() or ENGLISH

    def make() -> bytes:
        page = fact_page(
            prepared.compositions[key], prepared.reports.get(key, ()), sight.garden, brief=True, on=sight.on
        )
        return pdf_one_page(page.in_language(language))

    return _given(request.garden, f"sheet-{key}.pdf", make, language)


def _given(garden: Garden, name: str, make: Callable[[], bytes], language: str = ENGLISH) -> HttpResponse:
    """Return a sheet, from what is kept beside the plan where it was made before in this language."""
    told = work.in_language(name, language)
    path = work.place(garden.pk) / f"{work.stamp(garden)}-{told}"
    if not path.is_file():
        for old in path.parent.glob(f"*-{told}"):
            old.unlink(missing_ok=True)
        save_bytes(path, make())
    return _sent(garden, name, path.read_bytes())


def _sent(garden: Garden, name: str, content: bytes) -> HttpResponse:
    media = MEDIA[name.rpartition(".")[2]]
    response = HttpResponse(content, content_type=media)
    response["Content-Disposition"] = f'inline; filename="{garden.slug}-{name}"'
    if media.startswith("text/html"):
        response["Content-Security-Policy"] = own_style_policy(content.decode())
    return response


def own_style_policy(text: str) -> str:
    """Return a policy that lets a self-contained page use the style it came with, and nothing else."""
    styles = re.findall(r"<style>(.*?)</style>", text, flags=re.S)
    hashes = " ".join(f"'sha256-{base64.b64encode(hashlib.sha256(one.encode()).digest()).decode()}'" for one in styles)
    return f"default-src 'none'; style-src {hashes}; font-src data:; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


@member(Role.OWNER)
@require_POST
def publish(request: HttpRequest) -> HttpResponse:
    """Open the evidence page to everybody, or close it."""
    request.garden.is_public = request.POST.get("public") == "1"
    request.garden.save(update_fields=["is_public"])
    ledger.changed(request.garden, request.user)
    audit("page opened" if request.garden.is_public else "page closed", request.user, request.garden)
    said = (
        _("The evidence page is open to everybody.") if request.garden.is_public else _("The evidence page is closed.")
    )
    messages.success(request, said)
    return redirect("pages:sheets", request.garden.slug)


@anyone
@require_GET
def public(request: HttpRequest, garden: str) -> HttpResponse:
    """Show the evidence of a garden whose owner opened it to everybody."""
    request.garden, sight = _open(garden)
    return show(request, "public.html.j2", evidence(sight), job=None)


@anyone
@require_GET
def public_origin(request: HttpRequest, garden: str) -> HttpResponse:
    """Show where a number of the open page comes from, without names."""
    request.garden, sight = _open(garden)
    trace, traces = origin(sight, request.GET.get("of", ""))
    if trace is None:
        raise Http404
    template = "origin.html.j2" if request.headers.get("HX-Request") else "origin_page.html.j2"
    back = reverse("pages:public", args=[garden])
    return render(request, template, {"trace": without_names(trace), "ledger": traces, "back": back})


def _open(slug: str) -> tuple[Garden, Sight]:
    """Return a garden whose owner opened its evidence page, as everybody sees it.

    Raises
    ------
    Http404 : there is none, or it is closed.
    """
    found = Garden.objects.filter(slug=slug, is_public=True, removed_at=None).first()
    if found is None:
        raise Http404
    reckoned, fresh = work.kept(found)
    words = Words(translation.get_language() or "en", "us" if found.units == "us" else "metric")
    sight = Sight(
        found.slug,
        snapshot(found),
        reckoned,
        words,
        today_of(found),
        fresh=fresh,
        may_log=False,
        may_plan=False,
        may_own=False,
    )
    return found, sight


def evidence(sight: Sight) -> dict[str, Any] | None:
    """Return what the open page shows: no names of people, no photos, no addresses; None before there is a plan."""
    plan = sight.plan
    if plan is None:
        return None
    words, garden = sight.words, sight.garden
    came, spread = sum(one.kg for one in garden.loads), sum(one.kg for one in garden.applications)
    facts = [
        {"label": _("Came in"), "shown": Shown(words.mass(came), "", "record/loads"), "word": _("weighed and written down, all years")},
        {"label": _("Spread on beds"), "shown": Shown(words.mass(spread), "", "record/applications"), "word": _("weighed and written down, all years")},
        {"label": _("Harvested"), "shown": Shown(words.mass(sum(one.kg for one in garden.harvests)), "", "record/harvests"),
         "word": _("weighed and written down, all years")},
        {"label": _("Planned this season"), "shown": Shown(words.mass(sum(one.collected_kg for one in plan.materials)), "", "season/fetched"),
         "word": _("from {count} donors").format(count=len({one.donor for one in garden.supplies}))},
    ]  # fmt: skip
    worth = [
        [
            stuff_name(one.name),
            Shown(grade_text(sight, plan.compositions[one.id]), "", f"grade/{one.id}"),
            Shown(str(len(plan.reports.get(one.id, ()))), "", f"reports/{one.id}"),
        ]
        for one in garden.materials
    ]
    beds = [[row["name"], row["area"], *(met["shown"] for met in row["met"])] for row in bed_list(sight)["rows"]]
    heaps = [
        [heap_name(sight, one), Shown(words.mass(one.compost_kg), kept=sight.kept(one)) if one.compost_kg else ""]
        for one in garden.batches[-12:]
    ]
    return {
        "facts": facts,
        "worth": _table(_("What the materials are worth: N - P₂O₅ - K₂O as received, %"), [_("Material"), _("Label grade"), _("Reports")], worth),
        "beds": _table(_("How much of what beds need is supplied"), [_("Bed"), _("Area"), _("Nitrogen"), _("Phosphorus"), _("Potassium")], beds),
        "heaps": _table(_("Heaps built"), [_("Heap"), _("Compost")], heaps) if heaps else None,
        "charts": sight.charts("uses"),
    }  # fmt: skip


def _table(caption: str, heads: list[str], rows: list[list[Any]]) -> dict[str, Any]:
    names = [{"name": name, "right": place > 0} for place, name in enumerate(heads)]
    return {"caption": caption, "heads": names, "rows": rows, "note": "", "cards": len(heads) > 3}
