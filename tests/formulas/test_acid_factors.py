"""Acid factors printed in the trade, recomputed from amounts and atomic masses; the source stands beside each."""

import periodictable
import pytest
import scipy.constants  # type: ignore[import-untyped]  # scipy ships no types

from batchcal.formulas import acids
from batchcal.reference import constant

NITRIC = constant("nitric-heat").value * 1000.0
SULPHURIC = constant("sulphuric-heat").value * 1000.0
TENTH_NORMAL_ML = {"volume_mL": 1.0, "blank_mL": 0.0, "concentration_eq_per_L": 0.1}


def mass(formula: str) -> float:
    return float(periodictable.formula(formula).mass)


@pytest.mark.parametrize(
    ("printed_J", "tolerance"),
    [
        (6.0, 0.05),  # GOST 21261-91, clause 7: 6e-3 kJ per mL of 0.1 mol/L (verified)
        (1.43 * 4.184, 0.005),  # help text on bomb corrections: 1.43 cal per mL of 0.1 N (secondary)
        (57160 * 4.184 / 4 / 10000, 0.01),  # the same text: 57 160 cal for 4 mol (secondary)
    ],
)
def test_nitric_heat_of_a_millilitre(printed_J: float, tolerance: float) -> None:
    nitric, sulphuric = acids.total_as_nitric(acids.acid_amount_mol(**TENTH_NORMAL_ML), 0.0, NITRIC, SULPHURIC)
    assert nitric == pytest.approx(printed_J, abs=tolerance)
    assert sulphuric == 0.0


def test_nitric_heat_by_mass() -> None:
    """Mahin and Carr, Quantitative Agricultural Analysis: 230 cal/g of nitric acid, an older figure 1.2 % higher."""
    assert NITRIC / mass("HNO3") == pytest.approx(230 * 4.184, rel=0.02)


@pytest.mark.parametrize(
    "printed_J",
    [
        94.0,  # GOST 21261-91, p. 10: 94 kJ/kg for 1 % of sulphur (verified)
        10 * 2.25 * 4.184,  # help text on bomb corrections: 2.25 cal per mg of sulphur (secondary)
    ],
)
def test_sulphuric_heat_of_one_percent(printed_J: float) -> None:
    _, heat = acids.sulphur_apart(1.0, acids.sulphur_amount_mol(sulphur_percent=1.0, mass_g=1.0), NITRIC, SULPHURIC)
    assert heat == pytest.approx(printed_J, abs=0.2)


def test_sulphuric_heat_from_enthalpies_of_formation() -> None:
    """NBS tables, from memory: H2SO4 in 115 H2O -887.81, SO2 -296.81, H2O -285.83 kJ/mol, at constant volume."""
    enthalpy = -887.81 + 296.81 + 285.83
    gas_consumed = 1.5
    heat = -(enthalpy + gas_consumed * scipy.constants.R * 298.15 / 1000.0)
    assert pytest.approx(heat, abs=0.2) == SULPHURIC / 1000.0


def test_equivalents_of_acid_in_one_percent_of_sulphur() -> None:
    """0.6237 mmol for 1 % of sulphur and gram: derived, and in use in printed reductions of the sulphur heat."""
    assert 2000 * acids.sulphur_amount_mol(1.0, 1.0) == pytest.approx(0.6237, abs=0.0002)
    assert acids.sulphur_amount_mol(1.0, 1.0) == pytest.approx(0.01 / mass("S"), rel=1e-6)


@pytest.mark.parametrize(
    ("normality", "heat_kJ_per_mol", "carbonate_g_per_L"),
    [
        (0.0709, 59.0, 3.757),  # ASTM D5865, recalled: a strength whose millilitre is one calorie
        (0.0725, 57.8, 3.84),  # ASTM D240, recalled: the same
    ],
)
def test_a_millilitre_that_is_a_calorie(normality: float, heat_kJ_per_mol: float, carbonate_g_per_L: float) -> None:
    acid = acids.acid_amount_mol(1.0, 0.0, normality)
    assert acid * heat_kJ_per_mol * 1000.0 == pytest.approx(4.184, abs=0.01)
    assert normality / 2 * mass("Na2CO3") == pytest.approx(carbonate_g_per_L, abs=0.005)


def test_sodium_carbonate_for_a_tenth_equivalent() -> None:
    """5.30 g of sodium carbonate to the litre is 0.1 eq/L: common practice, no source."""
    grams = sum(
        count * constant(f"atomic-mass-{element}").value
        for element, count in (("sodium", 2), ("carbon", 1), ("oxygen", 3))
    )
    acid = acids.acid_amount_mol(1000.0, 0.0, 2 * 5.30 / grams)
    assert acid == pytest.approx(0.1, rel=1e-3)


def test_two_titrations() -> None:
    """Derived: 15.0 mL baryta, 20.0 mL carbonate, 8.0 mL acid of 0.1 eq/L make 72.0 J and 45.3 J with the factors
    6.0 J and 15.1 J to the mL that are recalled from ISO 1928."""
    nitric, sulphuric = acids.two_titrations_mol(
        baryta_mL=15.0,
        baryta_eq_per_L=0.1,
        carbonate_mL=20.0,
        carbonate_eq_per_L=0.1,
        acid_mL=8.0,
        acid_eq_per_L=0.1,
    )
    assert nitric * 60000 == pytest.approx(72.0)
    assert sulphuric * 302000 == pytest.approx(45.3)


def test_two_titrations_agree_with_what_was_put_in() -> None:
    """A washing made up of known acids, each reagent of its own strength, worked through the reactions by hand."""
    nitric_mol, sulphuric_mol = 0.9e-3, 0.35e-3
    baryta_mL = (nitric_mol + 2 * sulphuric_mol) / 0.097 * 1000  # both acids
    acid_mL = (20.0e-3 * 0.103 - nitric_mol) / 0.099 * 1000  # carbonate that found no barium
    found = acids.two_titrations_mol(
        baryta_mL=baryta_mL,
        baryta_eq_per_L=0.097,
        carbonate_mL=20.0,
        carbonate_eq_per_L=0.103,
        acid_mL=acid_mL,
        acid_eq_per_L=0.099,
    )
    assert found == pytest.approx((nitric_mol, sulphuric_mol))


def test_both_schemes_make_the_same_sum() -> None:
    """Booking all acid as nitric and taking the excess off, or taking sulphuric apart, is the same chemistry."""
    together = acids.total_as_nitric(1.7e-3, 0.4e-3, NITRIC, SULPHURIC)
    apart = acids.sulphur_apart(1.7e-3, 0.4e-3, NITRIC, SULPHURIC)
    assert sum(together) == pytest.approx(sum(apart), rel=1e-12)
    assert together[0] - apart[0] == pytest.approx(2 * 0.4e-3 * NITRIC)


def test_blank_is_taken_off() -> None:
    assert acids.acid_amount_mol(10.4, 0.4, 0.05) == pytest.approx(0.5e-3)


def test_nitric_by_proportion() -> None:
    """Examination papers on GB/T 213: 0.0010 of the bomb value; 20 kJ then carry 20 J."""
    assert acids.nitric_by_proportion(0.0010, 20000.0) == pytest.approx(20.0)
