"""Sheets of trials in French: no English sentence, numbers with a comma, names of files as they are."""

import re
from datetime import date

import pytest

from loamery.evidence.html import html_page
from loamery.evidence.trial_sheet import layout_page, trial_page
from loamery.trials.analyse import analyse
from loamery.trials.conclude import conclude
from loamery.trials.power import seen_by
from tests.evidence.test_benefit import account
from tests.evidence.test_in_french import ENGLISH, shown
from tests.trials.made import readings, trial

DAY = date(2027, 11, 25)


@pytest.mark.parametrize(("effects", "lots", "left"), [({"compost": 12.0}, False, 0), ({}, False, 0), ({}, True, 0), ({}, False, 1)])  # fmt: skip
def test_a_trial_in_french_has_no_english_sentence(effects, lots, left):
    made, garden = trial(question="Le compost ?"), account().garden
    read = readings(made, effects)
    if lots:
        read[0] = read[0].model_copy(update={"value": 900.0})
    found = analyse(made, read[left:])
    assert (found.method == "lots") == lots and bool(found.stops) == bool(left)
    page = trial_page(found, conclude(found), garden, DAY)
    before = html_page(page)
    french = re.split(r" Sources (?=Seul|1 )", shown(page.in_language("fr")))[0]
    assert ENGLISH.findall(french) == [] and not re.search(r"\d\.\d", french)
    assert "Essai" in french and "témoin" in french and html_page(page) == before


def test_the_lay_out_of_a_trial_in_french_has_no_english_sentence():
    made = trial(question="Le compost ?", crop="tomato")
    page = layout_page(made, account().garden, seen_by(made), DAY)
    french = shown(page.in_language("fr"))
    assert ENGLISH.findall(french) == [] and not re.search(r"\d\.\d", french) and "Blocs complets randomisés" in french
    assert "trials/mulch.csv" in french and "essai mulch" in french


def test_the_name_a_person_gave_a_trial_is_not_translated():
    made = trial(question="")
    named = made.model_copy(update={"trial": made.trial.model_copy(update={"name": "mulch"})})
    page = layout_page(named, account().garden, seen_by(named), DAY).in_language("fr")
    assert page.data["title"] == "mulch" and "essai mulch" in page.data["foot"]
