"""What a garden without a plan still needs, so that somebody new knows where to begin."""

from __future__ import annotations

from typing import Any

from django.urls import reverse

from loamery.garden.model import Garden as Snapshot
from loamery.web.pages import labels

NEEDED = ("beds", "plantings", "materials", "donors", "supplies")
"""Kinds a plan cannot be without, in an order in which each can point at what stands before it."""


def first_steps(garden: Snapshot, slug: str) -> list[dict[str, Any]]:
    """Return each kind of record a plan needs: its name, how many there are, and where to add one."""
    return [
        {
            "name": labels.KINDS[kind], "count": len(getattr(garden, kind)),
            "add": reverse("records:add", args=[slug, kind]) + "?then=today", "see": reverse("records:listing", args=[slug, kind]),
        }
        for kind in NEEDED
    ]  # fmt: skip
