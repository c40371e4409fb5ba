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


class Titre(Struct, frozen=True):
    """One titration: volume and blank (mL), strength (eq/L), and the acid that the sulphur of the charge gives."""

    row: TitrationRow
    firing: Firing
    volume_mL: float
    blank_mL: float
    strength: float
    sulphur_mmol: float
    """Acid from the sulphur: twice its amount."""
    nitrogen_mmol: float | None
    """Nitrogen of the charge; None where it is not on record."""

    def nitric_mmol(self, volume_mL: float) -> float:
        """Return what a volume leaves for nitric acid."""
        return 1e3 * acids.acid_amount_mol(volume_mL, self.blank_mL, self.strength) - self.sulphur_mmol

    @property
    def acid_mmol(self) -> float:
        """All acid titrated."""
        return 1e3 * acids.acid_amount_mol(self.volume_mL, self.blank_mL, self.strength)

    @property
    def sample(self) -> str:
        """The sample, or "" for benzoic acid."""
        return self.firing.row.sample if self.firing.purpose is Purpose.SAMPLE else ""


def titres_of(day: Day) -> list[Titre]:
    """Return the titrations of which all is known, in the order of the sheet."""
    by_number: dict[str, list[Firing]] = {}
    for firing in day.firings:
        by_number.setdefault(firing.row.firing, []).append(firing)
    found = []
    for row in day.batch.titrations:
        members = by_number.get(row.firing, []) if row.firing else []
        titre = _titre(day, row, members[0]) if len(members) == 1 else None
        if titre is not None:
            found.append(titre)
    return found


def _titre(day: Day, row: TitrationRow, firing: Firing) -> Titre | None:
    used = row if firing.titration is None else firing.titration  # with the strength found on standardisation
    volume, sulphur = row.titre_read_mL, _sulphur_mmol(day, firing)
    if volume is None or sulphur is None or used.place != row.place:
        return None
    if used.titrant is None or used.concentration is None or used.concentration_unit is None:
        return None
    strength = in_eq_per_L(used.concentration, used.concentration_unit, used.titrant)
    if strength <= 0:
        return None
    return Titre(row, firing, volume, row.blank_mL or 0.0, strength, sulphur, _nitrogen_mmol(day, firing))


def _sulphur_mmol(day: Day, firing: Firing) -> float | None:
    if firing.purpose in (Purpose.CALIBRATION, Purpose.CHECK, Purpose.AID):
        return 0.0
    entry = day.contents.get(firing.row.sample) if firing.purpose is Purpose.SAMPLE else None
    mass = firing.mass_g if firing.mass_g is not None else logged_mass(firing.row)
    if entry is None or entry.sulphur_ad is None or mass is None or mass <= 0:
        return None
    return 2e3 * acids.sulphur_amount_mol(entry.sulphur_ad, mass)


def _nitrogen_mmol(day: Day, firing: Firing) -> float | None:
    entry = day.contents.get(firing.row.sample) if firing.purpose is Purpose.SAMPLE else None
    dry = None if entry is None else entry.on_dry("nitrogen")
    mass = firing.mass_g if firing.mass_g is not None else logged_mass(firing.row)
    if entry is None or dry is None or mass is None:
        return None
    dry_mass = mass * (1.0 - (entry.moisture_analysis or 0.0) / 100.0)
    return 10.0 * dry_mass * dry / reference.constant("atomic-mass-nitrogen").value


def spread(values: Sequence[float]) -> tuple[float, float]:
    """Return the median and a robust standard deviation (1.4826 times the median deviation), not below the least."""
    middle = statistics.median(values)
    return middle, max(SMALLEST_SD_MMOL, 1.4826 * statistics.median([abs(value - middle) for value in values]))
