"""A cell that is wrong is refused in French for who reads French: what the column holds, too."""

import pytest
from pydantic import ValidationError

import loamery.trials.design
import loamery.trials.folder
import loamery.trials.home_tests
import loamery.trials.record  # noqa: F401
from loamery.garden.fields import Record
from loamery.garden.model import TEXTURES, Bed
from loamery.garden.rows import faults_of
from loamery.say import is_told, told


def kinds(kind=Record):
    """Yield every kind of record of the package."""
    for one in kind.__subclasses__():
        if one.__module__.startswith("loamery."):
            yield one
            yield from kinds(one)


@pytest.mark.parametrize("kind", sorted(kinds(), key=lambda one: (one.__module__, one.__name__)))
def test_what_every_column_holds_is_told(kind):
    described = [one.description for one in kind.model_fields.values() if one.description]
    assert [one for one in described if not is_told(one, "fr")] == []


def test_a_refused_cell_is_told_whole():
    row = {"id": "north", "name": "North", "area_m2": "-3", "texture": "lome"}
    with pytest.raises(ValidationError) as caught:
        Bed.model_validate(row)
    printed = {name: (name, cell) for name, cell in row.items()}
    area, texture = (told(str(one), "fr") for one in faults_of(caught.value, "beds.csv", 2, printed, Bed))
    assert area == (
        "beds.csv, ligne 2, colonne area_m2\u00a0: «\u00a0-3\u00a0»\n"
        "  attendu\u00a0: area_m2 (le sol lui-même, sans les allées)\u00a0: doit être supérieur à 0\n"
        "  que faire\u00a0: corrigez la cellule"
    )
    assert "'sandy loam'" in texture and "«\u00a0loam\u00a0»" in texture  # what the file has to hold stays as it is


def test_textures_are_told():
    assert [told(one, "fr") for one in TEXTURES][:3] == ["sable", "sable limoneux", "limon sableux"]
