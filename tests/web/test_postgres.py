"""The same tests on a real PostgreSQL: every file of them, but for what is about SQLite itself."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks import postgres

HERE = Path(__file__).resolve().parent
OF_ONE = {
    "test_kept.py": "reads the file of SQLite, and moves from it to PostgreSQL",
    "test_words.py": "asks no database",
    "test_postgres.py": "is this",
}
"""Files of tests that are not run again on the other database, and why."""
ON_BOTH = sorted(path.name for path in HERE.glob("test_*.py") if path.name not in OF_ONE)


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


def test_what_is_left_out_is_there() -> None:
    assert all((HERE / name).is_file() for name in OF_ONE)
