"""The documentation is complete and true to the program: options, codes, columns, links, names, tables."""

from __future__ import annotations

import ast
import csv
import json
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import typer
from pydantic import BaseModel

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "docs")]

import make_tables  # noqa: E402
import pages  # noqa: E402

from loamery.cli.app import app  # noqa: E402
from loamery.garden import garden_schema, read_garden, write_starter  # noqa: E402
from loamery.garden.folder import FILES  # noqa: E402
from loamery.garden.model import Climate, Info, ReportEntry  # noqa: E402
from loamery.garden.schema import schema_text  # noqa: E402
from loamery.reference import coefficients, family  # noqa: E402

SOURCE = sorted((pages.ROOT / "loamery").rglob("*.py"))
DATA = sorted((pages.ROOT / "loamery" / "reference" / "data").glob("*.csv"))
PAGE_OF = {
    "demo": "getting-started.md",
    "init": "garden.md",
    "schema": "garden.md",
    "lab": "lab.md",
    "blend": "blend.md",
    "season": "season.md",
    "report": "evidence.md",
    "replay": "season-explained.md",
    "compare": "season-explained.md",
    "worth": "season-explained.md",
    "heap": "heap.md",
    "mulch": "mulch.md",
    "worms": "worms.md",
    "benefit": "benefit.md",
    "bed": "bed.md",
    "share": "evidence.md",
    "review": "evidence.md",
    "trial lay-out": "trials.md",
    "trial power": "trials.md",
    "trial enter": "trials.md",
    "trial analyse": "trials.md",
    "trial seedlings": "trials.md",
    "trial self-heating": "trials.md",
    "serve": "web.md",
    "backup": "web.md",
    "restore": "web.md",
    "check": "web.md",
    "move": "web.md",
}
CODE = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)+|airy")
NAME = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:_[A-Za-z0-9]+)+")


def text_of(name: str) -> str:
    return pages.read(pages.DOCS / name)


def in_backticks(page: Path) -> set[str]:
    return {
        part
        for span in re.findall(r"`([^`\n]+)`", pages.prose(page))
        for part in [span, *re.split(r"[^\w:./-]+", span)]
    }


# --- commands and options


@cache
def commands() -> dict[str, Any]:
    """Return every command by its words; a group gives the commands in it."""
    found: dict[str, Any] = {}
    for name, one in typer.main.get_command(app).commands.items():  # type: ignore[attr-defined]
        inner = getattr(one, "commands", None)
        found |= {name: one} if inner is None else {f"{name} {each}": command for each, command in inner.items()}
    return found


def test_every_command_has_a_page():
    assert set(commands()) == set(PAGE_OF)


@pytest.mark.parametrize("name", PAGE_OF)
def test_every_option_is_on_the_page_of_its_command(name: str):
    text = text_of(PAGE_OF[name])
    assert f"loamery {name}" in text
    options = [
        opt for param in commands()[name].params for opt in (*param.opts, *param.secondary_opts) if opt.startswith("--")
    ]
    missing = [opt for opt in options if not re.search(rf"{re.escape(opt)}(?![\w-])", text)]
    assert not missing, f"{PAGE_OF[name]} does not speak of {missing}"


def test_no_page_speaks_of_an_option_that_is_not():
    known = {opt for one in commands().values() for param in one.params for opt in (*param.opts, *param.secondary_opts)}
    known |= {"--version", "--help"}
    for page in pages.PAGES:
        for block in pages.blocks(page):
            for line in block.text.splitlines():
                if "loamery " in line and block.language in ("console", "text", "sh"):
                    assert set(re.findall(r"(?<!\w)--[a-z][a-z-]*", line)) <= known, f"{page.name}: {line}"


# --- finding codes


def _constants(node: ast.AST) -> set[str]:
    found = {one.value for one in ast.walk(node) if isinstance(one, ast.Constant) and isinstance(one.value, str)}
    return {one for one in found if CODE.fullmatch(one)}


