"""Overrides of a block: only by a named reviewer who did not make the firings, with a reason, and always printed."""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, plain_log, run, sample

from batchcal.terms import Basis, Decision


def alike() -> Log:
    """Two firings that share mass and rise, which holds the sample."""
    log = plain_log()
    for number, letter in ((1, "A"), (2, "B")):
        log.add("Runs", firing_no=number, sample_no="S1", replicate=letter, sample_mass=1.0012, temperature_rise=2.512,
                analyst="A")  # fmt: skip
    return log


def amended(log: Log, **entries: Any) -> Log:
    row = {"finding": "rows-alike", "sample_no": "S1", "reason": "record 7 shows both", "reviewer": "B"} | entries
    log.rows["Amendments"] = []
    log.add("Amendments", **{name: value for name, value in row.items() if value is not None})
    return log


def test_a_reviewer_lifts_a_block_with_a_reason(tmp_path: Path) -> None:
    assert sample(run(alike(), tmp_path)).decision is Decision.HOLD
    evaluation = run(amended(alike()), tmp_path)
    assert sample(evaluation).decision is Decision.READY
    lifted = next(finding for finding in evaluation.findings if finding.code == "rows-alike")
    assert lifted.severity == "review"
    assert lifted.message.endswith("Overridden by B: record 7 shows both.")
    printed = next(finding for finding in evaluation.findings if finding.code == "override-used")
    assert "rows-alike is overridden by B: record 7 shows both." in printed.message
    assert not any(finding.severity.stops for finding in evaluation.findings)


@pytest.mark.parametrize(
    ("entries", "why"),
    [
        ({"reason": None}, "there is no reason"),
        ({"reviewer": None}, "no reviewer is named"),
        ({"reviewer": "a"}, "a made firings of this day"),
    ],
)
def test_an_override_without_reason_or_reviewer_does_not_count(
    tmp_path: Path, entries: dict[str, Any], why: str
) -> None:
    evaluation = run(amended(alike(), **entries), tmp_path)
    assert sample(evaluation).decision is Decision.HOLD
    assert why in next(finding for finding in evaluation.findings if finding.code == "override-unfit").message


@pytest.mark.parametrize(
    ("entries", "met"),
    [
        ({"sample_no": None, "where": "Runs!P3"}, False),
        ({"sample_no": None, "where": "runs ! $AB$3"}, True),
        ({"sample_no": None, "firing_no": "2"}, True),
        ({"sample_no": None, "firing_no": "1"}, False),
        ({"sample_no": "S2"}, False),
        ({"sample_no": None}, False),
        ({"finding": "pair-apart"}, False),
    ],
)
def test_an_override_meets_the_finding_that_it_names(tmp_path: Path, entries: dict[str, Any], met: bool) -> None:
    evaluation = run(amended(alike(), **entries), tmp_path)
    assert ("override-used" in codes(evaluation)) is met
    assert ("override-without-finding" in codes(evaluation)) is not met
    assert (sample(evaluation).decision is Decision.READY) is met


def test_safety_is_never_overridden(tmp_path: Path) -> None:
    log = amended(plain_log(2.5, 2.501), finding="oxygen-pressure-over")
    log.setup["Maximum oxygen pressure"] = (3.3, "MPa", "instructions")
    log.rows["Runs"][0]["Oxygen pressure (MPa)"] = 3.5
    evaluation = run(log, tmp_path)
    assert sample(evaluation).decision is Decision.HOLD
    assert "override-without-finding" in codes(evaluation)


def test_an_override_makes_no_value_of_a_pair_that_disagrees(tmp_path: Path) -> None:
    evaluation = run(amended(plain_log(2.5, 2.52), finding="pair-apart"), tmp_path)
    assert sample(evaluation).decision is Decision.HOLD
    assert set(sample(evaluation).gross_J_per_g.values()) == {None}


def test_a_check_that_is_out_and_was_explained_lets_the_day_stand(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Check limit": (0.2, "%", "own"),
    }
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=2.7)
    assert sample(run(log, tmp_path)).gross_J_per_g[Basis.AS_ANALYSED] is None
    found = sample(run(amended(log, finding="check-out", sample_no=None, firing_no="9"), tmp_path))
    assert found.decision is Decision.READY
    assert found.gross_J_per_g[Basis.AS_ANALYSED] == pytest.approx(24945, abs=1e-6)
