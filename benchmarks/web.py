"""The web page with 50 people logging at once, and reading pages: SQLite beside PostgreSQL, the same program and machine.

    python -m benchmarks.web

Every record is counted afterwards: a lost write or a refusal ends the run. Pages are those of the demo garden with three
seasons of records. Times are those a person waits, the network of this machine and the client's own work included.
"""

from __future__ import annotations

import statistics
import tempfile
import threading
import time
import uuid
from pathlib import Path

from benchmarks import postgres
from benchmarks.served import Page

PEOPLE, EACH = 50, 10
PAGES = ("", "season/", "materials/", "materials/grounds/", "beds/", "beds/kitchen-bed/", "heaps/", "heaps/heap-2027-4/", "worms/shed-box/", "sheets/",
         "tests/", "what-if/", "settings/", "here/", "records/readings", "records/loads", "records/readings/add", "changes")  # fmt: skip
TIMES = 100
MOST_MS = 100.0
"""What the server may take for a page, 95 times in 100."""


def main() -> None:
    """Print the figures of both, and their ratios."""
    found = {"SQLite": _of("")}
    if postgres.installed() is not None:
        with postgres.running(durable=True) as url:
            found["PostgreSQL"] = _of(url)
    print(f"{'':56}" + "".join(f"{name:>14}" for name in found) + ("         ratio" if len(found) == 2 else ""))
    for name in found["SQLite"]:
        values = [one[name] for one in found.values()]
        ratio = f"{values[0] / values[1]:14.2f}" if len(values) == 2 and values[1] else ""
        print(f"{name:56}" + "".join(f"{value:14.1f}" for value in values) + ratio)


def _of(url: str) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as place:
        page = Page(Path(place) / "data", url)
        page.start()
        try:
            return {**logging(page), **reading(page)}
        finally:
            page.stop()


def logging(page: Page) -> dict[str, float]:
    """Return records a second, and what one person waits, when everybody sends at once."""
    keys = page.keys(PEOPLE)
    waits: list[float] = []
    refused: list[int] = []
    begin = threading.Barrier(PEOPLE + 1)

    def send(key: str) -> None:
        line = page.line()
        begin.wait()
        for _ in range(EACH):
            start = time.perf_counter()
            status = page.log(key, uuid.uuid4(), 50.0, line)
            waits.append(time.perf_counter() - start)
            if status != 201:
                refused.append(status)

    people = [threading.Thread(target=send, args=(key,)) for key in keys]
    for one in people:
        one.start()
    before = page.ask("GET", "/api/gardens/fernmoor", keys[0])[1]["counts"]["readings"]
    begin.wait()
    start = time.perf_counter()
    for one in people:
        one.join()
    took = time.perf_counter() - start
    after = page.ask("GET", "/api/gardens/fernmoor", keys[0])[1]["counts"]["readings"]
    assert not refused, refused
    assert after - before == PEOPLE * EACH == len(waits), "a write was lost"
    return {
        f"{PEOPLE} people, records a second": PEOPLE * EACH / took,
        "  one record, median, ms": 1000 * statistics.median(waits),
        "  one record, 95 in 100 within, ms": 1000 * statistics.quantiles(waits, n=20)[-1],
    }


def reading(page: Page) -> dict[str, float]:
    """Return what the server takes for each page of the planned garden, one reader alone, and for the first one after each new record."""
    page.plan()
    keys, found = page.keys(TIMES), {}  # one for each record: a single one is held to so many a minute
    first = page.served_ms("/g/fernmoor/")  # reads the plan and the records anew, which later pages find in memory
    for path in PAGES:
        found[f"/{path}, server, 95 in 100 within, ms"] = _slowest(
            [page.served_ms(f"/g/fernmoor/{path}") for _ in range(TIMES)]
        )
    after = []
    for number, key in enumerate(keys):
        assert page.log(key, uuid.uuid4(), 40.0 + number % 20) == 201
        after.append(page.served_ms("/g/fernmoor/"))
    found["/ after a record was written, server, 95 in 100 within, ms"] = _slowest(after)
    found["slowest of these"] = max(found.values())
    found[f"pages over {MOST_MS:.0f} ms"] = sum(one > MOST_MS for name, one in found.items() if name.startswith("/"))
    found["the very first page after a start, server, ms"] = first
    return found


def _slowest(waits: list[float]) -> float:
    return statistics.quantiles(waits, n=20)[-1]


if __name__ == "__main__":
    main()
