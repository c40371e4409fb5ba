"""The log of the equipment: changes, dates that have passed, times in service; the firings are of 14 October 2026.

The heat capacity of the plain log is in force from 1 October.
"""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, SINCE, Log, codes, firing, plain_log, run, sample

from batchcal.findings import Finding, Severity
from batchcal.model import Evaluation
from batchcal.report.ladder import rungs
from batchcal.terms import Decision, FiringState

ONE = dt.timedelta(days=1)
MINE = {
    "part-changed", "equipment-overdue", "bomb-out-of-service-used", "proof-test-overdue", "bomb-service-due",
    "equipment-row-unfit",
}  # fmt: skip


def named_log(*items: dict[str, Any]) -> Log:
    """A day of two firings in calorimeter K1 with bomb B1, and what Equipment says."""
    log = plain_log(2.5, 2.505)
    for row in log.rows["Runs"]:
        row |= {"Calorimeter": "K1", "Bomb": "B1"}
    log.setup["Effective heat capacity [K1/B1]"] = log.setup.pop("Effective heat capacity")
    return with_items(log, *items)


def with_items(log: Log, *items: dict[str, Any]) -> Log:
    log.rows["Equipment"] = []
    for item in items:
        log.add("Equipment", **item)
    return log


def said(evaluation: Evaluation) -> list[str]:
    return sorted(set(codes(evaluation)) & MINE)


def only(evaluation: Evaluation, code: str) -> Finding:
    (found,) = [finding for finding in evaluation.findings if finding.code == code]
    return found


def bomb(**values: Any) -> dict[str, Any]:
    return {"equipment": "B1", "kind": "bomb", **values}


def test_an_inventory_in_order_says_nothing(tmp_path: Path) -> None:
    items = [
        {"equipment": "K1", "kind": "calorimeter", "in_service_from": SINCE, "changed_on": SINCE, "due": DAY},
        bomb(in_service_from=SINCE, in_service_to=DAY, due=DAY, firings_since_service=9, firings_between_services=10),
        {"equipment": "T1", "kind": "thermometer", "of_calorimeter": "K1", "calibrated_on": SINCE, "due": DAY},
        {"equipment": "B9", "kind": "bomb", "changed_on": DAY, "due": SINCE, "in_service_to": SINCE},
        {"equipment": "T9", "kind": "thermometer", "of_calorimeter": "K9", "changed_on": DAY, "due": SINCE},
        {"equipment": "spare", "certificate": "for the record"},
    ]
    evaluation = run(named_log(*items), tmp_path)
    assert said(evaluation) == []
    assert evaluation.all_ready
    assert len(evaluation.batch.equipment) == 6


@pytest.mark.parametrize(
    ("item", "part"),
    [
        (bomb(what_changed="new seals."), "Bomb B1 (new seals)"),
        ({"equipment": "k1", "kind": "calorimeter"}, "Calorimeter k1"),
        ({"equipment": "T1", "kind": "thermometer", "of_calorimeter": "K1"}, "Thermometer T1 of calorimeter K1"),
        ({"kind": "other", "what_changed": "stirrer"}, "The item (stirrer)"),
    ],
)
def test_a_change_after_the_series_makes_its_firings_wait(tmp_path: Path, item: dict[str, Any], part: str) -> None:
    evaluation = run(named_log({**item, "changed_on": SINCE + ONE}), tmp_path)
    found = only(evaluation, "part-changed")
    assert found.where == "Equipment!F2"
    assert found.message == (
        f"{part} was changed on 2026-10-02, and the heat capacity of calorimeter K1 with bomb B1 is of 2026-10-01; "
        "on it rest firings 1 and 2."
    )
    assert [firing(evaluation, n).state for n in (1, 2)] == [FiringState.PROVISIONAL] * 2
    assert sample(evaluation).decision is Decision.WAIT
    fire = next(rung for rung in rungs(evaluation, evaluation) if rung.key == "fire")
    assert found.remedy in [line.what for line in fire.lines]


@pytest.mark.parametrize(
    ("kind", "day", "waits"),
    [
        ("bomb", SINCE, False), ("bomb", SINCE + ONE, True), ("bomb", DAY, True), ("bomb", DAY + ONE, False),
        ("balance", DAY, False), ("burette", DAY, False), ("gauge", DAY, False), ("crucible", DAY, True),
    ],
)  # fmt: skip
def test_which_changes_count(tmp_path: Path, kind: str, day: dt.date, waits: bool) -> None:
    evaluation = run(named_log({"equipment": "B1", "kind": kind, "changed_on": day}), tmp_path)
    assert said(evaluation) == (["part-changed"] if waits else [])


