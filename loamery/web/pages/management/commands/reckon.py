"""``python -m loamery.web reckon PK``: plan the season of a garden with all that hangs on it, or answer a question; keep what came out."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from loamery.web.pages import work
from loamery.web.pages.asking import QUESTIONS
from loamery.web.records.models import Garden


class Command(BaseCommand):
    """Reckon one garden; the pages start this in a process of its own."""

    help = "Read the reports of a garden, plan its season, foresee its heaps, and keep what came out."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the number of the garden, what to reckon, and more about it as JSON."""
        parser.add_argument("pk", type=int)
        parser.add_argument("--what", choices=(work.PLAN, *QUESTIONS), default=work.PLAN)
        parser.add_argument("--asked", type=json.loads, default=None)

    def handle(self, *args: Any, **options: Any) -> None:
        """Reckon it."""
        work.run(Garden.objects.get(pk=options["pk"]), options["what"], options["asked"])
