"""The parts of a heading, in the many ways in which laboratories write one; expectations typed by hand."""

from collections.abc import Sequence

import pytest

from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.fit import heading_texts
from batchcal.workbook.columns.grammar import parse
from batchcal.workbook.columns.variants import look_up
from batchcal.workbook.grid import Grid, Merged


@pytest.mark.parametrize(
    ("text", "name", "unit", "basis"),
    [
        ("Crucible + sample (g)", "crucible + sample", "g", ""),
        ("Tiegel+Einwaage [g]", "tiegel + einwaage", "g", ""),
        ("Einwaage, g", "einwaage", "g", ""),
        ("t0/℃", "t0", "°C", ""),
        ("T / K", "t", "K", ""),
        ("temperature in °C", "temperature", "°C", ""),
        ("initial reading º C", "initial reading", "°C", ""),
        ("ΔＴ（Ｋ）", "δt", "K", ""),
        ("∆T", "δt", "", ""),
        ("Masse\u00a0der\u00a0Probe [mg]", "masse der probe", "mg", ""),
        ("Tiegel | + Probe | g", "tiegel + probe", "g", ""),
        ("Wassergehalt (roh) %", "wassergehalt roh", "%", "ar"),
        ("Asche (wf) [%]", "asche wf", "%", "d"),
        ("S (ad) %", "s ad", "%", "ad"),
        ("%S", "s", "%", ""),
        ("sulfur (wt%)", "sulfur", "%", ""),
        ("Mad", "mad", "", "ad"),
        ("M,ad", "m ad", "", "ad"),
        ("M_ad", "m ad", "", "ad"),
        ("St,ad", "st ad", "", "ad"),
        ("A,d", "a d", "", "d"),
        ("Qgr,v,ad", "qgr v ad", "", "ad"),
        ("Qnet,ar", "qnet ar", "", "ar"),
        ("GCV kcal/kg", "gcv", "kcal/kg", ""),
        ("Wasserwert, J/K", "wasserwert", "J/K", ""),
        ("E (J/°C)", "e", "J/°C", ""),
        ("kcal/kg", "kcal/kg", "kcal/kg", ""),
        ("c(NaOH) mol/l", "c naoh", "mol/L", ""),
        ("mL NaOH", "ml naoh", "mL", ""),
        ("O2, MPa", "o2", "MPa", ""),
        ("H (incl. moisture)", "h incl moisture", "", ""),
        ("prise d’essai (g)", "prise d'essai", "g", ""),
        ("n.º muestra", "n° muestra", "", ""),
        ("T.M.", "tm", "", ""),
        ("rate before (K/min)", "rate before k/min", "", ""),
        ("pressure (psi)", "pressure", "psi", ""),
    ],
)
def test_the_parts(text: str, name: str, unit: str, basis: str) -> None:
    found = parse(text)
    assert (found.name, found.unit, found.basis) == (name, unit, basis)


@pytest.mark.parametrize(
    ("text", "short"),
    [("m (g)", True), ("T1", True), ("%S", True), ("Mt", True), ("T.M.", True), ("O2, MPa", True), ("初温", False),
     ("Aad", False), ("m ad", False), ("tare", False)],
)  # fmt: skip
def test_one_or_two_letters(text: str, short: bool) -> None:
    assert parse(text).short is short


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("Mass of crucible with pellet", "crucible_plus_sample"),
        ("mass of sample", "sample_mass"),
        ("masse de creuset vide", "crucible_mass"),
        ("Temperature initiale", "initial_temp"),  # typed without its accents
        ("Aschegehalt, wf", "ash"),
        ("concentration NaOH", "titrant_conc"),
        ("EINWAAGE  2 [g]", "sample_mass"),
    ],
)
def test_words_around_the_noun(text: str, field: str) -> None:
    assert set(look_up(parse(text)).fields) == {field}


def grid(*rows: Sequence[str | float | None], merged: tuple[Merged, ...] = ()) -> Grid:
    cells = {
        row: {
            column: Cell(CellKind.TEXT if isinstance(value, str) else CellKind.NUMBER, value)
            for column, value in enumerate(line, 1)
            if value is not None
        }
        for row, line in enumerate(rows, 1)
    }
    return Grid("S", cells, merged=merged)


def test_two_rows_of_headings_merged_or_with_blank_neighbours() -> None:
    top = ["Nr.", "Tiegel", None, "Temperatur", None, "Asche"]
    below = [None, "leer", "+ Probe", "Anfang", "Ende", None]
    expected = {
        1: "Nr.", 2: "Tiegel | leer", 3: "Tiegel | + Probe", 4: "Temperatur | Anfang", 5: "Temperatur | Ende",
        6: "Asche",
    }  # fmt: skip
    assert heading_texts(grid(top, below), 2, 2) == expected
    areas = (Merged(1, 2, 1, 3), Merged(1, 4, 1, 5), Merged(1, 1, 2, 1), Merged(1, 6, 2, 6))
    assert heading_texts(grid(top, below, merged=areas), 2, 2) == expected


def test_a_row_of_units_below_the_headings() -> None:
    found = heading_texts(grid(["Nr.", "Einwaage", "Anstieg"], [None, "g", "K"]), 2, 2)
    assert [parse(text).unit for text in found.values()] == ["", "g", "K"]
