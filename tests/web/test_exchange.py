"""Whole gardens in and out without loss, and everything a zip could do to us."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from loamery.errors import GardenError, InputError, UnreadableFile
from loamery.garden import Garden as Snapshot
from loamery.garden import read_garden, write_demo, write_garden
from loamery.web.records import exchange, ledger
from loamery.web.records.models import KINDS, Change, Garden
from loamery.web.records.snapshot import snapshot
from tests.garden.written import gardens
from tests.web.conftest import World


def same(one: Snapshot, other: Snapshot) -> bool:
    return one.model_dump(exclude={"folder"}) == other.model_dump(exclude={"folder"})


@settings(
    max_examples=12, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.large_base_example, HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(gardens())
def test_any_garden_comes_back_as_it_went_in(world: World, garden: Snapshot) -> None:
    with tempfile.TemporaryDirectory() as place:
        source = write_garden(garden, Path(place) / "in")
        kept = exchange.take_in(source, world.stranger)
        assert same(snapshot(kept), garden)
        with exchange.unpacked(io.BytesIO(exchange.as_zip(kept))) as folder:
            assert same(read_garden(folder), garden)


def test_the_demo_with_three_seasons_and_its_reports(world: World, tmp_path: Path) -> None:
    folder = write_demo(tmp_path / "demo", seasons=True)
    kept = exchange.take_in(folder, world.stranger)
    assert same(snapshot(kept), read_garden(folder))
    for path in (folder / "reports").iterdir():
        assert (kept.folder / "reports" / path.name).read_bytes() == path.read_bytes()
    told = Change.objects.get(garden=kept, kind="garden")
    assert told.action == "import"
    assert told.after["records"]["readings"] == len(snapshot(kept).readings)
    assert told.after["left_out"] == []


def test_each_record_brought_in_has_its_own_history_and_can_be_taken_back(world: World) -> None:
    (row,) = KINDS["readings"].objects.filter(garden=world.ours)
    (first,) = ledger.history(row)
    assert (first.action, first.who, first.after["temp_c"]) == ("import", world.people["owner"], 51.5)
    assert ledger.undo(first, world.people["owner"]).removed_at is not None


READ = b"# leaves, kg\nplot,treatment,measured_on,value,lost,note\n101,mulch,2027-06-01,2.5,,\n"
SHOP = b"id,name,n_percent,p2o5_percent,k2o_percent,price_per_kg,note\nblood,Blood meal,12,0,0,5.4,\n"


def test_shop_prices_come_back_byte_for_byte_and_strangers_are_told(world: World, client_of: Any) -> None:
    files = whole(world) | {"ours/fertilisers.csv": SHOP}
    sent = zipped(
        {
            **files,
            "ours/diary.odt": b"dear diary",
            "ours/trials/no-lay-out.csv": READ,
            "ours/reports/never-named.csv": b"a,b",
        }
    )
    sent.name = "garden.zip"
    page = client_of("stranger").post("/bring", {"folder": sent}, follow=True)
    assert "diary.odt, reports/never-named.csv, trials/no-lay-out.csv" in page.content.decode()
    kept = Garden.objects.latest("pk")
    with zipfile.ZipFile(io.BytesIO(exchange.as_zip(kept))) as packed:
        again = {name.split("/", 1)[1]: packed.read(name) for name in packed.namelist()}
    assert again == {name.split("/", 1)[1]: content for name, content in files.items()}
    assert KINDS["fertilisers"].objects.get(garden=kept).price_per_kg == 5.4
    shown = client_of("stranger").get(f"/g/{kept.slug}/changes").content.decode()
    assert "diary.odt" in shown


def test_a_trial_that_is_no_text_is_refused(world: World) -> None:
    with pytest.raises(InputError, match=r"x\.toml"):
        exchange.take_in_zip(zipped({**whole(world), "ours/trials/x.toml": b"a\0b"}), world.stranger)


def zipped(files: dict[str, bytes], kind: int = zipfile.ZIP_DEFLATED) -> io.BytesIO:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", kind) as packed:
        for name, content in files.items():
            packed.writestr(zipfile.ZipInfo(name), content, compress_type=kind)
    stream.seek(0)
    return stream


def whole(world: World) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(exchange.as_zip(world.ours))) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


@pytest.mark.parametrize(
    "name", ["../evil.csv", "/etc/evil", "ours/../../evil", "..\\evil", "C:\\evil", "ours/a\x01b", "ours/" + "x" * 200]
)
def test_names_that_lead_out_are_refused(world: World, name: str) -> None:
    with pytest.raises(UnreadableFile, match="name"):
        exchange.take_in_zip(zipped({**whole(world), name: b"x"}), world.stranger)


def test_a_link_in_a_zip_is_refused(world: World) -> None:
    stream = zipped(whole(world))
    link = zipfile.ZipInfo("ours/reports/link.csv")
    link.external_attr = 0o120777 << 16
    with zipfile.ZipFile(stream, "a") as packed:
        packed.writestr(link, "/etc/passwd")
    stream.seek(0)
    with pytest.raises(UnreadableFile, match="name"):
        exchange.take_in_zip(stream, world.stranger)


def test_a_zip_that_grows_without_measure_is_refused_before_it_is_unpacked(world: World) -> None:
    with pytest.raises(UnreadableFile, match="grows"):
        exchange.take_in_zip(zipped({**whole(world), "ours/reports/big.csv": b"0" * (30 * 2**20)}), world.stranger)


def test_a_zip_whose_list_lies_is_stopped_while_it_is_unpacked(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exchange, "MOST_UNPACKED_BYTES", 4000)
    monkeypatch.setattr(exchange, "_look_over", lambda packed: None)
    with pytest.raises(UnreadableFile, match="more than can be unpacked"):
        exchange.take_in_zip(zipped({**whole(world), "ours/big.csv": b"0" * 9000}), world.stranger)


@pytest.mark.parametrize("content", [b"", b"no zip at all", b"PK\x03\x04 broken"])
def test_what_is_no_zip_is_refused(world: World, content: bytes) -> None:
    with pytest.raises(UnreadableFile):
        exchange.take_in_zip(io.BytesIO(content), world.stranger)


def test_too_many_files_are_refused(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exchange, "MOST_FILES", 3)
    with pytest.raises(UnreadableFile, match="files"):
        exchange.take_in_zip(zipped(whole(world)), world.stranger)


def test_a_garden_with_faults_leaves_nothing_behind(world: World) -> None:
    files = whole(world)
    files["ours/loads.csv"] = files["ours/loads.csv"].replace(b"cafe", b"nobody")
    before = Garden.objects.count()
    with pytest.raises(GardenError, match="nobody"):
        exchange.take_in_zip(zipped(files), world.stranger)
    assert Garden.objects.count() == before


def test_a_report_that_is_something_else_is_refused_and_its_garden_not_made(world: World) -> None:
    files = whole(world)
    files["ours/reports/x.pdf"] = b"<html>no pdf</html>"
    files["ours/reports.toml"] = b'[[report]]\nfile = "reports/x.pdf"\nmaterial = "grounds"\n'
    with pytest.raises(InputError, match=r"no \.pdf inside"):
        exchange.take_in_zip(zipped(files), world.stranger)
    assert not Garden.objects.filter(slug__startswith="ours-invented").exists()


def test_what_file_systems_add_is_passed_over(world: World) -> None:
    kept = exchange.take_in_zip(
        zipped({**whole(world), "__MACOSX/ours/._garden.toml": b"x", "ours/.DS_Store": b"x"}), world.stranger
    )
    assert same(snapshot(kept), snapshot(world.ours))


def test_a_formula_in_a_note_goes_out_harmless_and_comes_back(world: World) -> None:
    note = "=HYPERLINK(1)"
    ledger.add(world.ours, "readings", {"batch": "spring", "on": "2027-04-20", "temp_c": 5, "note": note}, None)
    files = whole(world)
    assert b"'=HYPERLINK" in files["ours/readings.csv"]
    assert b",=HYPERLINK" not in files["ours/readings.csv"]
    kept = exchange.take_in_zip(zipped(files), world.stranger)
    assert KINDS["readings"].objects.filter(garden=kept, note=note).exists()
