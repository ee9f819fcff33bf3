"""Count what each page of the demo garden, with three seasons of records, asks of the database; printed as JSON.

Run as a program of its own on the data folder of the browser tests: ``python count.py FOLDER``. Times are printed beside, as a
help for who looks; nothing is decided by them.
"""

from __future__ import annotations

import json
import os
import sys
import time

PAGES = ("", "?week=3", "season/", "beds/", "beds/north-border/", "heaps/", "worms/shed-box/", "materials/",
         "materials/grounds/", "reports/", "here/", "sheets/", "settings/", "more/", "records/loads", "records/readings",
         "records/applications/add", "changes", "people", "origin/?of=composition/grounds/N")  # fmt: skip
ROUNDS = 12


def main(data: str) -> None:
    """Print questions and milliseconds of each page."""
    os.environ |= {"LOAMERY_DATA": data, "DJANGO_SETTINGS_MODULE": "loamery.web.settings", "LOAMERY_LOG": "ERROR"}
    import django

    django.setup()
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from loamery.web.records.models import KINDS

    client = Client(REMOTE_ADDR="127.0.0.1", HTTP_HOST="127.0.0.1")
    built = KINDS["batches"].objects.filter(garden__slug="fernmoor").latest("built").key
    out = {}
    for page in (*PAGES, f"heaps/{built}/"):
        client.get(f"/g/fernmoor/{page}")
        took = []
        for _ in range(ROUNDS):
            with CaptureQueriesContext(connection) as asked:
                start = time.perf_counter()
                answer = client.get(f"/g/fernmoor/{page}")
                took.append(1000 * (time.perf_counter() - start))
        assert answer.status_code == 200, page
        out[page] = {
            "questions": len(asked),
            "ms": [round(one, 1) for one in sorted(took)],
            "bytes": len(answer.content),
        }
    print(json.dumps(out))


if __name__ == "__main__":
    main(sys.argv[1])
