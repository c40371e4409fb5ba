"""Honest days of unusual laboratories are left in peace, and the same days with a slip in them are not.

The days come from a generator that shares no code with the finders (``bad_day``).
"""

import collections
import os
import random
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor

import pytest
from bad_day import slips_bench
from bad_day.day import Day
from bad_day.truth import Truth
from bad_day.unusual import UNUSUAL
from bad_days import OF_CHARTS, OF_PAIRS, run

SEEDS = 20
SLIP_SEEDS = 8

EXPECTED = {
    "half_done": {"single-firing"},
    "one_fuel_for_days": {"check-missing"},  # one check in four days
    "rounded_differences": {"difference-rounded"},
    "nearly_dry": {"moistures-near"},
}
"""What is rightly said of a kind of day, beside pairs and charts, which have their own rates."""


def said(task: tuple[str, int]) -> tuple[str, set[tuple[str, str]]]:
    """Return what blocks and reviews there are on one day that should not be."""
    kind, seed = task
    passed = OF_PAIRS | OF_CHARTS | EXPECTED.get(kind, set())
    found = run(UNUSUAL[kind](seed)).findings
    return kind, {(f.severity.value, f.code) for f in found if f.severity != "note" and f.code not in passed}


@pytest.fixture(scope="module")
def false_alarms() -> dict[str, list[set[tuple[str, str]]]]:
    tasks = [(kind, seed) for kind in UNUSUAL for seed in range(SEEDS)]
    days = collections.defaultdict(list)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for kind, found in pool.map(said, tasks, chunksize=8):
            days[kind].append(found)
    return days


@pytest.mark.parametrize("kind", UNUSUAL)
def test_honest_days_of_an_unusual_laboratory(kind: str, false_alarms: dict[str, list[set[tuple[str, str]]]]) -> None:
    """Below 1 % of days with a false block and 5 % with a false review: none and one of 20 are let through."""
    days = false_alarms[kind]
    assert len(days) == SEEDS
    assert not [found for found in days if any(severity in {"block", "safety"} for severity, _ in found)]
    assert sum(bool(found) for found in days) <= 1, days


@pytest.mark.parametrize(("kind", "code", "times"), [
    ("rounded_differences", "difference-rounded", 2), ("nearly_dry", "moistures-near", None),
])  # fmt: skip
def test_what_is_rightly_said_is_said(kind: str, code: str, times: int | None) -> None:
    """Of mass and of rise once each, however many rows; of each sample whose moistures lie the wrong way round."""
    found = [finding for finding in run(UNUSUAL[kind](3)).findings if finding.code == code]
    assert found
    assert times is None or len(found) == times
    assert {finding.severity for finding in found} == {"review"}


Slip = Callable[[Day, random.Random], Truth]

SLIPS: dict[str, tuple[Slip, str, Iterable[str]]] = {
    "copied_replicate": (
        slips_bench.copied_replicate,
        "rows-alike",
        ("coarse_bench", "one_fuel", "one_fuel_coarse", "one_fuel_for_days", "set_start", "rich_in_nitrogen"),
    ),
    "copied_digit_altered": (
        slips_bench.copied_digit_altered,
        "rows-alike",
        ("coarse_bench", "one_fuel", "one_fuel_coarse", "one_fuel_for_days", "set_start", "rich_in_nitrogen"),
    ),
}


def caught(task: tuple[str, str, int]) -> tuple[str, str, bool, int]:
    """Return whether a slip on a day of a kind is named at its row, and how often its finding is made."""
    slip, kind, seed = task
    apply, code, _ = SLIPS[slip]
    day = UNUSUAL[kind](seed)
    truth = apply(day, random.Random(f"{slip} {seed}"))
    found = [finding for finding in run(day).findings if finding.code == code]
    return slip, kind, any(finding.row in truth.places[0].rows for finding in found), len(found)


def test_copies_are_found_in_unusual_laboratories() -> None:
    """Copies share more than chance does wherever they stand: at least 19 of 20 are found, and nothing else is said."""
    tasks = [
        (slip, kind, seed) for slip, (_, _, kinds) in SLIPS.items() for kind in kinds for seed in range(SLIP_SEEDS)
    ]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        done = list(pool.map(caught, tasks, chunksize=8))
    assert len(done) == len(tasks)
    missed = [entry for entry in done if not entry[2]]
    assert len(missed) <= 0.05 * len(done), missed
    assert sum(times for *_, times in done) <= 1.02 * len(done)


def test_a_mistyped_net_mass_beside_rounded_ones_is_still_stopped() -> None:
    """0.4 mg are rounding where masses are typed to 1 mg; 10 mg are a slip, and stop the firing alone."""
    day = UNUSUAL["rounded_differences"](5)
    row = day.sample_rows()[6]
    row["Sample mass (g)"] = round(row["Sample mass (g)"] + 0.01, 3)
    (one,) = [finding for finding in run(day).findings if finding.code == "mass-disagrees"]
    assert (one.sheet, one.row, one.severity) == ("Runs", day.place("Runs", row) + 2, "block")


@pytest.mark.parametrize("seed", [277, 309, 563, 680])
def test_nitrogen_of_the_fuel_is_no_shift(seed: int) -> None:
    """On these four of 800 days the titres would be more alike if they were moved by a row."""
    found = {finding.code for finding in run(UNUSUAL["few_and_rich_in_nitrogen"](seed)).findings}
    assert "titre-shift" not in found


def test_titres_that_slipped_beside_fuels_rich_in_nitrogen() -> None:
    """Nitrogen hides some shifts; of what is found each stands at a row that has slipped."""
    found = placed = 0
    for seed in range(SLIP_SEEDS):
        day = UNUSUAL["rich_in_nitrogen"](seed)
        truth = slips_bench.row_shift_titre(day, random.Random(seed))
        for finding in run(day).findings:
            if finding.code == "titre-shift":
                found += 1
                placed += finding.row in truth.places[0].rows
    assert found >= 1
    assert placed == found