def _called(node: ast.Call) -> str:
    return (
        node.func.id
        if isinstance(node.func, ast.Name)
        else node.func.attr
        if isinstance(node.func, ast.Attribute)
        else ""
    )


def _first_of_tuples(node: ast.AST) -> set[str]:
    """Return the codes of findings kept as tuples of code and texts until they are told."""
    return {
        code for one in ast.walk(node) if isinstance(one, ast.Tuple) and one.elts for code in _constants(one.elts[0])
    }


@cache
def codes_in_source() -> frozenset[str]:
    """Return every code a finding of the package can have: written at its making, or kept for it under a name."""
    found: set[str] = set()
    for path in SOURCE:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args:
                makes = _called(node) in ("Finding", "Slip", "Aside") or (
                    _called(node) == "find" and len(node.args) >= 4
                )
                found |= _constants(node.args[0]) if makes else set()
                found |= _first_of_tuples(node) if _called(node) == "Doubt" else set()
            elif isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                named = {one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)}
                found |= _constants(node.value) if named & {"code", "codes"} else set()
                found |= _first_of_tuples(node.value) if "finding" in named else set()
    return frozenset(found)


def codes_in_docs() -> dict[str, str]:
    """Return the codes of all tables headed Code, with the page they stand on."""
    found = {}
    for page in pages.PAGES:
        table = False
        for line in pages.read(page).splitlines():
            table = line.startswith("| Code |") or (table and line.startswith("|"))
            if table and (code := re.match(r"\| `(\w+)` \|", line)):
                assert code[1] not in found, f"{code[1]} twice, on {found[code[1]]} and {page.name}"
                found[code[1]] = page.name
    return found


def test_the_search_for_codes_finds_them():
    assert {
        "unit_slip",
        "lost_digit",
        "limit_unknown",
        "non_detect",
        "qc_row_skipped",
        "add_water",
        "airy",
    } <= codes_in_source()
    assert len(codes_in_source()) > 70


def test_every_code_is_documented_and_no_other():
    documented = set(codes_in_docs())
    assert sorted(codes_in_source() - documented) == [], "not in any table headed Code"
    assert sorted(documented - codes_in_source()) == [], "documented but never made"


@pytest.mark.parametrize("path", sorted((pages.ROOT / "tests/lab/samples").glob("*.csv")), ids=lambda path: path.name)
def test_codes_met_in_sample_reports_are_documented(path: Path):
    from loamery.errors import InputError
    from loamery.lab.checks import check_report
    from loamery.lab.label import label_grade
    from loamery.lab.reading import read_report

    try:
        reports = read_report(path)
    except InputError:
        return
    for one in reports:
        met = {found.code for found in (*one.findings, *check_report(one, "coffee-spent"), *label_grade(one).findings)}
        assert met <= set(codes_in_docs())


def test_every_caution_is_on_the_safety_page():
    text = text_of("safety.md")
    for row in family("cautions"):
        assert f"`{row['code']}`" in text and row["text"].replace("|", "\\|") in text


# --- the garden


@pytest.mark.parametrize("file", [*(file for file, _ in FILES.values()), "reports.toml", "garden.toml"])
def test_every_column_of_the_garden_is_documented(file: str):
    text = text_of("garden.md")
    models: dict[str, list[type[BaseModel]]] = {file: [model] for file, model in FILES.values()}
    models |= {"reports.toml": [ReportEntry], "garden.toml": [Info, Climate]}
    start = text.index(f"\n## {file}")
    section = text[start : text.index("\n## JSON Schema")]
    for model in models[file]:
        for name in model.model_fields:
            assert f"| `{name}` |" in section, f"{file}: {name}"


def test_every_unit_column_the_docs_offer_is_understood(tmp_path: Path):
    from loamery.garden.rows import _other_unit

    rows = re.findall(
        r"^\| `(\w+)` \| (`.*`) \|$", text_of("garden.md").split("## US customary units")[1].split("\n## ")[0], re.M
    )
    assert len(rows) >= 6
    for own, others in rows:
        model = next(one for _, one in FILES.values() if own in one.model_fields)
        for other in re.findall(r"`(\w+)`", others):
            assert _other_unit(other, model) is not None, other


