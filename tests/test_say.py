"""Sentences that other languages can say again."""

from __future__ import annotations

import json
import pickle

import pytest

from loamery.finding import Band
from loamery.say import Verbatim, is_told, joined, say, told, told_all
from loamery.words import band_text, number


def test_what_was_said_is_the_english_text() -> None:
    said = say("{name}: {quantity} needed", name="North bed", quantity="nitrogen")
    assert said == "North bed: nitrogen needed"
    assert json.dumps(said) == '"North bed: nitrogen needed"'
    assert told(said, "en") == said


def test_another_language_says_the_message_and_what_was_filled_in() -> None:
    said = say("{name}: {quantity} needed", name="North bed", quantity="nitrogen")
    assert told(said, "fr") == "North bed : besoin en azote"


def test_numbers_are_written_as_the_language_writes_them() -> None:
    assert told(band_text(Band(2.05, 1.8, 2.3, "%")), "fr") == "2,05\u00a0% (1,8 à 2,3)"
    assert told(say("pH {one:g} is {what}.", one=6.5, what="6.5"), "fr") == "pH 6,5 est 6,5."
    assert told(number(1234.5, 5), "fr") == "1\u00a0234,5"
    assert (
        told(say("{share:.0%} of the usual rain falls", share=0.4), "fr") == "il tombe 40\u00a0% de la pluie habituelle"
    )
    assert told("2027-05-04", "fr") == "4\u00a0mai 2027"
    assert told(say("from {day}", day="2027-05-01"), "fr") == "from 1er\u00a0mai 2027"
    assert told("2027-13-01", "fr") == "2027-13-01"
    assert told_all({"values": [{"day": "2027-05-04"}]}, "fr") == {"values": [{"day": "2027-05-04"}]}
    assert told(Verbatim("2027-05-04"), "fr") == "2027-05-04"
    assert told(Verbatim("1.5"), "fr") == "1.5"


def test_texts_put_together_are_told_piece_by_piece() -> None:
    said = "x " + say("mulch") + joined("; ", [say("salt"), "N"])
    assert said == "x mulchsalt; N"
    assert told(said, "fr") == "x paillissel\u00a0; N"


def test_what_was_kept_in_a_file_can_still_be_told() -> None:
    said = say("{low} to {high}", low=number(1.5), high=say("not known"))
    again = pickle.loads(pickle.dumps(said, protocol=5))
    assert again == said
    assert told(again, "fr") == "1,5 à inconnu"


def test_a_text_asked_for_as_text_is_still_known() -> None:
    assert told(str(say("salt")), "fr") == "sel"
    assert type(say("salt")[:]) is str


def test_a_name_of_the_trade_keeps_how_it_was_begun() -> None:
    assert told("Nitrogen", "fr") == "Azote"
    assert told("nitrogen", "fr") == "azote"
    assert told("Aunt Ada’s compost", "fr") == "Aunt Ada’s compost"


@pytest.mark.parametrize(
    ("text", "known"), [(say("salt"), True), ("12.5 kg", True), ("Something nobody translated", False)]
)
def test_what_has_no_translation_is_known_as_such(text: str, known: bool) -> None:
    assert is_told(text, "fr") is known


def test_of_a_chart_only_what_is_read_is_told() -> None:
    spec = {
        "data": {"values": [{"salt": "salt", "x": 1.5}]},
        "encoding": {"y": {"field": "salt", "title": say("salt"), "sort": ["salt"]}},
        "mark": "salt",
    }
    told_spec = told_all(spec, "fr")
    assert told_spec["data"]["values"] == [{"salt": "sel", "x": 1.5}]
    assert told_spec["encoding"]["y"] == {"field": "salt", "title": "sel", "sort": ["sel"]}
    assert told_spec["mark"] == "salt"
    assert told_all(spec, "en") is spec
