"""The pages as a browser gets them: served by a process of its own, watched for anything that leaves this machine."""

from __future__ import annotations

import fcntl
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

READY = Path(__file__).with_name("ready.py")
EXPECTED = ("ERR_INTERNET_DISCONNECTED", "status of 422")
"""What a browser says of itself when a test takes its network away, or when a record is refused as it should be."""
Open = Callable[..., Any]


def surroundings() -> dict[str, str]:
    """Return the environment of a program of its own: nothing of what the other tests of the web page set."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("LOAMERY_", "DJANGO_"))}
    return {**kept, "PYTHONPATH": str(READY.parents[3])}


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the data folder of the gardens of the browser tests, made once however many processes run them; only copied."""
    shared = tmp_path_factory.getbasetemp()
    if os.environ.get("PYTEST_XDIST_WORKER"):
        shared = shared.parent
    folder, whole = shared / "loamery-browser", shared / "loamery-browser.whole"
    with (shared / "loamery-browser.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not whole.exists():
            shutil.rmtree(folder, ignore_errors=True)
            subprocess.run([sys.executable, str(READY), str(folder)], env=surroundings(), check=True, timeout=400)
            whole.touch()
    return folder


@pytest.fixture(scope="module")
def data(prepared: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a data folder that no other file of tests writes to: what one leaves behind is no part of another's question."""
    return Path(shutil.copytree(prepared, tmp_path_factory.mktemp("browser") / "data"))


@pytest.fixture(scope="module")
def address(data: Path) -> Iterator[str]:
    """Serve the gardens of the browser tests and return where."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "loamery.cli", "serve", "--data", str(data), "--port", str(port)]
    with (data / "server.log").open("wb") as log:
        server = subprocess.Popen(command, env=surroundings(), stdout=log, stderr=log)
    where = f"http://127.0.0.1:{port}"
    try:
        _wait(server, f"{where}/health")
        yield where
    finally:
        server.terminate()
        server.wait(timeout=20)


def _wait(server: subprocess.Popen[bytes], health: str) -> None:
    for _ in range(120):
        assert server.poll() is None, "the server ended"
        try:
            urllib.request.urlopen(health, timeout=2).close()
        except OSError:
            time.sleep(0.5)
        else:
            return
    raise AssertionError("the server did not start")


@pytest.fixture
def opened(browser: Any, address: str) -> Iterator[Open]:
    """Return a function that opens a new window; at the end nothing may have gone wrong or elsewhere in any of them."""
    windows: list[Any] = []
    said: list[str] = []
    elsewhere: list[str] = []

    def one(width: int = 1280, scheme: str = "light", **more: Any) -> Any:
        window = browser.new_context(
            viewport={"width": width, "height": 900}, color_scheme=scheme, base_url=address, **more
        )
        windows.append(window)
        page = window.new_page()
        page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: said.append(str(error)))
        page.on("request", lambda request: None if _ours(request.url, address) else elsewhere.append(request.url))
        return page

    yield one
    for window in windows:
        window.close()
    assert elsewhere == []
    assert [text for text in said if not any(one in text for one in EXPECTED)] == []


def _ours(url: str, address: str) -> bool:
    return url.startswith((f"{address}/", "data:", "blob:"))
