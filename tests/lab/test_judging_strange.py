"""Strange reports: whatever was read, the judging answers with findings and finite numbers, never with a traceback."""

import json

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from loamery.garden.report import Determination, LabReport
from loamery.lab.checks import check_report
from loamery.lab.combine import compose
from loamery.lab.label import label_grade
from loamery.lab.limits import judge_limits
from loamery.lab.published import kinds
from loamery.names import quantities

MEASURABLE = [key for key, one in quantities().items() if one.family != "trait"]
VALUES = st.one_of(
    st.sampled_from([0.0, 1.0, 1e-12, 0.999999, 1.5, 100.0, 14.0, 1e6, -0.01]),
    st.floats(1e-9, 1.0),
    st.floats(1.0, 1e5),
)


@st.composite
def determinations(draw: st.DrawFn) -> Determination:
    key = draw(st.sampled_from(MEASURABLE))
    value = draw(VALUES)
    below = draw(st.sampled_from(["no", "no", "no", "below", "trace", "above"]))
    return Determination(
        key,
        draw(st.sampled_from(["total", "extractable", "none"])),
        value if below == "no" else None,
        draw(st.sampled_from(["dry", "as_received", "not_stated", "none"])),
        method=draw(st.sampled_from(["", "TKN", "Mehlich-3", "1:2"])),
        censored=below,  # type: ignore[arg-type]
        limit=None if below == "no" else draw(st.one_of(st.none(), VALUES)),
        replicates=tuple(draw(st.lists(VALUES, max_size=3))),
        sd=draw(st.one_of(st.none(), st.floats(0.0, 10.0))),
        raw_value=draw(st.sampled_from(["", "2.05", "2,05", "<5", "27-Apr", "1e-5", "nan"])),
    )


REPORTS = st.builds(
    LabReport,
    st.sampled_from(["a.csv", "b.csv"]),
    subject=st.sampled_from(["material", "material", "soil"]),
    determinations=st.lists(determinations(), max_size=8).map(tuple),
)


@settings(max_examples=400, deadline=None)
@given(REPORTS, st.sampled_from([None, *kinds()]))
def test_checks_and_label_answer(report: LabReport, kind: str | None):
    for one in check_report(report, kind):
        assert one.severity in ("note", "warning", "stop") and one.text
    json.dumps(label_grade(report).as_dict(), allow_nan=False)


@settings(max_examples=200, deadline=None)
@given(st.lists(REPORTS, max_size=4), st.sampled_from(list(kinds())))
def test_composition_is_finite_and_limits_answer(reports: list[LabReport], kind: str):
    made = compose(kind, reports, n=100)
    for one in made.estimates.values():
        assert np.all(np.isfinite(one.draws)), one.key
        assert one.quantity == "pH" or one.quantity == "buffer_pH" or np.all(one.draws >= 0), one.key
    for limit in ("ca-ccme-2005-a", "eu-2019-1009-pfc3a"):
        for source in (made, *reports):
            assert {one.answer for one in judge_limits(source, limit)} <= {"passes", "fails", "unknown"}
