"""Heats of combustion of pure substances from their enthalpies of formation, worked out without batchcal.

The enthalpies of formation are those of the open package ``chemicals`` (MIT licence), under its own names of the
compilations: ATCT_L and ATCT_G (Active Thermochemical Tables 1.112), CRC (CRC Handbook of Chemistry and Physics,
2014), WEBBOOK (NIST Chemistry WebBook, SRD 69). Products at 25 °C: carbon dioxide, water and nitrogen from ATcT,
sulphur dioxide from CRC. Atomic masses are those of the package ``periodictable``, the gas constant that of ``scipy``.

Everything is for standard states. The reduction from the conditions of a bomb to standard states (Washburn) is left
out on both sides, because a bench leaves it out. Its size: a bomb value lies some 0.03 % to 0.1 % above the standard
one; benzoic acid is certified as 26 434 J/g in the bomb and has 26 411 J/g in standard states, 0.09 %.
"""

from dataclasses import dataclass
from functools import cache

import chemicals
import periodictable
import scipy.constants  # type: ignore[import-untyped]  # scipy ships no types

GAS_CONSTANT_J_PER_MOL_K: float = scipy.constants.R
TEMPERATURE_K = 298.15


@cache
def _formula(formula: str) -> tuple[float, dict[str, int]]:
    """Return the molar mass (g/mol) and the atoms of a formula."""
    parsed = periodictable.formula(formula)
    return float(parsed.mass), {element.symbol: int(count) for element, count in parsed.atoms.items()}


@cache
def _formation(identifier: str, phase: str, compilation: str) -> float:
    """Return the standard enthalpy of formation (J/mol) in a phase (s, l or g)."""
    look_up = {"s": chemicals.Hfs, "l": chemicals.Hfl, "g": chemicals.Hfg}[phase]
    value = look_up(identifier, method=compilation)
    if value is None:
        raise LookupError(f"{identifier} ({phase}) is not in {compilation}")
    return float(value)


CARBON_DIOXIDE_J_PER_MOL = _formation("124-38-9", "g", "ATCT_G")
WATER_LIQUID_J_PER_MOL = _formation("7732-18-5", "l", "ATCT_L")
WATER_VAPOUR_J_PER_MOL = _formation("7732-18-5", "g", "ATCT_G")
SULPHUR_DIOXIDE_J_PER_MOL = _formation("7446-09-5", "g", "CRC")


@dataclass(frozen=True)
class Substance:
    """A substance C_c H_h N_n O_o S_s: its registry number, phase at 25 °C and the compilation to take it from."""

    name: str
    cas_number: str
    formula: str
    phase: str
    compilation: str
    others: tuple[str, ...] = ()
    """Further compilations that have it."""

    def count(self, symbol: str) -> int:
        """Return the atoms of an element in the formula."""
        return _formula(self.formula)[1].get(symbol, 0)

    @property
    def molar_mass_g_per_mol(self) -> float:
        return _formula(self.formula)[0]

    def content_percent(self, symbol: str) -> float:
        """Return the mass fraction of an element in %."""
        return 100 * self.count(symbol) * float(getattr(periodictable, symbol).mass) / self.molar_mass_g_per_mol

    def formation_enthalpy(self, compilation: str = "") -> float:
        """Return the molar enthalpy of formation (J/mol)."""
        return _formation(self.cas_number, self.phase, compilation or self.compilation)

    def combustion_enthalpy(self, compilation: str = "", water: float = WATER_LIQUID_J_PER_MOL) -> float:
        """Return the molar enthalpy of combustion (J/mol, negative) to CO2(g), N2(g), SO2(g) and the water named."""
        products = (
            self.count("C") * CARBON_DIOXIDE_J_PER_MOL
            + self.count("H") / 2 * water
            + self.count("S") * SULPHUR_DIOXIDE_J_PER_MOL
        )
        return products - self.formation_enthalpy(compilation)

    @property
    def gas_formed(self) -> float:
        """Return moles of gas formed less moles of oxygen used, with liquid water, per mole burnt."""
        oxygen_used = self.count("C") + self.count("H") / 4 + self.count("S") - self.count("O") / 2
        return self.count("C") + self.count("N") / 2 + self.count("S") - oxygen_used

    def combustion_energy(self, compilation: str = "") -> float:
        """Return the molar internal energy of combustion (J/mol, negative): dU = dH - dn R T."""
        return self.combustion_enthalpy(compilation) - self.gas_formed * GAS_CONSTANT_J_PER_MOL_K * TEMPERATURE_K

    @property
    def gross_J_per_g(self) -> float:
        """Gross calorific value at constant volume: sulphur to SO2(g), nitrogen to N2(g), water liquid."""
        return -self.combustion_energy() / self.molar_mass_g_per_mol

    @property
    def net_constant_pressure_J_per_g(self) -> float:
        """Net calorific value at constant pressure: the enthalpy of combustion to water vapour."""
        return -self.combustion_enthalpy(water=WATER_VAPOUR_J_PER_MOL) / self.molar_mass_g_per_mol


