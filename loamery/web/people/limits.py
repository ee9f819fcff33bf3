"""How often something may be tried: logins, resets, invitations, uploads."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

View = Callable[..., HttpResponse]


@dataclass(frozen=True)
class Limit:
    """At most so many tries in a time; counted for each of the keys."""

    name: str
    most: int
    seconds: int

    def tried(self, who: str) -> bool:
        """Count one try and tell whether it is still within the limit."""
        window = int(time.time()) // self.seconds
        key = f"limit:{self.name}:{window}:{who}"
        cache.add(key, 0, timeout=2 * self.seconds)
        return bool(cache.incr(key) <= self.most)


LOGIN_BY_PLACE = Limit("login-place", 30, 600)
LOGIN_BY_NAME = Limit("login-name", 10, 600)
MAIL = Limit("mail", 5, 3600)
UPLOADS = Limit("uploads", 60, 3600)


def place(request: HttpRequest) -> str:
    """Return where a request comes from."""
    return str(request.META.get("REMOTE_ADDR", ""))


def too_often(request: HttpRequest) -> HttpResponse:
    """Return the answer to somebody who tries too often."""
    response = render(
        request, "said.html.j2", {"title": _("Too many tries"), "said": _("Wait a while, then try again.")}
    )
    response.status_code = 429
    response.headers["Retry-After"] = "600"
    return response


def limited(limit: Limit) -> Callable[[View], View]:
    """Limit how often one person (or place, for strangers) may send a form to a view."""

    def mark(view: View) -> View:
        @wraps(view)
        def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            who = str(request.user.pk) if request.user.is_authenticated else place(request)
            if request.method == "POST" and not limit.tried(who):
                return too_often(request)
            return view(request, *args, **kwargs)

        return asked

    return mark
