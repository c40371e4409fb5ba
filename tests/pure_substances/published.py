"""Figures by others that the chain is held against, each with its source and mark. Nothing of batchcal is imported."""

from dataclasses import dataclass

COMPUTED_SOURCE = "package chemicals 1.5.2: enthalpies of formation and HHV_stoichiometry; dU = dH - dn R T"
COMPUTED_MARK = "derived"
COMPUTED_TOLERANCE_J_PER_G = 0.05
"""The figures are printed to 0.1 J/g."""

COMPUTED: dict[str, tuple[float, dict[str, float]]] = {
    "benzoic acid": (122.12134, {"CRC": -26411.1, "WEBBOOK": -26414.2}),
    "naphthalene": (128.17052, {"CRC": -40193.2, "WEBBOOK": -40181.5}),
    "sucrose": (342.29648, {"CRC": -16476.0, "WEBBOOK": -16490.3}),
    "2,2,4-trimethylpentane": (114.22852, {"ATCT_L": -47713.7, "CRC": -47710.2, "WEBBOOK": -47709.3}),
    "n-hexadecane": (226.44116, {"CRC": -47153.3, "WEBBOOK": -47152.5}),
    "n-dodecane": (170.33484, {"CRC": -47379.6, "WEBBOOK": -47380.8}),
    "n-decane": (142.28168, {"CRC": -47541.5, "WEBBOOK": -47540.8}),
    "ethanol": (46.06844, {"ATCT_L": -29628.0, "CRC": -29615.6, "WEBBOOK": -29650.3}),
    "methanol": (32.04186, {"ATCT_L": -22641.8, "CRC": -22616.8, "WEBBOOK": -22628.6}),
    "toluene": (92.13842, {"ATCT_L": -42382.1, "CRC": -42382.5, "WEBBOOK": -42378.2}),
    "benzene": (78.11184, {"CRC": -41782.4, "WEBBOOK": -41781.0}),
    "salicylic acid": (138.12074, {"CRC": -21878.6, "WEBBOOK": -21868.1}),
    "hippuric acid": (179.17266, {"WEBBOOK": -23546.3}),
    "nicotinic acid": (123.1094, {"CRC": -22184.5, "WEBBOOK": -22184.7}),
    "urea": (60.05526, {"CRC": -10544.7, "WEBBOOK": -10608.8}),
    "acetanilide": (135.16316, {"CRC": -31232.7, "WEBBOOK": -31232.2}),
    "succinic acid": (118.08804, {"CRC": -12635.6, "WEBBOOK": -12639.8}),
    "glycine": (75.0666, {"CRC": -12970.2, "WEBBOOK": -12969.5}),
    "anthracene": (178.2292, {"CRC": -39616.2, "WEBBOOK": -39570.2}),
    "thianthrene": (216.32192, {"CRC": -30674.8, "WEBBOOK": -30691.2}),
}
"""Molar mass (g/mol) and internal energy of combustion (J/g) by compilation, as worked out by another hand.

The molar mass is of older atomic masses (C 12.0107, H 1.00794); per mole the two agree, per gram to 0.004 %.
"""

NET_SOURCE = "package chemicals 1.5.2 for the enthalpies, IAPWS-97 for the evaporation of water at 25 °C"
NET_MARK = "derived"
NET = {
    "naphthalene": (40193.2, 38859.1),
    "sucrose": (16476.0, 15062.4),
    "2,2,4-trimethylpentane": (47713.7, 44345.5),
    "ethanol": (29628.0, 26817.3),
    "benzoic acid": (26411.1, 25340.6),
    "nicotinic acid": (22184.5, 21286.2),
}
"""Gross value at constant volume and net value at constant pressure (J/g), exact, without rounded factors."""


@dataclass(frozen=True)
class Measured:
    """A heat of combustion measured in a bomb by others, J/g, with what it may be off by and why.

    The enthalpy of formation of thianthrene in the compilations probably rests on the measurement named here
    (unchecked): their agreement proves the sulphuric acid heat and its bookkeeping, not the substance once more.
    """

    substance: str
    value_J_per_g: float
    tolerance_J_per_g: float
    why: str
    source: str
    mark: str
    with_sulphuric_acid: bool = False


MEASURED = (
    Measured(
        "salicylic acid", 21877.2, 4.6, "the authors' uncertainty",
        "J. Chem. Thermodyn. 59 (2013) 209-213, abstract", "verified",
    ),
    Measured(
        "salicylic acid", 21888.8, 10.9, "the authors' uncertainty",
        "J. Chem. Thermodyn. 38 (2006), ThermoML 10.1016/j.jct.2006.03.001", "verified",
    ),
    Measured(
        "thianthrene", 1730.01 * 4184 / 216.3219, 14.8,
        "the sulphuric acid heat is printed as 94 J per 1 %, two digits",
        "NIST Chemistry WebBook, thianthrene: Hubbard 1954, U = -1730.01 kcal/mol", "verified",
        with_sulphuric_acid=True,
    ),
)  # fmt: skip