SUBSTANCES = (
    Substance("benzoic acid", "65-85-0", "C7H6O2", "s", "CRC", ("WEBBOOK",)),
    Substance("naphthalene", "91-20-3", "C10H8", "s", "CRC", ("WEBBOOK",)),
    Substance("anthracene", "120-12-7", "C14H10", "s", "CRC", ("WEBBOOK",)),
    Substance("phenol", "108-95-2", "C6H6O", "s", "CRC", ("WEBBOOK",)),
    Substance("sucrose", "57-50-1", "C12H22O11", "s", "CRC", ("WEBBOOK",)),
    Substance("salicylic acid", "69-72-7", "C7H6O3", "s", "CRC", ("WEBBOOK",)),
    Substance("succinic acid", "110-15-6", "C4H6O4", "s", "CRC", ("WEBBOOK",)),
    Substance("2,2,4-trimethylpentane", "540-84-1", "C8H18", "l", "ATCT_L", ("CRC", "WEBBOOK")),
    Substance("n-decane", "124-18-5", "C10H22", "l", "CRC", ("WEBBOOK",)),
    Substance("n-dodecane", "112-40-3", "C12H26", "l", "CRC", ("WEBBOOK",)),
    Substance("n-hexadecane", "544-76-3", "C16H34", "l", "CRC", ("WEBBOOK",)),
    Substance("benzene", "71-43-2", "C6H6", "l", "CRC", ("WEBBOOK",)),
    Substance("toluene", "108-88-3", "C7H8", "l", "ATCT_L", ("CRC", "WEBBOOK")),
    Substance("methanol", "67-56-1", "CH4O", "l", "ATCT_L", ("CRC", "WEBBOOK")),
    Substance("ethanol", "64-17-5", "C2H6O", "l", "ATCT_L", ("CRC", "WEBBOOK")),
    Substance("nicotinic acid", "59-67-6", "C6H5NO2", "s", "CRC", ("WEBBOOK",)),
    Substance("hippuric acid", "495-69-2", "C9H9NO3", "s", "WEBBOOK"),
    Substance("acetanilide", "103-84-4", "C8H9NO", "s", "CRC", ("WEBBOOK",)),
    Substance("glycine", "56-40-6", "C2H5NO2", "s", "CRC", ("WEBBOOK",)),
    Substance("urea", "57-13-6", "CH4N2O", "s", "CRC", ("WEBBOOK",)),
    Substance("thianthrene", "92-85-3", "C12H8S2", "s", "CRC", ("WEBBOOK",)),
    Substance("thiourea", "62-56-6", "CH4N2S", "s", "CRC", ("WEBBOOK",)),
)

BY_NAME = {substance.name: substance for substance in SUBSTANCES}
