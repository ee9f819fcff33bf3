"""The garden: its records, the folder they live in, and what laboratories said about it."""

from loamery.garden.folder import read_garden
from loamery.garden.model import Garden
from loamery.garden.report import Determination, LabReport, Question
from loamery.garden.schema import garden_schema
from loamery.garden.starter import write_demo, write_starter
from loamery.garden.writing import write_garden

__all__ = [
    "Determination",
    "Garden",
    "LabReport",
    "Question",
    "garden_schema",
    "read_garden",
    "write_demo",
    "write_garden",
    "write_starter",
]
