"""What is said where a page cannot be shown: in words, with a way on, and as little told as there must be."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.utils.html import format_html
from django.utils.translation import get_language
from django.utils.translation import gettext as _


def unreadable(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Say that what was sent cannot be understood."""
    return _said(
        request, 400, _("This cannot be understood"), _("What was sent is damaged or too much. Go back and try again.")
    )


def not_yours(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Say that this is not for them to see or do."""
    return _said(request, 403, _("Not yours to do"), _("Your role in this garden does not include this. Ask an owner."))


def not_there(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Say that there is no such page: not whether there is one for somebody else."""
    return _said(
        request, 404, _("There is nothing here"),
        _("The address may be mistyped, what stood here may have been removed, or it may belong to others."),
    )  # fmt: skip


def stale(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say that a form came without the mark that this page gave it."""
    return _said(
        request, 403, _("This form is too old"),
        _("Nothing was saved. Go back, load the page again and send it once more; the browser must keep cookies of this page."),
    )  # fmt: skip


def failed(request: HttpRequest) -> HttpResponse:
    """Say that something went wrong here, without the database, which may be what is wrong."""
    page = format_html(
        '<!doctype html><html lang="{}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        '<title>{}</title><link rel="stylesheet" href="{}"></head><body class="alone-body"><div class="frame alone"><div class="main">'
        '<main><h1>{}</h1><p>{}</p><p><a class="button" href="/">{}</a></p></main></div></div></body></html>',
        get_language() or "en", _("Something went wrong"), static("loamery/css/look.css"), _("Something went wrong"),
        _("It was noted in the log. What was saved before is safe. Try again in a while."), _("To the gardens"),
    )  # fmt: skip
    return HttpResponse(page, status=500)


def _said(request: HttpRequest, status: int, title: str, said: str) -> HttpResponse:
    return render(request, "said.html.j2", {"title": title, "said": said, "way_on": True}, status=status)
