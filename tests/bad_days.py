"""How many of the seeded slips are found, and what is said on honest days; the generator shares nothing with the tool.

    python tests/bad_days.py [seeds a kind] [honest days]

prints the two tables in Markdown; ``test_bad_days.py`` holds them to what the tool promises.
"""

import collections
import itertools
import os
import sys
import tempfile
from collections.abc import Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from bad_day.honest import honest_day
from bad_day.slips import SLIPS, bad_day
from bad_day.write import write

from batchcal.evaluate import evaluate
from batchcal.model import Evaluation
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

NAMES: Mapping[str, tuple[str, ...]] = {
    "calories_in_own_column": ("own-calorie",),
    "calories_in_own_row": ("own-calorie",),
    "calories_in_setup": ("setup-number-unfit", "heat-unusual"),
    "kilojoules_in_own_rows": ("own-calorie",),
    "thousand_in_setup": ("setup-number-unfit", "heat-unusual"),
    "calorie_definition": (
        "calorie-definition-suspect",
        "own-calorie",
        "benzoic-value-suspect",
        "benzoic-basis-suspect",
    ),
    "stale_heat_capacity": ("own-heat-capacity-other",),
    "lost_anchor": ("own-anchor-lost",),
    "formula_overtyped": ("formula-overtyped",),
    "odd_formula": ("formula-odd", "own-result-differs"),
    "acid_forgotten": ("own-acid-forgotten",),
    "titres_missing": ("titre-missing",),
    "acid_twice": ("own-acid-twice",),
    "wrong_sulphur_factor": ("own-sulphur-factor",),
    "sulphur_basis": ("own-sulphur-basis",),
    "wrong_basis_printed": ("own-basis-wrong",),
    "moistures_swapped": ("moistures-exchanged",),
    "moisture_of_another_day": ("moisture-other-day",),
    "copied_replicate": ("rows-alike",),
    "copied_digit_altered": ("rows-alike",),
    "masses_exchanged": ("masses-exchanged",),
    "row_shift_mass": ("row-shift",),
    "row_shift_rise": ("row-shift",),
    "row_shift_titre": ("titre-shift",),
    "partial_sort": ("rows-mixed",),
    "transposed_digit": ("digits-exchanged",),
    "decimal_slip": ("decimal-slip",),
    "decimal_comma": ("decimal-comma",),
    "wrong_crucible_tare": ("tare-of-another-crucible", "tare-strange"),
    "net_disagrees": ("mass-disagrees",),
    "sample_number_as_date": ("identifier-as-date",),
    "leading_zeros_lost": ("sample-not-listed",),
    "typo_in_sample_number": ("sample-not-listed", "numbers-nearly-alike"),
    "one_number_for_two_samples": ("two-groups", "replicate-twice"),
    "bomb_mixed": ("apparatus-exchanged", "bomb-out-of-turn"),
    "part_exchanged_between_bombs": ("check-out",),
    "rounded_before_comparing": ("own-verdict-rounded",),
    "outlier_averaged": ("own-mean-of-failing-set",),
    "outlier_dropped": ("own-mean-leaves-out",),
    "outlier_taken_out": ("firing-number-gap",),
    "struck_row_counted": ("row-hidden-or-struck",),
    "hidden_row_counted": ("row-hidden-or-struck",),
    "mean_row": ("mean-row-skipped",),
    "old_row_left": ("row-left-over",),
    "result_without_inputs": ("result-without-inputs",),
    "formula_not_calculated": ("formula-without-value",),
    "error_cell": ("error-cell",),
    "start_copied": ("start-copied",),
    "wire_left_longer": ("wire-left-more",),
    "wire_in_millimetres": ("decimal-slip", "wire-left-more"),
    "aid_forgotten": ("aid-forgotten", "aid-in-one-only"),
    "aid_entered_as_sample": ("aid-in-one-only",),
    "capsule_not_subtracted": ("capsule-not-subtracted",),
    "titrant_of_old_bottle": ("titrant-differs",),
    "concentration_doubled_or_halved": ("concentration-slip",),
    "nitric_negative": ("nitric-negative",),
    "benzoic_of_previous_lot": ("benzoic-lot-differs", "benzoic-value-suspect", "own-benzoic-value"),
    "hydrogen_with_moisture": ("hydrogen-holds-moisture",),
    "hydrogen_default": ("hydrogen-same",),
    "sum_over_hundred": ("sum-over-hundred", "sum-off"),
    "impossible_timing": ("time-impossible",),
    "day_and_month_swapped": ("date-swapped",),
    "reviewer_is_analyst": ("reviewer-is-analyst",),
}
"""The findings that name each kind of slip."""

OF_PAIRS = frozenset({"pair-apart", "three-apart", "four-apart", "masses-exchanged", "apparatus-exchanged",
                      "digits-exchanged", "aid-forgotten", "tare-of-another-crucible", "capsule-not-subtracted",
                      "start-copied", "aid-in-one-only"})  # fmt: skip
