"""Trials and shop prices as records: laid out and read in the page, kept with their history, out and in whole."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.test import TestCase

from loamery.errors import GardenError, LoameryError
from loamery.garden.writing import rows_text
from loamery.saving import save_text
from loamery.trials.design import Head, Treatment, Trial
from loamery.trials.folder import Reading, readings_text, trial_text
from loamery.trials.lay_out import bed_shapes, lay_out
from loamery.trials.record import record_of
from loamery.web.records import exchange, files, ledger, taking_up
from loamery.web.records.models import KINDS, Garden
from loamery.web.records.snapshot import snapshot
from loamery.web.records.trials import damaged, trials_of
from tests.web.conftest import World
from tests.web.test_exchange import whole, zipped

SAID = {
    "question": "Does mulch help?", "design": "complete_blocks", "control": "none", "starts": "2027-04-05", "ends": "2027-09-30",
    "measured": "yield", "unit": "kg", "per_m2": "on", "several": "sum", "treatments": "none = No addition\n\nmulch = 5 cm of leaves",
    "blocks": "3", "crop": "tomato",
}  # fmt: skip


def laid_out(world: World, name: str = "mulch", crop: str = "") -> Trial:
    head = Head(
        name=name,
        question="=1+1?",
        seed=1,
        control="none",
        crop=crop,
        starts=date(2027, 4, 5),
        ends=date(2027, 9, 30),
        invented=True,
    )
    treatments = [Treatment(id="none", name="No addition"), Treatment(id="leaves", name="Leaves, 5 cm")]
    return lay_out(head, treatments, bed_shapes(snapshot(world.ours).beds, {}), 3)


def as_files(trial: Trial) -> dict[str, bytes]:
    rows = [
        Reading(
            plot=one.id, treatment=one.treatment, measured_on=date(2027, 6, 1), value=2.5 + place, note="=HYPERLINK(1)"
        )
        if place
        else Reading(plot=one.id, treatment=one.treatment)
        for place, one in enumerate(trial.plots)
    ]
    texts = {"toml": trial_text(trial), "csv": readings_text(trial, rows)}
    return {f"ours/trials/{trial.trial.name}.{ending}": text.encode() for ending, text in texts.items()}


def test_a_trial_is_laid_out_read_and_shown_in_the_page(world: World, client_of: Any) -> None:
    client = client_of("grower")
    assert "Lay out a trial" in client.get("/g/ours/sheets/").content.decode()
    wrong = client.post("/g/ours/records/trials/add", {**SAID, "treatments": "Not a short name"})
    assert "Not a short name" in wrong.content.decode()
    assert client.post("/g/ours/records/trials/add", {**SAID, "blocks": "400"}).status_code == 422
    assert client.post("/g/ours/records/trials/add", {**SAID, "crop": "kaale"}).status_code == 422
    assert client.post("/g/ours/records/trials/add", {**SAID, "across": "on"}).status_code == 302
    ((key, (trial, readings)),) = trials_of(world.ours).items()
    assert len(trial.plots) == len(readings) == 6
    assert trial.trial.crop == "tomato"
    assert "plots of tomato" in client.get(f"/g/ours/sheets/trial-{key}-lay-out.html").content.decode()
    logger = client_of("logger")
    pk = KINDS["trials"].objects.get(garden=world.ours).pk
    assert logger.get(f"/g/ours/records/trials/{pk}/edit").status_code == 403
    for place, one in enumerate(trial.plots):
        said = {
            "trial": key,
            "plot": one.id,
            "measured_on": "2027-07-01",
            "value": str(2 + place + 3 * (one.treatment == "mulch")),
        }
        assert logger.post("/g/ours/records/trial_readings/add", said).status_code == 302
    late = logger.post("/g/ours/records/trial_readings/add", {**said, "measured_on": "2028-07-01"})
    assert "another year" in late.content.decode()
    for name in (f"trial-{key}.html", f"trial-{key}-lay-out.html"):
        shown = client.get(f"/g/ours/sheets/{name}")
        assert shown.status_code == 200
        assert "Does mulch help?" in shown.content.decode()
        french = client.get(f"/g/ours/sheets/{name}", headers={"accept-language": "fr"}).content.decode()
        assert 'lang="fr"' in french and "Les traitements et leurs parcelles" in french
    assert client.get("/g/ours/records/trial_readings").status_code == 200


def test_words_of_a_trial_change_and_its_plots_stay(world: World, client_of: Any) -> None:
    client = client_of("grower")
    client.post("/g/ours/records/trials/add", SAID)
    row = KINDS["trials"].objects.get(garden=world.ours)
    plots = row.plots
    page = client.get(f"/g/ours/records/trials/{row.pk}/edit").content.decode()
    assert "mulch = 5 cm of leaves" in page
    assert 'name="blocks"' not in page
    said = {**SAID, "treatments": "none = Nothing\nmulch = Leaves"}
    assert client.post(f"/g/ours/records/trials/{row.pk}/edit", said).status_code == 302
    row.refresh_from_db()
    assert [one["name"] for one in row.treatments] == ["Nothing", "Leaves"]
    assert row.plots == plots
    history = client.get(f"/g/ours/records/trials/{row.pk}/history").content.decode()
    assert "5 cm of leaves" in history
    ledger.undo(ledger.history(row).first(), world.people["grower"])
    row.refresh_from_db()
    assert [one["name"] for one in row.treatments] == ["No addition", "5 cm of leaves"]
    reading = {"trial": row.key, "plot": plots[0]["id"], "measured_on": "2027-09-01", "value": "3"}
    ledger.add(world.ours, "trial_readings", reading, None)
    with pytest.raises(GardenError, match="point at it"):
        ledger.remove(row, None)
    with pytest.raises(GardenError, match="2027-09-01"):
        ledger.edit(row, {"ends": "2027-08-01"}, None)
    with pytest.raises(GardenError, match="kaale"):
        ledger.edit(row, {"crop": "kaale"}, None)
    with pytest.raises(GardenError, match="nothing-here"):
        ledger.edit(row, {"control": "nothing-here"}, None)
    assert (
        client.post(f"/g/ours/records/trials/{row.pk}/edit", {**said, "treatments": "none = a\nother = b"}).status_code
        == 422
    )


def test_trials_come_back_byte_for_byte_and_no_cell_can_act_as_a_formula(world: World) -> None:
    sent = whole(world) | as_files(laid_out(world, crop="tomato"))
    kept = exchange.take_in_zip(zipped(sent), world.stranger)
    assert KINDS["trials"].objects.get(garden=kept).crop == "tomato"
    assert KINDS["trial_readings"].objects.filter(garden=kept, note="=HYPERLINK(1)").count() == 5
    for _ in range(2):
        with zipfile.ZipFile(io.BytesIO(out := exchange.as_zip(kept))) as packed:
            again = {name.split("/", 1)[1]: packed.read(name) for name in packed.namelist()}
        assert again == {name.split("/", 1)[1]: content for name, content in sent.items()}
        assert b",'=HYPER" in again["trials/mulch.csv"]
        kept = exchange.take_in_zip(io.BytesIO(out), world.stranger)
    row = KINDS["trials"].objects.get(garden=kept)
    assert [one.action for one in ledger.history(row)] == ["import"]


@pytest.mark.parametrize(
    ("ending", "old", "new", "says"),
    [("toml", b"[trial]", b"[trial", "trials/mulch.toml"), ("csv", b"2027-06-01", b"2037-06-01", "mulch.csv"),
     ("toml", b'name = "mulch"', b'name = "other"', "same name")],
)  # fmt: skip
def test_a_damaged_trial_is_refused_with_its_place(
    world: World, ending: str, old: bytes, new: bytes, says: str
) -> None:
    sent = whole(world) | as_files(laid_out(world))
    name = f"ours/trials/mulch.{ending}"
    before = Garden.objects.count()
    with pytest.raises(LoameryError, match=says):
        exchange.take_in_zip(zipped({**sent, name: sent[name].replace(old, new, 1)}), world.stranger)
    assert Garden.objects.count() == before


@pytest.fixture
def kept_whole(world: World) -> Iterator[Path]:
    """Give the folder of a garden whose trial and shop prices are whole files, as an earlier version kept them."""
    shop = rows_text(
        [KINDS["fertilisers"].record(id="blood", name="Blood meal", n_percent=12, price_per_kg=5.4)],
        KINDS["fertilisers"].record,
    )  # type: ignore[call-arg]
    texts = {name.removeprefix("ours/"): content.decode() for name, content in as_files(laid_out(world)).items()}
    for name, text in {**texts, "fertilisers.csv": shop}.items():
        save_text(world.ours.folder / name, text)
        files.note(world.ours, name, text.encode(), None)
    yield world.ours.folder
    for name in (*texts, "fertilisers.csv"):
        (world.ours.folder / name).unlink(missing_ok=True)


def test_files_of_an_earlier_version_become_records_and_files_again(world: World, kept_whole: Path) -> None:
    before = {path.name: path.read_bytes() for path in (*kept_whole.glob("trials/*"), kept_whole / "fertilisers.csv")}
    with TestCase.captureOnCommitCallbacks(execute=True):
        taking_up.make_records(apps)
    assert not list(kept_whole.glob("trials/*"))
    assert not (kept_whole / "fertilisers.csv").exists()
    assert len(trials_of(world.ours)["mulch"][0].plots) == 6
    (bought,) = snapshot(world.ours).fertilisers
    assert bought.price_per_kg == 5.4
    for kind in taking_up.KINDS:
        row = KINDS[kind].objects.filter(garden=world.ours).first()
        (change,) = ledger.history(row)
        assert change.after == row.state()
    taking_up.make_files(apps)
    assert {
        path.name: path.read_bytes() for path in (*kept_whole.glob("trials/*"), kept_whole / "fertilisers.csv")
    } == before
    assert not KINDS["trials"].every.filter(garden=world.ours).exists()
    assert set(world.ours.attachments.values_list("path", flat=True)) >= {"trials/mulch.toml", "fertilisers.csv"}


def test_a_damaged_file_of_an_earlier_version_is_told_on_the_page_and_kept(
    world: World, kept_whole: Path, client_of: Any
) -> None:
    (kept_whole / "trials" / "mulch.toml").write_text("[trial")
    (kept_whole / "fertilisers.csv").write_text("id,name,price_per_kg\nx,X,cheap\n")
    taking_up.make_records(apps)
    assert trials_of(world.ours) == {}
    assert snapshot(world.ours).fertilisers == ()
    assert len(damaged(world.ours)) == 1
    page = client_of("reader").get("/g/ours/sheets/")
    assert page.status_code == 200
    assert "trials/mulch.toml" in page.content.decode()
    assert client_of("reader").get("/g/ours/sheets/trial-mulch.html").status_code == 404


def test_a_seed_that_no_database_holds_is_refused(world: World) -> None:
    said = {**record_of(laid_out(world)).model_dump(), "seed": 2**63}
    with pytest.raises(GardenError, match="seed"):
        ledger.add(world.ours, "trials", said, None)
