"""Refusals are said so that other languages can say them again."""

import ast
import re
from pathlib import Path

import pytest

import loamery
from loamery.errors import GardenError, InputError, Where
from loamery.garden.refused import refused_words
from loamery.say import is_told, say, told

PACKAGE = Path(loamery.__file__).parent
REFUSALS = ("InputError", "UnreadableFile", "UnknownName", "NoPlan", "HeapFailed")
ENGLISH_ONLY = ("cli/", "web/serving.py", "web/upkeep.py", "web/database.py")
"""Commands, which speak English; what they refuse reaches no page."""


def plain_words(node):
    """Yield the literals of an expression that nobody marked as said, quoted names left out."""
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("say", "_", "Where"):
        return
    if isinstance(node, ast.Call) and getattr(node.func, "attr", "") in ("join", "get", "replace", "strip", "rstrip"):
        return
    if isinstance(node, ast.JoinedStr):
        words = "".join(one.value for one in node.values if isinstance(one, ast.Constant))
        if re.search(r"[A-Za-z]{2}", words):
            yield words
    elif isinstance(node, ast.Constant):
        if isinstance(node.value, str) and re.search(r"[A-Za-z]{2}", node.value):
            yield node.value
    elif not isinstance(node, ast.Compare | ast.Subscript):
        for one in ast.iter_child_nodes(node):
            yield from plain_words(one)


def unsaid(source):
    """Return the words of refusals in a module that bypass `say`."""
    out = []
    for call in ast.walk(ast.parse(source)):
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") in REFUSALS:
            given = [*call.args, *(one.value for one in call.keywords if one.arg in ("read", "expected", "remedy"))]
            out += [words for one in given for words in plain_words(one)]
    return out


@pytest.mark.parametrize("name", sorted(str(one.relative_to(PACKAGE)) for one in PACKAGE.rglob("*.py")))
def test_every_refusal_is_said(name):
    if not name.startswith(ENGLISH_ONLY):
        assert unsaid((PACKAGE / name).read_text(encoding="utf-8")) == []


def test_the_sweep_finds_words_that_bypass_say():
    assert unsaid('raise InputError(f"a bed of {area} m2", expected="more", remedy=say("measure"))') == [
        "a bed of  m2",
        "more",
    ]


def test_a_refusal_is_told_whole():
    error = InputError(
        say("{name} = {value:g}", name="moisture", value=1.5),
        where=Where("beds.csv", row=3, column="area_m2"),
        expected=say("{low:g} to {high:g}", low=0, high=0.5),
        remedy=say("correct the cell"),
    )
    assert str(error).startswith("beds.csv, row 3, column area_m2: moisture = 1.5\n")
    assert told(str(error), "fr") == (
        "beds.csv, ligne 3, colonne area_m2\u00a0: humidité = 1,5\n  attendu\u00a0: 0 à 0,5\n  que faire\u00a0: corrigez la cellule"
    )
    both = GardenError([error, error])
    assert told(str(both), "fr").startswith("2 choses à corriger dans le dossier du jardin\u00a0:\nbeds.csv, ligne 3")


@pytest.mark.parametrize(
    ("message", "english", "french"),
    [
        ("Input should be greater than 0", "should be greater than 0", "doit être supérieur à 0"),
        ("Input should be less than or equal to 1", "should be less than or equal to 1", "doit être inférieur ou égal à 1"),
        ("Input should be 'wet', 'dry' or 'moist'", "should be 'wet', 'dry' or 'moist'", "doit être 'wet', 'dry' ou 'moist'"),
        (
            "Input should be less than or equal to datetime.date(2199, 12, 31)",
            "should be less than or equal to 2199-12-31",
            "doit être inférieur ou égal à 2199-12-31",
        ),
    ],
)  # fmt: skip
def test_the_checker_of_records_is_told(message, english, french):
    words = refused_words(message)
    assert words == english and is_told(words, "fr")
    assert told(words, "fr") == french
