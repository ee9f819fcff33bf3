"""The addresses of the interface; each says that it is entered by token."""

from __future__ import annotations

from typing import Any

from loamery.web.api.routes import api
from loamery.web.people.access import anyone, by_token

OPEN = ("openapi-json", "api-root")


def _marked() -> tuple[list[Any], str, str]:
    patterns, app, space = api.urls
    for one in patterns:
        one.callback = (anyone if one.name in OPEN else by_token)(one.callback)
    return patterns, app, space


urls = _marked()
