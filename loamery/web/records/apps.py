"""The records of the web page, as Django knows them."""

from __future__ import annotations

from django.apps import AppConfig


class Records(AppConfig):
    """Gardens, everything in them, and the history of every change."""

    name = "loamery.web.records"
    label = "records"
