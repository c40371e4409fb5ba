"""Acid heats by the scheme, by hand: C = 10 000 J/K, 60 J of ignition, 1 g, q_N = 60 kJ/mol, q_S = 300 kJ/mol.

1 % of sulphur in 1 g is 10 mg / 32.06 g/mol = 0.311915 mmol. 8 mL of 0.1 eq/L is 0.8 mmol of acid.
"""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.terms import Decision, FiringState

SULPHUR_MMOL = 10 / 32.06


def acid_log(scheme: str, *, titre: float | None = 8.0, sulphur: float | None = 1.0, **titration: Any) -> Log:
    log = plain_log(2.5, 2.5)
    log.setup["Acid scheme"] = (scheme,)
    log.setup["Nitric acid heat"] = (60, "kJ/mol", "own")
    log.setup["Sulphuric acid heat"] = (300, "kJ/mol", "own")
    if sulphur is not None:
        log.rows["Samples"][0].update({"Sulphur (%)": sulphur, "Basis": "ad"})
    if titre is not None:
        for number in (1, 2):
            row = {
                "Firing no.": number, "Titrant": "sodium hydroxide", "Concentration": 0.1,
                "Concentration unit": "mol/L", "Titre (mL)": titre,
            }  # fmt: skip
            log.rows.setdefault("Titration", []).append(row | titration)
    return log


@pytest.mark.parametrize(
    ("scheme", "nitric", "sulphuric"),
    [
        # all acid as nitric: 0.8 x 60 = 48 J; the sulphur then adds q_S - 2 q_N = 180 kJ/mol
        ("total as nitric", 48.0, SULPHUR_MMOL * 180),
        # nitric = 0.8 - 2 x 0.311915 = 0.176170 mmol
        ("sulphur apart", (0.8 - 2 * SULPHUR_MMOL) * 60, SULPHUR_MMOL * 300),
    ],
)
def test_titration_schemes(tmp_path: Path, scheme: str, nitric: float, sulphuric: float) -> None:
    found = firing(run(acid_log(scheme), tmp_path), 1)
    assert found.nitric_J == pytest.approx(nitric, rel=1e-12)
    assert found.sulphuric_J == pytest.approx(sulphuric, rel=1e-12)
    assert found.gross_ad_J_per_g == pytest.approx(24940 - nitric - sulphuric, rel=1e-12)


def test_both_titration_schemes_give_the_same_heat(tmp_path: Path) -> None:
    # n_t q_N + n_S (q_S - 2 q_N) = (n_t - 2 n_S) q_N + n_S q_S: the two are one balance, counted in two ways.
    values = [firing(run(acid_log(s), tmp_path), 1).gross_ad_J_per_g for s in ("total as nitric", "sulphur apart")]
    assert values[0] == pytest.approx(values[1], rel=1e-13)


@pytest.mark.parametrize(
    ("row", "mmol"),
    [
        ({"Titrant": "sodium carbonate", "Concentration": 0.05, "Concentration unit": "mol/L"}, 0.8),
        ({"Titrant": "sodium carbonate", "Concentration": 0.1, "Concentration unit": "eq/L"}, 0.8),
        ({"Titrant": "barium hydroxide", "Concentration": 0.05, "Concentration unit": "mol/L"}, 0.8),
        ({"Titrant": "potassium hydroxide", "Concentration": 0.1, "Concentration unit": "mol/L"}, 0.8),
        ({"Blank (mL)": 0.5}, 0.75),
        ({"Titre (mL)": None, "Burette start (mL)": 1.2, "Burette end (mL)": 9.2}, 0.8),
        ({"Burette start (mL)": 1.2, "Burette end (mL)": 9.21}, 0.8),  # typed 8.00 within 0.02
    ],
)
def test_titrant_and_burette(tmp_path: Path, row: dict[str, Any], mmol: float) -> None:
    found = firing(run(acid_log("total as nitric", **row), tmp_path), 1)
    assert found.titre_mmol == pytest.approx(mmol, rel=1e-9)


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ({"Concentration unit": None}, "titrant-incomplete"),
        ({"Titrant": None}, "titrant-incomplete"),
        ({"Concentration": None}, "titrant-incomplete"),
        ({"Titre (mL)": 0.2, "Blank (mL)": 0.5}, "titre-unfit"),
        ({"Titre (mL)": None}, "titre-missing"),
        ({"Titre (mL)": None, "Burette start (mL)": 9, "Burette end (mL)": 1}, "titre-unfit"),
        ({"Burette start (mL)": 1.2, "Burette end (mL)": 9.3}, "titre-disagrees"),
        ({"Titrant": "vinegar"}, "word-not-in-list"),
        ({"Titre (mL)": "8,0"}, "decimal-comma"),
    ],
)
def test_a_doubtful_titration_stops_the_firing(tmp_path: Path, row: dict[str, Any], code: str) -> None:
    evaluation = run(acid_log("total as nitric", **row), tmp_path)
    assert code in codes(evaluation)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD


def test_missing_titre_holds_and_missing_sulphur_waits(tmp_path: Path) -> None:
    log = acid_log("total as nitric")
    del log.rows["Titration"][0]
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD
    evaluation = run(acid_log("total as nitric", sulphur=None), tmp_path)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.WAIT


def test_more_sulphuric_than_acid_is_a_finding(tmp_path: Path) -> None:
    evaluation = run(acid_log("sulphur apart", sulphur=1.5), tmp_path)  # 2 x 0.468 = 0.936 mmol > 0.8
    assert "nitric-negative" in codes(evaluation)
    assert firing(evaluation, 1).nitric_J is None