def test_the_published_schema_is_the_one_of_the_program():
    published = (pages.DOCS / "garden.schema.json").read_text(encoding="utf-8")
    assert published == schema_text(), "run: loamery schema > docs/garden.schema.json"
    assert json.loads(published) == json.loads(json.dumps(garden_schema()))


# --- JSON documents, key by key


@pytest.fixture(scope="module")
def season_document(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    from loamery.season import plan_season

    return plan_season(read_garden(write_starter(tmp_path_factory.mktemp("docs") / "garden"))).as_dict()


FREE = ("by_use_kg", "parts_kg", "most_reliable")
"""Objects whose keys are names of the garden's own things."""


def keys_of(value: object) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for name, one in value.items() if name not in FREE for key in keys_of(one)}
    if isinstance(value, list | tuple):
        return {key for one in value for key in keys_of(one)}
    return set()


def command_json(*words: str, folder: Path) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-m", "loamery.cli", *words, "--json"],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    return dict(json.loads(done.stdout))


def undocumented(page: str, *documents: dict[str, Any]) -> set[str]:
    known = (
        in_backticks(pages.DOCS / page) | in_backticks(pages.DOCS / "lab.md") | in_backticks(pages.DOCS / "blend.md")
    )
    return {key for one in documents for key in keys_of(one)} - known


def test_every_key_of_a_season_plan_is_documented(season_document: dict[str, Any]):
    assert not undocumented("season.md", season_document)
    assert f"`{season_document['format']}`" in text_of("season.md")


def test_every_key_of_a_lab_document_is_documented(tmp_path: Path):
    sample = str(pages.ROOT / "tests/lab/samples/non-detects.csv")
    one = command_json("lab", sample, "--limits", "ca-a", folder=tmp_path)
    grade = one.pop("label_grade")
    assert set(grade) == {"long_run", "today"} and set(grade["today"]) == {"dry", "as_received"}
    every = command_json(
        "lab", str(pages.ROOT / "tests/lab/samples/used-and-unused.csv"), "--sample", "all", folder=tmp_path
    )
    every.pop("samples")
    error = command_json("lab", "missing.csv", folder=tmp_path)
    assert not undocumented("lab.md", one, every, error)
    assert f"`{one['format']}`" in text_of("lab.md")


def test_every_key_of_a_blend_document_is_documented(tmp_path: Path):
    one = command_json("blend", "coffee-spent", "leaves-mixed", folder=tmp_path)
    error = command_json("blend", "coffee-spent", folder=tmp_path)
    assert error["error"] == "NoPlan"
    assert not undocumented("blend.md", one, error)
    assert f"`{one['format']}`" in text_of("blend.md")


def test_every_key_of_the_heap_mulch_and_worm_documents_is_documented(tmp_path: Path):
    heap = command_json("heap", "--with", "leaves-mixed=5 kg", "--with", "grass-clippings=9 kg", "--days", "12", "--draws", "3",
                        "--start", "2027-05-01", "--turn", "search", "--watering", "3=5 kg", "--reading", "2027-05-04,20,90", folder=tmp_path)  # fmt: skip
    mulch = command_json("mulch", "coffee-spent", "--draws", "3", folder=tmp_path)
    write_starter(tmp_path / "garden")
    worms = command_json("worms", "garden", "--with", "coffee-spent", "--weeks", "2", folder=tmp_path)
    bed = command_json("bed", "--with", "coffee-spent=20 L", "--crop", "tomato", "--draws", "5", folder=tmp_path)
    for page, one in (("heap.md", heap), ("mulch.md", mulch), ("worms.md", worms), ("bed.md", bed)):
        assert not undocumented(page, one)
        assert f"`{one['format']}`" in text_of(page)


def test_every_key_of_the_review_document_is_documented(tmp_path: Path):
    write_starter(tmp_path / "garden")
    found = command_json("review", "garden", "--format", "html", folder=tmp_path)
    assert not undocumented("evidence.md", found)
    assert f"`{found['format']}`" in text_of("evidence.md")


