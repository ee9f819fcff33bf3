"""The people of the web page, as Django knows them."""

from __future__ import annotations

from django.apps import AppConfig


class People(AppConfig):
    """Persons, memberships, invitations, keys of the interface for programs, and what was done with them."""

    name = "loamery.web.people"
    label = "people"