def test_only_firings_since_the_change_wait(tmp_path: Path) -> None:
    log = named_log(bomb(changed_on=DAY))
    log.rows["Runs"][0]["Date"], log.rows["Runs"][1]["Date"] = DAY - ONE, DAY
    evaluation = run(log, tmp_path)
    assert [firing(evaluation, n).state for n in (1, 2)] == [FiringState.USED, FiringState.PROVISIONAL]


def test_a_reviewer_may_override_a_change(tmp_path: Path) -> None:
    log = named_log(bomb(changed_on=DAY, what_changed="handle"))
    log.add("Amendments", finding="part-changed", where="Equipment!F2", reason="outside the water", reviewer="B")
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).state is FiringState.USED
    assert evaluation.all_ready


@pytest.mark.parametrize("kind", ["thermometer", "balance", "calorimeter"])
def test_a_calibration_that_has_passed_is_for_review_once(tmp_path: Path, kind: str) -> None:
    name = "K1" if kind == "calorimeter" else "X1"
    evaluation = run(named_log({"equipment": name, "kind": kind, "due": DAY - ONE}), tmp_path)
    found = only(evaluation, "equipment-overdue")
    assert (found.where, found.severity) == ("Equipment!I2", Severity.REVIEW)
    assert found.message == (
        f"The calibration of {kind} {name} was due on 2026-10-13; after that came firings 1 and 2."
    )
    assert evaluation.all_ready


@pytest.mark.parametrize("kind", ["burette", "crucible", "other"])
def test_what_does_not_enter_is_not_overdue(tmp_path: Path, kind: str) -> None:
    """No firing of this day was titrated."""
    assert said(run(named_log({"equipment": "X1", "kind": kind, "due": SINCE}), tmp_path)) == []


def test_a_burette_is_overdue_where_washings_were_titrated(tmp_path: Path) -> None:
    log = named_log({"kind": "burette", "due": SINCE})
    log.setup |= {
        "Acid scheme": ("total as nitric",),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (300, "kJ/mol", "own"),
    }
    log.rows["Samples"][0]["Sulphur (%)"] = 0
    for number in (1, 2):
        log.add("Titration", firing_no=number, titrant="sodium hydroxide", concentration=0.1,
                concentration_unit="eq/L", titre=8.0)  # fmt: skip
    found = only(run(log, tmp_path), "equipment-overdue")
    assert found.message == "The calibration of the burette was due on 2026-10-01; after that came firings 1 and 2."


def test_the_newest_calibration_counts_from_its_day_on(tmp_path: Path) -> None:
    old = {"equipment": "T1", "kind": "thermometer", "due": SINCE}
    new = {**old, "calibrated_on": DAY, "due": DAY + 300 * ONE}
    log = named_log(old, new)
    assert said(run(log, tmp_path)) == []
    log.rows["Runs"][0]["Date"] = DAY - ONE
    found = only(run(log, tmp_path), "equipment-overdue")
    assert found.where == "Equipment!I2"
    assert found.message.endswith("after that came firing 1.")


def test_what_is_no_longer_in_service_is_not_overdue(tmp_path: Path) -> None:
    item = {"equipment": "T1", "kind": "thermometer", "due": SINCE, "in_service_to": SINCE}
    assert said(run(named_log(item), tmp_path)) == []


@pytest.mark.parametrize(
    ("item", "what"),
    [
        (bomb(due=SINCE), "pressure test of bomb B1"),
        ({"equipment": "G1", "kind": "gauge", "due": SINCE}, "calibration of gauge G1"),
    ],
)
def test_a_pressure_test_that_has_passed_is_a_matter_of_safety(tmp_path: Path, item: dict[str, Any], what: str) -> None:
    log = named_log(item)
    log.add("Runs", firing_no=3, sample_no="S1", outcome="misfire", calorimeter="K1", bomb="B1")
    evaluation = run(log, tmp_path)
    found = only(evaluation, "proof-test-overdue")
    assert found.severity is Severity.SAFETY
    assert found.message == f"The {what} was due on 2026-10-01; after that came firings 1, 2 and 3."
    assert sample(evaluation).decision is Decision.HOLD
    fire = next(rung for rung in rungs(evaluation, evaluation) if rung.key == "fire")
    assert fire.lines[0].what.startswith("Fire nothing in calorimeter K1 with bomb B1 until")


