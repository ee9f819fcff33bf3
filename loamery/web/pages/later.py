"""Work that begins by itself: what a restart cut off, and heaps somebody wrote about, once writing has been quiet for a while."""

from __future__ import annotations

import threading
import time
from typing import Any

from django.db import close_old_connections

from loamery.web.pages import work
from loamery.web.pages.learning import outdated
from loamery.web.records.models import Garden
from loamery.web.records.snapshot import snapshot

ABOUT_HEAPS = ("batches", "batch_parts", "turnings", "waterings", "readings")
QUIET_S, LONGEST_S = 20.0, 120.0
"""A heap is foreseen anew when nothing was written for so long, and after so long at the latest."""

_waiting: dict[int, tuple[threading.Timer, float]] = {}
_one = threading.Lock()


def heard(sender: Any, *, garden: Garden, kind: str, **_more: Any) -> None:
    """Take down that something was written; called after every record."""
    if kind in ABOUT_HEAPS and work.stamp(garden):
        wait(garden.pk)


def wait(garden_pk: int) -> None:
    """Foresee the heaps of a garden when writing has been quiet for a while."""
    now = time.monotonic()
    with _one:
        timer, since = _waiting.pop(garden_pk, (None, now))
        if timer is not None:
            timer.cancel()
        timer = threading.Timer(min(QUIET_S, max(since + LONGEST_S - now, 0.0)), _due, (garden_pk,))
        timer.daemon = True
        _waiting[garden_pk] = (timer, since)
        timer.start()


def _due(garden_pk: int) -> None:
    with _one:
        _waiting.pop(garden_pk, None)
    try:
        garden = Garden.objects.filter(pk=garden_pk, removed_at=None).first()
        if garden is not None and outdated(snapshot(garden), work.kept(garden)[0]):
            if (work.state(garden) or {}).get("running"):
                wait(garden_pk)
            else:
                work.start(garden, work.HEAPS)
    finally:
        close_old_connections()


def catch_up() -> None:
    """Begin what a restart cut off, and look for heaps that were written about before it."""
    work.take_up_all()
    for garden in Garden.objects.filter(removed_at=None).order_by("pk"):
        if work.stamp(garden):
            wait(garden.pk)
