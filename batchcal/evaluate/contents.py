"""What the other benches found of a sample, brought to the basis on which it is needed."""

import contextlib
import math
from collections.abc import Collection, Mapping
from typing import Any

from msgspec import Struct, field

from batchcal import findings, reference
from batchcal.evaluate.charge import EQUALITY
from batchcal.evaluate.settings import nearest
from batchcal.findings import Finding, Severity
from batchcal.formulas import bases
from batchcal.logged import Batch, FiringRow, SampleRow
from batchcal.model import Settings
from batchcal.terms import Basis

_NEEDS = {
    Basis.DRY: ("moisture_analysis",),
    Basis.AS_RECEIVED: ("moisture_analysis", "moisture_total"),
    Basis.DRY_ASH_FREE: ("moisture_analysis", "ash"),
}

_MISSING = {"moisture_analysis": "moisture-missing", "moisture_total": "total-moisture-missing", "ash": "ash-missing"}

_PLACES = {basis: place for place, basis in enumerate(Basis)}

COVERAGE = 2.0
"""Two moistures are one within so many combined standard uncertainties; common practice, no source."""


class Contents(Struct):
    """A sample's moisture, ash and sulphur, in per cent; ash and sulphur as analysed, None where not known."""

    sample: str
    row: SampleRow | None = None
    moisture_analysis: float | None = None
    moisture_total: float | None = None
    ash_ad: float | None = None
    sulphur_ad: float | None = None
    found: list[Finding] = field(default_factory=list)
    given: Mapping[str, float] = field(default_factory=dict)
    """The contents (%) of its row, each on the basis that the row names."""

    def value_on(self, basis: Basis, gross_ad_J_per_g: float) -> float | None:
        """Return a gross calorific value on another basis, or None where a content it needs is not known."""
        if basis is Basis.AS_ANALYSED:
            return gross_ad_J_per_g
        if basis is Basis.DRY:
            moisture = self.moisture_analysis
            return None if moisture is None else bases.dry_from_as_analysed(gross_ad_J_per_g, moisture)
        return self.on_every_basis(gross_ad_J_per_g)[_PLACES[basis]]

    def on_every_basis(self, gross_ad_J_per_g: float) -> tuple[float | None, ...]:
        """Return a gross calorific value on each basis, in the order of ``Basis``."""
        moisture, total, ash = self.moisture_analysis, self.moisture_total, self.ash_ad
        if moisture is None:
            return gross_ad_J_per_g, None, None, None
        return (
            gross_ad_J_per_g,
            bases.dry_from_as_analysed(gross_ad_J_per_g, moisture),
            None if total is None else bases.as_received_from_as_analysed(gross_ad_J_per_g, moisture, total),
            None if ash is None else bases.dry_ash_free_from_as_analysed(gross_ad_J_per_g, moisture, ash),
        )

    def to_dry(self, value: float, basis: Basis) -> float | None:
        """Return a content (%) given on ``basis`` on the dry basis, or None where what that needs is not known."""
        if basis is Basis.DRY:
            return value
        try:
            as_analysed = bases.to_as_analysed(value, basis, self.moisture_analysis, self.moisture_total, self.ash_ad)
        except ValueError:
            return None
        moisture = self.moisture_analysis
        return None if moisture is None else bases.dry_from_as_analysed(as_analysed, moisture)

    def on_dry(self, name: str) -> float | None:
        """Return a content of the sample on the dry basis (%), or None where it is not known."""
        if self.row is None or name not in self.given:
            return None
        basis, value = self.row.bases.get(name), self.given[name]
        if value == 0:
            return 0.0
        return None if basis is None else self.to_dry(value, basis)

    def moved(self, name: str, by: float) -> "Contents | None":
        """Return these contents with one of them larger by ``by`` %, and the ash as analysed that follows.

        None where that content is not known.
        """
        analysis, total, ash, given = self.moisture_analysis, self.moisture_total, self.ash_ad, self.given
        if name == "moisture_analysis" and analysis is not None:
            analysis += by
        elif name == "moisture_total" and total is not None:
            total += by
        elif name in given:
            given = {**given, name: given[name] + by}
        else:
            return None
        basis = None if self.row is None else self.row.bases.get("ash")
        if ash is not None and basis is not None:
            with contextlib.suppress(ValueError):  # no ash is no ash on every basis, whatever moisture is missing
                ash = bases.to_as_analysed(given["ash"], basis, analysis, total, None)
        return Contents(self.sample, self.row, analysis, total, ash, self.sulphur_ad, self.found, given)

    def add(self, code: str, column: str | None = None, **details: Any) -> None:
        """Add a finding about this sample, at a cell of its row where it has one."""
        if self.row is None:
            self.found.append(findings.make(code, sample=self.sample, **details))
        else:
            self.found.append(self.row.place.finding(code, column, sample=self.sample, **details))


