"""The workbooks of the benchmark, all of invented figures: ``python -m benchmarks.books KIND FIRINGS OUT.xlsx``.

KIND is log, readings (60 a firing) or formulas (a log with 25 columns of formulas beside the firings).
"""

import sys
from pathlib import Path
from typing import Any

import xlsxwriter  # type: ignore[import-untyped]  # the package carries no type marker
from logbook import SETUP_HEADINGS, Log
from long_log import A_DAY, long_log
from simulated_calorimeter import simulate
from xlsxwriter.utility import xl_col_to_name  # type: ignore[import-untyped]

CALIBRATIONS = 12
READINGS = 60
FORMULA_COLUMNS = 25
_FORMULAS = (
    "={mass}{row}*{rise}{row}+{number}",
    "=IF({mass}{row}>0,({rise}{row}*10100-60)/{mass}{row},0)",
    "=ROUND({before}{row}/(1-2.1/100),1)",
    "=SQRT(ABS({before}{row}))-{number}",
    "=IF({before}{row}>{number},{before}{row},{mass}{row})",
)
"""What a lab's own sheet works out; each column but the first of five builds on the one before it."""


def log_of(firings: int) -> Log:
    """Return a log of exactly so many firings, calibrations among them."""
    fired = firings - CALIBRATIONS
    log = long_log(days=-(-fired // A_DAY), apart=())
    # The log of many years: its one series must not end with a season, or most of it would not be computed.
    log.setup["Heat-capacity life"] = (36500, "days", "own, invented")
    kept = [row["Firing no."] for sheet in ("Calibration", "Runs") for row in log.rows[sheet]][:firings]
    log.rows["Runs"] = log.rows["Runs"][:fired]
    samples = {row.get("Sample no.") for row in log.rows["Runs"]}
    log.rows["Samples"] = [row for row in log.rows["Samples"] if row["Sample no."] in samples]
    numbers = set(kept)
    log.rows["Titration"] = [row for row in log.rows["Titration"] if row["Firing no."] in numbers]
    return log


def with_readings(log: Log) -> Log:
    """Return the log with its rises read against time, by the curve of a simulated calorimeter."""
    log.setup["Heat-exchange method"] = ("two rates",)
    log.headings["Readings"] = ["Firing no.", "Time (min)", "Temperature (°C)", "Period"]
    log.rows["Readings"] = []
    times, temperatures = simulate(1.2, interval=0.5)
    whole = float(temperatures[-1] - temperatures[0])
    for row in (*log.rows["Calibration"], *log.rows["Runs"]):
        rise = row.pop("Temperature rise (K)")
        for time, temperature in list(zip(times, temperatures, strict=True))[:READINGS]:
            period = "fore" if time <= 0 else "main" if time <= 12 else "after"
            value = round(22.0 + float(temperature - temperatures[0]) * rise / whole, 4)
            read = (row["Firing no."], float(time), value, period)
            log.rows["Readings"].append(dict(zip(log.headings["Readings"], read, strict=True)))
    return log


def write(log: Log, path: Path, formula_columns: int = 0) -> None:
    """Write a log row by row, so that a large one needs no more memory than a small one."""
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        date = book.add_format({"num_format": "yyyy-mm-dd"})
        setup = book.add_worksheet("Setup")
        for number, cells in enumerate([SETUP_HEADINGS, *([name, *entry] for name, entry in log.setup.items())]):
            _write_row(setup, number, cells, date)
        for name, rows in log.rows.items():
            sheet = book.add_worksheet(name)
            headings = log.headings[name]
            formulas = formula_columns if name in ("Calibration", "Runs") else 0
            _write_row(sheet, 0, [*headings, *(f"Own {number + 1}" for number in range(formulas))], date)
            for number, row in enumerate(rows, 1):
                _write_row(sheet, number, [row.get(heading) for heading in headings], date)
                for place in range(formulas):
                    sheet.write_formula(number, len(headings) + place, _formula(headings, place, number + 1))


def _write_row(sheet: Any, number: int, cells: list[Any], date: Any) -> None:
    for column, value in enumerate(cells):
        if value is not None:
            sheet.write(number, column, value, date if hasattr(value, "year") else None)


def _formula(headings: list[str], place: int, row: int) -> str:
    column = {
        "mass": xl_col_to_name(headings.index("Sample mass (g)")),
        "rise": xl_col_to_name(headings.index("Temperature rise (K)")),
        "before": xl_col_to_name(len(headings) + place - 1),
    }
    return _FORMULAS[place % len(_FORMULAS)].format(row=row, number=place, **column)


def main() -> None:
    """Write the workbook that is asked for."""
    kind, firings, out = sys.argv[1], int(sys.argv[2]), Path(sys.argv[3])
    log = log_of(firings)
    write(with_readings(log) if kind == "readings" else log, out, FORMULA_COLUMNS if kind == "formulas" else 0)


if __name__ == "__main__":
    main()
