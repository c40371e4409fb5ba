"""Rows that are no firings of the day, moistures of another day, reasons that are none, and who signs."""

import datetime as dt
import re
import unicodedata
from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.series import expiry
from batchcal.evaluate.slips.day import Day, Slip, folded
from batchcal.evaluate.slips.timing import DAY
from batchcal.evaluate.wording import habit, listed, span
from batchcal.findings import Finding, Severity
from batchcal.formulas import statistics
from batchcal.logged import Batch, FiringRow, SampleRow
from batchcal.model import Quantity
from batchcal.terms import Basis, FiringState, Outcome, Purpose

MEANS = re.compile(
    r"(mean|average|avge?|mittel|mittelw|mittelwert|durchschnitt|moyenne|moy|media|média|promedio|gemiddelde?|średnia|"
    r"průměr|priemer|medie|srednja|prosjek|povprečje|átlag|среднее|среднє|средно|ortalama|keskiarvo|medel|medelvärde|"
    r"gennemsnit|gjennomsnitt|middelverdi|keskmine|vidurkis|vidējais|rata|平均|平均值|平均値|평균|sd|rsd|stdev|"
    r"standardabweichung)"
)
"""Words that label a row of means, or of spreads below it, in the languages of the trade."""

_INPUTS = ("mass_g", "crucible_g", "crucible_and_sample_g", "rise_K", "initial_C", "final_C")

MOISTURE_GAP = Quantity("Moisture gap limit", 1.0, "days", "", "common practice, no source", "1 day")
"""Allowed between moisture and firing where Setup gives nothing."""

MOISTURE_STEP = 0.5
"""Change of moisture in % of mass whose worth is stated."""

_DISAGREES = re.compile(
    r"disagree\w*|differ\w*|deviat\w*|outli\w+|outlying|(too|very|rather|much) (high|low|big|small|large|far)|high|low|"
    r"higher|lower|apart|far (off|away)|does ?n.?t (fit|match|agree)|did ?n.?t (fit|match|agree)|"
    r"not? (fit|match|agree)\w*|no agreement|out of (line|limit|limits|range|tolerance|repeatability)|"
    r"over (the )?limit|repeatability|bad pair|scatter\w*|ausrei(ß|ss)er|weicht ab|abweich\w*|zu (hoch|niedrig|tief)|"
    r"écart\w*|aberrant\w*|trop (haut\w*|élevé\w*|bas\w*|faible\w*)|discrepan\w*|demasiado (alto|bajo)"
)
_FILLER = re.compile(
    r"(an?|and|the|its?|is|was|were|be|as|by|with|from|of|on|to|for|in|at|than|that|this|results?|values?|firing|run|"
    r"test|number|no|[abcdr]|pair|replicates?|duplicates?|others?|first|second|one|two|mean|average|limit|[jg]|kj|mj|"
    r"mg|k?cal|kg|btu|lb|too|very|so|because|between|clearly|wert|ergebnis|der|die|das|von|zu|vom|ist|résultat|la|le|"
    r"du|de|valor|el)"
)
"""Words beside which a reason still says nothing but disagreement."""


def without_means(batch: Batch) -> tuple[Batch, list[Finding]]:
    """Return the batch without rows that are labelled as means or spreads, and a note for each.

    A label is a word of :data:`MEANS` under Firing no. or Replicate, or anywhere in a row without weighings and
    temperatures. Doubtful cells of such a row take no part in the computation.
    """
    kept, notes, labels = [], [], set()
    for row in batch.firings:
        label = _label(row)
        if not label:
            kept.append(row)
        else:
            labels.add((row.place.sheet, row.place.row))
            notes.append(row.place.finding("mean-row-skipped", "firing", label=label))
    if not notes:
        return batch, []
    lowered = tuple(
        replace(finding, severity=Severity.REVIEW)
        if finding.severity.stops and finding.sheet and finding.row and (finding.sheet, finding.row) in labels
        else finding
        for finding in batch.findings
    )
    return replace(batch, firings=tuple(kept), findings=lowered), notes


def _label(row: FiringRow) -> str:
    texts = [row.firing, row.replicate]
    if not _has_inputs(row):
        texts += [row.sample, row.series, row.remark]
    return next((text for text in texts if _is_mean(text)), "")


def _is_mean(text: str) -> bool:
    return not (text.isascii() and text.isdigit()) and _begins_with_mean(text)  # most are numbers


@lru_cache(maxsize=256)  # letters of replicates come again and again
def _begins_with_mean(text: str) -> bool:
    words = re.findall(r"[^\W\d_]+", unicodedata.normalize("NFKC", text).casefold())
    return bool(words) and MEANS.fullmatch(words[0]) is not None


def _has_inputs(row: FiringRow) -> bool:
    figures = (row.mass_g, row.crucible_g, row.crucible_and_sample_g, row.rise_K, row.initial_C, row.final_C)
    return figures.count(None) < len(figures) or not row.unreadable.isdisjoint(_INPUTS)


def without_inputs(firings: Sequence[Firing]) -> list[Finding]:
    """Stop rows with results of the lab's own sheet and neither weighings nor temperatures."""
    found = []
    for firing in firings:
        row = firing.row
        if row.own and not _has_inputs(row) and not firing.left_out:
            at = next(iter(row.own))
            finding = row.place.finding("result-without-inputs", at, firing=row.firing, sample=row.sample)
            firing.stop(finding)
            found.append(finding)
    return found


