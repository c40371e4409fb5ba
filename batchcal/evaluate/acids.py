"""The acids in the washings: the titration of a firing, and the heats of nitric and sulphuric acid by the scheme."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from batchcal import findings
from batchcal.evaluate.charge import Doubts
from batchcal.findings import Finding
from batchcal.formulas import acids
from batchcal.logged import TitrationRow
from batchcal.model import Settings
from batchcal.terms import AcidScheme, ConcentrationUnit, Titrant

TITRE_TOLERANCE_ML = 0.02
"""Typed titre and burette readings must agree to this (two readings to 0.01 mL); common practice, no source."""


SMALLEST_ACID_MOL = 0.02e-3
"""Scatter of two titrations (0.2 mL of 0.1 eq/L) within which no sulphuric acid is none; common practice, no source."""


class Heats(Struct, frozen=True):
    """Heats of the acids of one firing in J, and the acid titrated in mol where there is a titre."""

    nitric_J: float
    sulphuric_J: float
    acid_mol: float | None = None


def join(
    titrations: tuple[TitrationRow, ...], firings: Mapping[str, int], *, number_lost: bool
) -> tuple[dict[str, TitrationRow], list[Finding]]:
    """Return the titration of each firing, leaving out firings with two, and what is wrong with the sheet.

    ``firings`` says how many rows have each number. Of a number with several nothing is joined or said here; with
    ``number_lost`` a titration that seems to be of no firing may be of the one whose number cannot be read.
    """
    joined: dict[str, TitrationRow] = {}
    twice: set[str] = set()
    found = []
    for row in titrations:
        if not row.firing:
            if "firing" not in row.unreadable:
                found.append(row.place.finding("firing-number-missing"))
            continue
        if firings.get(row.firing, 0) > 1:
            continue
        if row.firing not in firings:
            if not number_lost:
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
    found = []
    if scheme is not AcidScheme.NONE and settings.nitric_heat is None and "nitric_heat" not in settings.entries:
        unit = {AcidScheme.FIXED: "J per firing", AcidScheme.PROPORTION: "% of the bomb value"}.get(scheme, "kJ/mol")
        found.append(findings.make("acid-heat-missing", scheme=scheme, item="Nitric acid heat", unit=unit))
    if (
        with_sulphur
        and scheme is not AcidScheme.NONE
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
    sulphur_percent: float | None,
    bomb_energy_J: float,
    benzoic: bool,
) -> Heats | None:
    """Return the acid heats of one firing, or None with a finding.

    ``benzoic`` says that the charge is benzoic acid, without sulphur. ``sulphur_percent`` is that of the charge
    as weighed (0 for benzoic acid, None where not known) and ``bomb_energy_J`` the heat
    found less ignition and aids, of which the scheme `proportion` takes its share.
    """
    sulphur_mol = acids.sulphur_amount_mol(sulphur_percent or 0.0, mass_g)
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
    if scheme is AcidScheme.TWO_TITRATIONS:
        return _two_titrations(
            titration, settings, doubts, mass_g=mass_g, bench_percent=sulphur_percent, benzoic=benzoic
        )
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
            sulphur=f"{sulphur_percent or 0.0:.2f}",
            needed=f"{2 * sulphur_mol * 1e3:.3f}",
        )
        return None
    return Heats(*acids.sulphur_apart(acid_mol, sulphur_mol, nitric.value, sulphuric_J_per_mol), acid_mol)


_TWO_TITRATIONS = (
    ("baryta_mL", "the baryta titre"),
    ("baryta_eq_per_L", "the baryta's strength"),
    ("carbonate_mL", "the carbonate added"),
    ("carbonate_eq_per_L", "the carbonate's strength"),
    ("acid_mL", "the acid back-titre"),
    ("acid_eq_per_L", "the acid's strength"),
)


def _two_titrations(
    titration: TitrationRow | None,
    settings: Settings,
    doubts: Doubts,
    *,
    mass_g: float,
    bench_percent: float | None,
    benzoic: bool,
) -> Heats | None:
    """Return the heats from the baryta route, which tells nitric from sulphuric acid without the bench's sulphur.

    The bench's sulphur, where there is one, is compared with that of the washings.
    """
    nitric_heat, sulphuric_heat = settings.nitric_heat, settings.sulphuric_heat
    if titration is None or nitric_heat is None:
        doubts.add("titre-missing", scheme=AcidScheme.TWO_TITRATIONS)
        return None
    missing = [(field, words) for field, words in _TWO_TITRATIONS if getattr(titration, field) is None]
    if missing:
        doubts_at(
            doubts, "second-titre-missing", titration, missing[0][0], missing=", ".join(words for _, words in missing)
        )
        return None
    volumes = {field: getattr(titration, field) for field, _ in _TWO_TITRATIONS}
    negative = next((field for field, value in volumes.items() if value < 0), None)
    blank = titration.blank_mL or 0.0
    if negative is not None or blank < 0 or blank > volumes["baryta_mL"]:
        problem = "a volume or strength is below zero, or the blank above the baryta titre"
        doubts_at(doubts, "titre-unfit", titration, negative or "baryta_mL", problem=problem)
        return None
    volumes["baryta_mL"] -= blank
    nitric_mol, sulphuric_mol = acids.two_titrations_mol(**volumes)
    if nitric_mol < 0 or sulphuric_mol < -SMALLEST_ACID_MOL:
        doubts_at(
            doubts,
            "two-titrations-inconsistent",
            titration,
            "baryta_mL",
            nitric=f"{nitric_mol * 1e3:.3f}",
            sulphuric=f"{sulphuric_mol * 1e3:.3f}",
        )
        return None
    sulphuric_mol = max(0.0, sulphuric_mol)
    total_mol = nitric_mol + 2 * sulphuric_mol
    if benzoic:  # what is found beside nitric acid is the scatter of two titrations
        return Heats(nitric_mol * nitric_heat.value, 0.0, total_mol)
    if sulphuric_heat is None:
        return None
    found = 100 * sulphuric_mol * acids.SULPHUR_G_PER_MOL / mass_g
    if bench_percent is not None and abs(found - bench_percent) > max(0.15, 0.15 * bench_percent):
        texts = {"washings": f"{found:.2f}", "bench": f"{bench_percent:.2f}"}
        doubts_at(doubts, "sulphur-disagrees", titration, "baryta_mL", **texts)
    return Heats(nitric_mol * nitric_heat.value, sulphuric_mol * sulphuric_heat.value, total_mol)


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


def in_eq_per_L(concentration: float, unit: ConcentrationUnit, titrant: Titrant) -> float:
    """Return a titrant's strength in eq/L; a base of two equivalents has twice its mol/L."""
    return concentration * (titrant.equivalents_per_mole if unit is ConcentrationUnit.MOLE_PER_LITRE else 1)


def _strength(titration: TitrationRow, doubts: Doubts) -> float | None:
    """Return the titrant's strength in eq/L, checking what is needed to tell mol/L from eq/L."""
    if titration.titrant is None or titration.concentration is None or titration.concentration_unit is None:
        missing = [
            (name, field)
            for name, field, value in (
                ("the titrant", "titrant", titration.titrant),
                ("the concentration", "concentration", titration.concentration),
                ("the unit of the concentration", "concentration_unit", titration.concentration_unit),
            )
            if value is None
        ]
        doubts_at(doubts, "titrant-incomplete", titration, missing[0][1], missing=" and ".join(n for n, _ in missing))
        return None
    if titration.concentration <= 0:
        doubts_at(doubts, "titre-unfit", titration, "concentration", problem="a concentration must be above zero")
        return None
    return in_eq_per_L(titration.concentration, titration.concentration_unit, titration.titrant)


def unused(titrations: Mapping[str, TitrationRow], settings: Settings) -> list[Finding]:
    """Return a note where titres are logged that the scheme does not use."""
    scheme = settings.acid_scheme
    if scheme is None or scheme.uses_titre or not titrations:
        return []
    return [findings.make("titre-not-used", count=len(titrations), scheme=scheme)]