def read_contents(
    batch: Batch, settings: Settings, fired: Mapping[str, FiringRow], *, sulphur: bool
) -> dict[str, Contents]:
    """Return the contents of every fired sample; ``fired`` maps a sample to the row of its first firing.

    ``sulphur`` says whether the acid scheme needs the sulphur, so that its absence is a finding.
    """
    rows: dict[str, SampleRow] = {}
    twice: dict[str, SampleRow] = {}
    for row in batch.samples:
        if row.sample in rows:
            twice[row.sample] = row
        elif row.sample:
            rows[row.sample] = row
    needed, contents = _needed(settings), {}
    for sample, firing in fired.items():
        entry = Contents(sample)
        contents[sample] = entry
        if sample in twice:
            other = rows[sample].place.row
            entry.found.append(twice[sample].place.finding("sample-listed-twice", "sample", sample=sample, other=other))
        elif sample in rows:
            entry.row = rows[sample]
            _fill(entry, rows[sample], settings, needed, sulphur=sulphur)
        elif batch.has("samples"):
            hint = nearest(sample, list(rows))
            entry.found.append(
                firing.place.finding("sample-not-listed", "sample", sample=sample, firing=firing.firing, hint=hint)
            )
        else:
            if sulphur:
                entry.add("sulphur-missing", scheme=settings.acid_scheme)
            _missing_for_bases(entry, needed)
    return contents


def unfired(batch: Batch, fired: Collection[str]) -> list[Finding]:
    """Return a note for every listed sample that was not fired."""
    return [
        row.place.finding("sample-without-firing", "sample", sample=row.sample)
        for row in batch.samples
        if row.sample and row.sample not in fired
    ]


def _fill(entry: Contents, row: SampleRow, settings: Settings, needed: Mapping[str, str], *, sulphur: bool) -> None:
    entry.given = row.contents
    entry.moisture_analysis = row.moisture_analysis
    entry.moisture_total = row.moisture_total
    _compare_moistures(entry, row, settings)
    needs_ash = Basis.DRY_ASH_FREE in settings.bases_required
    if "ash" in row.contents:
        entry.ash_ad = _as_analysed(entry, row, "ash", speak=needs_ash)
    _check_rest(entry, settings)
    if sulphur:
        _fill_sulphur(entry, row, settings)
    elif "sulphur" in row.contents:
        entry.sulphur_ad = _as_analysed(entry, row, "sulphur", speak=False)
    _missing_for_bases(entry, needed)


def _fill_sulphur(entry: Contents, row: SampleRow, settings: Settings) -> None:
    if "sulphur" in row.contents:
        entry.sulphur_ad = _as_analysed(entry, row, "sulphur", speak=True)
    elif "sulphur" not in row.unreadable:
        entry.add("sulphur-missing", "sulphur", scheme=settings.acid_scheme)


