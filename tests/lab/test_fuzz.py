"""Thousands of generated, strange and damaged reports: never a traceback, never a value other than the one printed."""

from __future__ import annotations

import json
import random
import re
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loamery.errors import LoameryError
from loamery.garden.report import LabReport
from loamery.lab.reading import read_report

sys.path.insert(0, str(Path(__file__).resolve().parent))
from report_maker import Known, Made, as_aligned, as_page, as_text, as_workbook, reports

SAMPLES = Path(__file__).resolve().parent / "samples"
FILES = sorted(path for path in SAMPLES.iterdir() if path.suffix in (".csv", ".tsv", ".xlsx", ".pdf"))
TABLES = sorted(path for path in SAMPLES.iterdir() if path.suffix == ".csv" and path.stat().st_size > 200)
CASES = {
    "plain": 700,
    "odd": 700,
    "aligned": 300,
    "workbook": 150,
    "paper": 80,
    "bytes": 500,
    "pages": 60,
    "cells": 700,
}
LEAST = 2000
RTOL = 2e-4
"""Oxide shares of the maker are rounded; a slip of unit, basis, decimal mark or species is far larger."""


def profile(count: int) -> Callable[[Callable[..., None]], Callable[..., None]]:
    return settings(
        max_examples=count, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
    )


def read(folder: Path, name: str, data: bytes) -> tuple[LabReport, ...]:
    """Read bytes as a file; an error of ours is an answer, anything else fails the test."""
    path = folder / name
    path.write_bytes(data)
    try:
        return read_report(path)
    except LoameryError as error:
        assert str(error)
        return ()


def misread(made: Made, found: tuple[LabReport, ...]) -> list[str]:
    """Return every determination that says something else than what was printed."""
    faults = []
    for report in found:
        for one in report.determinations:
            known = [k for k in made.known if k.name == one.raw_name and k.sample in ("", report.sample)]
            if not any(same(one, k) for k in known):
                faults.append(f"{made.what}: {report.sample!r} {one.key} {one.value} {one.limit} {one.basis} from {one.raw_name!r} {one.raw_value!r} {one.raw_unit!r}; known {known}")  # fmt: skip
    return faults


def same(one: object, known: Known) -> bool:
    amount = one.limit if known.below else one.value  # type: ignore[attr-defined]
    if known.si is None or amount is None or one.basis != known.basis or one.key != known.key:  # type: ignore[attr-defined]
        return False
    return (one.censored == "below") == known.below and abs(amount - known.si) <= RTOL * known.si  # type: ignore[attr-defined]


def share_read(made: Made, found: tuple[LabReport, ...]) -> float:
    certain = [k for k in made.known if k.si is not None]
    return sum(len(report.determinations) for report in found) / len(certain) if certain else 1.0


def test_enough_cases() -> None:
    assert sum(CASES.values()) >= LEAST


def run(count: int, check: Callable[..., None], *strategies: st.SearchStrategy[object]) -> int:
    """Run a check on drawn cases and return how many ran."""
    ran = [0]

    @profile(count)
    @given(st.tuples(*strategies))
    def one(drawn: tuple[object, ...]) -> None:
        ran[0] += 1
        check(*drawn)

    one()
    return ran[0]


ENCODINGS = st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"])
DELIMITERS = st.sampled_from([",", ";", "\t", "|"])


@pytest.mark.parametrize("kind", ["plain", "odd"])
def test_delimited(tmp_path: Path, kind: str) -> None:
    shares: list[float] = []

    def check(made: Made, delimiter: str, encoding: str) -> None:
        found = read(tmp_path, "made.csv", as_text(made, delimiter, encoding))
        assert not (faults := misread(made, found)), "\n".join(faults)
        shares.append(share_read(made, found))

    ran = run(CASES[kind], check, reports(odd=kind == "odd"), DELIMITERS, ENCODINGS)
    print(f"{ran} delimited reports ({kind}), {sum(shares) / len(shares):.1%} of the certain values read")
    assert ran >= CASES[kind]
    assert sum(shares) / len(shares) > (0.97 if kind == "plain" else 0.85)


def test_aligned(tmp_path: Path) -> None:
    shares: list[float] = []

    def check(made: Made) -> None:
        found = read(tmp_path, "made.txt", as_aligned(made))
        assert not (faults := misread(made, found)), "\n".join(faults)
        shares.append(share_read(made, found))

    ran = run(CASES["aligned"], check, reports())
    print(f"{ran} aligned reports, {sum(shares) / len(shares):.1%} of the certain values read")
    assert ran >= CASES["aligned"]


def test_workbooks(tmp_path: Path) -> None:
    shares: list[float] = []

    def check(made: Made, numbers: bool, offset: int) -> None:
        found = read(tmp_path, "made.xlsx", as_workbook(made, numbers=numbers, offset=offset))
        assert not (faults := misread(made, found)), "\n".join(faults)
        shares.append(share_read(made, found))

    ran = run(CASES["workbook"], check, reports(), st.booleans(), st.sampled_from([0, 0, 2]))
    print(f"{ran} workbooks, {sum(shares) / len(shares):.1%} of the certain values read")
    assert ran >= CASES["workbook"]


