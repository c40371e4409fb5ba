"""A process of our own does without libraries that it does not need."""

import subprocess
import sys
from pathlib import Path

OWN = """
import sys, batchcal.cli
batchcal.cli.cli = lambda: None
batchcal.cli.main()
import batchcal.workbook.writer, openpyxl.compat.numbers
print(openpyxl.compat.numbers.NUMPY, sys.modules["numpy"])
"""

DAY = Path(__file__).parent.parent / "example_workbooks" / "clean_day.xlsx"
PROCESS = """
import sys
from batchcal.api import evaluate, read, write
day = read(sys.argv[1])
write(day, evaluate(day), sys.argv[2])
print("openpyxl" in sys.modules)
"""


def test_the_command_does_not_load_numpy() -> None:
    done = subprocess.run([sys.executable, "-c", OWN], check=True, capture_output=True, text=True)
    assert done.stdout.split() == ["False", "None"]


def test_results_are_written_without_openpyxl(tmp_path: Path) -> None:
    """Loading it takes as long as the work on a day of 40 firings."""
    done = subprocess.run(
        [sys.executable, "-c", PROCESS, DAY, tmp_path], check=True, capture_output=True, text=True
    )  # fmt: skip
    assert done.stdout.strip() == "False"
    assert (tmp_path / "clean_day.results.xlsx").exists()
