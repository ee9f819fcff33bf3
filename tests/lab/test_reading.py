"""From file to report: what is certain is read, what is not is asked, and an answer settles it."""

from __future__ import annotations

import pytest

from loamery.errors import UnreadableFile
from loamery.lab.reading import read_report
from loamery.units import element_share

HEAD = "Compost, invented sample\nResults on dry basis\nAnalyte,Result,Unit\n"


@pytest.fixture
def read(tmp_path):
    def one(text, answers=None, name="made.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return read_report(path, answers=answers)

    return one


def values(report):
    return {one.key: one.value for one in report.determinations}


def keys(report):
    return [one.key for one in report.questions]


def codes(report):
    return [one.code for one in report.findings]


def test_oxides_and_ions_become_elements(read):
    (report,) = read(
        HEAD + "P2O5,1.0,%\nPotash (K2O),1.0,%\nCaO,1,%\nMgO,1,%\nSO3,1,%\nNitrate (NO3),443,mg/kg\nNH4,129,mg/kg\n"
    )
    found = values(report)
    for element, oxide in (("P", "P2O5"), ("K", "K2O"), ("Ca", "CaO"), ("Mg", "MgO"), ("S", "SO3")):
        assert found[element] == pytest.approx(0.01 * element_share(element, oxide), rel=1e-12)
    # factors 4.427 and 1.288 of the reference collection (derived from atomic weights)
    assert found["NO3_N"] == pytest.approx(443e-6 / 4.427, rel=5e-4)
    assert found["NH4_N"] == pytest.approx(129e-6 / 1.288, rel=5e-4)


@pytest.mark.parametrize(
    ("printed", "unit", "si"),
    [
        ("2.05", "%", 0.0205),
        ("20.5", "g/kg", 0.0205),
        ("20500", "ppm", 0.0205),
        ("41", "lb/ton", 0.0205),
        ("2.05", "g/100 g", 0.0205),
        ("20.5", "mg/g", 0.0205),
    ],
)
def test_units_of_content(read, printed, unit, si):
    """lb/ton is 20 to the per cent (short ton of 2000 lb), as in extension tables (reference NCSU-BZ)."""
    (report,) = read(HEAD + f"Total N,{printed},{unit}\n")
    assert values(report)["N"] == pytest.approx(si, rel=1e-12)


def test_exchangeable_cations_in_charge(read):
    """1 meq/100 g is 200.4 mg/kg of calcium and 391 of potassium (common conversion of soil laboratories)."""
    (report,) = read(
        "Soil test\nTest,Result,Unit\nCalcium (NH4OAc),1,meq/100 g\nPotassium (NH4OAc),1,cmol(+)/kg\nCEC,12,meq/100g\n"
    )
    found = values(report)
    assert found["Ca:extractable"] == pytest.approx(200.4e-6, rel=1e-3)
    assert found["K:extractable"] == pytest.approx(391e-6, rel=1e-3)
    assert found["CEC"] == pytest.approx(0.12, rel=1e-12)


def test_dry_matter_is_moisture(read):
    (report,) = read(HEAD + "Total solids,38.6,%\n")
    assert values(report)["moisture"] == pytest.approx(0.614, rel=1e-12)
    assert report.determinations[0].basis == "as_received"


def test_share_of_kjeldahl_nitrogen(read):
    """NH3N as "% of TKN" is how one state laboratory prints ammonium (reference: laboratory conventions)."""
    (report,) = read("Manure, as received basis\nTest,Result,Unit\nTKN,0.62,%\nNH3N,34,% of TKN\n")
    one = report.get("NH4_N")
    assert one.value == pytest.approx(0.0062 * 0.34, rel=1e-12)
    assert one.basis == "as_received"


def test_kjeldahl_is_kept_as_the_method(read):
    (report,) = read(HEAD + "TKN,2.0,%\nTotal N by combustion,2.1,%\n")
    assert [one.method for one in report.all("N")] == ["TKN", ""]


@pytest.mark.parametrize("answer", ["dry", "as received", "as_received"])
def test_basis_is_asked_once_and_answered(read, answer):
    text = "Compost\nAnalyte,Result,Unit\nTotal N,2.05,%\nTotal P,1300,mg/kg\npH,6,\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["basis"]
    assert set(values(open_one)) == {"pH"}
    (report,) = read(text, {"basis": answer})
    assert not report.questions
    assert {one.basis for one in report.determinations if one.key != "pH"} == {answer.replace(" ", "_")}


def test_date_is_asked_and_answered(read):
    text = HEAD + "Zinc,27-Apr,mg/kg\nCopper,31,mg/kg\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["value of Zinc"]
    assert open_one.questions[0].proposal == "4-27"
    assert "date_in_value" in codes(open_one)
    assert set(values(open_one)) == {"Cu"}
    (ranged,) = read(text, {"value of Zinc": "4-27"})
    assert ranged.get("Zn").value == pytest.approx(15.5e-6, rel=1e-12)
    assert ranged.get("Zn").sd == pytest.approx(23e-6 / 12**0.5, rel=1e-6)  # uniform over the range
    (number,) = read(text, {"value of Zinc": "4.27"})
    assert number.get("Zn").value == pytest.approx(4.27e-6, rel=1e-12)
    (left,) = read(text, {"value of Zinc": "leave out"})
    assert left.get("Zn") is None
    assert not left.questions
    (nonsense,) = read(text, {"value of Zinc": "many"})
    assert keys(nonsense) == ["value of Zinc"]


def test_an_answer_goes_to_the_place_that_asked(read):
    """The certain value of the same name in the other column is not overwritten."""
    text = "Compost\nAnalyte,Unit,As received,Dry\nTotal N,%,0.82,27-Apr\nTotal P,%,5-Feb,6-Mar\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["value of Total N", "value of Total P", "value of Total P (row 4, column 4)"]
    (report,) = read(
        text, {"value of Total N": "2.05", "value of Total P": "0.2", "value of Total P (row 4, column 4)": "0.5"}
    )
    assert {(one.key, one.basis): one.value for one in report.determinations} == pytest.approx(
        {("N", "as_received"): 0.0082, ("N", "dry"): 0.0205, ("P", "as_received"): 0.002, ("P", "dry"): 0.005}
    )


def test_unit_is_asked_with_a_proposal(read):
    (open_one,) = read("Compost, dry basis\nAnalyte,Result\nTotal N,2.05\n")
    assert keys(open_one) == ["unit of Total N"]
    assert "unit_missing" in codes(open_one)
    assert open_one.questions[0].proposal in ("", "%")
    (report,) = read("Compost, dry basis\nAnalyte,Result\nTotal N,2.05\n", {"unit of Total N": "%"})
    assert values(report)["N"] == pytest.approx(0.0205)
    (bad,) = read("Compost, dry basis\nAnalyte,Result\nTotal N,2.05\n", {"unit of Total N": "dS/m"})
    assert keys(bad) == ["unit of Total N"]


@pytest.mark.parametrize("unit", ["mg/L", "kg/ha", "lb/1000 gal", "05", "index"])
def test_units_that_cannot_be_converted_are_asked(read, unit):
    (report,) = read(HEAD + f"Total N,2.05,{unit}\n")
    assert keys(report) == ["unit of Total N"]
    assert not report.determinations


def test_two_units_that_disagree_are_asked(read):
    (report,) = read(HEAD + "Total N (mg/kg),2.05,%\nTotal P,0.1 %,mg/kg\n")
    assert keys(report) == ["unit of Total N (mg/kg)", "unit of Total P"]


def test_form_of_soil_elements_is_asked(read):
    text = "Soil analysis\nTest,Result,Unit\nPhosphorus,52,mg/kg\npH,6.4,\n"
    (open_one,) = read(text)
    assert open_one.subject == "soil"
    assert keys(open_one) == ["form of Phosphorus"]
    (report,) = read(text, {"form of Phosphorus": "extractable"})
    assert set(values(report)) == {"P:extractable", "pH"}
    (named,) = read(text.replace("Test,", "Extractant: Mehlich-3\nTest,"))
    assert named.get("P:extractable").method == "Mehlich-3"


def test_species_is_asked(read):
    text = HEAD + "Nitrate,100,mg/kg\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["form of Nitrate"]
    (as_n,) = read(text, {"form of Nitrate": "as N"})
    (as_ion,) = read(text, {"form of Nitrate": "as NO3"})
    assert values(as_n)["NO3_N"] == pytest.approx(100e-6)
    assert values(as_ion)["NO3_N"] == pytest.approx(100e-6 * element_share("N", "NO3"))


def test_subject_is_asked_only_where_it_matters(read):
    text = "Analyte,Result,Unit\nPotassium,1200,mg/kg dry\nTotal N,2.05,% dry\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["subject"]
    assert set(values(open_one)) == {"N"}
    (report,) = read(text, {"subject": "material"})
    assert set(values(report)) == {"N", "K"}


def test_partly_understood_name_is_asked(read):
    text = HEAD + "Total Nitrogen (house way),2.05,%\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["analyte Total Nitrogen (house way)"]
    (report,) = read(text, {"analyte Total Nitrogen (house way)": "N"})
    assert values(report)["N"] == pytest.approx(0.0205)


def test_non_detects(read):
    text = (
        HEAD.replace("Unit", "Unit,RL")
        + "Cadmium,ND,mg/kg,0.5\nLead,<5,mg/kg,\nZinc,trace,mg/kg,\nCopper,>58,mg/kg,\nNickel,n.d.,mg/kg,\n"
    )
    (report,) = read(text)
    found = {one.key: (one.censored, one.limit) for one in report.determinations}
    assert found["Cd"] == ("below", pytest.approx(5e-7))
    assert found["Pb"] == ("below", pytest.approx(5e-6))
    assert found["Zn"] == ("trace", None)
    assert found["Cu"] == ("above", pytest.approx(58e-6))
    assert found["Ni"] == ("below", None)
    assert all(one.value is None for one in report.determinations)


def test_replicates(read):
    text = "Compost, dry basis\nAnalyte,Unit,Rep 1,Rep 2,Mean\nTotal N,%,1.4,1.6,1.5\nTotal P,%,0.1,0.3,0.2\nTotal K,%,1.0,1.2,1.5\n"
    (report,) = read(text)
    assert report.get("N").replicates == pytest.approx((0.014, 0.016))
    assert report.get("N").value == pytest.approx(0.015)
    assert [one.about for one in report.findings if one.code == "replicate_spread"] == ["Total P"]
    assert keys(report) == ["value of Total K"]  # the printed mean is not the mean


def test_impossible_values_are_asked(read):
    (report,) = read(
        HEAD + "Cadmium,-0.02,mg/kg\nOrganic matter,148,%\nAsh,12-18,%\nC:N ratio,22:1,\nCopper,12,mg/kg\n"
    )
    assert set(values(report)) == {"Cu"}
    assert {"negative_value", "percent_over_100", "unreadable_value"} <= set(codes(report))
    assert keys(report) == [f"value of {name}" for name in ("Cadmium", "Organic matter", "Ash", "C:N ratio")]
    (again,) = read(HEAD + "Organic matter,148,%\n", {"value of Organic matter": "14.8"})
    assert values(again)["organic_matter"] == pytest.approx(0.148)
    (still,) = read(HEAD + "Organic matter,148,%\n", {"value of Organic matter": "200"})
    assert keys(still) == ["value of Organic matter"]


def test_repeats(read):
    (same,) = read(HEAD + "Total P,0.29,%\nP2O5 total,0.67,%\n")
    assert values(same)["P"] == pytest.approx(0.0029)
    assert "duplicate_analyte" in codes(same)
    text = HEAD + "Zinc,88,mg/kg\nZinc,0.0131,%\n"
    (differ,) = read(text)
    assert not differ.determinations
    assert keys(differ) == ["value of Zinc"]
    (picked,) = read(text, {"value of Zinc": "0.0131 %"})
    assert values(picked)["Zn"] == pytest.approx(131e-6)


def test_unknown_and_quality_rows_are_findings(read):
    (report,) = read(
        HEAD
        + "Total N,2.05,%\nVigour quotient,4.2,index\nOrganic nitrogen,1.8,%\nTotal N (duplicate),2.1,%\nRPD nitrogen,3,%\n"
    )
    assert set(values(report)) == {"N"}
    assert codes(report).count("unknown_analyte") == 2
    assert codes(report).count("qc_row_skipped") == 2
    assert not report.questions


def test_base_saturation_is_no_content(read):
    (report,) = read(
        "Soil analysis\nTest,Result,Unit\nPotassium (Mehlich-3),140,ppm\nBase saturation,,\nK,3.1,%\nCa,68,%\n"
    )
    assert set(values(report)) == {"K:extractable"}


def test_moisture_on_dry_basis_is_asked(read):
    text = "Compost\nAnalyte,Result,Unit\nMoisture (dry basis),60,%\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["value of Moisture (dry basis)"]
    (report,) = read(text, {"value of Moisture (dry basis)": "37.5"})
    assert values(report)["moisture"] == pytest.approx(0.375)


def test_soil_without_basis_is_dry_and_says_so(read):
    (report,) = read("Soil test\nTest,Result,Unit\nOlsen P,20,mg/kg\n")
    assert report.get("P:extractable").basis == "dry"
    assert "basis_not_stated" in codes(report)


def test_conflicting_statements_are_asked(read):
    text = "Compost\nN is reported as received; all other results on dry basis\nAnalyte,Result,Unit\nTotal N,0.9,%\n"
    (open_one,) = read(text)
    assert keys(open_one) == ["basis of Total N"]
    (report,) = read(text, {"basis of Total N": "as_received"})
    assert report.get("N").basis == "as_received"


def test_unquoted_decimal_commas_are_asked(read):
    (report,) = read("Compost, results on dry basis\nAnalyte,Result,Unit\nTotal N,2,05,%\nAsh,61,2,%\n")
    assert not report.determinations
    assert len(report.questions) == 2


def test_several_samples_and_answers_for_one(read):
    text = "Compost\nSample,Total N % dry,Zinc mg/kg dry\nA,2.1,27-Apr\nB,2.2,5-Jun\n"
    first, second = read(text)
    assert (first.sample, second.sample) == ("A", "B")
    assert "several_samples" in codes(first)
    one, other = read(text, {"A: value of Zinc mg/kg dry": "15"})
    assert one.get("Zn").value == pytest.approx(15e-6)
    assert keys(other) == ["value of Zinc mg/kg dry"]


def test_lines_without_a_table(read):
    (report,) = read("Compost\nTotal Nitrogen (dry): 2.05 %\nMoisture: 61.2 %\npH: 6.5\n", name="made.txt")
    assert values(report) == pytest.approx({"N": 0.0205, "moisture": 0.612, "pH": 6.5})


def test_facts_of_the_report(read):
    text = (
        "Laboratory: Tarn Testing (invented)\nSample ID: Heap 7\nDate sampled: 19 October 2026\nReported: 2026-10-25\n"
        + HEAD
        + "Total N,2,%\n"
    )
    (report,) = read(text)
    assert (report.lab, report.sample) == ("Tarn Testing (invented)", "Heap 7")
    assert (report.sampled_on, report.reported_on, report.invented) == ("2026-10-19", "2026-10-25", True)
    one = report.get("N")
    assert (one.raw_name, one.raw_value, one.raw_unit, one.where.row) == ("Total N", "2", "%", 8)


@pytest.mark.parametrize(
    "text",
    [
        "Roses are red\nviolets are blue\n",
        "<html><body>Total N 2.05</body></html>",
        '{"analyte": "Total N"}',
        "Name,Phone\nAda,5551234\n",
        "1,2,3\n4,5,6\n",
    ],
)
def test_no_laboratory_report(read, text):
    with pytest.raises(UnreadableFile) as caught:
        read(text)
    assert "report" in str(caught.value)


def test_sheets_become_samples_when_they_repeat_analytes(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    for name, value in (("Pile A", 2.05), ("Pile B", 1.4)):
        sheet = book.create_sheet(name)
        for row in (["Compost, dry basis"], ["Analyte", "Result", "Unit"], ["Total N", value, "%"]):
            sheet.append(row)
    book.remove(book["Sheet"])
    book.save(tmp_path / "made.xlsx")
    found = read_report(tmp_path / "made.xlsx")
    assert [(one.sample, one.get("N").value) for one in found] == [
        ("Pile A", pytest.approx(0.0205)),
        ("Pile B", pytest.approx(0.014)),
    ]


def test_percentage_cells_of_a_workbook(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    for row in (["Compost, dry basis"], ["Analyte", "Result", "Unit"], ["Total N", 0.0205, "%"], ["Ash", 0.12, ""]):
        book.active.append(row)
    book.active["B3"].number_format = book.active["B4"].number_format = "0.00%"
    book.save(tmp_path / "made.xlsx")
    (report,) = read_report(tmp_path / "made.xlsx")
    assert values(report) == pytest.approx({"N": 0.0205, "ash": 0.12})
