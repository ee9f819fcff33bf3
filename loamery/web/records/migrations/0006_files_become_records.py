"""Shop prices and trials, kept as whole files so far, become records with their history; going back makes files of them."""

from __future__ import annotations

from typing import Any

from django.db import migrations

from loamery.web.records.taking_up import make_files, make_records


def forward(apps: Any, editor: Any) -> None:
    """Make records of the files."""
    make_records(apps)


def back(apps: Any, editor: Any) -> None:
    """Make files of the records."""
    make_files(apps)


class Migration(migrations.Migration):
    """From files to records."""

    dependencies = [("records", "0005_shop_prices_and_trials")]
    operations = [migrations.RunPython(forward, back)]
