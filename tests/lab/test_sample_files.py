"""The invented sample reports themselves: complete, reproducible, marked, and right by hand arithmetic."""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from loamery.names import quantities

HERE = Path(__file__).resolve().parent
SAMPLES = HERE / "samples"
TRUTHS = sorted(SAMPLES.glob("*.truth.json"))
NO_ROOM_FOR_A_MARK = {"empty.csv", "random.pdf"}


def load(path: Path) -> dict:
    return json.loads(path.read_text(encoding="utf-8"))


def test_enough_layouts():
    assert len([path for path in TRUTHS if load(path)["error"] is None]) >= 16
    assert len([path for path in TRUTHS if load(path)["error"] == "UnreadableFile"]) >= 5
    assert len({load(path)["layout"] for path in TRUTHS}) >= 16


def test_every_file_has_a_truth():
    reports = {path.name for path in SAMPLES.iterdir()} - {path.name for path in TRUTHS}
    assert reports - {"README.md", ".gitattributes"} == {load(path)["file"] for path in TRUTHS}


@pytest.mark.parametrize("path", TRUTHS, ids=lambda path: path.stem)
def test_truth_speaks_of_known_quantities_in_si(path):
    for sample in load(path)["samples"]:
        for key, truth in sample["determinations"].items():
            known = quantities()[key.partition(":")[0]]
            assert truth["basis"] in ("dry", "as_received", "not_stated", "none")
            if known.si_unit == "kg/kg" and "value" in truth:
                assert 0 < truth["value"] < 1, key


@pytest.mark.parametrize("path", TRUTHS, ids=lambda path: path.stem)
def test_file_says_it_is_invented(path):
    file = SAMPLES / load(path)["file"]
    if file.name in NO_ROOM_FOR_A_MARK:
        pytest.skip("the file cannot carry a mark")
    data = file.read_bytes()
    if file.suffix == ".xlsx":
        with zipfile.ZipFile(file) as book:
            data = b"".join(book.read(name) for name in book.namelist())
    assert b"invented" in data.replace(b"\0", b"").lower()


def test_label_check_by_hand():
    """N 2.05, P 1300 and K 6200 mg/kg are 2.05 - 0.2979 - 0.7469 (common practice, no source)."""
    found = load(SAMPLES / "label-check.truth.json")["samples"][0]["determinations"]
    assert found["N"]["value"] * 100 == pytest.approx(2.05, abs=1e-9)
    assert found["P"]["value"] * 100 * 2.29137 == pytest.approx(0.2979, abs=5e-5)
    assert found["K"]["value"] * 100 * 1.2046 == pytest.approx(0.7469, abs=5e-5)
    mineral = found["NH4_N"]["value"] + found["NO3_N"]["value"]
    assert mineral * 100 == pytest.approx(0.00083, abs=1e-9)
    assert found["K:extractable"]["value"] / found["K"]["value"] == pytest.approx(1.032, abs=5e-4)
    excess = load(SAMPLES / "label-check-excess.truth.json")["samples"][0]["determinations"]
    assert excess["K:extractable"]["value"] / excess["K"]["value"] == pytest.approx(1.30, abs=1e-9)


def test_pounds_per_ton_by_hand():
    """One lb per short ton is 0.5 g/kg; P is 0.4364 and K 0.8301 of the oxide."""
    found = load(SAMPLES / "pounds-per-ton.truth.json")["samples"][0]["determinations"]
    assert found["N"]["value"] == pytest.approx(0.0057, abs=1e-12)
    assert found["P"]["value"] == pytest.approx(5.0 * 0.0005 * 0.4364, rel=2e-4)
    assert found["K"]["value"] == pytest.approx(9.2 * 0.0005 * 0.8301, rel=2e-4)


def test_dry_and_wet_columns_agree():
    sample = load(SAMPLES / "dry-and-wet.truth.json")["samples"][0]
    for key, seconds in sample["also"].items():
        assert seconds[0]["value"] == pytest.approx(sample["determinations"][key]["value"] * 0.4, rel=1e-9)


def test_cations_by_hand():
    """One cmol(+)/kg is 200.39 mg Ca, 121.53 mg Mg, 390.98 mg K, 229.90 mg Na per kg."""
    found = load(SAMPLES / "soil-mehlich3.truth.json")["samples"][0]["determinations"]
    for key, printed, factor in (("Ca", 11.6, 200.39), ("Mg", 2.3, 121.53), ("K", 0.48, 390.98), ("Na", 0.11, 229.90)):
        assert found[f"{key}:extractable"]["value"] == pytest.approx(printed * factor * 1e-6, rel=1e-4)


def test_script_writes_the_same_bytes(tmp_path):
    pytest.importorskip("reportlab")
    subprocess.run([sys.executable, str(HERE / "make_samples.py"), str(tmp_path)], check=True)
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in SAMPLES.iterdir()}
    for path in SAMPLES.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name
