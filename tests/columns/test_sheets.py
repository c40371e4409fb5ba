"""Several sheets of a lab's own: calibration, firings, titration and contents apart, as in our layout, in its words."""

from pathlib import Path
from typing import Any

import openpyxl

from batchcal.process import propose_columns
from columns.own_day import Day, Sheets, assert_same, figures, make_day, propose_and_read, run_layout

FIRING = {
    "number": "lfd. Nr.", "date": "Datum", "sample": "Probennummer", "replicate": "Bestimmung",
    "crucible": "Tiegel leer [g]", "gross": "Tiegel + Probe [g]", "mass": "Einwaage [g]",
    "fitted": "Draht Anfang [cm]", "left": "Restdraht [cm]", "initial": "Starttemperatur [°C]",
    "final": "Endtemperatur [°C]", "rise": "Temperaturanstieg [K]",
}  # fmt: skip
CONTENTS = ["Probennummer", "Brennstoff", "Analysenfeuchte [%]", "Asche (an) [%]", "Schwefel (an) [%]"]


def sheets(day: Day) -> Sheets:
    made = Sheets()
    calibration: list[list[Any]] = [list(FIRING.values())]
    runs: list[list[Any]] = [list(FIRING.values())]
    titration: list[list[Any]] = [["lfd. Nr.", "Verbrauch NaOH [ml]", "c(NaOH) mol/l"]]
    for fired in day.firings:
        name = {"check": "Kontrolle"}.get(fired.kind, fired.sample)
        row = [name if key == "sample" else getattr(fired, key) or None for key in FIRING]
        (calibration if fired.kind == "calibration" else runs).append(row)
        titration.append([fired.number, fired.titre, fired.strength])
    contents: list[list[Any]] = [CONTENTS]
    contents += [[fuel.name, fuel.description, fuel.moisture, fuel.ash, fuel.sulphur] for fuel in day.fuels]
    made.sheet("Kalibrierung 2026", calibration)
    made.sheet("Messungen", runs)
    made.sheet("Titration Waschwasser", titration)
    made.sheet("Analysen", contents)
    made.sheet("Einkauf", [["Artikel", "Preis"], ["Draht", 12.5]])
    return made


def test_sheets_apart_give_the_same(tmp_path: Path) -> None:
    day = make_day(31)
    own = sheets(day).save(tmp_path)
    proposal = propose_columns(own)
    assert [table.holds for table in proposal.column_map.tables] == ["?", "firings", "titration", "samples"]
    assert proposal.without_table == ("Einkauf",)
    assert "sheet Kalibrierung 2026: holds" in proposal.column_map.questions()
    read = propose_and_read(own, {"Kalibrierung 2026 holds": "calibration", "purpose Kontrolle": "check"})
    assert [f.code for f in read.findings if f.severity.stops] == []
    assert_same(figures(read), figures(run_layout(day, tmp_path)))
    assert {firing.row.place.sheet for firing in read.firings} == {"Kalibrierung 2026", "Messungen"}


def test_two_tables_on_one_sheet_the_second_far_down(tmp_path: Path) -> None:
    day = make_day(32, samples=12)
    made = Sheets()
    rows: list[list[Any]] = [["Messprotokoll (erfunden)"], list(FIRING.values())]
    for fired in day.firings:
        name = {"check": "Kontrolle", "calibration": "Benzoesäure"}.get(fired.kind, fired.sample)
        rows.append([name if key == "sample" else getattr(fired, key) or None for key in FIRING])
    rows += [[], ["Titration der Waschwässer"], ["lfd. Nr.", "Verbrauch NaOH [ml]", "c(NaOH) mol/l", "Blindwert [ml]"]]
    rows += [[fired.number, fired.titre, fired.strength, 0.0] for fired in day.firings]
    rows += [
        [],
        ["Analysen"],
        ["Probennummer", "Brennstoff", "Analysenfeuchte [%]", "Asche (an) [%]", "Schwefel (an) [%]"],
    ]
    rows += [[fuel.name, fuel.description, fuel.moisture, fuel.ash, fuel.sulphur] for fuel in day.fuels]
    made.sheet("Protokoll", rows)
    own = made.save(tmp_path)
    answers = {"purpose Kontrolle": "check", "purpose Benzoesäure": "calibration"}
    read = propose_and_read(own, answers)
    assert [f.code for f in read.findings if f.severity.stops] == []
    assert_same(figures(read), figures(run_layout(day, tmp_path)))


def test_a_doubtful_number_that_serves_three_tables_is_said_once(tmp_path: Path) -> None:
    day = make_day(33)
    own = sheets(day).save(tmp_path)
    book = openpyxl.load_workbook(own)
    book["Messungen"]["A3"] = 46.5
    book.save(own)
    read = propose_and_read(own, {"Kalibrierung 2026 holds": "calibration", "purpose Kontrolle": "check"})
    assert [f.cell for f in read.findings if f.code == "identifier-unreadable"] == ["A3"]
