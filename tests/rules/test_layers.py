"""How the code is built: layers, sizes, docstrings, and nothing in it that belongs to one machine."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "loamery"
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "migrations" not in path.parts)
"""Our own files; migrations are written by Django."""
MOST_LINES, MOST_CODE = 400, 60
BUILT = {".git", ".venv", "__pycache__", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis", ".import_linter_cache",
         "dist", "build", "demo-out", "tmp"}  # fmt: skip


def committed() -> list[Path]:
    """Return the files git would commit; without git, everything that is not built."""
    git = shutil.which("git")
    if git and (ROOT / ".git").exists():
        call = [git, "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
        done = subprocess.run(call, cwd=ROOT, capture_output=True, check=False)
        if done.returncode == 0:
            return [ROOT / name for name in done.stdout.decode().split("\0") if name and (ROOT / name).is_file()]
    return [path for path in ROOT.rglob("*") if path.is_file() and not BUILT & set(path.relative_to(ROOT).parts)]


def texts() -> Iterator[tuple[str, str]]:
    for path in committed():
        try:
            yield path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


def test_the_layers_hold() -> None:
    call = [
        sys.executable,
        "-c",
        "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))",
    ]
    done = subprocess.run(call, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


def test_a_broken_layer_would_be_seen(tmp_path: Path) -> None:
    """The contract refuses a bed that imports the season; a copy of the package shows it."""
    ignore = shutil.ignore_patterns("__pycache__", "fonts", "*.csv", "*.xlsx", "*.pdf")
    shutil.copytree(PACKAGE, tmp_path / "loamery", ignore=ignore)
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    with (tmp_path / "loamery" / "bed" / "soil.py").open("a", encoding="utf-8") as stream:
        stream.write("\n\ndef wrong() -> None:\n    from loamery.season import plan_season  # noqa\n")
    code = "import sys; sys.path.insert(0, '.'); from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 1, done.stdout + done.stderr
    assert "loamery.bed.soil -> loamery.season" in done.stdout


def test_every_package_stands_in_the_layers() -> None:
    import tomllib

    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    named = {part.strip() for layer in contracts[0]["layers"] for part in layer.split("|")}
    parts = {f"loamery.{path.stem}" for path in PACKAGE.glob("*.py") if path.stem != "__init__"}
    parts |= {f"loamery.{path.parent.name}" for path in PACKAGE.glob("*/__init__.py")}
    parts.discard("loamery.demo")  # holds files only
    assert parts <= named
    assert not [path for path in (PACKAGE / "demo").rglob("*.py") if path.name != "__init__.py"]


def test_no_file_is_a_landfill() -> None:
    long = {
        path.name: count
        for path in MODULES
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > MOST_LINES
    }
    assert long == {}


def code_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Return the lines of a function without its signature and docstring."""
    body = node.body[1:] if ast.get_docstring(node) else node.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def functions() -> Iterator[tuple[Path, ast.FunctionDef | ast.AsyncFunctionDef]]:
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield path, node


def test_no_function_does_a_chapter() -> None:
    long = [f"{path.name}:{node.name} {count}" for path, node in functions() if (count := code_lines(node)) > MOST_CODE]
    assert long == []


def test_functions_are_short_on_the_whole() -> None:
    counts = sorted(code_lines(node) for _, node in functions())
    assert counts[len(counts) // 2] <= 15
    assert counts[int(len(counts) * 0.9)] <= 32


def public(tree: ast.Module | ast.ClassDef) -> Iterator[ast.ClassDef | ast.FunctionDef]:
    """Yield what a reader may call: public classes and functions, and the public methods of public classes."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from public(node)


def test_everything_public_says_what_it_is() -> None:
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in MODULES}
    silent = [path.name for path, tree in trees.items() if not ast.get_docstring(tree)]
    silent += [
        f"{path.name}:{one.name}" for path, tree in trees.items() for one in public(tree) if not ast.get_docstring(one)
    ]
    assert silent == []


def test_everything_public_is_typed() -> None:
    bare = [
        f"{path.name}:{node.name}"
        for path, node in functions()
        if node.returns is None
        or any(one.annotation is None for one in node.args.args if one.arg not in ("self", "cls"))
    ]
    assert bare == []


def test_no_drawers() -> None:
    drawers = [path.name for path in MODULES if re.search(r"util|helper|manager|misc|common", path.stem)]
    assert drawers == []


def test_nothing_is_left_to_do() -> None:
    mark = re.compile(r"\b(" + "|".join(("TO" + "DO", "FIX" + "ME", "X" * 3)) + r")\b")
    assert [name for name, text in texts() if mark.search(text) and not name.endswith((".csv", ".lock"))] == []


def test_no_bare_except() -> None:
    found = [
        f"{path.name}:{node.lineno}"
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ExceptHandler) and node.type is None
    ]
    assert found == []


HOSTS = ("py" + "pi.org", "py" + "pi.python", "python" + "hosted.org", "npm" + "js.", "registry." + "npm", "unpkg" + ".com",
         "jsdelivr" + ".net", "conda" + ".anaconda", "cran." + "r-project")  # fmt: skip


@pytest.mark.parametrize("host", HOSTS)
def test_no_file_names_a_registry(host: str) -> None:
    assert [name for name, text in texts() if host in text.casefold()] == []


def test_no_file_names_a_place_of_this_machine() -> None:
    places = re.compile(r"(?<![\w.])/(?:work|root|home)/\w|(?<![\w.])/(?:tmp)/(?:bash_jobs|brief)|[A-Z]:\\\\Users")
    found = [
        f"{name}: {hit[0]}"
        for name, text in texts()
        if (hit := places.search(text)) and not name.startswith("tests/rules")
    ]
    assert found == []
    assert not [name for name, text in texts() if str(ROOT) + "/" in text]


def test_what_is_committed_is_not_what_is_built() -> None:
    assert not [
        path for path in committed() if BUILT & set(path.relative_to(ROOT).parts) or path.suffix in (".pyc", ".whl")
    ]


def test_the_package_says_the_same_name_and_version_everywhere() -> None:
    import tomllib

    import loamery

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["name"] == PACKAGE.name == "loamery"
    assert project["version"] == loamery.__version__
    assert project["scripts"] == {"loamery": "loamery.cli.__main__:main"}
    assert project["license"] == "MIT"
    assert "MIT" in (ROOT / "LICENSE").read_text(encoding="utf-8")


def test_what_is_imported_is_asked_for() -> None:
    """Every third-party module the package imports stands in the dependencies of pyproject.toml, and the other way round."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = {re.split(r"[<>=!~ ;\[]", one)[0].replace("-", "_") for one in project["dependencies"]}
    names = {"vl_convert_python": "vl_convert", "pillow": "PIL", "django_ninja": "ninja"}
    asked = {names.get(one, one) for one in asked}
    found: set[str] = set()
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
                found.add(node.module.split(".")[0])
    foreign = found - set(sys.stdlib_module_names) - {"loamery", "__future__"}
    behind = {
        "click": "typer",
        "pydantic_core": "pydantic",
        "markupsafe": "jinja2",
        "pdfminer": "pdfplumber",
        "llvmlite": "numba",
    }  # come with, and are part of the face of, the one named
    assert {behind.get(one, one) for one in foreign} <= asked
