"""What every template can use: addresses, static files, translated words, the person and the garden."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.templatetags.static import static
from django.urls import reverse
from django.utils import translation
from jinja2 import Environment

from loamery.web.pages.environment import around, furnish


def environment(**options: Any) -> Environment:
    """Return the Jinja environment of all pages; everything is escaped."""
    made = Environment(**options, extensions=["jinja2.ext.i18n"])
    made.globals.update(static=static, url=address)
    install: Any = getattr(made, "install_gettext_callables")  # noqa: B009  the extension adds it
    install(translation.gettext, translation.ngettext, newstyle=True)
    furnish(made)
    return made


def address(name: str, *args: object, **kwargs: object) -> str:
    """Return the address of a view."""
    return str(reverse(name, args=args or None, kwargs=kwargs or None))


def everywhere(request: HttpRequest) -> dict[str, Any]:
    """Return the context every page has: the garden of the address (or None), what its reader may do, languages."""
    return {
        "garden": getattr(request, "garden", None),
        "role": getattr(request, "role", None),
        "served": settings.SERVED,
        "language": translation.get_language() or "en",
        "languages": settings.LANGUAGES,
        **around(request),
    }
