"""An archive of results files for the long run, all of invented figures: ``python -m benchmarks.archive FILES OUT``.

One log is really worked out. Its results document is then written again for one day after another, with numbers, dates
and sample names of that day and with values that scatter, so that every file has the keys and the size of a real one.
The calibration is carried along from day to day and fired anew now and then, as in a laboratory.
"""

import datetime as dt
import hashlib
import json
import random
import re
import sys
import tempfile
from pathlib import Path
from typing import Any

from batchcal.process import check_workbook
from batchcal.report.results import results_document
from benchmarks.books import log_of, write

FIRINGS = 40
"""Firings of each file, calibrations among them."""

A_FOLDER = 250
"""Files of one folder."""

_FIRST = dt.date(2016, 1, 4)
_CARRIED_DAYS = 60
_SCATTER = {
    "gross_ad_J_per_g": 40.0, "gross_d_J_per_g": 40.0, "heat_capacity_J_per_K": 6.0, "recovery_percent": 0.07,
    "rise_K": 0.002, "mass_g": 0.002,
}  # fmt: skip
_TOKEN = re.compile('"@@(.*?)@@"')


def archive(files: int, folder: Path) -> None:
    """Write so many results files into folders within ``folder``."""
    pieces = _TOKEN.split(_with_tokens(_document()))
    for day in range(files):
        within = folder / f"{day // A_FOLDER:03}"
        within.mkdir(parents=True, exist_ok=True)
        text = "".join(piece if place % 2 == 0 else _value(piece, day) for place, piece in enumerate(pieces))
        (within / f"{day:06}.results.json").write_text(text, encoding="utf-8")


def _document() -> dict[str, Any]:
    """Return the results document of one log, with the bytes' worth of hashes that a set on the disk has."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "day.xlsx"
        write(log_of(FIRINGS), book)
        outputs = dict.fromkeys(("day.results.xlsx", "day.summary.html"), "0" * 64)
        return results_document(check_workbook(book), outputs)


def _with_tokens(document: dict[str, Any]) -> str:
    """Return the document as text, with a token in the place of whatever is another on another day."""
    document["input"]["sha256"] = _token("sha256")
    document["settings"]["batch_date"] = _token("date")
    for firing in document["firings"]:
        calibration = firing["purpose"] == "calibration"
        whose = "calibrated" if calibration else "fired"
        firing["date"] = _token(f"{whose} date")
        firing["firing"] = _token(f"{whose} number {firing['firing']}")
        firing["sample"] = firing["sample"] and _token(f"sample {firing['sample']}")
        for key in _SCATTER:
            if firing[key] is not None and (calibration or key != "heat_capacity_J_per_K"):
                firing[key] = _token(f"{whose} value {firing['row']} {key} {firing[key]!r}")
    for series in document["series"]:
        series["date"], series["expires"] = _token("calibrated date"), _token("expires")
        series["firings"] = [_token(f"calibrated number {number}") for number in series["firings"]]
        series["heat_capacity_J_per_K"] = _token(f"calibrated value 0 rise_K {series['heat_capacity_J_per_K']!r}")
    for sample in document["samples"]:
        sample["sample"] = _token(f"sample {sample['sample']}")
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def _token(words: str) -> str:
    return f"@@{words}@@"


def _value(token: str, day: int) -> str:
    """Return as JSON what stands on a day in the place of a token."""
    what, *rest = token.split()
    since = day - day % _CARRIED_DAYS
    if what == "sha256":
        return json.dumps(hashlib.sha256(str(day).encode()).hexdigest())
    if what == "date":
        return json.dumps(str(_date(day)))
    if what == "expires":
        return json.dumps(str(_date(since) + dt.timedelta(days=120)))
    if what == "sample":
        return json.dumps(f"{day}-{rest[0]}")
    of = since if what == "calibrated" else day
    if rest[0] == "date":
        return json.dumps(str(_date(of)))
    if rest[0] == "number":
        return json.dumps(f"{of}-{rest[1]}")
    _, row, key, number = rest
    return repr(float(number) + random.Random(f"{of} {what} {row} {key}").gauss(0, _SCATTER[key]))


def _date(day: int) -> dt.date:
    return _FIRST + dt.timedelta(days=day * 7 // 5)


if __name__ == "__main__":
    archive(int(sys.argv[1]), Path(sys.argv[2]))
