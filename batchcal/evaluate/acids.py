"""The acids in the washings: the titration of a firing, and the heats of nitric and sulphuric acid by the scheme."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from batchcal import findings, reference
from batchcal.evaluate.charge import Doubts
from batchcal.findings import Finding
from batchcal.formulas import acids
from batchcal.model import Settings, TitrationRow
from batchcal.terms import AcidScheme, ConcentrationUnit

TITRE_TOLERANCE_ML = 0.02
"""Typed titre and burette readings must agree to this (two readings to 0.01 mL); common practice, no source."""


@dataclass(frozen=True, slots=True)
class Heats:
    """Heats of the acids of one firing in J, and the acid titrated in mol where there is a titre."""

    nitric_J: float
    sulphuric_J: float
    acid_mol: float | None = None


def join(titrations: tuple[TitrationRow, ...], firings: set[str]) -> tuple[dict[str, TitrationRow], list[Finding]]:
    """Return the titration of each firing, leaving out firings with two, and what is wrong with the sheet."""
    joined: dict[str, TitrationRow] = {}
    twice: set[str] = set()
    found = []
    for row in titrations:
        if not row.firing:
            if "firing" not in row.unreadable:
                found.append(row.place.finding("firing-number-missing"))
            continue
        if row.firing not in firings:
            found.append(row.place.finding("titration-without-firing", "firing", firing=row.firing))
        elif row.firing in joined:
            twice.add(row.firing)
            found.append(
                row.place.finding(
                    "titration-twice", "firing", firing=row.firing, other=f"row {joined[row.firing].place.row}"
                )
            )
        else:
            joined[row.firing] = row
    return {firing: row for firing, row in joined.items() if firing not in twice}, found


def scheme_ready(settings: Settings, *, with_sulphur: bool) -> list[Finding]:
    """Return what Setup lacks for its acid scheme; an empty list where every firing can be worked out."""
    scheme = settings.acid_scheme
    if scheme is None:
        entry = settings.entries.get("acid_scheme")
        if entry is not None:  # a word that is not in the list has its finding already
            return []
        return [findings.make("acid-scheme-missing", choices=", ".join(AcidScheme))]
    if scheme is AcidScheme.TWO_TITRATIONS:
        return [findings.make("acid-scheme-not-yet")]
    found = []
    if scheme is not AcidScheme.NONE and settings.nitric_heat is None and "nitric_heat" not in settings.entries:
        unit = {AcidScheme.FIXED: "J per firing", AcidScheme.PROPORTION: "% of the bomb value"}.get(scheme, "kJ/mol")
        found.append(findings.make("acid-heat-missing", scheme=scheme, item="Nitric acid heat", unit=unit))
    if (
        with_sulphur
        and scheme.uses_bench_sulphur
        and settings.sulphuric_heat is None
        and "sulphuric_heat" not in settings.entries
    ):
        found.append(findings.make("acid-heat-missing", scheme=scheme, item="Sulphuric acid heat", unit="kJ/mol"))
    return found


def heats(
    titration: TitrationRow | None,
    settings: Settings,
    doubts: Doubts,
    *,
    mass_g: float,
    sulphur_percent: float,
    bomb_energy_J: float,
) -> Heats | None:
    """Return the acid heats of one firing, or None with a finding.

    ``sulphur_percent`` is that of the charge as weighed (0 for benzoic acid) and ``bomb_energy_J`` the heat
    found less ignition and aids, of which the scheme `proportion` takes its share.
    """
    sulphur_mol = acids.sulphur_amount_mol(sulphur_percent, mass_g)
    scheme = settings.acid_scheme
    if scheme is AcidScheme.NONE:
        return Heats(0.0, 0.0)
    nitric = settings.nitric_heat
    sulphuric_J_per_mol = settings.sulphuric_heat.value if settings.sulphuric_heat else None
    if scheme is None or nitric is None or (sulphur_mol > 0 and sulphuric_J_per_mol is None):
        return None
    sulphuric_J_per_mol = sulphuric_J_per_mol or 0.0
    if scheme is AcidScheme.FIXED:
        return Heats(nitric.value, sulphur_mol * sulphuric_J_per_mol)
    if scheme is AcidScheme.PROPORTION:
        return Heats(acids.nitric_by_proportion(nitric.value, bomb_energy_J), sulphur_mol * sulphuric_J_per_mol)
    acid_mol = _acid(titration, scheme, doubts)
    if acid_mol is None:
        return None
    if scheme is AcidScheme.TOTAL_AS_NITRIC:
        return Heats(*acids.total_as_nitric(acid_mol, sulphur_mol, nitric.value, sulphuric_J_per_mol), acid_mol)
    if acid_mol - 2 * sulphur_mol < 0:
        doubts_at(
            doubts,
            "nitric-negative",
            titration,
            "titre_mL",
            total=f"{acid_mol * 1e3:.3f}",
            sulphur=f"{sulphur_percent:.2f}",
            needed=f"{2 * sulphur_mol * 1e3:.3f}",
        )
        return None
    return Heats(*acids.sulphur_apart(acid_mol, sulphur_mol, nitric.value, sulphuric_J_per_mol), acid_mol)


def doubts_at(doubts: Doubts, code: str, titration: TitrationRow | None, field: str, **details: Any) -> None:
    """Add a finding that stands on the Titration sheet and concerns the firing of ``doubts``."""
    if titration is None:
        doubts.add(code, **details)
        return
    row = doubts.row
    doubts.found.append(titration.place.finding(code, field, firing=row.firing, sample=row.sample, **details))


def _acid(titration: TitrationRow | None, scheme: AcidScheme, doubts: Doubts) -> float | None:
    """Return the acid of the washings in mol of hydrogen ion."""
    if titration is None:
        doubts.add("titre-missing", scheme=scheme)
        return None
    volume = _titre(titration, scheme, doubts)
    strength = _strength(titration, doubts)
    if volume is None or strength is None:
        return None
    blank = titration.blank_mL or 0.0
    if blank < 0 or volume < 0:
        doubts_at(doubts, "titre-unfit", titration, "titre_mL" if volume < 0 else "blank_mL",
                  problem="a volume is below zero")  # fmt: skip
        return None
    if volume < blank:
        problem = f"the titre of {volume:.2f} mL is below the blank of {blank:.2f} mL"
        doubts_at(doubts, "titre-unfit", titration, "titre_mL", problem=problem)
        return None
    return acids.acid_amount_mol(volume, blank, strength)


def _titre(titration: TitrationRow, scheme: AcidScheme, doubts: Doubts) -> float | None:
    start, end, typed = titration.burette_start_mL, titration.burette_end_mL, titration.titre_mL
    difference = None
    if start is not None and end is not None:
        difference = end - start
        if difference < 0:
            problem = f"the burette ends at {end:.2f} mL, below its start at {start:.2f} mL"
            doubts_at(doubts, "titre-unfit", titration, "burette_end_mL", problem=problem)
            return None
    if typed is not None and difference is not None and abs(typed - difference) > TITRE_TOLERANCE_ML * (1 + 1e-6):
        doubts_at(
            doubts, "titre-disagrees", titration, "titre_mL", difference=f"{difference:.2f}", typed=f"{typed:.2f}"
        )
        return None
    value = typed if typed is not None else difference
    if value is None:
        doubts_at(doubts, "titre-missing", titration, "titre_mL", scheme=scheme)
    return value


def _strength(titration: TitrationRow, doubts: Doubts) -> float | None:
    """Return the titrant's strength in eq/L, checking what is needed to tell mol/L from eq/L."""
    missing = [
        (name, field)
        for name, field, value in (
            ("the titrant", "titrant", titration.titrant),
            ("the concentration", "concentration", titration.concentration),
            ("the unit of the concentration", "concentration_unit", titration.concentration_unit),
        )
        if value is None
    ]
    if titration.titrant is None or titration.concentration is None or titration.concentration_unit is None:
        doubts_at(doubts, "titrant-incomplete", titration, missing[0][1], missing=" and ".join(n for n, _ in missing))
        return None
    if titration.concentration <= 0:
        doubts_at(doubts, "titre-unfit", titration, "concentration", problem="a concentration must be above zero")
        return None
    strength = titration.concentration
    if titration.concentration_unit is ConcentrationUnit.MOLE_PER_LITRE:
        strength *= titration.titrant.equivalents_per_mole
    low, high = reference.constant("titrant-lowest"), reference.constant("titrant-highest")
    if not low.value <= strength <= high.value:
        doubts_at(doubts, "concentration-unusual", titration, "concentration", value=f"{strength:g}")
    return strength


def unused(titrations: Mapping[str, TitrationRow], settings: Settings) -> list[Finding]:
    """Return a note where titres are logged that the scheme does not use."""
    scheme = settings.acid_scheme
    if scheme is None or scheme.uses_titre or not titrations:
        return []
    return [findings.make("titre-not-used", count=len(titrations), scheme=scheme)]
