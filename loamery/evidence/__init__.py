"""Evidence: the season report and fact sheets, with charts, cautions and where every number comes from."""

from loamery.evidence.factsheet import write_fact_sheet
from loamery.evidence.report import FORMATS, write_report

__all__ = ["FORMATS", "write_fact_sheet", "write_report"]
