"""A process of our own does without numpy, which openpyxl would load where it is installed."""

import subprocess
import sys

OWN = """
import sys, batchcal.cli
batchcal.cli.cli = lambda: None
batchcal.cli.main()
import batchcal.workbook.writer, openpyxl.compat.numbers
print(openpyxl.compat.numbers.NUMPY, sys.modules["numpy"])
"""


def test_the_command_does_not_load_numpy() -> None:
    done = subprocess.run([sys.executable, "-c", OWN], check=True, capture_output=True, text=True)
    assert done.stdout.split() == ["False", "None"]
