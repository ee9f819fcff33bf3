"""Sheets in French: every word of the benefit, thank-you and fact sheets, numbers with a comma, days in words."""

import re
from datetime import date
from importlib.resources import files
from pathlib import Path
from types import SimpleNamespace

import pytest

from loamery.evidence.benefit_account import Moved
from loamery.evidence.benefit_sheet import benefit_page, thanks_page
from loamery.evidence.factsheet import fact_page
from loamery.evidence.html import html_page
from loamery.evidence.report import season_page
from loamery.evidence.review_facts import Facts, HeapReview, Learnt, soil_changes
from loamery.evidence.review_sheet import review_page
from loamery.evidence.skill import Pair
from loamery.finding import Band
from loamery.lab.combine import compose
from loamery.lab.reading import read_report
from loamery.say import joined, say
from loamery.season.prepare import prepare
from tests.evidence.test_benefit import account, garden
from tests.evidence.test_review_soil import both, foreseen, soil_garden

ENGLISH = re.compile(r"\b(the|and|which|from|would|with|not|was|were|of|your?|each|saved|source[sd]? of)\b", re.I)


def shown(page):
    """Return the words a person reads of a page, works cited and words of the garden left out."""
    text = html_page(page)
    body = re.sub(r'<ol class="sources">.*?</ol>', "", text[text.index("<body>") :], flags=re.S)
    body = re.sub(r' <span class="soft">\([^<]*\)</span></li>', "</li>", body)  # the place in a cited work
    body = re.sub(r"<title>.*?</title>", lambda one: one[0].replace("title", "p"), body)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", body))


@pytest.mark.parametrize("make", [lambda one: benefit_page(one, date(2026, 11, 25)), lambda one: thanks_page(one, one.donors[0], date(2026, 11, 25))])  # fmt: skip
def test_a_sheet_in_french_has_no_english_sentence(make):
    page = make(account())
    french, english = page.in_language("fr"), page.in_language("en")
    assert ENGLISH.search(shown(english)) and "25\u00a0November 2026" in html_page(english)
    assert 'lang="fr"' in html_page(french) and "25\u00a0novembre 2026" in html_page(french)
    works = shown(french)
    assert ENGLISH.findall(works) == []
    assert not re.search(r"\d\.\d", works)


def test_the_english_sheet_stays_as_it_was_after_it_was_told_in_french():
    page = benefit_page(account(), date(2026, 11, 25))
    before = html_page(page)
    page.in_language("fr")
    assert html_page(page) == before


def test_axes_of_a_french_chart_part_thousands_with_a_narrow_space():
    page = benefit_page(account(), date(2026, 11, 25)).in_language("fr")
    assert page.charts["given"].spec["config"]["locale"]["number"]["thousands"] == "\u202f"


def season_facts():
    """Return what a season's records say where something of each kind was written down and foreseen."""
    pairs, unforeseen = foreseen()
    known = prepare(soil_garden(soil_values=both()))
    facts = Facts(known.garden, date(2027, 4, 5), date(2027, 9, 20), known)
    facts.soils, facts.soil_pairs, facts.findings = (
        list(soil_changes(known.garden, known)),
        list(pairs.values()),
        unforeseen,
    )
    read = [Pair("heap temperature", joined(", ", ("one", say("middle"))), "2027-05-05", Band(50.5, 44.0, 57.0, "K"), 50.5 + at, "one") for at in range(9)]  # fmt: skip
    forecast = SimpleNamespace(peak_c=Band(55.0, 50.0, 60.0, "K"))
    reading = SimpleNamespace(temp_c=57.5)
    facts.heaps = [HeapReview(SimpleNamespace(id="one"), forecast, (reading,), tuple(read))]
    facts.harvests = [Pair("harvest", "radish, bed", "2027-06-20", Band(10.5, 8.0, 12.0, "kg"), 12.5, "bed radish")]
    facts.learnt = [Learnt("ash", "K", Band(2.05, 1.0, 3.0, "%"), Band(2.15, 1.5, 2.5, "%"))]
    facts.calibration = ("one", SimpleNamespace(misfit_before=4.5, misfit_after=2.5, words=()))
    facts.moved = Moved(
        {("cafe", "grass"): 30.5}, {}, {("grass", "heap"): 12.5}, 0.0, "records", facts.first, facts.last
    )
    return facts


