"""Write the invented laboratory reports of tests/lab/samples, and beside each what a right reading of it holds."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "examples"), str(HERE.parents[1])]

import sample_faults  # noqa: E402
import sample_materials  # noqa: E402
import sample_pages  # noqa: E402
import sample_soils  # noqa: E402

README = """# Invented laboratory reports

Every laboratory, client, sample and number here is invented; no laboratory's form is copied.
Written by `python tests/lab/make_samples.py`; `<name>.truth.json` says what a right reading holds, in SI.
"""


def write_all(folder: Path) -> None:
    """Write every sample into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "README.md").write_text(README, encoding="utf-8", newline="\n")
    (folder / ".gitattributes").write_text("* -text\n", encoding="utf-8", newline="\n")
    for module in (sample_materials, sample_pages, sample_soils, sample_faults):
        for write in module.ALL:
            write(folder)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=HERE / "samples", help="where to write")
    write_all(parser.parse_args().folder)
