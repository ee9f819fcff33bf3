"""Migrations go forward and back, and what is kept goes with them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from loamery.garden import write_demo
from loamery.saving import save_text
from tests.web.conftest import World
from tests.web.test_trials import as_files, laid_out

GO = """
import sys
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


@pytest.mark.skipif("LOAMERY_TEST_DATABASE" in os.environ, reason="has a database of its own")
def test_shop_prices_and_trials_go_back_to_files_and_become_records_again(world: World, tmp_path: Path) -> None:
    folder, data = write_demo(tmp_path / "demo"), tmp_path / "data"
    sent = {name.removeprefix("ours/"): content.decode() for name, content in as_files(laid_out(world)).items()}
    for name, text in sent.items():
        save_text(folder / name, text)
    data.mkdir()
    own = {name: value for name, value in os.environ.items() if not name.startswith("LOAMERY_")}
    own |= {"LOAMERY_DATA": str(data), "DJANGO_SETTINGS_MODULE": "loamery.web.settings"}

    call = [sys.executable, "-c", GO, str(data), str(folder), *sent]
    done = subprocess.run(call, env=own, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