"""What is said of pairs that disagree, which one honest pair in twenty does."""

OF_NUMBERS = frozenset({"two-groups", "replicate-twice"})
"""Findings of two samples under one number: which of the two groups has it wrongly cannot be told."""

OF_CHARTS = frozenset({"series-trend-with-rise", "series-trend-with-order", "series-outlier", "check-warning",
                       "check-run-rule", "check-drift", "check-out", "look-back", "check-repeated"})  # fmt: skip
"""Rules with a false-alarm rate of their own, which the tests of these rules hold to its theory."""

WHOLE = frozenset(
    {"firing-number-gap", "rows-mixed", "calorie-definition-suspect", "series-steps-alike", "benzoic-lot-differs"}
)
"""Findings about a sheet, a column or a row that is gone, which have no row of their own."""


@dataclass(frozen=True)
class Outcome:
    """What came of one slip: whether a finding of the right kind was made, on the sheet and in a row of the slip."""

    name: str
    seed: int
    kind: bool
    place: bool
    codes: tuple[str, ...]


def run(day: object) -> Evaluation:
    """Evaluate a generated day through a real file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "day.xlsx"
        write(day, path)  # type: ignore[arg-type]
        return evaluate(read_workbook(open_source(path)))


def outcome(task: tuple[str, int]) -> Outcome:
    """Return what came of a slip; a pair may be named by either of its firings, which cannot be told apart."""
    name, seed = task
    day, truth = bad_day(name, seed)
    evaluation = run(day)
    named = [finding for finding in evaluation.findings if finding.code in NAMES[name]]
    rows = set(truth.rows)
    for sample in evaluation.samples:
        pair = {firing.row.place.row for firing in sample.firings}
        if truth.sheet == "Runs" and pair & set(truth.rows):
            rows |= pair if any(finding.code in OF_PAIRS | OF_NUMBERS for finding in named) else set()
    placed = [
        finding
        for finding in named
        if finding.code in WHOLE or (finding.sheet == truth.sheet and (finding.row in rows or finding.row is None))
    ]
    codes = sorted({finding.code for finding in evaluation.findings if finding.severity != "note"})
    return Outcome(name, seed, bool(named), bool(placed), tuple(codes))


def honest(seed: int) -> tuple[int, list[tuple[str, str]]]:
    """Return what is said of an honest day, as pairs of severity and code."""
    return seed, [(finding.severity.value, finding.code) for finding in run(honest_day(seed)).findings]


def outcomes(seeds: int, names: Iterable[str] = tuple(SLIPS)) -> dict[str, list[Outcome]]:
    """Return the outcomes of every kind over so many seeds."""
    tasks = [(name, seed) for name in names for seed in range(seeds)]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        done = list(pool.map(outcome, tasks, chunksize=8))
    return {name: list(group) for name, group in itertools.groupby(done, key=lambda entry: entry.name)}


def honest_days(count: int, first: int = 0) -> list[list[tuple[str, str]]]:
    """Return what is said of each of so many honest days."""
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        return [found for _, found in pool.map(honest, range(first, first + count), chunksize=8)]


def apart(days: Iterable[list[tuple[str, str]]]) -> dict[str, int]:
    """Return on how many days there is a finding of each sort: blocks and safety, reviews, and those counted apart."""
    counts: dict[str, int] = collections.Counter()
    for found in days:
        of_pairs = {code for _, code in found} & OF_PAIRS
        of_charts = {code for _, code in found} & OF_CHARTS
        other = [(severity, code) for severity, code in found if code not in OF_PAIRS | OF_CHARTS]
        counts["pairs"] += bool(of_pairs)
        counts["charts"] += bool(of_charts)
        counts["block or safety"] += any(severity in {"block", "safety"} for severity, _ in other)
        counts["review"] += any(severity == "review" for severity, _ in other)
    return dict(counts)


def main() -> None:
    """Print both tables."""
    seeds, days = (int(text) for text in (*sys.argv[1:3], *("20", "1000")[len(sys.argv) - 1 :]))
    print(f"| no. | slip | confidence | right kind of {seeds} | and place | otherwise |\n|---|---|---|---|---|---|")
    for name, done in outcomes(seeds).items():
        truth = bad_day(name, 0)[1]
        missed = collections.Counter(code for entry in done if not entry.place for code in entry.codes)
        words = ", ".join(f"{code} {count}" for code, count in missed.most_common(3))
        kind, place = sum(entry.kind for entry in done), sum(entry.place for entry in done)
        print(f"| {truth.number} | {name} | {truth.confidence} | {kind} | {place} | {words} |", flush=True)
    found = honest_days(days)
    print(f"\n| honest days of {days} with | days |\n|---|---|")
    for sort, count in apart(found).items():
        print(f"| {sort} | {count} |")
    for (severity, code), count in collections.Counter(entry for day in found for entry in set(day)).most_common():
        print(f"| {severity} {code} | {count} |")


if __name__ == "__main__":
    main()
