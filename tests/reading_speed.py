"""How long a sheet takes to be read and how much memory that needs, beside openpyxl's loading of the same file.

    python tests/reading_speed.py [rows] [columns]

makes a sheet of 20 000 rows and 30 columns where nothing is given (numbers, dates, times, texts that recur, one column
of formulas), and prints a table in Markdown. Each reading runs in a process of its own, on Linux.
"""

import datetime as dt
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import xlsxwriter  # type: ignore[import-untyped]  # the package carries no type marker

_MEASURED = """
import re, sys, time
from pathlib import Path
{imports}
def peak():
    # The kernel's word for this program alone; what getrusage tells begins with the program that started it.
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024
before, start = peak(), time.process_time()
kept = {call}
print(time.process_time() - start, peak(), before)
"""
READERS = {
    "openpyxl.load_workbook": ("import openpyxl", "openpyxl.load_workbook(sys.argv[1])"),
    "open_source": (
        "from batchcal.workbook.source import open_source",
        "open_source(Path(sys.argv[1]))",
    ),
}


def make(path: Path, rows: int, columns: int) -> None:
    """Write a sheet of invented firings."""
    chance = random.Random(1)
    with xlsxwriter.Workbook(path) as book:
        date, time, mass = (book.add_format({"num_format": code}) for code in ("yyyy-mm-dd", "hh:mm", "0.0000"))
        sheet = book.add_worksheet("Runs")
        for column in range(columns):
            sheet.write_string(0, column, f"Heading {column} (g)")
        for row in range(1, rows + 1):
            sheet.write_number(row, 0, row)
            sheet.write_datetime(row, 1, dt.datetime(2026, 1, 1) + dt.timedelta(days=row // 40), date)
            sheet.write_datetime(row, 2, dt.time(8 + row % 9, row * 7 % 60), time)
            texts = ("sample", "S1", f"26-{row // 2}", "AB"[row % 2], "good", "use", "T. Wren", f"remark {row % 500}")
            for column, text in enumerate(texts, 3):
                sheet.write_string(row, column, text)
            for column in range(11, columns - 1):
                sheet.write_number(row, column, round(chance.uniform(0, 30), 4), mass)
            sheet.write_formula(row, columns - 1, f"=M{row + 1}-N{row + 1}", mass, round(chance.uniform(0, 30), 4))


def main() -> None:
    """Print the table."""
    given = [int(word) for word in sys.argv[1:3]]
    rows, columns = *given, *(20_000, 30)[len(given) :]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "day.xlsx"
        make(path, rows, columns)
        lines = [
            f"| {rows} rows of {columns} columns | seconds of work | MB | of them before |",
            "| --- | --- | --- | --- |",
        ]
        for name, (imports, call) in READERS.items():
            program = _MEASURED.format(imports=imports, call=call)
            done = subprocess.run([sys.executable, "-c", program, path], check=True, capture_output=True, text=True)
            seconds, after, before = (float(word) for word in done.stdout.split())
            lines.append(f"| {name} | {seconds:.1f} | {after:.0f} | {before:.0f} |")
        sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
