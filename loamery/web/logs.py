"""Structured logs: one JSON object a line, with the request it belongs to and nothing a person typed."""

from __future__ import annotations

import json
import logging
import secrets
import time
from collections.abc import Callable
from contextvars import ContextVar

from django.http import HttpRequest, HttpResponse
from django.utils.functional import LazyObject, empty

REQUEST: ContextVar[str] = ContextVar("request", default="")
log = logging.getLogger("loamery.request")
FIELDS = ("method", "route", "status", "ms", "person", "garden")


class JsonLines(logging.Formatter):
    """A log record as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line: dict[str, object] = {
            "at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(record.created)),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
        }
        if request := REQUEST.get():
            line["request"] = request
        line |= {name: getattr(record, name) for name in FIELDS if hasattr(record, name)}
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False, default=str)


class RequestLog:
    """Middleware that gives each request a number and logs its route (not its address, which may hold a token)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, and log how."""
        token = REQUEST.set(secrets.token_hex(6))
        start = time.perf_counter()
        try:
            response = self.get_response(request)
            ms = round(1000 * (time.perf_counter() - start), 1)
            response.headers["X-Request"] = REQUEST.get()
            response.headers["Server-Timing"] = f"app;dur={ms}"
            match = request.resolver_match
            log.info(
                "answered",
                extra={
                    "method": request.method,
                    "route": match.view_name if match else "",
                    "status": response.status_code,
                    "ms": ms,
                    "person": _person(request),
                    "garden": getattr(getattr(request, "garden", None), "slug", ""),
                },
            )
            return response
        finally:
            REQUEST.reset(token)


def _person(request: HttpRequest) -> int | None:
    """Return who asked, None where answering did not need to know: the log asks the database nothing of its own."""
    user = getattr(request, "user", None)
    known = not (isinstance(user, LazyObject) and user.__dict__["_wrapped"] is empty)
    return getattr(user, "pk", None) if known else None
