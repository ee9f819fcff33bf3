"""The same tests of the database on a real PostgreSQL."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks import postgres

HERE = Path(__file__).resolve().parent
ON_BOTH = (
    "test_background.py",
    "test_beginning.py",
    "test_ledger.py",
    "test_exchange.py",
    "test_files.py",
    "test_people.py",
    "test_matrix.py",
)
"""Everything whose outcome a database decides."""


@pytest.mark.slow
@pytest.mark.skipif("LOAMERY_TEST_DATABASE" in os.environ, reason="this is the run on the other database")
@pytest.mark.skipif(postgres.installed() is None, reason="the programs of PostgreSQL are not installed")
def test_the_same_tests_on_postgresql() -> None:
    with postgres.running() as url:
        call = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-x",
            "-p",
            "no:cacheprovider",
            *(str(HERE / one) for one in ON_BOTH),
        ]
        done = subprocess.run(
            call,
            env={**os.environ, "LOAMERY_TEST_DATABASE": url},
            cwd=HERE.parents[1],
            capture_output=True,
            text=True,
            check=False,
        )
        told = done.stdout[-3000:] + done.stderr[-3000:]
        assert done.returncode == 0, told
        assert "skipped" not in told.splitlines()[-1]