def test_paper(tmp_path: Path) -> None:
    shares: list[float] = []

    def check(made: Made, ruled: bool) -> None:
        found = read(tmp_path, "made.pdf", as_page(made, ruled=ruled))
        assert not (faults := misread(made, found)), "\n".join(faults)
        shares.append(share_read(made, found))

    ran = run(CASES["paper"], check, reports(), st.booleans())
    print(f"{ran} PDF reports, {sum(shares) / len(shares):.1%} of the certain values read")
    assert ran >= CASES["paper"]


def damage(data: bytes, seed: int) -> bytes:
    """Return bytes with a few cuts, flips, repeats and insertions."""
    rng = random.Random(seed)
    out = bytearray(data)
    for _ in range(rng.choice([1, 2, 5, 40])):
        if not out:
            break
        at = rng.randrange(len(out))
        kind = rng.randrange(6)
        if kind == 0:
            out[at] ^= 1 << rng.randrange(8)
        elif kind == 1:
            del out[at : at + rng.choice([1, 5, 200])]
        elif kind == 2:
            out[at:at] = bytes(rng.randrange(256) for _ in range(rng.choice([1, 8, 64])))
        elif kind == 3:
            out[at:at] = out[max(0, at - 50) : at]
        elif kind == 4:
            out = out[: max(1, at)]
        else:
            out[at:at] = rng.choice([b"\0", b'"', b";", b",", b"\n", b"\t", b"\xff\xfe", b"<", b"%", b"\r"])
    return bytes(out)


@pytest.mark.parametrize("kind", ["bytes", "pages"])
def test_damaged_bytes(tmp_path: Path, kind: str) -> None:
    files = [path for path in FILES if (path.suffix == ".pdf") == (kind == "pages")]

    def check(path: Path, seed: int) -> None:
        for report in read(tmp_path, path.name, damage(path.read_bytes(), seed)):
            for one in report.determinations:
                assert one.value is None or one.value >= 0

    ran = run(CASES[kind], check, st.sampled_from(files), st.integers(0, 10**6))
    print(f"{ran} damaged files ({kind})")
    assert ran >= CASES[kind]


STRANGE = ["", "-", "n/a", "see note", "27-Apr", "-3", "1,234", "1.234", "<", "< ", "ND", "%", "dry", "as received", "mg/kg", "Result", "Unit", "😀", "=A1+1", "1e309", "NaN", "inf", "0x10", "٣", "1" * 60, "N", "as", "C", "Sample", "pH", "5 ± 2", "5 ± ", "1-2-3", "<<5", "5%%", "½", "'", '"', ";;", "1:5", "\u00a0", "‰", "TRUE", "#N/A", "(a)", "*"]  # fmt: skip


def test_strange_cells(tmp_path: Path) -> None:
    """Put strange things into cells of the samples; values in rows that were not touched still read as printed, or are asked."""

    def check(path: Path, seed: int) -> None:
        rng = random.Random(seed)
        truth = json.loads(path.with_suffix(".truth.json").read_text(encoding="utf-8"))
        lines = path.read_bytes().decode("utf-8", "replace").splitlines()
        delimiter = ";" if sum(line.count(";") for line in lines) > sum(line.count(",") for line in lines) else ","
        touched = [rng.randrange(len(lines)) for _ in range(rng.choice([1, 1, 2, 4]))]
        for at in touched:
            cells = lines[at].split(delimiter)
            cells[rng.randrange(len(cells))] = rng.choice(STRANGE)
            if rng.randrange(5) == 0:
                cells.insert(rng.randrange(len(cells) + 1), rng.choice(STRANGE))
            lines[at] = delimiter.join(cells)
        found = read(tmp_path, path.name, "\n".join(lines).encode())
        heads_kept = all(not_a_head(lines, at) for at in touched)
        if heads_kept:
            compare(truth, found, {at + 1 for at in touched})

    ran = run(CASES["cells"], check, st.sampled_from(TABLES), st.integers(0, 10**6))
    print(f"{ran} samples with strange cells")
    assert ran >= CASES["cells"]


def not_a_head(lines: list[str], at: int) -> bool:
    """Tell whether a line is below the first row of values: what a changed head or title means, nobody knows."""
    cells = [[cell.strip() for cell in re.split("[,;]", line)] for line in lines]
    first = next((i for i, row in enumerate(cells) if any(re.fullmatch(r"<?\d+(\.\d+)?", one) for one in row[1:])), 0)
    return at > first


def compare(truth: dict, found: tuple[LabReport, ...], touched: set[int]) -> None:
    """Compare all determinations of rows that were not touched with the truth of the sample."""
    wanted: dict[str, list[float]] = {}
    for sample in truth["samples"]:
        for key, one in sample["determinations"].items():
            wanted.setdefault(key, []).append(one.get("value", one.get("limit")))
    for report in found:
        for one in report.determinations:
            if one.where.row in touched or one.key not in wanted:
                continue
            amount = one.limit if one.value is None else one.value
            known = [value for value in wanted[one.key] if value is not None]
            assert amount is None or any(abs(amount - value) <= 1e-3 * abs(value) for value in known), (one, known)
