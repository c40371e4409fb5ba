"""Heats of nitric and sulphuric acid from the titration of the washings.

Amounts are in mol of acid; a titrant's strength is in equivalents per litre, so that the base used does not matter.
One mole of nitric acid takes one equivalent, one mole of sulphuric acid two.
"""

from batchcal.reference import constant

SULPHUR_G_PER_MOL = constant("atomic-mass-sulphur").value


def acid_amount_mol(volume_mL: float, blank_mL: float, concentration_eq_per_L: float) -> float:
    """Return the hydrogen ion in the washings (mol), that is all acid counted as nitric.

    n = (V - V_blank) c / 1000. Valid for V at or above the blank and a strength above 0.

    References
    ----------
    [gost-21261], [corrections-note]

    """
    return (volume_mL - blank_mL) * concentration_eq_per_L / 1000.0


def sulphur_amount_mol(sulphur_percent: float, mass_g: float, sulphur_g_per_mol: float = SULPHUR_G_PER_MOL) -> float:
    """Return the sulphur that burnt (mol), taken to end as sulphuric acid.

    n_S = m S / (100 M_S), with S on the basis on which m was weighed. Valid for 0 <= S < 100.

    References
    ----------
    [gost-21261], [ciaaw-2021]

    """
    return mass_g * sulphur_percent / (100.0 * sulphur_g_per_mol)


def two_titrations_mol(
    *,
    baryta_mL: float,
    baryta_eq_per_L: float,
    carbonate_mL: float,
    carbonate_eq_per_L: float,
    acid_mL: float,
    acid_eq_per_L: float,
) -> tuple[float, float]:
    """Return nitric and sulphuric acid (mol, mol) from the washings titrated with baryta and back with acid.

    Baryta neutralises both acids: n_total = V_B c_B. Carbonate then takes the barium left in solution, which is the
    nitrate's, and the acid finds the carbonate over: n_N = V_C c_C - V_A c_A and n_S = (n_total - n_N) / 2.

    Valid where neither result is negative. The equations follow from the stoichiometry; the factors recalled from
    ISO 1928 agree with them.

    References
    ----------
    [recalled]

    """
    nitric = (carbonate_mL * carbonate_eq_per_L - acid_mL * acid_eq_per_L) / 1000.0
    return nitric, (baryta_mL * baryta_eq_per_L / 1000.0 - nitric) / 2.0


def total_as_nitric(
    acid_mol: float,
    sulphur_mol: float,
    nitric_heat_J_per_mol: float,
    sulphuric_heat_J_per_mol: float,
) -> tuple[float, float]:
    """Return nitric and sulphuric heats (J, J) where all acid titrated is booked as nitric.

    Q_N = n q_N and Q_S = n_S (q_S - 2 q_N): each mole of sulphuric acid was booked as two of nitric, which the second
    heat takes back. Valid for amounts at or above 0; q_S is the full molar heat, not one already reduced.

    References
    ----------
    [gost-21261], [corrections-note]

    """
    return (
        acid_mol * nitric_heat_J_per_mol,
        sulphur_mol * (sulphuric_heat_J_per_mol - 2.0 * nitric_heat_J_per_mol),
    )


def sulphur_apart(
    acid_mol: float,
    sulphur_mol: float,
    nitric_heat_J_per_mol: float,
    sulphuric_heat_J_per_mol: float,
) -> tuple[float, float]:
    """Return nitric and sulphuric heats (J, J) where the sulphuric acid is taken off the acid titrated.

    Q_N = (n - 2 n_S) q_N and Q_S = n_S q_S; the sum is that of :func:`total_as_nitric`.
    Valid where n is at or above 2 n_S; below it the sulphur and the titre cannot both be right.

    References
    ----------
    [gost-21261]

    """
    return (
        (acid_mol - 2.0 * sulphur_mol) * nitric_heat_J_per_mol,
        sulphur_mol * sulphuric_heat_J_per_mol,
    )


def nitric_by_proportion(fraction: float, bomb_energy_J: float) -> float:
    """Return the nitric heat (J) as a fraction of the heat in the bomb, where the washings are not titrated.

    Q_N = a (C theta - Q_ign - Q_aid), with the bracket as ``bomb_energy_J``: before acid corrections.

    Valid for 0 <= a <= 0.01; 0.0010 to 0.0016 is recalled from GB/T 213 for coal.

    References
    ----------
    [recalled]

    """
    return fraction * bomb_energy_J


def strength_from_portion(
    portion_g: float, molar_mass_g_per_mol: float, equivalents_per_mol: float, volume_mL: float, blank_mL: float
) -> float:
    """Return the strength of a titrant (eq/L) from one portion of a primary standard.

    c = 1000 m z / (M (V - V_blank)). Valid for a titre above the blank.

    References
    ----------
    [no-source]

    """
    return 1000.0 * portion_g * equivalents_per_mol / (molar_mass_g_per_mol * (volume_mL - blank_mL))
