"""Sheets of what the models foresee, in French: a heap, a mulch, worm beds, a gift to a bed, and their part of the season report."""

import re
from dataclasses import replace
from datetime import date

from loamery.bed.advice import bed_advice
from loamery.bed.ceilings import Ceiling
from loamery.cli.heap_findings import heap_findings
from loamery.evidence.bed_sheet import bed_page
from loamery.evidence.heap_sheet import heap_page
from loamery.evidence.layer_sheet import mulch_page, worms_page
from loamery.evidence.report import season_page
from loamery.evidence.text import Units
from loamery.heap.mulch_limit import TableRow
from loamery.heap.remedies import Remedy, _turned
from loamery.say import say
from tests.bed.test_answer import ask
from tests.evidence.test_in_french import ENGLISH, chapters, own_names, shown


def french_and_english(page):
    """Return the words of a sheet in French after making sure that the English ones are English."""
    assert ENGLISH.search(shown(page))
    words = shown(page.in_language("fr"))
    assert not re.search(r"\d\.\d", words.replace("40 CFR 503 App. B", ""))
    return words


def own_names_out(words, plan, *more):
    """Return words without the names that the garden gave, which stay as they are."""
    return re.sub("|".join(re.escape(one) for one in (*own_names(plan), *more)), "", words, flags=re.I)


def test_the_sheet_of_a_heap_in_french(plan, foreseen):
    told = foreseen.batches[0].told
    tried = [Remedy(words, told.share, told.met) for words in (say("as planned"), _turned(told.plan, told)[1])]
    page = heap_page(told, "Heap", heap_findings(told.plan, told), Units("metric"), tried=tried, on=date(2026, 11, 25))
    words = french_and_english(page)
    for one in (
        "Ce qui se passe dedans",
        "Azote".lower(),
        "retourné",
        "le retourner",
        "Comme prévu".lower(),
        "55 °C pendant 3 jours",
        "bande à 90",
    ):
        assert one in words.replace("\u00a0", " "), one
    assert ENGLISH.findall(own_names_out(words, plan)) == []
    assert "Attention :" in words and "Take care:" in shown(page)
    months = page.in_language("fr").charts["heap-heat"].spec["config"]["locale"]["time"]["shortMonths"]
    assert months[1] == "févr." and "locale" not in page.charts["heap-heat"].spec["config"]


def test_the_sheets_of_a_mulch_and_of_worm_beds_in_french(plan, foreseen):
    found = next(one.found for one in foreseen.mulches)
    row = TableRow(
        0.2, 0.4, found.limit, tuple(("fine", "airless", "heats", "seals")[i % 4] for i in range(len(found.depths_m)))
    )
    mulch = mulch_page(replace(found, table=(row,)), (), Units("metric"), on=date(2026, 11, 25))
    feed = foreseen.worm_beds[0].feeds[0]
    worms = worms_page([(feed.found, ("grounds",))], (), Units("metric"), on=date(2026, 11, 25))
    for page, said in ((mulch, "Où commence chaque défaut"), (worms, "Ce qui limite un apport maintenant")):
        words = french_and_english(page)
        assert said in words and ENGLISH.findall(own_names_out(words, plan)) == []
    drawn = mulch.in_language("fr").charts["mulch-depth"].svg()
    assert all(f">{one}</text>" in drawn for one in ("bien", "air", "chaleur", "pluie"))
    assert {feed.found.course.limit[0], feed.found.limits[0].name} & {
        "appetite",
        "heat",
        "moisture",
        "not fed",
        "depth",
        "pH",
    }


def test_heaps_mulches_and_worm_beds_in_the_french_season_report(plan, foreseen):
    page = season_page(plan, date(2026, 11, 25), foreseen).in_language("fr")
    french = chapters(page)
    assert "terres agricoles (Un repère pour les sites contaminés" in french["first"]
    assert "Dans les tas" in french["inside-heaps"] and "Le lit prend par semaine" in french["layers"]
    for key in ("inside-heaps", "layers"):
        assert ENGLISH.findall(own_names_out(french[key], plan)) == [], key


def test_the_sheet_of_a_gift_to_a_bed_in_french():
    answer = ask("coffee-spent", 4.0, ceilings={"K": Ceiling("K", 0.001, say("none known"), ())})
    advice = bed_advice(answer, ["coffee-spent"], "Kitchen bed")
    title = say("{what}, worked in", what="coffee-spent")
    page = bed_page(answer, title, "Kitchen bed", advice, Units("metric"), on=date(2026, 11, 25))
    words = french_and_english(page)
    for one in (
        "coffee-spent, enfoui",
        "Prélèvement : l’apport retire d’abord",
        "semaine jusqu’au",
        "potassium",
        "première année",
    ):
        assert one in words.replace("\u00a0", " "), one
    assert ENGLISH.findall(words) == []
    assert ">année 1</text>" in page.in_language("fr").charts["bed-years"].svg()