def test_fixed_and_proportion(tmp_path: Path) -> None:
    log = acid_log("fixed", titre=None)
    log.setup["Nitric acid heat"] = (28, "J", "own")
    found = firing(run(log, tmp_path), 1)
    assert (found.nitric_J, found.sulphuric_J) == pytest.approx((28, SULPHUR_MMOL * 300), rel=1e-12)
    log = acid_log("proportion", titre=None)
    log.setup["Nitric acid heat"] = (0.12, "%", "own")
    found = firing(run(log, tmp_path), 1)
    assert found.nitric_J == pytest.approx(0.0012 * 24940, rel=1e-12)  # of the bomb value
    log.setup["Nitric acid heat"] = (0.0012, None, "own")
    assert firing(run(log, tmp_path), 1).nitric_J == pytest.approx(0.0012 * 24940, rel=1e-12)


@pytest.mark.parametrize(
    ("scheme", "heat", "code"),
    [
        ("total as nitric", (6.0, "J", "own"), "acid-heat-unit"),
        ("fixed", (60, "kJ/mol", "own"), "acid-heat-unit"),
        ("total as nitric", (94.1, "kJ/mol", "own"), "setup-number-unfit"),
        ("total as nitric", (6.0, "J/mL", "own"), "setup-unit-unknown"),
        ("proportion", (0.12, None, "own"), "setup-number-unfit"),
    ],
)
def test_a_factor_cannot_be_joined_to_a_scheme_it_does_not_belong_to(
    tmp_path: Path, scheme: str, heat: tuple[Any, ...], code: str
) -> None:
    log = acid_log(scheme)
    log.setup["Nitric acid heat"] = heat
    evaluation = run(log, tmp_path)
    assert code in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


def test_no_scheme_no_value_and_none_is_said(tmp_path: Path) -> None:
    log = acid_log("none")
    del log.setup["Acid scheme"]
    evaluation = run(log, tmp_path)
    assert "acid-scheme-missing" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert "no-acid-correction" in codes(run(plain_log(2.5, 2.5), tmp_path))


@pytest.mark.parametrize(
    ("basis", "given", "as_analysed"),
    [("ad", 1.0, 1.0), ("d", 1.0, 0.96), ("ar", 1.0, 96 / 88), ("daf", 1.0, 0.86)],
)
def test_sulphur_is_brought_to_as_analysed(tmp_path: Path, basis: str, given: float, as_analysed: float) -> None:
    # analysis moisture 4 %, total moisture 12 %, ash 10 % as analysed
    log = acid_log("total as nitric", sulphur=None)
    log.headings["Samples"][6:8] = ["Ash, ad (%)", f"Sulphur, {basis} (%)"]
    log.rows["Samples"][0].update({"Moisture, total (%)": 12.0, "Ash, ad (%)": 10.0, f"Sulphur, {basis} (%)": given})
    found = firing(run(log, tmp_path), 1)
    assert found.sulphuric_J == pytest.approx(as_analysed * SULPHUR_MMOL * 180, rel=1e-12)


def test_sulphur_without_a_basis_is_asked_for(tmp_path: Path) -> None:
    log = acid_log("total as nitric")
    del log.rows["Samples"][0]["Basis"]
    evaluation = run(log, tmp_path)
    assert "basis-missing" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


def baryta_log(**changes: float | None) -> Log:
    log = acid_log("two titrations", titre=None, sulphur=None)
    row = {
        "Baryta (mL)": 15.0, "Baryta concentration (eq/L)": 0.1, "Carbonate added (mL)": 20.0,
        "Carbonate concentration (eq/L)": 0.1, "Acid back-titre (mL)": 8.0, "Acid concentration (eq/L)": 0.1,
    }  # fmt: skip
    log.rows["Titration"] = [{"Firing no.": number, **row, **changes} for number in (1, 2)]
    return log


def test_two_titrations_tell_the_acids_apart(tmp_path: Path) -> None:
    # baryta 1.5 mmol of acid in all; carbonate left by barium nitrate 2.0 - 0.8 = 1.2 mmol nitric;
    # sulphuric (1.5 - 1.2) / 2 = 0.15 mmol. The recalled factors of ISO 1928 agree: 6.0 (20 - 8) = 72 J and
    # 15.1 (15 + 8 - 20) = 45.3 J with 60 and 302 kJ/mol (derived case A49 of the check values).
    found = firing(run(baryta_log(), tmp_path), 1)
    assert found.nitric_J == pytest.approx(1.2 * 60, rel=1e-12)
    assert found.sulphuric_J == pytest.approx(0.15 * 300, rel=1e-12)
    assert found.gross_ad_J_per_g == pytest.approx(24940 - 72 - 45, rel=1e-12)


def test_two_titrations_compare_their_sulphur_with_the_bench(tmp_path: Path) -> None:
    # 0.15 mmol x 32.06 / 1 g = 0.48 %
    log = baryta_log()
    log.rows["Samples"][0] |= {"Sulphur (%)": 0.50, "Basis": "ad"}
    assert "sulphur-disagrees" not in codes(run(log, tmp_path))
    log.rows["Samples"][0]["Sulphur (%)"] = 0.80
    assert "sulphur-disagrees" in codes(run(log, tmp_path))


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"Acid back-titre (mL)": None}, "second-titre-missing"),
        ({"Baryta concentration (eq/L)": None}, "second-titre-missing"),
        ({"Acid back-titre (mL)": 21.0}, "two-titrations-inconsistent"),  # nitric below zero
        ({"Baryta (mL)": 8.0}, "two-titrations-inconsistent"),  # sulphuric (0.8 - 1.2) / 2 below zero
        ({"Baryta (mL)": -1.0}, "titre-unfit"),
    ],
)
def test_two_titrations_that_do_not_fit(tmp_path: Path, changes: dict[str, float | None], code: str) -> None:
    evaluation = run(baryta_log(**changes), tmp_path)
    assert code in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None
