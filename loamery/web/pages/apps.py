"""The pages, as Django knows them."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig


class Pages(AppConfig):
    """What people see."""

    name = "loamery.web.pages"
    label = "pages"

    def ready(self) -> None:
        """Listen for what is written."""
        from loamery.web.records.ledger import written

        written.connect(_heard)


def _heard(**said: Any) -> None:
    from loamery.web.pages.later import heard  # with the models behind it: not before something was written

    heard(**said)
