"""The titrations of a log with what the charge makes known of them: the acid of its sulphur, and its nitrogen."""

from collections.abc import Sequence

from msgspec import Struct

from batchcal import reference
from batchcal.evaluate.acids import in_eq_per_L
from batchcal.evaluate.charge import logged_mass
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day
from batchcal.formulas import acids, statistics
from batchcal.logged import TitrationRow
from batchcal.terms import Purpose

SMALLEST_SD_MMOL = 0.05
"""Robust standard deviation of nitric acid that is taken at the least; common practice, no source."""

NITROGEN_G_PER_MOL = reference.constant("atomic-mass-nitrogen").value

_WITHOUT_SULPHUR = frozenset({Purpose.CALIBRATION, Purpose.CHECK, Purpose.AID})


class Titre(Struct, frozen=True):
    """One titration with what it found: volume and blank in mL, strength in eq/L, amounts in mmol of equivalents."""

    row: TitrationRow
    firing: Firing
    sample: str
    """The sample, or "" for benzoic acid."""
    volume_mL: float
    blank_mL: float
    strength: float
    acid_mmol: float
    """All acid titrated."""
    sulphur_mmol: float
    """Acid that the sulphur of the charge gives: twice its amount."""
    nitric_mmol: float
    """What is left for nitric acid."""
    nitrogen_mmol: float | None
    """Nitrogen of the charge; None where it is not on record."""

    def nitric_with(self, volume_mL: float) -> float:
        """Return what another volume would leave for nitric acid (mmol)."""
        return _acid_mmol(volume_mL, self.blank_mL, self.strength) - self.sulphur_mmol


def _acid_mmol(volume_mL: float, blank_mL: float, strength: float) -> float:
    return 1e3 * acids.acid_amount_mol(volume_mL, blank_mL, strength)


def titres_of(day: Day) -> list[Titre]:
    """Return the titrations of which all is known, in the order of the sheet."""
    single: dict[str, Firing | None] = {}
    for firing in day.firings:
        number = firing.row.firing
        single[number] = None if number in single else firing
    found = []
    for row in day.batch.titrations:
        of = single.get(row.firing) if row.firing else None
        titre = None if of is None else _titre(day, row, of)
        if titre is not None:
            found.append(titre)
    return found


def _titre(day: Day, row: TitrationRow, firing: Firing) -> Titre | None:
    used = row if firing.titration is None else firing.titration  # with the strength found on standardisation
    volume, charged = row.titre_read_mL, _charged(day, firing)
    if volume is None or charged is None or used.place != row.place:
        return None
    if used.titrant is None or used.concentration is None or used.concentration_unit is None:
        return None
    strength = in_eq_per_L(used.concentration, used.concentration_unit, used.titrant)
    if strength <= 0:
        return None
    sample = firing.row.sample if firing.purpose is Purpose.SAMPLE else ""
    blank, (sulphur, nitrogen) = row.blank_mL or 0.0, charged
    acid = _acid_mmol(volume, blank, strength)
    return Titre(row, firing, sample, volume, blank, strength, acid, sulphur, acid - sulphur, nitrogen)


def _charged(day: Day, firing: Firing) -> tuple[float, float | None] | None:
    """Return the acid of the sulphur of a charge and its nitrogen (mmol); None where the sulphur is not known."""
    if firing.purpose in _WITHOUT_SULPHUR:
        return 0.0, None
    entry = day.contents.get(firing.row.sample) if firing.purpose is Purpose.SAMPLE else None
    mass = firing.mass_g if firing.mass_g is not None else logged_mass(firing.row)
    if entry is None or entry.sulphur_ad is None or mass is None or mass <= 0:
        return None
    sulphur_mmol = 2e3 * acids.sulphur_amount_mol(entry.sulphur_ad, mass)
    nitrogen = entry.on_dry("nitrogen")
    if nitrogen is None:
        return sulphur_mmol, None
    dry_mass = mass * (1.0 - (entry.moisture_analysis or 0.0) / 100.0)
    return sulphur_mmol, 10.0 * dry_mass * nitrogen / NITROGEN_G_PER_MOL


def spread(values: Sequence[float]) -> tuple[float, float]:
    """Return the median and a robust standard deviation (1.4826 times the median deviation), not below the least."""
    middle = statistics.median(values)
    return middle, max(SMALLEST_SD_MMOL, 1.4826 * statistics.median([abs(value - middle) for value in values]))
