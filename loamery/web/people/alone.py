"""On one's own machine there is one person and no login; a served page has neither of these."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from loamery.web.people.models import Person

OWN_EMAIL = "me@localhost"


def own_person() -> Person:
    """Return the one person of this machine, made when they first come."""
    found: Person | None = Person.objects.filter(email=OWN_EMAIL).first()
    return found or Person.objects.create_user(OWN_EMAIL, name="")


class OwnMachine:
    """Middleware that takes whoever asks from this machine for its one person, unless the page is served to others."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer."""
        if not settings.SERVED and request.META.get("REMOTE_ADDR") in ("127.0.0.1", "::1"):
            request.user = SimpleLazyObject(own_person)  # an interface for programs brings its own
        return self.get_response(request)
