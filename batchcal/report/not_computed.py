"""What is known of a firing that was not computed: what was read, how far that goes, and what each step waits for.

No value is made here. The differences of two weighings or temperatures are shown where both stand without a doubt,
because the bench can hold them against its paper; nothing further is worked out from them.
"""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from batchcal.findings import Finding
from batchcal.logged import FiringRow, Place, TitrationRow, aid_fields
from batchcal.model import Evaluation, FiringResult
from batchcal.terms import AcidScheme, FiringState, Purpose

Said = tuple[str, str, str]
"""Label, text and, in brackets, where it stands."""

_FIGURES = (
    ("crucible_g", ".4f", "g"), ("crucible_and_sample_g", ".4f", "g"), ("mass_g", ".4f", "g"),
    ("wire_fitted_cm", "g", "cm"), ("wire_left_cm", "g", "cm"), ("wire_mass_g", ".4g", "g"), ("thread_g", ".4g", "g"),
    ("capsule_mass_g", ".4f", "g"), ("water_mL", "g", "mL"), ("oxygen_pressure_MPa", "g", "MPa"),
    ("initial_C", ".4f", "°C"), ("final_C", ".4f", "°C"), ("rise_K", ".4f", "K"), ("heat_exchange_K", ".4f", "K"),
)  # fmt: skip
_TITRES = (
    ("concentration", "g", ""), ("burette_start_mL", ".2f", "mL"), ("burette_end_mL", ".2f", "mL"),
    ("titre_mL", ".2f", "mL"), ("blank_mL", ".2f", "mL"), ("baryta_mL", ".2f", "mL"), ("carbonate_mL", ".2f", "mL"),
    ("acid_mL", ".2f", "mL"),
)  # fmt: skip

_MASS = ("mass_g", ("crucible_g", "crucible_and_sample_g"), "g")
_RISE = ("rise_K", ("initial_C", "final_C"), "K")
"""The field that may be typed, the two of which it is the difference, and the unit."""


class _Doubts(Struct, frozen=True):
    """The cells of a firing in which something stands that is not taken, and what was found at them."""

    found: Sequence[Finding]

    def at(self, row: FiringRow | TitrationRow, *fields: str) -> list[str]:
        """Return the cells of these fields that are in doubt; a blank one is not, it is missing."""
        doubted = {(finding.sheet, finding.cell) for finding in self.found}
        return [
            row.place.where(field)
            for field in fields
            if field in row.unreadable
            or ((row.place.sheet, row.place.cell(field)) in doubted and getattr(row, field) not in (None, ""))
        ]


def is_without_numbers(firing: FiringResult) -> bool:
    """Whether a firing came to no result: it was not computed, is excluded, or was set aside unread."""
    results = (firing.gross_ad_J_per_g, firing.heat_capacity_J_per_K)
    if firing.state is FiringState.SET_ASIDE:
        return results == (None, None)
    return firing.state in (FiringState.NOT_COMPUTED, FiringState.EXCLUDED)


def not_computed(evaluation: Evaluation, firing: FiringResult) -> Iterator[Said]:
    """Yield what stopped a firing and what to do, what was read of it, and how far that goes."""
    stops = [finding for finding in firing.findings if finding.severity.stops]
    for finding in stops or list(firing.findings):
        if finding.message != firing.reason and finding.severity.stops:
            yield "also", finding.message, ""
        yield "what to do", finding.remedy, ""
    yield from _read(evaluation, firing)
    if firing.state is not FiringState.EXCLUDED:
        yield from _how_far(evaluation, firing, _Doubts(stops))
    yield "value", "none, until that is settled" if firing.state is FiringState.NOT_COMPUTED else "none", ""


def _titration(evaluation: Evaluation, firing: FiringResult) -> TitrationRow | None:
    rows = [row for row in evaluation.batch.titrations if firing.row.firing and row.firing == firing.row.firing]
    return rows[0] if len(rows) == 1 else None


def _read(evaluation: Evaluation, firing: FiringResult) -> Iterator[Said]:
    row, titration = firing.row, _titration(evaluation, firing)
    lines = [*_figures(row, _FIGURES)]
    for aid in row.aids:
        name, mass = aid_fields(aid.number)
        text = "no mass" if aid.mass_g is None else f"{aid.mass_g:.4f} g"
        lines.append((f"{aid.name or 'an aid without a name'}: {text}", row.place.where(mass if aid.mass_g else name)))
    if titration is not None:
        lines += _figures(titration, _TITRES)
    readings = [reading for reading in evaluation.batch.readings if row.firing and reading.firing == row.firing]
    if readings:
        first, last = readings[0].place, readings[-1].place
        lines.append((f"{len(readings)} readings", f"{first.where('temperature_C')} to {last.where('temperature_C')}"))
    for position, (text, where) in enumerate(lines or [("no weighing, no temperature and no titre", "")]):
        yield "" if position else "what was read", text, where