@pytest.mark.parametrize(
    ("spans", "words"),
    [
        ([{"in_service_to": DAY - ONE}], "to 2026-10-13"),
        ([{"in_service_from": DAY + ONE}], "from 2026-10-15"),
        (
            [{"in_service_from": SINCE, "in_service_to": DAY - ONE}, {"in_service_from": DAY + ONE}],
            "from 2026-10-01 to 2026-10-13 and from 2026-10-15",
        ),
    ],
)
@pytest.mark.parametrize(("kind", "name"), [("bomb", "B1"), ("calorimeter", "K1")])
def test_a_firing_outside_the_time_in_service(
    tmp_path: Path, spans: list[dict[str, Any]], words: str, kind: str, name: str
) -> None:
    log = named_log(*({"equipment": name, "kind": kind, **span} for span in spans))
    log.rows["Runs"][0]["Date"] = DAY
    log.rows["Runs"][1]["Date"] = SINCE if words.startswith("to") else DAY + ONE
    evaluation = run(log, tmp_path)
    found = only(evaluation, "bomb-out-of-service-used")
    assert found.cell is not None
    assert (found.sheet, found.row, found.firing) == ("Runs", 2, "1")
    assert found.message == f"Firing 1, of 2026-10-14: {kind} {name} is logged as in service {words}."
    assert found.severity is Severity.SAFETY
    assert sample(evaluation).decision is Decision.HOLD
    assert log.headings["Runs"][ord(found.cell[0]) - ord("A")].lower() == kind


def test_a_second_time_in_service_covers_the_firings(tmp_path: Path) -> None:
    items = [bomb(in_service_to=SINCE), bomb(in_service_from=DAY), bomb(certificate="7")]
    assert said(run(named_log(*items), tmp_path)) == []


@pytest.mark.parametrize(
    ("since", "limit", "due"), [(499, 500, False), (500, 500, True), (501, 500, True), (None, 500, False),
                                (900, None, False)],
)  # fmt: skip
def test_a_service_is_due_at_the_lab_s_own_number(tmp_path: Path, since: Any, limit: Any, due: bool) -> None:
    evaluation = run(named_log(bomb(firings_since_service=since, firings_between_services=limit)), tmp_path)
    assert said(evaluation) == (["bomb-service-due"] if due else [])
    if due:
        found = only(evaluation, "bomb-service-due")
        assert (found.where, found.severity) == ("Equipment!K2", Severity.REVIEW)
        assert f"bomb B1 has {since} firings since its service; 500 are allowed" in found.message


def test_a_lab_with_one_bomb_may_name_it_here_only(tmp_path: Path) -> None:
    assert said(run(with_items(plain_log(2.5, 2.505), bomb(due=SINCE)), tmp_path)) == ["proof-test-overdue"]


@pytest.mark.parametrize(
    ("log", "items", "why"),
    [
        (named_log(), [{"equipment": "B1", "due": SINCE}], "its Kind is blank"),
        (named_log(), [{"kind": "bomb", "due": SINCE}], "no mark"),
        (named_log(), [bomb(in_service_from=DAY, in_service_to=SINCE)], "before In service from"),
        (
            plain_log(2.5, 2.505),
            [bomb(due=SINCE), {"equipment": "B2", "kind": "bomb", "certificate": "7"}],
            "names more than one bomb, and the firings name none",
        ),
    ],
)
def test_a_row_that_no_firing_can_be_held_to_is_said(
    tmp_path: Path, log: Log, items: list[dict[str, Any]], why: str
) -> None:
    evaluation = run(with_items(log.copy(), *items), tmp_path)
    assert said(evaluation) == ["equipment-row-unfit"]
    assert why in only(evaluation, "equipment-row-unfit").message


@pytest.mark.parametrize(
    "item",
    [
        bomb(changed_on="last week"),
        bomb(due="31.10."),
        bomb(in_service_to="soon"),
        {"equipment": "B9", "kind": "bom", "due": SINCE},
        {"equipment": "T1", "kind": "thermometer", "of_calorimeter": True, "due": SINCE},
    ],
)
def test_a_cell_that_cannot_be_read_leaves_its_firings_in_doubt(tmp_path: Path, item: dict[str, Any]) -> None:
    evaluation = run(named_log(item), tmp_path)
    assert said(evaluation) == []
    assert any(f.sheet == "Equipment" and f.severity is Severity.BLOCK for f in evaluation.findings)
    assert firing(evaluation, 1).state is FiringState.PROVISIONAL
    assert sample(evaluation).decision is Decision.HOLD


def test_a_doubtful_cell_of_another_bomb_holds_nothing(tmp_path: Path) -> None:
    evaluation = run(named_log({"equipment": "B9", "kind": "bomb", "due": "31.10."}), tmp_path)
    assert firing(evaluation, 1).state is FiringState.USED
    assert sample(evaluation).decision is Decision.READY
