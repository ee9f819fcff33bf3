"""The wheel: built, installed into an environment of its own, and the demo run from it in another folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow
ROOT = Path(__file__).resolve().parents[1]
BIN = "Scripts" if os.name == "nt" else "bin"


def run(*command: object, cwd: Path) -> str:
    environment = {
        key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "PIP_", "VIRTUAL_ENV"))
    }
    environment["XDG_CACHE_HOME"] = str(cwd.parent / "cache")  # no plan of another test stands in for the wheel's own
    done = subprocess.run(
        [str(one) for one in command],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        env=environment,
        timeout=300,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a wheel built from this checkout, without network."""
    out = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "build", "--no-isolation", "--wheel", "--outdir", out, ROOT, cwd=out)
    (found,) = out.glob("*.whl")
    return found


@pytest.fixture(scope="module")
def environment(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a fresh environment with the wheel in it; the libraries it asks for are lent by the one that runs the tests."""
    folder = tmp_path_factory.mktemp("environment") / "venv"
    run(sys.executable, "-m", "venv", "--without-pip", folder, cwd=folder.parent)
    python = folder / BIN / "python"
    run(
        sys.executable,
        "-m",
        "pip",
        "--python",
        python,
        "install",
        "--no-deps",
        "--no-index",
        "--quiet",
        wheel,
        cwd=folder.parent,
    )
    places = run(python, "-c", "import sysconfig; print(sysconfig.get_paths()['purelib'])", cwd=folder.parent).strip()
    (Path(places) / "lent.pth").write_text(sysconfig.get_paths()["purelib"] + "\n", encoding="utf-8")
    return folder


def test_the_wheel_carries_every_file_of_the_package(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        names = set(packed.namelist())
    package = ROOT / "loamery"
    wanted = {
        path.relative_to(ROOT).as_posix()
        for path in package.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and path.suffix != ".pyc"
    }
    assert wanted - names == set()
    assert not [name for name in names if name.startswith(("tests/", "validation/", "docs/", "benchmarks/"))]
    assert [name for name in names if name.endswith("licenses/LICENSE")]


def test_the_demo_runs_from_the_wheel_in_another_folder(environment: Path, tmp_path: Path) -> None:
    python, command = environment / BIN / "python", environment / BIN / "loamery"
    origin = run(python, "-c", "import loamery; print(loamery.__file__)", cwd=tmp_path).strip()
    assert Path(origin).is_relative_to(environment), "the package comes from the wheel, not from this checkout"
    document = json.loads(run(command, "demo", "--json", cwd=tmp_path))
    status = document["plan"]["solver"]["status"]
    told = {one["code"] for one in document["plan"]["findings"]}
    assert status == "optimal" or (status == "search limit reached" and "plan_not_proven" in told)
    assert document["plan"]["garden"]["invented"] is True
    files = [tmp_path / one for one in document["files"]]
    assert {path.name for path in files} >= {"season.html", "season.pdf"}
    assert all(path.is_file() for path in files)
    assert (tmp_path / "loamery-demo" / "report" / "season.pdf").read_bytes().startswith(b"%PDF")
    assert "invented" in (tmp_path / "loamery-demo" / "report" / "season.html").read_text(encoding="utf-8").casefold()
    assert (tmp_path / "loamery-demo" / "garden" / "garden.toml").is_file()
    assert [path.name for path in tmp_path.iterdir()] == ["loamery-demo"]


def test_the_starter_and_a_laboratory_file_from_the_wheel(environment: Path, tmp_path: Path) -> None:
    command = environment / BIN / "loamery"
    run(command, "init", "garden", cwd=tmp_path)
    report = environment.rglob("grounds-brackwater.csv")
    document = json.loads(run(command, "lab", next(report), "--json", cwd=tmp_path))
    assert document["label_grade"]["long_run"]["dry"]["N"] > 1
