"""A header block with rows under it, again and again down the sheet: each value holds until it is changed.

Between the rows stand notes, means, blank rows and the headings once more; none of them is a firing.
"""

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from columns.own_day import DAY, Day, Sheets, assert_same, figures, make_day, propose_and_read, run_layout

ITALIAN = {
    "number": "N. prova", "sample": "N. campione", "portion": "Replica", "fuel": "Materiale",
    "crucible": "Crogiolo vuoto, g", "gross": "Crogiolo + campione, g", "mass": "Massa campione, g",
    "fitted": "Filo iniziale, cm", "left": "Filo residuo, cm", "initial": "Temperatura iniziale/°C",
    "final": "Temperatura finale/°C", "rise": "Incremento di temperatura/K", "titre": "mL NaOH consumati",
    "moisture": "Umidità residua %", "ash": "Ceneri ad %", "sulphur": "Zolfo ad %", "remark": "Note",
}  # fmt: skip
ENGLISH = {
    "number": "Run no.", "sample": "Lab no.", "portion": "Replicate", "fuel": "Material", "crucible": "Tare | g",
    "gross": "Gross weight | g", "mass": "Net weight | g", "fitted": "Initial wire | cm", "left": "Wire left | cm",
    "initial": "Start temp | °C", "final": "End temp | °C", "rise": "Temp rise | K", "titre": "Titrant volume | mL",
    "moisture": "Air-dried moisture | %", "ash": "Ash ad | %", "sulphur": "Sulphur ad | %", "remark": "Remarks | ",
}  # fmt: skip
LABELS = {"it": ("Data", "c(NaOH) mol/L"), "en": ("Date fired", "Molarity NaOH")}
WORDS = {"it": ("Acido benzoico", "Controllo", "Media"), "en": ("Benzoic acid", "QC check", "Mean")}


def day_log(day: Day, language: str) -> Sheets:
    words = {"it": ITALIAN, "en": ENGLISH}[language]
    date, strength = LABELS[language]
    acid, check, mean = WORDS[language]
    keys = list(words)
    levels = [[part.strip() or None for part in words[key].split("|")] for key in keys]
    heads: list[list[Any]] = [
        [level[at] if at < len(level) else None for level in levels] for at in range(max(map(len, levels)))
    ]
    rows: list[list[Any]] = [["An invented day log"]]
    for block in (day.firings[:6], day.firings[6:]):
        first = block[0]
        rows += [[date, None, first.date], [strength, None, first.strength], *heads]
        for position, fired in enumerate(block):
            fuel = day.fuel(fired.sample) if fired.sample else None
            name = {"calibration": acid, "check": check}.get(fired.kind, fired.sample)
            values = {
                "sample": name, "portion": fired.replicate or None, "number": fired.number,
                **{key: getattr(fired, key) for key in
                   ("crucible", "gross", "mass", "fitted", "left", "initial", "final", "rise", "titre")},
            }  # fmt: skip
            if fuel is not None:
                values |= {
                    "fuel": fuel.description, "moisture": fuel.moisture, "ash": fuel.ash, "sulphur": fuel.sulphur,
                }  # fmt: skip
            rows.append([values.get(key) for key in keys])
            if fired.replicate == "B":
                row: list[Any] = [None] * len(keys)
                row[keys.index("portion")] = mean
                row[keys.index("rise")] = round((fired.rise + block[position - 1].rise) / 2, 4)
                rows.append(row)
            if position == 1:
                rows += [[None], ["The lamp over the balance was changed."]]
            if position == 3:
                rows += heads
    made = Sheets()
    made.sheet("Log", rows)
    return made


@pytest.mark.parametrize("language", ["it", "en"])
def test_each_value_of_a_header_block_holds_until_it_is_changed(tmp_path: Path, language: str) -> None:
    day = make_day(6)
    for fired in day.firings[:6]:
        fired.date, fired.strength = DAY - dt.timedelta(days=2), 0.1001
    own = day_log(day, language).save(tmp_path)
    acid, check, _ = WORDS[language]
    evaluation = propose_and_read(own, {f"purpose {acid}": "calibration", f"purpose {check}": "check"})
    assert [f.code for f in evaluation.findings if f.severity.stops] == []
    assert_same(figures(evaluation), figures(run_layout(day, tmp_path)))
    codes = [finding.code for finding in evaluation.findings]
    assert codes.count("mean-row-skipped") == 3
    assert codes.count("row-not-fired") == 1
    dates = {firing.row.date for firing in evaluation.firings}
    assert dates == {DAY, DAY - dt.timedelta(days=2)}
    # The strength of the titrant is traced to the block that holds for the row.
    first, last = evaluation.batch.titrations[0], evaluation.batch.titrations[-1]
    assert first.place.cell("concentration") == "C3"
    assert int((last.place.cell("concentration") or "C0")[1:]) > 10


def test_a_label_above_that_cannot_be_read_is_said_once_with_its_rows(tmp_path: Path) -> None:
    day = make_day(6)
    sheets = day_log(day, "en")
    own = sheets.save(tmp_path)
    book = openpyxl.load_workbook(own)
    book["Log"]["C2"] = "the day before the fair"
    book.save(own)
    acid, check, _ = WORDS["en"]
    evaluation = propose_and_read(own, {f"purpose {acid}": "calibration", f"purpose {check}": "check"})
    said = [f for f in evaluation.findings if f.cell == "C2"]
    assert len(said) == 1
    rows = sorted(f.row.place.row for f in evaluation.firings if f.row.place.cell("date") == "C2")
    assert len(rows) == 6
    assert f"It stands for the rows {rows[0]} to " in said[0].message
    assert said[0].message.endswith(f"{rows[-1]}.")
    assert said[0].firing is None
    # It still stops every firing that it stands for.
    assert all(f.state == "not computed" for f in evaluation.firings if f.row.place.cell("date") == "C2")
    assert all(f.row.date == DAY for f in evaluation.firings if f.row.place.cell("date") != "C2")
