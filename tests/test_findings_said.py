"""Findings, questions and the titles and notes of traces are said, so that pages and sheets can say them in another language."""

import ast
import re
from pathlib import Path

import pytest

import loamery
from loamery.units import PREFERRED
from tests.test_errors_said import ENGLISH_ONLY, plain_words

PACKAGE = Path(loamery.__file__).parent
SHOWN = {
    "Finding": {2: "text", 3: "because", 6: "proposal", 7: "caution"},
    "find": {2: "text", 3: "because", 4: "proposal"},
    "Doubt": {0: "text", 3: "finding"},
    "Question": {1: "text"},
    "Trace": {1: "title", 2: "value", 3: "equation", 6: "note"},
    "Input": {0: "label", 1: "value", 2: "where"},
    "known": {4: "meaning"},
    "unknown": {3: "meaning"},
    "one_of": {3: "remedy"},
    "unreadable": {1: "read", 2: "remedy"},
    "foreign_reader": {1: "what"},
    "_not_text": {0: "read"},
}
"""What people read of each, by the place and the name of its parameter."""
PROSE = re.compile(r"[A-Za-z]{2}[,;:]? [a-z]{2}|[A-Za-z]{2,} $|^ [a-z]{2,}")
"""Words one after another; keys, units and formulas are none."""


def read(words):
    """Tell whether words are read by people: kinds of amounts that the program tells apart by name are not."""
    return PROSE.search(words) and words not in PREFERRED


def assigned(scope):
    """Return what each name of a function is set to, in every place it is."""
    out = {}
    for node in ast.walk(scope):
        if isinstance(node, ast.Assign | ast.AugAssign | ast.AnnAssign) and node.value is not None:
            for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                names = [one.id for one in ast.walk(target) if isinstance(one, ast.Name)]
                for name in names:
                    out.setdefault(name, []).append(node.value)
    return out


def made_of(given, known):
    """Yield an expression and all that goes into it: what its names were set to, what its sentences are filled with."""
    waiting, seen = [given], set()
    while waiting:
        node = waiting.pop()
        yield node
        for one in ast.walk(node):
            if isinstance(one, ast.Name) and one.id not in seen:
                seen.add(one.id)
                waiting += known.get(one.id, [])
            if isinstance(one, ast.Call) and getattr(one.func, "id", "") == "say":
                waiting += [each.value for each in one.keywords]


def read_by_people(call):
    """Yield the arguments of a call that people read."""
    name = getattr(call.func, "id", "") or getattr(call.func, "attr", "")
    places = SHOWN.get(name, {})
    yield from (one for place, one in enumerate(call.args) if place in places)
    yield from (one.value for one in call.keywords if one.arg in places.values())


def unsaid(source):
    """Return the words that people read in findings, questions and traces of a module and that bypass `say`."""
    out = []
    for scope in ast.walk(ast.parse(source)):
        if not isinstance(scope, ast.FunctionDef):
            continue
        known = assigned(scope)
        for call in ast.walk(scope):
            if isinstance(call, ast.Call):
                parts = (part for given in read_by_people(call) for part in made_of(given, known))
                out += [words for part in parts for words in plain_words(part) if read(words)]
    return list(dict.fromkeys(out))


@pytest.mark.parametrize("name", sorted(str(one.relative_to(PACKAGE)) for one in PACKAGE.rglob("*.py")))
def test_what_people_read_is_said(name):
    if not name.startswith(ENGLISH_ONLY):
        assert unsaid((PACKAGE / name).read_text(encoding="utf-8")) == []


def test_the_sweep_finds_words_that_bypass_say():
    source = """
def check(one):
    words = f"a slip of {one}"
    more = say("fine {why}", why="because of this")
    text = say("{words} found", words=words)
    yield Finding("slip", "note", text, more, proposal="ask the laboratory")
"""
    assert sorted(unsaid(source)) == ["a slip of ", "ask the laboratory", "because of this"]
