"""One row a sample, its test portions side by side: proposed, answered, and read as the same day in our layout."""

from pathlib import Path
from typing import Any

import pytest

from columns.own_day import DAY, Day, Sheets, assert_same, figures, make_day, propose_and_read, run_layout

ENGLISH = {
    "sample": "Sample no.", "fuel": "Fuel type", "crucible": "Empty crucible {} (g)",
    "gross": "Crucible + sample {} (g)",
    "mass": "Sample mass {} (g)", "fitted": "Wire fitted {} (cm)", "left": "Wire left {} (cm)",
    "initial": "Initial temperature {} (°C)", "final": "Final temperature {} (°C)", "rise": "Temperature rise {} (K)",
    "titre": "mL NaOH {}", "moisture": "Analysis moisture (%)", "ash": "Ash, ad (%)", "sulphur": "Sulphur, ad (%)",
}  # fmt: skip
SPANISH = {
    "sample": "Código muestra", "fuel": "Combustible", "crucible": "Crisol vacío {} (g)",
    "gross": "Crisol + muestra {} (g)", "mass": "Masa muestra {} (g)", "fitted": "Alambre inicial {} (cm)",
    "left": "Alambre restante {} (cm)", "initial": "Temperatura inicial {} (°C)", "final": "Temperatura final {} (°C)",
    "rise": "Aumento de temperatura {} (K)", "titre": "Gasto NaOH {} (mL)", "moisture": "Humedad de análisis (%)",
    "ash": "Cenizas ad (%)", "sulphur": "Azufre ad (%)",
}  # fmt: skip
TWICE = ("crucible", "gross", "mass", "fitted", "left", "initial", "final", "rise", "titre")


def two(day: Day) -> list[tuple[str, list[Any]]]:
    """The rows of the sheet: benzoic acid in twos, then each sample with its two firings."""
    acid = [fired for fired in day.firings if fired.kind == "calibration"]
    check = [fired for fired in day.firings if fired.kind == "check"]
    rows = [("Benzoic", acid[at : at + 2]) for at in range(0, len(acid), 2)]
    rows += [("Control", [fired]) for fired in check]
    return rows + [(fuel.name, day.of(fuel.name)) for fuel in day.fuels]


def pairs_sheet(day: Day, words: dict[str, str], parts: str, acid: str, check: str, *, grouped: bool) -> Sheets:
    names = {"Benzoic": acid, "Control": check}
    first, second = parts.split("|")
    single = [key for key in words if key not in TWICE]
    keys: list[str | tuple[str, int]] = [*single[:2], *((key, part) for part in (0, 1) for key in TWICE), *single[2:]]
    shown = [first, second]
    top: list[Any] = []
    heads: list[Any] = []
    for key in keys:
        if isinstance(key, tuple):
            text = words[key[0]]
            top.append(f"Test {shown[key[1]]}" if key[0] == TWICE[0] else None)
            heads.append(text.replace(" {}", "") if grouped else text.format(shown[key[1]]))
        else:
            top.append(None)
            heads.append(words[key])
    rows: list[list[Any]] = [["Date:", DAY], ["Concentration NaOH (mol/L)", 0.1], []]
    rows += [top, heads] if grouped else [heads]
    for name, members in two(day):
        fuel = day.fuel(name) if name not in names else None
        row: list[Any] = []
        for key in keys:
            if isinstance(key, tuple):
                row.append(getattr(members[key[1]], key[0]) if key[1] < len(members) else None)
            elif key == "sample":
                row.append(names.get(name, name))
            elif key == "fuel":
                row.append(fuel.description if fuel else None)
            else:
                row.append(getattr(fuel, key) if fuel else None)
        rows.append(row)
    made = Sheets()
    page = made.sheet("Pairs", rows)
    if grouped:
        for start in (3, 3 + len(TWICE)):
            page.merge_cells(start_row=4, end_row=4, start_column=start, end_column=start + len(TWICE) - 1)
    return made


CASES = [
    (ENGLISH, "1|2", "Benzoic acid", "Check", False),
    (SPANISH, "A|B", "Ácido benzoico", "Control", False),
    (ENGLISH, "I|II", "Benzoic acid", "Check", True),
]


@pytest.mark.parametrize(("words", "parts", "acid", "check", "grouped"), CASES, ids=["en", "es", "grouped"])
def test_one_row_a_sample(
    tmp_path: Path, *, words: dict[str, str], parts: str, acid: str, check: str, grouped: bool
) -> None:
    # An even number of benzoic acid firings, so that no half of a row is blank but the check's.
    day = make_day(3, calibrations=6)
    own = pairs_sheet(day, words, parts, acid, check, grouped=grouped).save(tmp_path)
    evaluation = propose_and_read(own, {f"purpose {acid}": "calibration", f"purpose {check}": "check"})
    assert [f.code for f in evaluation.findings if f.severity.stops] == []
    assert_same(unlettered(figures(evaluation)), unlettered(figures(run_layout(day, tmp_path))))
    assert "firing-number-made" in [f.code for f in evaluation.findings]
    numbers = [firing.row.firing for firing in evaluation.firings]
    assert len(set(numbers)) == len(numbers) == 13


def unlettered(found: dict[str, Any]) -> dict[str, Any]:
    """Figures by purpose, sample and tare, whatever the test portions are called."""
    firings = {}
    for name, values in found["firings"].items():
        purpose, sample, _, tare = name.split("/")
        firings[f"{purpose}/{sample}/{tare}"] = values
    return {**found, "firings": firings}
