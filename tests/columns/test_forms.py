"""Fields down the side, test portions across: blocks below one another, or a sheet for each sample."""

from pathlib import Path
from typing import Any

import pytest

from columns.own_day import DAY, Day, Sheets, assert_same, figures, make_day, propose_and_read, run_layout
from columns.test_pairs import two, unlettered

DUTCH = {
    "sample": "Monsternummer", "date": "Datum", "fuel": "Brandstof", "crucible": "Lege kroes",
    "gross": "Kroes + monster", "mass": "Inweeg", "fitted": "Draad begin", "left": "Restdraad",
    "initial": "Begintemperatuur", "final": "Eindtemperatuur", "rise": "Temperatuurstijging",
    "titre": "Verbruik NaOH", "moisture": "Analysevocht", "ash": "Asgehalte, ad", "sulphur": "Zwavelgehalte, ad",
    "remark": "Opmerking",
}  # fmt: skip
PORTUGUESE = {
    "date": "Data do ensaio", "crucible": "Cadinho vazio", "gross": "Cadinho + amostra", "mass": "Massa da amostra",
    "fitted": "Fio inicial", "left": "Fio restante", "initial": "Temperatura inicial", "final": "Temperatura final",
    "rise": "Elevação de temperatura", "titre": "Volume titulante", "moisture": "Umidade residual",
    "ash": "Cinzas, ad", "sulphur": "Enxofre, ad",
}  # fmt: skip
UNITS = {
    "crucible": "g", "gross": "g", "mass": "g", "fitted": "cm", "left": "cm", "initial": "°C", "final": "°C",
    "rise": "K", "titre": "mL", "moisture": "%", "ash": "%", "sulphur": "%",
}  # fmt: skip
OF_EACH = ("crucible", "gross", "mass", "fitted", "left", "initial", "final", "rise", "titre")


def block(day: Day, name: str, members: list[Any], words: dict[str, str], heads: list[str]) -> list[list[Any]]:
    """One form: a line of headings, then a line for each field, with unit, two test portions and their mean."""
    fuel = day.fuel(name) if name.startswith("K-") else None
    rows: list[list[Any]] = [[None, *heads]]
    for key, label in words.items():
        if key in OF_EACH:
            values = [getattr(fired, key) for fired in members]
            mean = sum(values) / len(values)
        else:
            common = {"sample": name, "date": DAY, "fuel": fuel.description if fuel else None}
            values = [common[key] if key in common else getattr(fuel, key, None)]
            mean = None
        rows.append([label, UNITS.get(key), *values, *[None] * (2 - len(values)), mean])
    return rows


def dutch(day: Day) -> Sheets:
    names = {"Benzoic": "Benzoëzuur", "Control": "Controle"}
    rows: list[list[Any]] = [["Formulier calorimetrie (verzonnen)"], ["c(NaOH) mol/L", 0.1], []]
    for name, members in two(day):
        form = block(day, names.get(name, name), members, DUTCH, ["Eenheid", "Bepaling I", "Bepaling II", "Gemiddelde"])
        rows += [*form, [], []]
    made = Sheets()
    made.sheet("Formulier", rows)
    return made


def portuguese(day: Day) -> Sheets:
    names = {"Benzoic": "Ácido benzóico", "Control": "Controle"}
    made = Sheets()
    for number, (name, members) in enumerate(two(day), 1):
        title = f"{names[name]} {number}" if name in names else name
        made.sheet(title, block(day, name, members, PORTUGUESE, ["Unidade", "Ensaio 1", "Ensaio 2", "Média"]))
    return made


def test_forms_below_one_another(tmp_path: Path) -> None:
    day = make_day(4, calibrations=6)
    own = dutch(day).save(tmp_path)
    by_hand = {
        'heading = "Draad begin", means = ""': 'heading = "Draad begin", means = "Wire fitted", unit = "cm"',
        'heading = "Brandstof", means = ""': 'heading = "Brandstof", means = "Description"',
    }
    answers = {"purpose Benzoëzuur": "calibration", "purpose Controle": "check"}
    evaluation = propose_and_read(own, answers, edits=by_hand)
    assert [f.code for f in evaluation.findings if f.severity.stops] == []
    assert_same(unlettered(figures(evaluation)), unlettered(figures(run_layout(day, tmp_path))))
    # Every value is traced to its own cell, although the rows run across.
    sample = next(f for f in evaluation.firings if f.row.sample == "K-101")
    place = sample.row.place
    crucible, sample_cell = place.cell("crucible_g") or "", place.cell("sample") or ""
    assert (crucible[0], sample_cell[0]) == ("C", "C")
    assert int(crucible[1:]) == int(sample_cell[1:]) + 3


def test_a_sheet_for_each_sample(tmp_path: Path) -> None:
    day = make_day(5, calibrations=6)
    own = portuguese(day).save(tmp_path)
    evaluation = propose_and_read(own, {
        "name": "Sample no.", "strength": "0.1", "titrant": "sodium hydroxide",
        "purpose Ácido benzóico*": "calibration", "purpose Controle 4": "check",
    })  # fmt: skip
    assert [f.code for f in evaluation.findings if f.severity.stops] == []
    assert_same(unlettered(figures(evaluation)), unlettered(figures(run_layout(day, tmp_path))))


@pytest.mark.parametrize("make", [dutch, portuguese])
def test_computed_columns_are_not_written_beside_forms_and_it_is_said(tmp_path: Path, make: Any) -> None:
    day = make_day(4, calibrations=6)
    own = make(day).save(tmp_path)
    answers = {"purpose Benzoëzuur": "calibration", "purpose Controle": "check"}
    if make is portuguese:
        answers = {
            "name": "Sample no.", "strength": "0.1", "titrant": "sodium hydroxide",
            "purpose Ácido benzóico*": "calibration", "purpose Controle 4": "check",
        }  # fmt: skip
    evaluation = propose_and_read(own, answers)
    assert "form-without-columns" in [f.code for f in evaluation.findings]