def find(day: Day) -> Iterator[Slip]:
    """Yield rows left over, moistures of another day, reasons that are none, and a reviewer who is the analyst."""
    yield from _left_over(day)
    yield from _moistures(day)
    yield from _set_aside(day)
    yield from _reviewer(day)


def _left_over(day: Day) -> Iterator[Slip]:
    batch, runs = day.settings.batch_date, day.batch.tables["runs"].sheet
    members = [f for f in day.firings if f.row.place.sheet == runs and f.date is not None]
    if batch is None or 2 * sum(firing.date == batch for firing in members) <= len(members):
        return
    for firing in members:
        if firing.date is None or firing.date >= batch - DAY or firing.state is FiringState.EXCLUDED:
            continue
        if firing.purpose in (Purpose.CALIBRATION, Purpose.AID):  # a series and an aid are fired over several days
            continue
        row = firing.row
        finding = row.place.finding(
            "row-left-over", "date", firing=row.firing, sample=row.sample, date=firing.date, batch=batch
        )
        yield Slip(finding, (firing,))


class _Aged(Struct, frozen=True):
    """A sample whose analysis moisture and firing lie too many days apart."""

    entry: Contents
    row: SampleRow
    found_on: dt.date
    fired: dt.date
    worth_J_per_g: float | None
    """What more moisture makes in the dry value."""


def _moistures(day: Day) -> Iterator[Slip]:
    """Yield samples with a moisture of another day, once for all where it is a habit."""
    aged = [one for sample in day.grouped if (one := _aged(day, sample)) is not None]
    given = day.settings.moisture_gap_limit
    limit = MOISTURE_GAP if given is None else given
    for members in folded(aged):
        last, names = members[-1], [one.entry.sample for one in members]
        if len(members) == 1:
            what = f"sample {names[0]}: analysis moisture of {last.found_on}, fired on {last.fired}"
        else:
            days = span([float(abs((one.fired - one.found_on).days)) for one in members], ".0f")
            what = f"{habit(names, 'sample')}: analysis moisture and firing are {days} days apart"
        worths = [one.worth_J_per_g for one in members if one.worth_J_per_g is not None]
        worth = f" {MOISTURE_STEP} % more moisture is {span(worths, '.0f')} J/g in the dry value;" if worths else ""
        finding = last.row.place.finding(
            "moisture-other-day", "moisture_date", sample=names[0] if len(names) == 1 else None, what=what, worth=worth,
            limit=limit.text + (f" ({limit.mark})" if given is None else ""),
        )  # fmt: skip
        yield Slip(finding, samples=tuple(names))


def _aged(day: Day, sample: str) -> _Aged | None:
    entry = day.contents.get(sample)
    if entry is None or entry.row is None or entry.row.moisture_date is None or entry.moisture_analysis is None:
        return None
    found_on = entry.row.moisture_date
    dates = [f.date for f in day.grouped[sample] if f.date is not None and f.state is not FiringState.EXCLUDED]
    fired = max(dates, key=lambda date: abs(date - found_on), default=found_on)
    last = expiry(min(fired, found_on), day.settings.moisture_gap_limit or MOISTURE_GAP)
    if last is None or max(fired, found_on) <= last:
        return None
    values = [f.gross_ad_J_per_g for f in day.counted(sample) if f.gross_ad_J_per_g is not None]
    worth = None
    if values:
        mean = statistics.mean(values)
        moister = entry.moved("moisture_analysis", MOISTURE_STEP) or entry
        dry, moved = entry.value_on(Basis.DRY, mean), moister.value_on(Basis.DRY, mean)
        worth = None if dry is None or moved is None else moved - dry
    return _Aged(entry, entry.row, found_on, fired, worth)


def _set_aside(day: Day) -> Iterator[Slip]:
    for firing in day.firings:
        row = firing.row
        found = firing.heat_capacity_J_per_K if firing.purpose is Purpose.CALIBRATION else firing.gross_ad_J_per_g
        if firing.state is not FiringState.SET_ASIDE or row.outcome not in (None, Outcome.GOOD) or found is None:
            continue
        if only_disagreement(row.reason):
            finding = row.place.finding(
                "set-aside-for-disagreement", "reason", firing=row.firing, sample=row.sample, why=row.reason
            )
            yield Slip(finding, (firing,), (row.sample,) if row.sample else ())


def only_disagreement(reason: str) -> bool:
    """Whether a reason says that a result disagreed, and nothing else."""
    text = reason.casefold()
    rest, count = _DISAGREES.subn(" ", text)
    return count > 0 and all(_FILLER.fullmatch(word) for word in re.findall(r"[^\W\d_]+", rest))


def _reviewer(day: Day) -> Iterator[Slip]:
    settings, entry = day.settings, day.settings.entries.get("reviewer")
    name = settings.reviewer.casefold()
    if entry is None or not name:
        return
    fired = [f.row.firing for f in day.firings if f.row.analyst.casefold() == name]
    if name != settings.analyst.casefold() and not fired:
        return
    of = "" if name == settings.analyst.casefold() else f" of firing {listed(fired)}"
    yield Slip(entry.place.finding("reviewer-is-analyst", "value", name=settings.reviewer, firings=of))
