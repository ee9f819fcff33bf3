"""Have the heap model's loops compiled ahead, in a process beside this one, while something else is worked out.

Compiling takes half a minute once after installing; the compiler keeps what it made on disk, so that another process finds it.
"""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

LOOPS = (("loamery.heap.kernel", "run"), ("loamery.heap.many", "run_many"))
MOST_S = 300.0


def compiled() -> bool:
    """Tell whether the loops are on disk, made after their source was last changed."""
    return all(_on_disk(getattr(import_module(module), name)) for module, name in LOOPS)


def _on_disk(loop: Any) -> bool:
    if not hasattr(loop, "stats"):
        return True  # numba was told not to compile
    source = Path(loop.py_func.__code__.co_filename)
    made = Path(loop.stats.cache_path).glob(f"{source.stem}.{loop.py_func.__name__}-*.nbi")
    return any(one.stat().st_mtime >= source.stat().st_mtime for one in made)


class Ahead:
    """Loops that are being compiled beside this process; nothing is begun when they are there already."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Ahead:
        if not compiled():
            quiet = subprocess.DEVNULL
            command = [sys.executable, "-m", __name__]
            self._process = subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet)
        return self

    def wait(self) -> None:
        """Wait until they are there; where that failed, they are compiled where they are used."""
        if self._process is not None:
            try:
                self._process.wait(MOST_S)
            except subprocess.TimeoutExpired:
                self._process.kill()

    def __exit__(self, *_: object) -> None:
        if self._process is not None and self._process.poll() is None:
            self._process.kill()  # what it was for came to an end without it
            self._process.wait()


def compile_loops() -> None:
    """Compile the loops by running a small heap for a day, alone and as an ensemble."""
    from loamery.heap.model import ensemble, simulate
    from loamery.heap.spec import HeapSpec, Stuff
    from loamery.heap.weather import Weather

    any_stuff = Stuff(0.6, 400.0, 0.45, 0.015, 0.1, 0.3, 0.5, 0.2)
    spec = HeapSpec(any_stuff, "bin", volume_m3=1.0, weather=Weather.constant(15.0, 2))
    simulate(spec, 1.0)
    ensemble([spec], 1.0)


if __name__ == "__main__":
    compile_loops()
