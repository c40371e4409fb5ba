"""A titrant's strength from its standardisation, by hand.

0.1060 g of sodium carbonate (105.988 g/mol, two equivalents) and 20.10 mL less a blank of 0.10 mL:
1000 x 0.1060 x 2 / (105.988 x 20.00) = 0.100011 eq/L.
"""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run

HEADINGS = ["Titrant", "Standardised on", "Primary standard", "Portion (g)", "Molar mass", "Equivalents per mole",
            "Titre (mL)", "Blank (mL)"]  # fmt: skip
STRENGTH = 1000 * 0.1060 * 2 / (105.988 * 20.00)
EARLIER = DAY - dt.timedelta(days=10)


def titrant_log(*portions: dict[str, Any], typed: float | None = None) -> Log:
    log = plain_log(2.5, 2.5)
    log.setup |= {
        "Acid scheme": ("total as nitric",),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (300, "kJ/mol", "own"),
    }
    log.rows["Samples"][0]["Sulphur (%)"] = 0
    for number in (1, 2):
        log.add("Titration", firing_no=number, titrant="sodium hydroxide", concentration=typed,
                concentration_unit="mol/L" if typed else None, titre=8.0)  # fmt: skip
    log.headings["Titrant"] = HEADINGS
    plain = {
        "Titrant": "sodium hydroxide", "Standardised on": EARLIER, "Portion (g)": 0.1060, "Molar mass": 105.988,
        "Equivalents per mole": 2, "Titre (mL)": 20.10, "Blank (mL)": 0.10,
    }  # fmt: skip
    log.rows["Titrant"] = [plain | portion for portion in portions]
    return log


def test_the_strength_is_found_and_used(tmp_path: Path) -> None:
    found = firing(run(titrant_log({}), tmp_path), 1)
    assert found.titre_mmol == pytest.approx(8.0 * STRENGTH, rel=1e-12)
    two = firing(run(titrant_log({}, {"Titre (mL)": 20.14}), tmp_path), 1)
    mean = (STRENGTH + 1000 * 0.1060 * 2 / (105.988 * 20.04)) / 2
    assert two.titre_mmol == pytest.approx(8.0 * mean, rel=1e-12)


def test_the_newest_on_or_before_the_firing_is_taken(tmp_path: Path) -> None:
    later = {"Standardised on": DAY + dt.timedelta(days=1), "Portion (g)": 0.2}
    newer = {"Standardised on": DAY, "Portion (g)": 0.1070}
    found = firing(run(titrant_log({}, newer, later), tmp_path), 1)
    assert found.titre_mmol == pytest.approx(8.0 * STRENGTH * 0.1070 / 0.1060, rel=1e-12)


def test_age_and_spread_are_held_to_the_lab_s_limits(tmp_path: Path) -> None:
    log = titrant_log({}, {"Titre (mL)": 20.20})
    assert not {"titrant-old", "titrant-spread"} & set(codes(run(log, tmp_path)))
    log.setup |= {"Titrant life": (7, "days", "own"), "Titrant spread limit": (0.3, "%", "own")}
    assert {"titrant-old", "titrant-spread"} <= set(codes(run(log, tmp_path)))


def test_a_typed_strength_stays_and_is_compared(tmp_path: Path) -> None:
    evaluation = run(titrant_log({}, typed=0.1), tmp_path)
    assert firing(evaluation, 1).titre_mmol == pytest.approx(0.8, rel=1e-12)
    assert "titrant-differs" not in codes(evaluation)
    evaluation = run(titrant_log({}, typed=0.11), tmp_path)
    assert [found.where for found in evaluation.findings if found.code == "titrant-differs"] == ["Titration!C2"]


@pytest.mark.parametrize(
    "portion", [{"Titre (mL)": None}, {"Molar mass": 0}, {"Titre (mL)": 0.05}, {"Portion (g)": "0,1060"}]
)
def test_a_portion_that_cannot_be_right_makes_no_strength(tmp_path: Path, portion: dict[str, Any]) -> None:
    evaluation = run(titrant_log({}, portion), tmp_path)
    assert {"titrant-portion-unfit", "decimal-comma"} & set(codes(evaluation))
    assert "titrant-incomplete" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None
