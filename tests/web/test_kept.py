"""What was acknowledged is there: after kill -9, in a backup taken under load, brought back, and moved to another database."""

from __future__ import annotations

import json
import signal
import sqlite3
import threading
import uuid
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from benchmarks import postgres
from benchmarks.served import Page, loamery

THREADS, EACH = 4, 50


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    one = Page(tmp_path_factory.mktemp("served") / "data")
    one.start()
    yield one
    if one.process is not None and one.process.poll() is None:
        one.stop()


def written(path: Path) -> list[str]:
    with sqlite3.connect(path) as database:
        return [
            row[0] for row in database.execute("SELECT note FROM records_reading WHERE sent_as IS NOT NULL ORDER BY id")
        ]


def test_kill_during_200_writes_loses_nothing_that_was_acknowledged(page: Page, tmp_path: Path) -> None:
    (key,) = page.keys()
    sent: list[uuid.UUID] = [uuid.uuid4() for _ in range(THREADS * EACH)]
    kept: list[uuid.UUID] = []

    def send(mine: list[uuid.UUID]) -> None:
        line = page.line()
        for number in mine:
            try:
                if page.log(key, number, 50.0, line) == 201:
                    kept.append(number)
            except OSError:
                return
            except Exception:  # the line is cut in the middle of an answer
                return

    writers = [threading.Thread(target=send, args=(sent[start::THREADS],)) for start in range(THREADS)]
    for one in writers:
        one.start()
    while len(kept) < 60:
        assert any(one.is_alive() for one in writers)
    saved = loamery("backup", "--into", str(tmp_path / "under-load.zip"), "--data", str(page.data))
    assert saved.returncode == 0, saved.stderr
    page.stop(signal.SIGKILL)
    for one in writers:
        one.join()
    page.start()
    there = written(page.data / "loamery.sqlite3")
    assert {str(number) for number in kept} <= set(there)
    for number in sent:  # the phones did not all hear an answer, and send everything again
        assert page.log(key, number, 50.0) == 201
    again = written(page.data / "loamery.sqlite3")
    assert sorted(again) == sorted(str(number) for number in sent)
    _the_backup_is_whole(tmp_path, set(again))
    checked = loamery("check", "--data", str(page.data))
    assert checked.returncode == 0, checked.stdout


def _the_backup_is_whole(tmp_path: Path, sent: set[str]) -> None:
    back = loamery("restore", str(tmp_path / "under-load.zip"), "--data", str(tmp_path / "back"), "--json")
    assert back.returncode == 0, back.stderr
    held = written(tmp_path / "back" / "loamery.sqlite3")
    assert len(held) >= 60
    assert set(held) <= sent
    assert len(set(held)) == len(held)
    checked = loamery("check", "--data", str(tmp_path / "back"))
    assert checked.returncode == 0, checked.stdout
    reports = sorted(path.name for path in (tmp_path / "back" / "gardens").glob("*/reports/*"))
    assert len(reports) >= 8


def everything(page: Page, key: str) -> Any:
    return page.ask("GET", "/api/gardens/fernmoor/everything", key)[1]


@pytest.mark.skipif(postgres.installed() is None, reason="the programs of PostgreSQL are not installed")
def test_moved_to_postgresql_the_garden_is_the_same_and_goes_on(page: Page) -> None:
    (key,) = page.keys()
    before = everything(page, key)
    page.stop()
    with postgres.running() as url:
        moved = loamery("move", url, "--data", str(page.data), "--json")
        assert moved.returncode == 0, moved.stderr
        assert json.loads(moved.stdout)["rows"]["records.reading"] == len(before["readings"])
        other = Page(page.data, url)
        other.start()
        try:
            assert everything(other, key) == before
            assert other.log(key, uuid.uuid4(), 41.0) == 201, "numbers of new rows go on after those that moved"
            assert loamery("check", "--data", str(page.data), database=url).returncode == 0
            again = loamery("move", url, "--data", str(page.data))
            assert again.returncode == 1
            assert "records already" in again.stderr
        finally:
            other.stop()
    page.start()
    assert everything(page, key) == before, "the old database is left as it was"


