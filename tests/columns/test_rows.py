"""A lab's own sheet with a row for each firing, under a header block: read by a map as the same day in our layout."""

from pathlib import Path
from typing import Any

import pytest

from batchcal.process import check_workbook
from columns.own_day import (
    DAY,
    Day,
    Sheets,
    assert_same,
    figures,
    make_day,
    propose_and_read,
    run_layout,
    setup_toml,
)

GERMAN = {
    "number": "Lfd. Nr.", "sample": "Probe", "portion": "Best.", "fuel": "Brennstoff", "crucible": "Tiegel leer [g]",
    "gross": "Tiegel + Probe [g]", "mass": "Einwaage [g]", "fitted": "Draht Anfang [cm]", "left": "Restdraht [cm]",
    "initial": "Anfangstemperatur [°C]", "final": "Endtemperatur [°C]", "rise": "Temperaturerhöhung [K]",
    "titre": "Verbrauch NaOH [ml]", "moisture": "Analysenfeuchte [%]", "ash": "Asche (an) [%]",
    "sulphur": "Schwefel (an) [%]", "remark": "Bemerkung",
}  # fmt: skip
FRENCH = {
    "number": "N° essai", "sample": "Échantillon", "portion": "Essai", "fuel": "Combustible",
    "crucible": "Creuset vide (g)", "gross": "Creuset + échantillon (g)", "mass": "Prise d'essai (g)",
    "fitted": "Fil initial (cm)", "left": "Fil restant (cm)", "initial": "Température initiale (°C)",
    "final": "Température finale (°C)", "rise": "Élévation de température (K)", "titre": "Volume soude (mL)",
    "moisture": "Humidité analyse (%)", "ash": "Cendres (ad) (%)", "sulphur": "Soufre (ad) (%)", "remark": "Remarques",
}  # fmt: skip
MEANS = {
    "number": ("Firing no.", ""), "sample": ("Sample no.", ""), "portion": ("Replicate", ""),
    "fuel": ("Description", ""), "crucible": ("Crucible", "g"), "gross": ("Crucible + sample", "g"),
    "mass": ("Sample mass", "g"), "fitted": ("Wire fitted", "cm"), "left": ("Wire left", "cm"),
    "initial": ("Initial temperature", "°C"), "final": ("Final temperature", "°C"),
    "rise": ("Temperature rise", "K"), "titre": ("Titre", "mL"), "moisture": ("Moisture, analysis", "%"),
    "ash": ("Ash", "%"), "sulphur": ("Sulphur", "%"), "remark": ("Remark", ""),
}  # fmt: skip
WITH_BASIS = ("ash", "sulphur")


def rows_of(day: Day, keys: list[str], acid: str, check: str) -> list[list[Any]]:
    rows = []
    for fired in day.firings:
        fuel = day.fuel(fired.sample) if fired.sample else None
        name = {"calibration": acid, "check": check}.get(fired.kind, fired.sample)
        values: dict[str, Any] = {
            "number": fired.number, "sample": name, "portion": fired.replicate or None, "crucible": fired.crucible,
            "gross": fired.gross, "mass": fired.mass, "fitted": fired.fitted, "left": fired.left,
            "initial": fired.initial, "final": fired.final, "rise": fired.rise, "titre": fired.titre,
        }  # fmt: skip
        if fuel is not None:
            values |= {
                "fuel": fuel.description, "moisture": fuel.moisture, "ash": fuel.ash, "sulphur": fuel.sulphur,
            }  # fmt: skip
        rows.append([values.get(key) for key in keys])
    return rows


def entry_toml(key: str, heading: str) -> str:
    means, unit = MEANS[key]
    basis = ', basis = "ad"' if key in WITH_BASIS else ""
    return f"""  {{ heading = "{heading}", means = "{means}", unit = "{unit}"{basis} }},"""


Language = tuple[str, dict[str, str], str, str, str]
"""Name of the sheet, headings, the labels of date and strength, and the words for benzoic acid and the check."""

LANGUAGES: list[Language] = [
    ("Protokoll", GERMAN, "Datum|c(NaOH) mol/l", "Benzoesäure", "Kontrolle BS"),
    ("Journal", FRENCH, "Date|Concentration NaOH (mol/L)", "Acide benzoïque", "Contrôle"),
]


def map_toml(language: Language) -> str:
    sheet, words, labels, acid, check = language
    headings = "\n".join(entry_toml(key, heading) for key, heading in words.items())
    return f"""format = "batchcal.columns/1"
[words]
calibration = "{acid}"
check = "{check}"
{setup_toml("Batch date")}
"Batch date" = {{ label = "{labels.partition("|")[0]}" }}
[[table]]
sheet = "{sheet}"
holds = "firings"
every_row = {{ Titrant = "sodium hydroxide" }}
above = [
  {{ heading = "{labels.partition("|")[0]}", means = "Date" }},
  {{ heading = "{labels.partition("|")[2]}", means = "Concentration", unit = "mol/L" }},
]
headings = [
{headings}
]
"""


def own_sheet(day: Day, language: Language) -> Sheets:
    sheet, words, labels, acid, check = language
    date, strength = labels.split("|")
    keys = list(words)
    rows: list[list[Any]] = [
        [f"{sheet} 2026"],
        [f"{date}:", None, DAY],
        [f"{strength}:", None, 0.1],
        [],
        [words[key] for key in keys],
        *rows_of(day, keys, acid, check),
    ]
    made = Sheets()
    made.sheet(sheet, rows)
    return made


@pytest.mark.parametrize("language", LANGUAGES, ids=["de", "fr"])
def test_a_row_for_each_firing(tmp_path: Path, language: Language) -> None:
    day = make_day()
    own = own_sheet(day, language).save(tmp_path)
    column_map = tmp_path / "own.toml"
    column_map.write_text(map_toml(language), encoding="utf-8")
    evaluation = check_workbook(own, columns=column_map)
    assert [f.code for f in evaluation.findings if f.severity.stops] == []
    assert_same(figures(evaluation), figures(run_layout(day, tmp_path)))
    assert all(sample.decision == "ready" for sample in evaluation.samples)


@pytest.mark.parametrize("language", LANGUAGES, ids=["de", "fr"])
def test_from_proposal_to_results(tmp_path: Path, language: Language) -> None:
    day = make_day(2)
    sheet, words, labels, acid, check = language
    known = words | {"portion": "Bestimmung" if sheet == "Protokoll" else "Essai"}
    own = own_sheet(day, (sheet, known, labels, acid, check)).save(tmp_path)
    evaluation = propose_and_read(own, {f"purpose {acid}": "calibration", f"purpose {check}": "check"})
    assert [f.code for f in evaluation.findings if f.severity.stops] == []
    assert_same(figures(evaluation), figures(run_layout(day, tmp_path)))
