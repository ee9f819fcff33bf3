"""The public names: few, exported in one place, each importable without the heavy libraries where it matters."""

from __future__ import annotations

import importlib
import subprocess
import sys

import pytest

PUBLIC = {
    "loamery.garden": {
        "read_garden",
        "Garden",
        "write_demo",
        "write_garden",
        "write_starter",
        "garden_schema",
        "LabReport",
        "Determination",
        "Question",
    },
    "loamery.season": {"plan_season", "SeasonPlan"},
    "loamery.reference": {
        "coefficient",
        "coefficients",
        "source",
        "sources",
        "cite",
        "table",
        "family",
        "Source",
        "Coefficient",
        "as_coefficient",
    },
}


@pytest.mark.parametrize("name", PUBLIC)
def test_what_is_exported_is_there_and_is_what_we_say(name: str) -> None:
    module = importlib.import_module(name)
    assert set(module.__all__) == PUBLIC[name]
    assert all(getattr(module, one).__doc__ for one in module.__all__)


@pytest.mark.parametrize("name", ["loamery.blend", "loamery.lab", "loamery.evidence"])
def test_every_name_in_all_can_be_imported(name: str) -> None:
    module = importlib.import_module(name)
    assert [one for one in getattr(module, "__all__", []) if not hasattr(module, one)] == []


def test_errors_hang_in_one_tree() -> None:
    """Nothing in the package raises an error class of its own outside loamery.errors."""
    import ast
    from pathlib import Path

    root = Path(importlib.import_module("loamery").__file__ or "").parent
    found = [
        f"{path.name}:{node.name}"
        for path in root.rglob("*.py")
        if path.name != "errors.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef)
        and any(isinstance(base, ast.Name) and base.id.endswith(("Error", "Exception")) for base in node.bases)
    ]
    assert found == []


@pytest.mark.parametrize("module", ["loamery", "loamery.errors", "loamery.cli.app"])
def test_light_modules_stay_light(module: str) -> None:
    heavy = "numpy pandas scipy altair pydantic pdfplumber openpyxl typst highspy pint molmass django statsmodels distributed numba"
    code = f"import sys, {module}; sys.exit(' '.join(one for one in '{heavy}'.split() if one in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stderr.strip() == ""
