"""Findings, bands, traces: the contract of their JSON, and order kept."""

from __future__ import annotations

import json

import pytest

from loamery.finding import Band, Finding, Input, Ledger, Trace, by_severity


def finding(severity: str = "note", text: str = "text", **more: object) -> Finding:
    return Finding("code", severity, text, "because 2 > 1", ("JUDGE",), **more)  # type: ignore[arg-type]


def test_the_kept_keys_stand_in_every_finding() -> None:
    assert finding().as_dict() == {
        "code": "code",
        "severity": "note",
        "text": "text",
        "because": "because 2 > 1",
        "sources": ["JUDGE"],
    }


def test_extras_are_told_only_where_there_are_any() -> None:
    document = finding(about="bed-1", caution="wash hands", band=Band(2.0, 1.0, 3.0, "%")).as_dict()
    assert set(document) == {"code", "severity", "text", "because", "sources", "about", "caution", "band"}
    assert document["band"] == {"median": 2.0, "low": 1.0, "high": 3.0, "unit": "%"}
    json.dumps(document)


def test_stops_come_first_and_order_within_a_kind_is_kept() -> None:
    given = [
        finding("note", "a"),
        finding("warning", "b"),
        finding("stop", "c"),
        finding("note", "d"),
        finding("warning", "e"),
    ]
    assert [one.text for one in by_severity(given)] == ["c", "b", "e", "a", "d"]


def test_a_band_scales_all_three_figures() -> None:
    assert Band(2.0, 1.0, 4.0, "kg").scaled(1000.0, "g") == Band(2000.0, 1000.0, 4000.0, "g")


def trace(key: str, value: str = "1 kg") -> Trace:
    return Trace(key, "title", value, "a + b", (Input("a", "1", "beds.csv", "other"),), ("JUDGE",), "weak")


def test_a_trace_is_ready_for_json() -> None:
    document = json.loads(json.dumps(trace("x").as_dict()))
    assert document["inputs"] == [{"label": "a", "value": "1", "where": "beds.csv", "trace": "other"}]
    assert set(document) == {"id", "title", "value", "equation", "inputs", "sources", "note"}


def test_a_ledger_keeps_order_and_replaces_by_id() -> None:
    ledger = Ledger()
    assert ledger.add(trace("b")) == "b"
    ledger.add(trace("a"))
    ledger.add(trace("b", "2 kg"))
    assert [one.id for one in ledger] == ["b", "a"]
    assert ledger["b"].value == "2 kg"
    assert "a" in ledger
    assert "c" not in ledger
    with pytest.raises(KeyError):
        ledger["c"]


def test_ledgers_merge_from_ledgers_and_from_mappings() -> None:
    one, other = Ledger(), Ledger()
    one.add(trace("a"))
    other.add(trace("b"))
    one.merge(other)
    one.merge({"c": trace("c")})
    assert [each.id for each in one] == ["a", "b", "c"]


def test_two_ledgers_do_not_share_their_traces() -> None:
    one, other = Ledger(), Ledger()
    one.add(trace("a"))
    assert "a" not in other
