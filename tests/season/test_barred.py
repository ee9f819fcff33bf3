"""A material that misses a legal limit stays out of the plan, and the plan says so."""

from __future__ import annotations

import pytest

from loamery.garden import read_garden, write_starter
from loamery.season.make import plan_prepared
from loamery.season.prepare import prepare

LEADED = "Laboratory (invented)\nanalyte,result,unit,basis\nMoisture,60,%,as received\nTotal nitrogen,2.1,%,dry\nLead,{lead},mg/kg,dry\n"


@pytest.mark.parametrize(("lead", "used"), [(400, False), (20, True)])
def test_lead_above_the_limit_bars_a_material(tmp_path, lead, used):
    folder = write_starter(tmp_path / "garden")
    (folder / "reports" / "grounds.csv").write_text(LEADED.format(lead=lead), encoding="utf-8")
    (folder / "reports.toml").write_text('[[report]]\nfile = "reports/grounds.csv"\nmaterial = "grounds"\n')
    plan = plan_prepared(prepare(read_garden(folder)))
    grounds = next(one for one in plan.materials if one.material == "grounds")
    assert (sum(grounds.by_use_kg.values()) > 0) is used
    assert any(one.code == "material_barred" and one.severity == "stop" for one in plan.findings) is not used