def _as_analysed(entry: Contents, row: SampleRow, name: str, *, speak: bool) -> float | None:
    """Return a content on the as analysed basis; where that cannot be done a finding says why, if ``speak``."""
    value, basis = row.contents[name], row.bases.get(name)
    if value == 0:
        return 0.0
    if basis is None:
        if speak and "basis" not in row.unreadable:
            entry.add("basis-missing", name, heading=row.place.heading(name))
        return None
    if name == "ash" and basis is Basis.DRY_ASH_FREE:
        if speak:
            entry.add("basis-missing", name, heading=row.place.heading(name))
        return None
    try:
        return bases.to_as_analysed(value, basis, entry.moisture_analysis, entry.moisture_total, entry.ash_ad)
    except ValueError:
        needed = [
            label
            for label, known in (
                ("analysis moisture", entry.moisture_analysis),
                ("total moisture", entry.moisture_total if basis is Basis.AS_RECEIVED else 0.0),
                ("ash", entry.ash_ad if basis is Basis.DRY_ASH_FREE else 0.0),
            )
            if known is None
        ]
        if speak:
            missing = f"the {' and the '.join(needed)} is missing"
            entry.add("content-basis-open", name, content=row.place.heading(name), basis=basis, missing=missing)
        return None


def _severity(settings: Settings) -> Severity | None:
    """Return None (the kind's own) where a comparison or required basis needs the moisture, else review."""
    bases_used = {settings.comparison_basis, *settings.bases_required}
    return None if bases_used & set(_NEEDS) else Severity.REVIEW


def _moisture_tolerance(settings: Settings) -> tuple[float, str]:
    """Return by how much two determinations of moisture may differ (%), and where that comes from, in words."""
    given = settings.moisture_uncertainty
    if given is not None:
        return COVERAGE * math.sqrt(2) * given.value, f"twice the combined standard uncertainty, {given.name}"
    usual = reference.constant("moisture-tolerance")
    return usual.value, usual.mark


def _compare_moistures(entry: Contents, row: SampleRow, settings: Settings) -> None:
    analysis, total = row.moisture_analysis, row.moisture_total
    if analysis is None or total is None or analysis <= total:
        return
    tolerance, whence = _moisture_tolerance(settings)
    texts = {"analysis": f"{analysis:g}", "total": f"{total:g}"}
    if analysis - total <= tolerance * (1 + EQUALITY):
        entry.add("moistures-near", "moisture_total", tolerance=f"{tolerance:.2g}", whence=whence, **texts)
    else:
        entry.add(
            "moistures-exchanged",
            "moisture_analysis",
            severity=_severity(settings),
            **texts,
        )
        entry.moisture_total = None


def _check_rest(entry: Contents, settings: Settings) -> None:
    moisture, ash = entry.moisture_analysis, entry.ash_ad
    if moisture is not None and ash is not None and moisture + ash >= 100:
        texts = {"moisture": f"{moisture:g}", "ash": f"{ash:g}"}
        entry.add("ash-and-moisture-over", "ash", severity=_severity(settings), **texts)
        entry.ash_ad = None


def _needed(settings: Settings) -> dict[str, str]:
    """Return the contents that the comparison and the required bases need, each with what it is needed for."""
    wanted = {
        basis: f"the {'comparison on the dry basis' if basis is settings.comparison_basis else f'value {basis}'}"
        for basis in (*settings.bases_required, settings.comparison_basis)
        if basis in _NEEDS
    }
    return {name: what for basis, what in wanted.items() if basis is not None for name in _NEEDS[basis]}


def _missing_for_bases(entry: Contents, needed: Mapping[str, str]) -> None:
    """Say what is missing of the contents that are needed, each once."""
    row = entry.row
    for name, code in _MISSING.items():
        if name not in needed or (row is not None and (name in row.unreadable or _is_given(row, name))):
            continue
        entry.add(code, name, what=needed[name])


def _is_given(row: SampleRow, name: str) -> bool:
    if name == "moisture_analysis":
        return row.moisture_analysis is not None
    return row.moisture_total is not None if name == "moisture_total" else name in row.contents