def test_what_was_altered_behind_our_back_is_found(page: Page, tmp_path: Path) -> None:
    assert loamery("backup", "--into", str(tmp_path / "one.zip"), "--data", str(page.data)).returncode == 0
    data = tmp_path / "altered"
    assert loamery("restore", str(tmp_path / "one.zip"), "--data", str(data)).returncode == 0
    with sqlite3.connect(data / "loamery.sqlite3") as database:
        database.execute(
            "UPDATE records_reading SET temp_c = 99 WHERE sent_as IS NOT NULL AND id = (SELECT max(id) FROM records_reading)"
        )
        database.execute("UPDATE records_planting SET share = 1 WHERE id = (SELECT min(id) FROM records_planting)")
    report = next((data / "gardens").glob("*/reports/*.csv"))
    report.write_bytes(report.read_bytes() + b"\n")
    next((data / "gardens").glob("*/reports/*.pdf")).unlink()
    (report.parent / "stray.csv").write_text("x")
    told = loamery("check", "--data", str(data), "--json")
    assert told.returncode == 1
    faults = " ".join(json.loads(told.stdout)["faults"])
    for words in (
        "changed beside the history",
        "plantings.csv",
        "not as it was given",
        "gone",
        "a file no record knows",
    ):
        assert words in faults


def test_what_is_no_backup_or_has_no_room_is_refused(page: Page, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.zip"
    with zipfile.ZipFile(wrong, "w") as packed:
        packed.writestr("backup.json", '{"form": "something else"}')
    for words, says in (
        (("restore", str(wrong), "--data", str(tmp_path / "new")), "something else"),
        (("restore", str(tmp_path / "none.zip"), "--data", str(tmp_path / "new")), "no backup of ours"),
        (("backup", "--into", str(wrong), "--data", str(page.data)), "it is there already"),
        (("check", "--data", str(tmp_path / "nowhere")), "no such folder"),
        (("move", "mysql://x/y", "--data", str(page.data)), "LOAMERY_DATABASE_URL"),
    ):
        done = loamery(*words)
        assert done.returncode == 1
        assert says in done.stderr
        assert "Traceback" not in done.stderr
    good = tmp_path / "good.zip"
    assert loamery("backup", "--into", str(good), "--data", str(page.data)).returncode == 0
    assert "records already" in loamery("restore", str(good), "--data", str(page.data)).stderr
    assert page.data.stat().st_mode & 0o077 == 0


def test_the_same_record_sent_many_times_at_once_is_written_once(page: Page) -> None:
    (key,), number, answers = page.keys(), uuid.uuid4(), []
    begin = threading.Barrier(THREADS * 2)

    def send() -> None:
        line = page.line()
        begin.wait()
        answers.append(page.log(key, number, 48.0, line))

    phones = [threading.Thread(target=send) for _ in range(THREADS * 2)]
    for one in phones:
        one.start()
    for one in phones:
        one.join()
    assert answers == [201] * len(phones)
    assert written(page.data / "loamery.sqlite3").count(str(number)) == 1


def test_fifty_people_at_once_lose_nothing(page: Page) -> None:
    keys = page.keys(50)
    before = len(written(page.data / "loamery.sqlite3"))
    answers: list[int] = []
    begin = threading.Barrier(len(keys))

    def send(key: str) -> None:
        line = page.line()
        begin.wait()
        answers.extend(page.log(key, uuid.uuid4(), 48.0, line) for _ in range(3))

    people = [threading.Thread(target=send, args=(key,)) for key in keys]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert answers == [201] * 150
    assert len(written(page.data / "loamery.sqlite3")) == before + 150
    assert "locked" not in (page.data.parent / "served.txt").read_text()
