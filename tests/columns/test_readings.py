"""Temperature against time on a lab's own sheets: a column for each firing, or a sheet for each."""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log
from simulated_calorimeter import simulate

from batchcal.evaluate import evaluate
from batchcal.model import Evaluation
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source
from columns.own_day import DAY, Day, Sheets, assert_same, make_day, propose_and_read

FIRINGS = {
    "de": ("Versuch Nr.", "Probennummer", "Messdatum", "Probenmasse [g]"),
    "fr": ("N° tir", "N° échantillon", "Date d'essai", "Masse échantillon [g]"),
}
READINGS = {"de": ("Zeit (min)", "Temperatur (°C)"), "fr": ("Temps (min)", "Température (°C)")}
SETUP: dict[str, tuple[Any, ...]] = {
    "Laboratory": ("Invented laboratory",), "Batch date": (DAY,), "Method": ("lab",), "Acid scheme": ("none",),
    "Comparison basis": ("ad",), "Repeatability limit": (120, "J/g", "own"), "Heat-exchange method": ("two rates",),
    "Heat-capacity life": (90, "days", "own"), "Fixed ignition heat": (60, "J", "own"),
    "Effective heat capacity": (10000, "J/K", "own series", DAY),
}  # fmt: skip


def curves() -> dict[int, list[tuple[float, float]]]:
    found = {}
    for number, jacket in ((71, 2.0), (72, 2.5), (73, 1.5), (74, 3.0)):
        times, temperatures = simulate(jacket, interval=0.5)
        found[number] = [(round(t, 3), round(v, 4)) for t, v in zip(times, temperatures, strict=True)]
    return found


def layout(day: Day) -> Log:
    log = Log()
    log.setup = SETUP
    log.headings["Readings"] = ["Firing no.", "Time (min)", "Temperature (°C)"]
    log.rows["Readings"] = []
    for number, (fired, readings) in enumerate(zip(day.firings, curves().values(), strict=True), 71):
        log.add("Runs", firing_no=number, date=DAY, sample_no=fired.sample, sample_mass=fired.mass)
        for time, value in readings:
            log.rows["Readings"].append({"Firing no.": number, "Time (min)": time, "Temperature (°C)": value})
    return log


def own(day: Day, language: str) -> Sheets:
    made = Sheets()
    rows: list[list[Any]] = [list(FIRINGS[language])]
    rows += [[number, fired.sample, DAY, fired.mass] for number, fired in enumerate(day.firings, 71)]
    made.sheet("Firings", rows)
    time, temperature = READINGS[language]
    if language == "de":
        numbers = list(curves())
        table = zip(*curves().values(), strict=True)
        made.sheet("Kurven", [[time, *numbers], *([line[0][0], *(value for _, value in line)] for line in table)])
    else:
        for number, readings in curves().items():
            made.sheet(str(number), [[time, temperature], *([t, v] for t, v in readings)])
    return made


def figures(evaluation: Evaluation) -> dict[str, Any]:
    return {
        firing.row.firing: (firing.rise_K, firing.heat_exchange_K, firing.gross_ad_J_per_g, str(firing.state))
        for firing in evaluation.firings
    }


@pytest.mark.parametrize("language", ["de", "fr"])
def test_readings_give_what_they_give_in_our_layout(
    tmp_path: Path, language: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("columns.own_day.SETUP", SETUP)
    day = make_day(7, samples=2, calibrations=0, checks=0)
    answers = {"name": "Firing no."} if language == "fr" else {}
    evaluation = propose_and_read(own(day, language).save(tmp_path), answers)
    expected = evaluate(read_workbook(open_source(layout(day).save(tmp_path, "layout.xlsx"))))
    assert_same(figures(evaluation), figures(expected))
    assert len(evaluation.batch.readings) == sum(map(len, curves().values()))
    assert all(firing.curve is not None for firing in evaluation.firings)
    cell = evaluation.batch.readings[-1].place.cell("temperature_C")
    assert cell is not None
    assert cell[0] == ("E" if language == "de" else "B")
