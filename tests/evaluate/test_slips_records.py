"""Rows that are no firings of the day, moistures of another day, reasons that are none, and who signs."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample

from batchcal.evaluate.slips.records import only_disagreement
from batchcal.findings import Finding, Severity
from batchcal.model import Evaluation
from batchcal.terms import Decision, FiringState

CODES = {
    "mean-row-skipped", "row-left-over", "result-without-inputs", "moisture-other-day", "set-aside-for-disagreement",
    "reviewer-is-analyst",
}  # fmt: skip
OWN = "Own gross, d (J/g)"


def found(evaluation: Evaluation) -> list[Finding]:
    return [finding for finding in evaluation.findings if finding.code in CODES]


def with_own(*rises: float) -> Log:
    log = plain_log(*rises)
    log.headings["Runs"].append(OWN)
    return log


@pytest.mark.parametrize("cells", [
    {"Firing no.": "Mean", OWN: 26000},
    {"Firing no.": "Mittelwert:", OWN: 26000},
    {"Firing no.": "平均", OWN: 26000},
    {"Firing no.": 3, "Remark": "average of S1", "Temperature rise (K)": None, OWN: 26000},
    {"Firing no.": "mean", "Sample no.": "S1", "Sample mass (g)": 1.0, "Temperature rise (K)": 2.5},
    {"Firing no.": 3, "Sample no.": "S1", "Replicate": "Mean", "Sample mass (g)": 1.0, "Temperature rise (K)": 2.5},
])  # fmt: skip
def test_a_row_of_means_is_no_firing(tmp_path: Path, cells: dict[str, Any]) -> None:
    log = with_own(2.5, 2.5)
    log.rows["Runs"].append(cells)
    for row in log.rows["Runs"][:2]:
        row["Bomb"], row["Calorimeter"] = "1", "K"
    log.setup["Effective heat capacity [K/1]"] = log.setup.pop("Effective heat capacity")
    evaluation = run(log, tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.severity, one.where) == ("mean-row-skipped", Severity.NOTE, "Runs!A4")
    assert len(evaluation.firings) == 2
    assert sample(evaluation).decision is Decision.READY
    assert not {"purpose-missing", "apparatus-missing", "firing-number-missing"} & set(codes(evaluation))


def test_doubtful_cells_of_a_row_of_means_stop_nothing(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"].append({"Firing no.": "Mean", "Sample mass (g)": "1,0"})
    evaluation = run(log, tmp_path)
    assert [f.severity for f in evaluation.findings if f.code == "decimal-comma"] == [Severity.REVIEW]
    assert evaluation.all_ready


@pytest.mark.parametrize("name", ["Meander 7", "Average", "SD-12"])
def test_a_sample_of_that_name_with_a_mass_stays_a_firing(tmp_path: Path, name: str) -> None:
    evaluation = run(plain_log(2.5, 2.5, sample=name), tmp_path)
    assert len(evaluation.firings) == 2
    assert found(evaluation) == []


def test_a_result_without_inputs(tmp_path: Path) -> None:
    log = with_own(2.5, 2.5)
    log.rows["Runs"].append({"Firing no.": 3, "Sample no.": "S1", OWN: 26000})
    evaluation = run(log, tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.severity, one.where) == ("result-without-inputs", Severity.BLOCK, f"Runs!{_letter(log)}4")
    assert firing(evaluation, 3).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD
    assert not {"mass-missing", "rise-missing", "ignition-missing"} & set(codes(evaluation))
    log.rows["Runs"][2] |= {"Sample mass (g)": 1.0, "Temperature rise (K)": 2.5}
    assert found(run(log, tmp_path)) == []


def _letter(log: Log) -> str:
    return chr(ord("A") + log.headings["Runs"].index(OWN) - 26).join(["A", ""])


def test_a_row_of_another_day(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5, 2.5, 2.5)
    for row in log.rows["Runs"]:
        row["Date"] = DAY
    log.rows["Runs"][3]["Date"] = DAY - dt.timedelta(days=1)
    assert found(run(log, tmp_path)) == []
    log.rows["Runs"][3]["Date"] = DAY - dt.timedelta(days=2)
    (one,) = found(run(log, tmp_path))
    assert (one.code, one.severity, one.where) == ("row-left-over", Severity.REVIEW, "Runs!B5")
    for row in log.rows["Runs"][1:]:  # most of them: then these are the batch
        row["Date"] = DAY - dt.timedelta(days=2)
    assert found(run(log, tmp_path)) == []


@pytest.mark.parametrize(("days", "limit", "hits"), [
    (0, None, 0), (1, None, 0), (-1, None, 0), (2, None, 1), (-2, None, 1),
    (2, 2, 0), (3, 2, 1), (1, 0, 1), (0, 0, 0),
])  # fmt: skip
def test_moisture_of_another_day(tmp_path: Path, days: int, limit: int | None, hits: int) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Samples"][0]["Moisture date"] = DAY - dt.timedelta(days=days)
    if limit is not None:
        log.setup["Moisture gap limit"] = (limit, "days", "own")
    assert [one.where for one in found(run(log, tmp_path))] == ["Samples!Q2"] * hits


def test_what_half_a_per_cent_means(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Samples"][0]["Moisture date"] = DAY - dt.timedelta(days=9)
    (one,) = found(run(log, tmp_path))
    # 24 940 / 0.955 - 24 940 / 0.960 = 136.02 J/g
    assert "0.5 % more moisture is 136 J/g in the dry value" in one.message
    assert "the limit is 1 day (common practice, no source)" in one.message
    assert one.severity is Severity.REVIEW


@pytest.mark.parametrize("reason", [
    "disagrees", "Outlier", "too high", "differs from A by 150 J/g", "does not agree with the first firing",
    "Ausreißer", "too low, outlier", "doesn't fit", "over the limit", "trop haut",
])  # fmt: skip
def test_reasons_that_are_none(reason: str) -> None:
    assert only_disagreement(reason)


@pytest.mark.parametrize("reason", [
    "soot", "too low: soot in the crucible", "crucible tipped over", "titre lost", "high residue", "A", "wire broke",
    "outlier, thermometer was touched", "too much water in the bomb", "",
])  # fmt: skip
def test_reasons_with_a_cause(reason: str) -> None:
    assert not only_disagreement(reason)


def test_set_aside_because_it_disagreed(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5, 2.6)
    log.rows["Runs"][2] |= {"Use": "set aside", "Reason": "too high"}
    evaluation = run(log, tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.severity, one.where) == ("set-aside-for-disagreement", Severity.REVIEW, "Runs!J4")
    assert one in sample(evaluation).findings
    log.rows["Runs"][2]["Temperature rise (K)"] = None  # nothing to compare: it is not complete
    assert found(run(log, tmp_path)) == []


def test_the_reviewer_is_the_analyst(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    assert run(log, tmp_path).all_ready
    log.setup["Reviewer"] = ("a",)
    evaluation = run(log, tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.severity, one.where) == ("reviewer-is-analyst", Severity.BLOCK, "Setup!B5")
    assert not evaluation.all_ready
    assert sample(evaluation).decision is Decision.READY  # the values are not in doubt
    log.setup["Reviewer"] = ("C",)
    log.rows["Runs"][1]["Analyst"] = "C"
    (one,) = found(run(log, tmp_path))
    assert "Analyst of firing 2" in one.message


def test_no_note_of_net_values_where_there_is_no_gross_value(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.6)
    assert "net-not-computed" not in codes(run(log, tmp_path))
    assert "net-not-computed" in codes(run(plain_log(2.5, 2.5), tmp_path))  # no hydrogen is given
