"""Migrations go forward and back, and what is kept goes with them."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from loamery.garden import write_demo
from loamery.saving import save_text
from tests.web.conftest import World
from tests.web.test_trials import as_files, laid_out

GO = """
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
data, folder = map(Path, sys.argv[1:3])
from loamery.web.upkeep import look_over, make_ready
make_ready(data)
from django.core.management import call_command
call_command("migrate", verbosity=0)
from loamery.web.records.exchange import take_in
kept = take_in(folder, None, slug="fernmoor").folder
names = sys.argv[3:]
assert not any((kept / name).exists() for name in names)
call_command("migrate", "records", "0004", verbosity=0)
for name in names:
    assert (kept / name).read_text() == (folder / name).read_text(), name
assert "blood-meal" in (kept / "fertilisers.csv").read_text()
call_command("migrate", verbosity=0)
assert not any((kept / name).exists() for name in (*names, "fertilisers.csv"))
assert not look_over(), look_over()
"""
THERE_AND_BACK = """
import django
django.setup()
from django.core.management import call_command
for words in ([], ["people", "zero"], ["records", "zero"], []):
    call_command("migrate", *words, verbosity=0)
"""


@contextmanager
def empty_database(name: str) -> Iterator[str]:
    """Give the address of an empty database on the server these tests run on; none for a file of SQLite."""
    server = os.environ.get("LOAMERY_TEST_DATABASE", "")
    if not server:
        yield ""
        return
    import psycopg

    with psycopg.connect(server, autocommit=True) as open_:
        open_.execute(f"CREATE DATABASE {name}")
        yield server.replace("/postgres?", f"/{name}?")
        open_.execute(f"DROP DATABASE {name}")


def run(data: Path, url: str, *script: str) -> None:
    own = {name: value for name, value in os.environ.items() if not name.startswith("LOAMERY_")}
    own |= {"LOAMERY_DATA": str(data), "LOAMERY_DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "loamery.web.settings"}
    done = subprocess.run([sys.executable, "-c", *script], env=own, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_migration_goes_forward_and_back(tmp_path: Path) -> None:
    with empty_database("there") as url:
        run(tmp_path, url, THERE_AND_BACK)


def test_shop_prices_and_trials_go_back_to_files_and_become_records_again(world: World, tmp_path: Path) -> None:
    folder, data = write_demo(tmp_path / "demo"), tmp_path / "data"
    sent = {name.removeprefix("ours/"): content.decode() for name, content in as_files(laid_out(world)).items()}
    for name, text in sent.items():
        save_text(folder / name, text)
    data.mkdir()

    with empty_database("kept") as url:
        run(data, url, GO, str(data), str(folder), *sent)
