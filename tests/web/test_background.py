"""Work in the background: one at a time, stopped when asked, not ended by the end of the page, told when it was cut off."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from loamery.web.pages import work
from loamery.web.pages.sight import Reckoned
from loamery.web.records.models import Garden
from tests.web.conftest import World

LONGEST_S = 120.0
SLEEPS = [sys.executable, "-c", "import time; time.sleep(300)"]
PAGE = (
    "import django, time; django.setup(); from loamery.web.pages import work; from loamery.web.records.models import Garden; \
work.start(Garden.objects.get(pk={pk})); print('begun', flush=True); time.sleep(300)"
)


def wait(true: Callable[[], Any]) -> None:
    until = time.monotonic() + LONGEST_S
    while not true():
        assert time.monotonic() < until, "it took too long"
        time.sleep(0.05)


def told(garden: Garden) -> dict[str, Any]:
    return work.state(garden) or {}


@pytest.fixture
def garden(world: World) -> Iterator[Garden]:
    yield world.ours
    work.stop(world.ours)
    for one in work.place(world.ours.pk).iterdir():
        one.unlink() if one.is_file() else shutil.rmtree(one)


@pytest.fixture
def endless(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(work, "_command", lambda *_more: SLEEPS)


def pid(garden: Garden) -> int:
    return int((work.place(garden.pk) / work.PID).read_text())


@pytest.mark.usefixtures("endless")
def test_it_is_not_started_twice_and_stops_when_asked(garden: Garden) -> None:
    work.keep(garden, Reckoned(failure="kept before"))
    work.start(garden)
    first = pid(garden)
    work.start(garden)
    assert pid(garden) == first
    assert told(garden)["running"]
    with pytest.raises(CommandError, match="already"):
        call_command("reckon", str(garden.pk))
    work.stop(garden)
    assert work.state(garden) is None
    assert work.kept(garden)[0].failure == "kept before"
    with pytest.raises(ProcessLookupError):
        os.kill(first, 0)


@pytest.mark.usefixtures("endless")
def test_what_was_killed_is_told_on_the_page_and_can_be_started_again(garden: Garden, client_of: Any) -> None:
    work.start(garden)
    os.kill(pid(garden), signal.SIGKILL)
    wait(lambda: not told(garden)["running"])
    assert told(garden)["failed"]
    assert work.CUT_OFF in client_of("reader").get("/g/ours/season/work").content.decode()
    work.start(garden)
    assert told(garden)["running"]


def test_a_number_of_a_process_that_was_given_away_again_is_not_mistaken(garden: Garden) -> None:
    folder = work.place(garden.pk)
    (folder / "state.json").write_text(json.dumps({"running": True, "percent": 40, "words": "solving", "at": 0.0}))
    (folder / work.PID).write_text(str(os.getppid()))
    assert told(garden)["failed"]
    work.stop(garden)  # and whoever has that number now lives on
    os.kill(os.getppid(), 0)


def test_the_work_goes_on_when_the_page_is_killed_and_what_was_cut_off_is_done_again(garden: Garden) -> None:
    page = subprocess.Popen([sys.executable, "-c", PAGE.format(pk=garden.pk)], stdout=subprocess.PIPE, text=True)
    assert page.stdout is not None
    assert page.stdout.readline() == "begun\n"
    page.send_signal(signal.SIGKILL)
    page.wait()
    page.stdout.close()
    first = pid(garden)
    assert told(garden)["running"]
    work.start(garden)  # the page was started again, and somebody presses the button
    assert pid(garden) == first
    wait(lambda: told(garden)["percent"] > 0)
    os.kill(first, signal.SIGKILL)
    wait(lambda: not told(garden)["running"])
    assert told(garden)["failed"]
    assert work.stamp(garden) == 0
    work.start(garden)
    wait(lambda: not told(garden)["running"])
    assert told(garden).get("done"), (work.place(garden.pk) / "log.txt").read_text()
    reckoned, fits = work.kept(garden)
    assert fits
    assert reckoned.plan is not None, reckoned.failure
