"""Words of the pages: all translated, none left in a template, every field and kind of record named."""

from __future__ import annotations

import re
import string
from typing import Any

import pytest
from jinja2 import Environment
from jinja2.nodes import TemplateData

from docs import make_translations as made
from loamery.web.pages import labels
from loamery.web.records.models import KINDS

TEMPLATES = sorted(path for path in made.WEB.glob("*/jinja2/*.j2"))
MAY_STAND = {"Loamery", "K", "N", "P"}
"""Letters that are the same in every language."""
ATTRIBUTES = re.compile(r'\b(?:aria-label|title|alt|placeholder|data-ask)="([^"]*)"')


def _texts(one: Any) -> list[str]:
    return [one] if isinstance(one, str) else list(one)


@pytest.mark.parametrize("domain", made.DOMAINS)
@pytest.mark.parametrize("language", made.LANGUAGES)
def test_every_text_is_translated(language: str, domain: str) -> None:
    words = made.renewed(language, domain)
    kept = {str(one.id) for one in made.catalogue(language, domain) if one.id}
    assert {str(one.id) for one in words if one.id} == kept, "run: python docs/make_translations.py"
    assert [one.id for one in words if one.id and not all(_texts(one.string))] == []


@pytest.mark.parametrize("domain", made.DOMAINS)
@pytest.mark.parametrize("language", made.LANGUAGES)
def test_what_the_program_reads_is_what_was_translated(language: str, domain: str) -> None:
    path = made.path_of(language, domain)
    assert path.with_suffix(".mo").read_bytes() == made.as_mo(path.read_bytes(), language), (
        "run: python docs/make_translations.py"
    )


@pytest.mark.parametrize("domain", made.DOMAINS)
@pytest.mark.parametrize("language", made.LANGUAGES)
def test_a_translation_keeps_what_is_filled_in(language: str, domain: str) -> None:
    for one in made.catalogue(language, domain):
        if not one.id:
            continue
        for text in _texts(one.string):
            assert _holes(text) == _holes(_texts(one.id)[-1]), one.id


def _holes(text: str) -> tuple[set[str], set[str]]:
    fields = {name for _, name, _, _ in string.Formatter().parse(text.replace("{{", "").replace("}}", "")) if name}
    return fields, set(re.findall(r"%\((\w+)\)s", text))


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_holds_a_text_of_its_own(path: Any) -> None:
    tree = Environment(extensions=["jinja2.ext.i18n"]).parse(path.read_text(encoding="utf-8"))
    data = "\0".join(one.data for one in tree.find_all(TemplateData))
    data = re.sub(r"<!--.*?-->|<(script|style)\b[^>]*>[^<]*</\1>", " ", data, flags=re.S)
    found = [text for text in ATTRIBUTES.findall(data) if re.search(r"[A-Za-z]{2}", text.replace("\0", ""))]
    plain = re.sub(r"<[^>]*>?|^[^<]*>|&\w+;|https?://\S+|\0", " ", data)
    words = {word for word in re.findall(r"[A-Za-zÀ-ÿ]{2,}", plain) if word not in MAY_STAND}
    assert found == []
    assert words == set()


def test_every_kind_of_record_and_every_field_has_a_name() -> None:
    assert set(KINDS) <= set(labels.KINDS)
    assert set(labels.DONE_KINDS) | set(labels.THING_KINDS) | {"reports"} == set(KINDS)
    fields = {name for one in KINDS.values() for name in one.record.model_fields}
    assert fields <= set(labels.FIELDS)
