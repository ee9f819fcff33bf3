"""``python -m loamery.web reckon PK``: plan the season of a garden with all that hangs on it, or answer a question; keep what came out."""

from __future__ import annotations

import json
import os
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from loamery.web.pages import work
from loamery.web.records.models import Garden


class Command(BaseCommand):
    """Reckon one garden; the pages start this in a process of its own."""

    help = "Read the reports of a garden, plan its season, foresee its heaps, and keep what came out."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the number of the garden, what to reckon, and more about it as JSON."""
        parser.add_argument("pk", type=int)
        parser.add_argument("--held", type=int, default=None, help="number of the open file that holds the lock")
        parser.add_argument("--what", choices=work.WORK, default=work.PLAN)
        parser.add_argument("--asked", type=json.loads, default=None)

    def handle(self, *args: Any, **options: Any) -> None:
        """Reckon it."""
        garden, held = Garden.objects.get(pk=options["pk"]), options["held"]
        if held is None and work.claim(work.place(garden.pk)) is None:
            raise CommandError("this garden is being reckoned already")
        if held is not None:
            os.set_inheritable(held, False)
        work.run(garden, options["what"], options["asked"])
