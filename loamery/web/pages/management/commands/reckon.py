"""``python -m loamery.web reckon PK``: read the reports of a garden, plan its season, foresee its heaps, keep what came out."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from loamery.web.pages import work
from loamery.web.records.models import Garden


class Command(BaseCommand):
    """Reckon one garden; the pages start this in a process of its own."""

    help = "Read the reports of a garden, plan its season, foresee its heaps, and keep what came out."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the number of the garden."""
        parser.add_argument("pk", type=int)

    def handle(self, *args: Any, **options: Any) -> None:
        """Reckon it."""
        work.run(Garden.objects.get(pk=options["pk"]))
