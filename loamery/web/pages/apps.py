"""The pages, as Django knows them."""

from __future__ import annotations

from django.apps import AppConfig


class Pages(AppConfig):
    """What people see."""

    name = "loamery.web.pages"
    label = "pages"
