"""``loamery backup``, ``restore``, ``check`` and ``move``: looking after the data of the web page."""

from __future__ import annotations

from pathlib import Path

import typer

from loamery.cli.show import console, literal, print_json


def run_backup(data: Path, into: Path | None, json: bool) -> None:
    """Write a backup and say how much is in it."""
    from datetime import datetime

    from loamery.web.upkeep import backup, make_ready

    make_ready(data)
    target = into or Path(f"loamery-backup-{datetime.now():%Y-%m-%d-%H%M%S}.zip")
    rows = backup(target)
    _said(
        {"format": "loamery backup 1", "file": str(target), "rows": rows},
        f"kept {sum(rows.values())} rows in {target}",
        json,
    )


def run_restore(file: Path, data: Path, json: bool) -> None:
    """Bring a backup into a new data folder."""
    from loamery.web.upkeep import make_ready, restore

    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    make_ready(data)
    rows = restore(file)
    _said(
        {"format": "loamery restore 1", "data": str(data), "rows": rows},
        f"brought back {sum(rows.values())} rows into {data}",
        json,
    )


def run_check(data: Path, json: bool) -> None:
    """Look everything over; the exit code is 1 when something is wrong."""
    from loamery.web.upkeep import look_over, make_ready

    make_ready(data)
    faults = look_over()
    _said({"format": "loamery check 1", "faults": faults}, "\n".join(faults) or "all is well", json)
    if faults:
        raise typer.Exit(1)


def run_move(url: str, data: Path, json: bool) -> None:
    """Copy the database into another one."""
    from loamery.web.upkeep import make_ready, move

    make_ready(data)
    rows = move(url)
    said = f"copied {sum(rows.values())} rows; from now on start with LOAMERY_DATABASE_URL set to the new address"
    _said({"format": "loamery move 1", "rows": rows}, said, json)


def _said(document: dict[str, object], words: str, json: bool) -> None:
    if json:
        print_json(document)
    else:
        console().print(literal(words))
