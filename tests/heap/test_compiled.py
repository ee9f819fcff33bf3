"""The heap model's loops, compiled ahead beside a process."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from loamery.heap import compiled


def _ask(code: str, folder: Path | None = None, **more: str) -> str:
    environment = dict(os.environ) | ({"NUMBA_CACHE_DIR": str(folder)} if folder else {}) | more
    return subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
    ).stdout.strip()


def test_knows_that_nothing_was_compiled(tmp_path: Path) -> None:
    assert _ask("from loamery.heap.compiled import compiled; print(compiled())", tmp_path) == "False"


def test_nothing_is_awaited_where_nothing_is_compiled() -> None:
    assert _ask("from loamery.heap.compiled import compiled; print(compiled())", NUMBA_DISABLE_JIT="1") == "True"


def test_what_was_compiled_is_found_by_another_process() -> None:
    compiled.compile_loops()
    found = _ask(
        "from loamery.heap.compiled import compiled, compile_loops\n"
        "from loamery.heap.many import run_many\n"
        "print(compiled()); compile_loops()\n"
        "print(sum(run_many.stats.cache_misses.values()))",
    )
    assert found.split() == ["True", "0"]


def test_nothing_is_begun_when_it_is_there() -> None:
    compiled.compile_loops()
    with compiled.Ahead() as ahead:
        ahead.wait()
        assert ahead._process is None


def test_a_process_no_longer_needed_is_ended(monkeypatch) -> None:
    monkeypatch.setattr(compiled, "compiled", lambda: False)
    with compiled.Ahead() as ahead:
        process = ahead._process
        assert process is not None
    assert process.poll() is not None
