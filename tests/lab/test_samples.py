"""Every invented sample report reads as its truth file says."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from loamery.errors import UnreadableFile
from loamery.lab.reading import read_report

SAMPLES = Path(__file__).resolve().parent / "samples"
TRUTHS = sorted(SAMPLES.glob("*.truth.json"))
SILENT_ON_INVENTED = {"mixed-encodings.csv"}


def load(path):
    return json.loads(path.read_text(encoding="utf-8"))


def check_determination(report, key, truth):
    found = [one for one in report.all(key) if one.basis == truth["basis"]]
    assert len(found) == 1, (key, report.all(key), report.questions)
    one = found[0]
    if "censored" in truth:
        assert one.censored == truth["censored"]
        assert one.value is None
        if truth.get("limit") is not None:
            assert one.limit == pytest.approx(truth["limit"], rel=1e-9)
    else:
        assert one.censored == "no"
        assert one.value == pytest.approx(truth["value"], rel=truth.get("rtol", 1e-9))
    assert one.raw_name
    assert one.raw_value
    assert one.where.file == report.file


@pytest.mark.parametrize("path", TRUTHS, ids=lambda path: path.name.removesuffix(".truth.json"))
def test_sample(path):
    truth = load(path)
    file = SAMPLES / truth["file"]
    if truth["error"]:
        with pytest.raises(UnreadableFile) as caught:
            read_report(file)
        assert file.name in str(caught.value)
        return
    reports = read_report(file)
    assert len(reports) == len(truth["samples"])
    for report, sample in zip(reports, truth["samples"], strict=True):
        if sample["sample"]:
            assert report.sample == sample["sample"]
        assert report.subject == sample["subject"]
        assert report.invented
        for key, one in sample["determinations"].items():
            check_determination(report, key, one)
        for key, others in sample.get("also", {}).items():
            for one in others:
                check_determination(report, key, one)
        assert not [key for key in sample["absent"] if report.all(key)]
        assert set(sample["questions"]) <= {one.key for one in report.questions}
        assert set(sample["findings"]) <= {one.code for one in report.findings}


def test_there_are_enough():
    assert len(TRUTHS) >= 14