def test_every_key_of_the_benefit_document_is_documented(tmp_path: Path):
    folder = write_starter(tmp_path / "garden")
    material = read_garden(folder).materials[0]
    donor = read_garden(folder).donors[0].id
    (folder / "loads.csv").write_text(
        f"id,donor,material,on,kg\na,{donor},{material.id},2027-05-01,20\n", encoding="utf-8"
    )
    (folder / "applications.csv").write_text(f"bed,on,material,kg,use\n{read_garden(folder).beds[0].id},2027-05-02,{material.id},25,mulch\n", encoding="utf-8")  # fmt: skip
    found = command_json("benefit", "garden", "--format", "html", folder=tmp_path)
    assert found["findings"] and not undocumented("benefit.md", found)
    assert f"`{found['format']}`" in text_of("benefit.md")


def test_every_key_of_the_trial_documents_is_documented(tmp_path: Path):
    write_starter(tmp_path / "garden")
    laid = command_json("trial", "lay-out", "garden", "mulch", "--treatment", "a", "--treatment", "b", "--blocks", "3", "--format", "html", folder=tmp_path)  # fmt: skip
    rows = [f"{one['id']},2027-07-0{one['block']},{3 + at % 4}" for at, one in enumerate(laid.pop("trial")["plots"])]
    (tmp_path / "in.csv").write_text("plot,measured_on,value\n" + "\n".join(rows) + "\n", encoding="utf-8")
    entered = command_json("trial", "enter", "garden", "mulch", "in.csv", folder=tmp_path)
    found = command_json("trial", "analyse", "garden", "mulch", "--format", "html", folder=tmp_path)
    power = command_json("trial", "power", "--blocks", "3", folder=tmp_path)
    (tmp_path / "warm.csv").write_text("day,temp_c,room_c\n0,20,20\n3,41,20\n6,24,20\n", encoding="utf-8")
    home = command_json("trial", "self-heating", "warm.csv", folder=tmp_path)
    for one in (laid, entered, found, power, home):
        assert not undocumented("trials.md", one)
        assert f"`{one['format']}`" in text_of("trials.md")


def test_keys_of_the_short_documents_are_documented(tmp_path: Path):
    one = command_json("init", "garden", folder=tmp_path)
    assert set(one) == {"format", "folder", "files"} and one["format"] in text_of("garden.md")
    for page, form in (("getting-started.md", "loamery demo 1"), ("evidence.md", "loamery report 1")):
        assert form in text_of(page) and any(form in path.read_text(encoding="utf-8") for path in SOURCE)


# --- figures that stand in sentences


def test_figures_in_sentences_are_those_of_the_program():
    from loamery.lab import tables
    from loamery.season import mulch, problem, recipes, scenarios, solve

    season, lab, safety = text_of("season.md"), text_of("lab.md"), text_of("safety.md")
    words = {4: "fourth", 6: "six"}
    gaps = [f"{solve.GAPS[aim]:g}" for aim in ("shortfall", "cost", "kept_away")]
    assert (
        f"more than {gaps[0]} points, {gaps[1]} hours and {gaps[2]} kg, or after {solve.MOST_NODES} nodes of the search for an aim"
        in season
    )
    assert f"made for {scenarios.SCENARIOS} of the garden's draws" in season
    assert f"nitrogen is checked every {words[problem.CHECK_EVERY_WEEKS]} week" in season
    assert problem.BUILD_EVERY_WEEKS == mulch.MULCH_EVERY_WEEKS == 2 and season.count("every other week") >= 2
    assert f"Up to {words[recipes.MOST_RECIPES]} robust" in season
    assert f"{tables.MAX_BYTES // 2**20} MiB, {tables.MAX_PAGES} pages and {tables.MAX_CELLS // 1000} 000 cells" in lab
    for row in family("jurisdictions"):
        assert (
            f"{row['manure_interval_days_contact']} days" in season
            and f"{row['manure_interval_days_contact']} days" in safety
        )
    assert f"`blend_keep_share` ({100 * coefficients()['blend_keep_share'].value:g} %)" in text_of("blend.md")


