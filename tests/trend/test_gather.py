"""Each day once, each firing once: copies, amended workbooks, series carried along, days asked for."""

import datetime as dt
import json
from typing import Any

from long_run_files import day, firing, pair

from batchcal.trend.gather import TWO, Gathered, each_day_once, gather
from batchcal.trend.read import Day, read_day


def days(*documents: dict[str, Any]) -> list[Day]:
    return [read_day(json.dumps(document).encode(), f"{number}") for number, document in enumerate(documents, 1)]


def gathered(*documents: dict[str, Any], since: dt.date | None = None, until: dt.date | None = None) -> Gathered:
    return gather(each_day_once(days(*documents))[0], since, until)


def test_the_same_workbook_counts_once_and_the_higher_issue_is_kept() -> None:
    counted, once = each_day_once(days(day(sha256="x", issue=1), day(sha256="x", issue=2), day(sha256="y")))
    assert [found.file for found in counted] == ["2", "3"]
    assert [(entry.file, entry.why) for entry in once] == [("1", "made from the same workbook; counted once, as 2")]


def test_an_amended_workbook_counts_once() -> None:
    first = day("2026-01-05", pair("S1", 25000.0, 25010.0), sha256="x", batch="early")
    amended = day("2026-01-05", pair("S1", 25000.0, 25020.0), sha256="y", batch="early", issue=2)
    counted, once = each_day_once(days(amended, first))
    assert [found.file for found in counted] == ["1"]
    assert "amended or second copy of batch early of 2026-01-05; counted once, as 1" in once[0].why


def test_of_one_issue_the_more_complete_file_counts() -> None:
    short = day("2026-01-05", pair("S1", 1.0, 2.0), sha256="x", batch="early")
    longer = day("2026-01-05", [*pair("S1", 1.0, 2.0), *pair("S2", 1.0, 2.0, 3)], sha256="y", batch="early")
    assert [found.file for found in each_day_once(days(longer, short))[0]] == ["1"]
    assert [found.file for found in each_day_once(days(short, longer))[0]] == ["2"]


def test_two_workbooks_of_one_batch_name_without_a_firing_in_common_both_count() -> None:
    one = day("2026-01-05", pair("S1", 1.0, 2.0, 1), sha256="x", batch="early")
    other = day("2026-01-05", pair("S2", 1.0, 2.0, 11), sha256="y", batch="early")
    calibrated = [firing(90, "calibration", date="2026-01-02")]
    one["firings"] += calibrated
    other["firings"] += calibrated
    assert len(each_day_once(days(one, other))[0]) == 2


def test_days_are_put_in_the_order_of_their_dates() -> None:
    counted, _ = each_day_once(days(day("2026-02-01"), day("2026-01-01"), day("2026-01-15")))
    assert [found.file for found in counted] == ["2", "3", "1"]


def test_a_calibration_that_is_carried_along_counts_once() -> None:
    carried = [firing(number, "calibration", date="2026-01-02", heat_capacity_J_per_K=10000.0) for number in range(5)]
    found = gathered(
        day("2026-01-05", [*carried, *pair("S1", 1.0, 2.0, 11)]),
        day("2026-01-06", [*carried, *pair("S2", 1.0, 2.0, 21)]),
    )
    assert ({purpose: len(fired) for purpose, fired in found.by_purpose.items()}, found.carried) == (
        {"calibration": 5, "sample": 4}, 5,
    )  # fmt: skip


def test_a_number_that_is_used_again_for_another_firing_counts() -> None:
    found = gathered(day("2026-01-05", pair("S1", 1.0, 2.0, 1)), day("2026-01-06", pair("S2", 1.0, 2.0, 1)))
    assert (len(found.by_purpose["sample"]), found.carried) == (4, 0)


def test_first_pairs_are_the_first_two_that_were_worked_out_failures_included() -> None:
    fired = [
        firing(1, sample="S1", outcome="misfire", state="excluded"),
        firing(2, sample="S1", gross_d_J_per_g=25000.0),
        firing(3, sample="S1", gross_d_J_per_g=25500.0, state="set aside"),
        firing(4, sample="S1", gross_d_J_per_g=25200.0, state="provisional"),
        firing(5, sample="S1", gross_d_J_per_g=25010.0),
        firing(6, sample="S2", gross_d_J_per_g=25010.0),
    ]
    found = gathered(day("2026-01-05", fired, fuel={"S1": "Hard coal"}))
    (pair_found,) = found.pairs
    assert (pair_found.first, pair_found.second, pair_found.difference_J_per_g) == ("2", "4", -200.0)
    assert pair_found.beyond
    assert pair_found.fuel_class == "Hard coal"
    assert found.unpaired == 1


def test_the_comparison_basis_decides_which_values_are_compared() -> None:
    fired = [firing(n, sample="S", gross_d_J_per_g=26000.0 + n, gross_ad_J_per_g=25000.0 + 7 * n) for n in (1, 2)]
    (found,) = gathered(day("2026-01-05", fired, comparison_basis="ad")).pairs
    assert (found.basis, found.difference_J_per_g) == ("ad", -7.0)


def test_a_pair_that_a_later_workbook_repeats_counts_once_and_one_completed_later_counts() -> None:
    repeated = gathered(
        day("2026-01-05", pair("S1", 1.0, 2.0), sha256="x"),
        day("2026-01-06", [{**one, "date": "2026-01-05"} for one in pair("S1", 1.0, 2.0)], sha256="y"),
    )
    assert len(repeated.pairs) == 1
    first, second = pair("S1", 1.0, 2.0)
    completed = gathered(
        day("2026-01-05", [first], sha256="x"),
        day("2026-01-06", [{**first, "date": "2026-01-05"}, second], sha256="y"),
    )
    assert [str(found.date) for found in completed.pairs] == ["2026-01-06"]


def test_two_bombs_and_two_analysts_are_said() -> None:
    first, second = pair("S1", 1.0, 2.0)
    (found,) = gathered(day(firings=[{**first, "bomb": "2", "analyst": "JM"}, second])).pairs
    assert (found.bomb, found.analyst) == (TWO, TWO)


def test_equality_with_the_limit_is_not_beyond() -> None:
    pairs = gathered(day(firings=[*pair("S1", 0.0, 120.0), *pair("S2", 0.0, 120.1, 3)])).pairs
    assert [found.beyond for found in pairs] == [False, True]


def test_only_the_days_asked_for_count_and_the_rest_is_said() -> None:
    documents = [day(f"2026-01-{n:02}", pair(f"S{n}", 1.0, 2.0, 10 * n)) for n in range(1, 8)]
    documents.append(day(None, pair("S9", 1.0, 2.0, 90)))
    found = gathered(*documents, since=dt.date(2026, 1, 3), until=dt.date(2026, 1, 5))
    assert [str(one.date) for one in found.pairs] == ["2026-01-03", "2026-01-04", "2026-01-05"]
    assert (found.outside, found.undated) == (8, 2)