def test_the_evidence_of_a_season_in_french_has_no_english_sentence():
    facts = season_facts()
    plan = SimpleNamespace(materials=[SimpleNamespace(material="grass", name="Grass", by_use_kg={"heap": 20.5})])
    for page in (review_page(facts, plan, (), date(2026, 11, 25)), review_page(facts, None, (), date(2026, 11, 25))):
        assert len(ENGLISH.findall(shown(page.in_language("en")))) > 20
        french = shown(page.in_language("fr"))
        assert ENGLISH.findall(french) == [] and not re.search(r"\d\.\d", french)
        for words in ("Température du tas : La bande à 90", "pH du sol : ", "Tas : prévu et mesuré", "Récolté", "oui"):
            assert words in french


def test_a_season_without_records_is_told_in_french_too():
    known = prepare(soil_garden(batches=(), soil_values=()))
    page = review_page(Facts(known.garden, date(2027, 4, 5), date(2027, 9, 20), known), None, (), date(2026, 11, 25))
    french = shown(page.in_language("fr"))
    assert "Rien n’a été noté pendant cette saison" in french and ENGLISH.findall(french) == []


@pytest.mark.parametrize(("kind", "material"), [("coffee-spent", "grounds"), ("manure-horse", "manure")])
def test_the_fact_sheet_of_a_material_in_french(kind, material):
    page = fact_page(
        compose(kind, (), material=material, n=300, seed=1), (), garden(), brief=False, on=date(2026, 11, 25)
    )
    assert "Label grade of" in shown(page) and "No laboratory report yet." in shown(page)
    words = shown(page.in_language("fr"))
    assert "Fiche d’une matière" in words and "Une tonne telle que reçue contient environ" in words
    assert "Pas encore de rapport de laboratoire." in words and "bande à 90" in words
    assert ENGLISH.findall(words) == []
    assert not re.search(r"\d\.\d", words)


def test_a_report_is_named_in_the_grades_of_a_french_fact_sheet():
    file = Path(str(files("loamery.demo").joinpath("garden", "reports", "grounds-brackwater.csv")))
    reports = read_report(file)
    composition = compose("coffee-spent", reports, material="grounds", n=300, seed=1)
    words = shown(fact_page(composition, reports, garden(), brief=True, on=date(2026, 11, 25)).in_language("fr"))
    assert "Repose sur 1 rapport de laboratoire" in words.replace("\u00a0", " ")
    assert "Selon le rapport grounds-brackwater.csv" in words and "Disponible, sec" in words


def chapters(page):
    """Return the words a person reads of each section of a page, by its anchor."""
    body = html_page(page).split("<body>")[1]
    parts = [(re.search(r'id="([^"]*)"', one), one) for one in body.split("<section")[1:]]
    return {found[1]: re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", one)) for found, one in parts if found}


def own_names(plan):
    """Return the names that the garden itself gave, the longest first: they stay as they are."""
    garden = plan.garden
    named = (*garden.materials, *garden.beds, *garden.heaps, *garden.worm_beds, *garden.donors)
    return sorted({one.name for one in named} | {one.recipe.name for one in plan.batches}, key=len, reverse=True)


def test_the_season_report_in_french_opens_lists_chores_warns_and_tells_its_method_in_french(plan):
    page = season_page(plan, date(2026, 11, 25))
    english, french = chapters(page), chapters(page.in_language("fr"))
    names = re.compile("|".join(re.escape(one) for one in own_names(plan)), re.I)
    for key in ("chores", "cautions", "method"):
        assert ENGLISH.search(names.sub("", english[key])), key
        assert ENGLISH.findall(names.sub("", french[key])) == [], key
    first = french["first"]
    assert "Le plan collecte" in first and "Besoin d’azote couvert" in first and "semaine du" in first
    assert not re.search(r"\b(The plan|feeds or covers|laboratory report|busiest|is offered)\b", first)
    assert "As the bed model foresees it" in html_page(page)
    whole = html_page(page.in_language("fr"))
    assert "Selon la prévision du modèle de planche" in whole and "As the bed model foresees it" not in whole
