"""A web page served by a process of its own, for tests that kill it and for benchmarks."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
import uuid
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

WAIT_S = 60.0
KEY = """
import sys
from pathlib import Path
from loamery.web.upkeep import make_ready
make_ready(Path(sys.argv[1]))
from loamery.web.people.models import Person, Token, digest, new_token
from loamery.web.records.models import Garden
for _ in range(int(sys.argv[2])):
    secret = new_token()
    Token.objects.create(person=Person.objects.get(), garden=Garden.objects.get(), name="x", role=4, digest=digest(secret))
    print(secret)
"""


def environment(database: str = "") -> dict[str, str]:
    mine = {name: value for name, value in os.environ.items() if not name.startswith(("LOAMERY_", "DJANGO_"))}
    return mine | {"LOAMERY_DATABASE_URL": database}


def loamery(*words: str, database: str = "") -> subprocess.CompletedProcess[str]:
    call = [sys.executable, "-m", "loamery.cli", *words]
    return subprocess.run(call, env=environment(database), capture_output=True, text=True, check=False)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Page:
    """A running page: start, ask, kill."""

    data: Path
    database: str = ""
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        call = [sys.executable, "-m", "loamery.cli", "serve", "--data", str(self.data), "--port", str(self.port)]
        out = (self.data.parent / "served.txt").open("ab")
        self.process = subprocess.Popen(call, env=environment(self.database), stdout=out, stderr=out)
        end = time.monotonic() + WAIT_S
        while True:
            try:
                if self.ask("GET", "/health")[0] == 200:
                    return
            except OSError:
                assert self.process.poll() is None, (self.data.parent / "served.txt").read_text()
                assert time.monotonic() < end
                time.sleep(0.1)

    def stop(self, how: int = signal.SIGTERM) -> None:
        assert self.process is not None
        self.process.send_signal(how)
        self.process.wait(timeout=20)

    def keys(self, count: int = 1) -> list[str]:
        call = [sys.executable, "-c", KEY, str(self.data), str(count)]
        done = subprocess.run(call, env=environment(self.database), capture_output=True, text=True, check=True)
        return done.stdout.split()

    def line(self) -> http.client.HTTPConnection:
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)

    def ask(
        self, method: str, path: str, key: str = "", body: Any = None, line: http.client.HTTPConnection | None = None
    ) -> tuple[int, Any]:
        own = line or self.line()
        headers = {"Content-Type": "application/json"} | ({"Authorization": f"Bearer {key}"} if key else {})
        own.request(method, path, json.dumps(body) if body is not None else None, headers)
        answer = own.getresponse()
        content = answer.read()
        if line is None:
            own.close()
        return answer.status, json.loads(content) if "json" in answer.headers.get("Content-Type", "") else content

    def plan(self) -> None:
        """Plan the season of the first garden, as the page does in the background."""
        call = [sys.executable, "-m", "loamery.web", "reckon", "1"]
        mine = environment(self.database) | {
            "LOAMERY_DATA": str(self.data),
            "DJANGO_SETTINGS_MODULE": "loamery.web.settings",
        }
        subprocess.run(call, env=mine, capture_output=True, check=True)

    def served_ms(self, path: str) -> float:
        """Return what a page took on the server, as the server says."""
        line = self.line()
        line.request("GET", path)
        answer = line.getresponse()
        answer.read()
        line.close()
        assert answer.status == 200, (path, answer.status)
        return float(answer.headers["Server-Timing"].partition("dur=")[2])

    def log(self, key: str, number: uuid.UUID, temp_c: float, line: http.client.HTTPConnection | None = None) -> int:
        """Send one reading with a number of its own and return the status."""
        reading = {"batch": "heap-2027-4", "on": "2027-07-12", "temp_c": temp_c, "note": str(number)}
        return self.ask("POST", f"/api/gardens/fernmoor/readings?sent_as={number}", key, reading, line)[0]