def _figures(row: FiringRow | TitrationRow, figures: Sequence[tuple[str, str, str]]) -> Iterator[tuple[str, str]]:
    """Yield each figure of a row with its cell, and each that could not be read."""
    for name, form, unit in figures:
        value = getattr(row, name)
        if value is not None or name in row.unreadable:
            text = "not readable" if value is None else f"{value:{form}} {unit}".rstrip()
            yield f"{_name(row.place, name)}: {text}", row.place.where(name)


def _name(place: Place, field: str) -> str:
    """Return the heading of a field without its unit: figures are shown in the units that are reckoned in."""
    return place.heading(field).partition(" (")[0]


def _how_far(evaluation: Evaluation, firing: FiringResult, doubts: _Doubts) -> Iterator[Said]:
    row = firing.row
    label = "how far it goes"
    for step, text in (
        ("mass", "" if firing.mass_g is not None else _difference(firing, doubts, *_MASS)),
        ("rise", _rise(evaluation, firing, doubts)),
        ("ignition", _ignition(evaluation, firing, doubts)),
        ("acids", _acids(evaluation, firing, doubts)),
        ("heat capacity", _heat_capacity(firing)),
    ):
        if text:
            yield label, f"{step}: {text}", ""
            label = ""
    others = doubts.at(row, "date", "purpose", "sample", "series", "calorimeter", "bomb", "firing")
    if others:
        yield label, f"which firing it is: in doubt at {', '.join(others)}", ""


def _difference(firing: FiringResult, doubts: _Doubts, typed: str, pair: tuple[str, str], unit: str) -> str:
    row, place = firing.row, firing.row.place
    doubted = doubts.at(row, typed, *pair)
    if doubted:
        return f"in doubt at {', '.join(doubted)}"
    value, first, second = getattr(row, typed), getattr(row, pair[0]), getattr(row, pair[1])
    if value is not None:
        return f"{value:.4f} {unit}, as typed"
    if first is not None and second is not None:
        return f"{second:.4f} - {first:.4f} = {second - first:.4f} {unit}"
    blank = [name for name in pair if getattr(row, name) is None]
    return f"needs {' and '.join(_name(place, name) for name in blank)}, or {_name(place, typed)}"


def _rise(evaluation: Evaluation, firing: FiringResult, doubts: _Doubts) -> str:
    row = firing.row
    if firing.rise_K is not None:
        return ""
    if any(row.firing and reading.firing == row.firing for reading in evaluation.batch.readings):
        return "from the readings, not worked out"
    return _difference(firing, doubts, *_RISE)


def _ignition(evaluation: Evaluation, firing: FiringResult, doubts: _Doubts) -> str:
    settings, row = evaluation.settings, firing.row
    if firing.ignition_J is not None:
        return ""
    if settings.fixed_ignition_heat is not None:
        return f"{settings.fixed_ignition_heat.value:.2f} J, the same for every firing"
    wire = ("wire_fitted_cm", "wire_left_cm", "wire_mass_g", "thread_g")
    doubted = doubts.at(row, *wire)
    if doubted:
        return f"in doubt at {', '.join(doubted)}"
    if settings.wire_heat is None and settings.thread_heat is None:
        return "needs Wire heat, Thread heat or Fixed ignition heat on Setup"
    if all(getattr(row, name) is None for name in wire):
        return "needs the wire or the thread on the row"
    return "its figures are there"


def _acids(evaluation: Evaluation, firing: FiringResult, doubts: _Doubts) -> str:
    scheme = evaluation.settings.acid_scheme
    if firing.nitric_J is not None:
        return ""
    if scheme is None:
        return "needs Acid scheme on Setup"
    if scheme is AcidScheme.NONE:
        return "no correction is made"
    waits = []
    titration = _titration(evaluation, firing)
    if scheme.uses_titre:
        if titration is None:
            waits.append(f"a titration of firing {firing.name}")
        else:
            names = tuple(name for name, _, _ in _TITRES)
            waits += doubts.at(titration, *names)
    sample = next((one for one in evaluation.samples if one.sample == firing.row.sample), None)
    if scheme.uses_bench_sulphur and firing.purpose is Purpose.SAMPLE:
        sulphur = None if sample is None or sample.row is None else sample.row.contents.get("sulphur")
        if sulphur is None:
            waits.append(f"the sulphur of sample {firing.row.sample or 'that is not named'}")
    return f"needs {' and '.join(waits)}" if waits else "their figures are there"


def _heat_capacity(firing: FiringResult) -> str:
    if firing.purpose is Purpose.CALIBRATION or firing.heat_capacity_J_per_K is not None:
        return ""
    return (
        "looked up once the row is in order"
        if firing.series is None
        else f"of {firing.series.date}, {firing.series.state}"
    )