# --- names, coefficients, links, tables


@cache
def known_names() -> frozenset[str]:
    """Return every identifier and every word of a text in the package, and every cell of its data that is a name."""
    found: set[str] = set(coefficients())
    for path in SOURCE:
        found |= set(NAME.findall(path.read_text(encoding="utf-8")))
    for path in DATA:
        with path.open(encoding="utf-8", newline="") as stream:
            for number, row in enumerate(csv.reader(stream)):
                found |= {cell for cell in (row if number == 0 else row[:6]) if NAME.fullmatch(cell)}
    made = {f"{name.rsplit('_', 1)[0]}_{unit}" for name in ("area_m2", "depth_m", "distance_km", "capacity_m3", "worms_kg")
            for unit in ("ft2", "ac", "ha", "in", "ft", "cm", "mi", "m", "yd3", "ft3", "gal", "l", "lb")}  # fmt: skip
    return frozenset(found | made | {path.stem for path in DATA} | {"lb_per_week"})


@pytest.mark.parametrize("page", pages.PAGES, ids=lambda page: page.name)
def test_every_name_in_the_docs_exists(page: Path):
    named = {one for span in re.findall(r"`([^`\n]+)`", pages.prose(page)) for one in NAME.findall(span)}
    files = {path.stem for folder in ("tests", "validation", "docs") for path in (pages.ROOT / folder).rglob("*.py")}
    assert sorted(named - known_names() - files) == []


@pytest.mark.parametrize("page", pages.PAGES, ids=lambda page: page.name)
def test_every_coefficient_in_a_table_of_coefficients_exists(page: Path):
    named = re.findall(r"[Cc]oefficients? `(\w+)`", pages.prose(page))
    table = False
    for line in pages.read(page).splitlines():
        table = line.startswith("| Coefficient |") or (table and line.startswith("|"))
        named += re.findall(r"^\| `(\w+)` \|", line) if table else []
    assert set(named) <= set(coefficients())


def anchors(page: Path) -> set[str]:
    heads = re.findall(r"^#+ (.+)$", pages.prose(page), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", pages.PAGES, ids=lambda page: page.name)
def test_every_link_resolves(page: Path):
    for target in re.findall(r"\]\(([^)\s]+)\)", pages.prose(page)):
        if target.startswith(("https:", "http:")):
            continue
        path, _, anchor = target.partition("#")
        file = (page.parent / path).resolve() if path else page
        assert file.exists(), f"{page.name}: {target}"
        assert not anchor or anchor in anchors(file), f"{page.name}: {target}"


def test_every_page_is_in_the_index():
    index = text_of("index.md")
    missing = {page.name for page in pages.PAGES if page.parent == pages.DOCS and f"({page.name})" not in index}
    assert missing == {"index.md"}


@pytest.mark.parametrize("page", pages.PAGES, ids=lambda page: page.name)
def test_tables_made_from_the_program_are_up_to_date(page: Path):
    assert make_tables.renewed(pages.read(page)) == pages.read(page), "run: python docs/make_tables.py"


def test_counts_of_the_data_files_are_those_of_the_files():
    text = text_of("reference-data.md")
    for name in make_tables.COUNTED:
        rows = sum(
            len(list(csv.DictReader(path.open(encoding="utf-8", newline=""))))
            for path in DATA
            if path.stem == name or path.stem.startswith(f"{name}_")
        )
        assert re.search(rf"^\| `{name}` \| [^|]+ \| {rows} \|", text, re.M), f"{name}: {rows} rows"


@pytest.mark.parametrize("page", pages.PAGES, ids=lambda page: page.name)
def test_pages_hold_no_machine_and_no_registry(page: Path):
    text = pages.read(page)
    for word in ("/home/", "pypi", "npmjs", "img.shields"):  # tests/rules looks for more, in every file
        assert word not in text.lower()
