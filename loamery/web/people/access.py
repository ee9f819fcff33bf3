"""Who may see which page: every view says so in one word, and one that does not is never shown."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import ImproperlyConfigured, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse

from loamery.web.people.models import Membership
from loamery.web.people.roles import Role

View = Callable[..., HttpResponse]
ANYONE, PERSON, TOKEN = "anyone", "person", "token"


def anyone(view: View) -> View:
    """Mark a view that even strangers may see."""
    return _marked(view, ANYONE)


def by_token(view: View) -> View:
    """Mark a view of the interface for programs, which asks for a token and a role itself (api/doors.py)."""
    return _marked(view, TOKEN)


def person(view: View) -> View:
    """Mark a view for everybody who is logged in."""

    @wraps(view)
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        return view(request, *args, **kwargs)

    return _marked(asked, PERSON)


def member(role: Role) -> Callable[[View], View]:
    """Mark a view of one garden: its address has a ``slug``, and the view gets ``request.garden`` and ``request.role``.

    Strangers are asked to log in. Who does not belong to the garden is told that there is none (404); who belongs to it
    but may not do this is told so (403).
    """

    def mark(view: View) -> View:
        @wraps(view)
        def asked(request: HttpRequest, slug: str, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            enter(request, slug, role)
            return view(request, *args, **kwargs)

        return _marked(asked, role)

    return mark


def enter(request: HttpRequest, slug: str, role: Role) -> None:
    """Put the garden of an address on the request.

    Raises
    ------
    Http404 : there is none that this person belongs to.
    PermissionDenied : the person may not do this there.
    """
    found = (
        Membership.objects.select_related("garden")
        .filter(person=request.user.pk, garden__slug=slug, garden__removed_at=None)
        .first()
    )
    if found is None:
        raise Http404
    request.garden, request.role = found.garden, Role(found.role)
    if found.role < role:
        raise PermissionDenied


def _marked(view: View, needs: str | Role) -> View:
    view.needs = needs  # type: ignore[attr-defined]
    return view


def needs(view: Any) -> str | Role | None:
    """Return what a view says about who may see it, None when it says nothing."""
    found: str | Role | None = getattr(view, "needs", None)
    return found


class EveryPageSaysWhoMaySeeIt:
    """Middleware that refuses to show a view that does not say who may see it."""

    def __init__(self, get_response: View) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer."""
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> None:
        """Stop before a view that says nothing."""
        if needs(view) is None and not request.path.startswith(f"/{settings.STATIC_URL.strip('/')}/"):
            raise ImproperlyConfigured(f"{request.resolver_match.view_name}: say who may see it (people/access.py)")
