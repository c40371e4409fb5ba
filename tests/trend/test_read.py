"""Results files are read as they stand; what cannot be used is named in one line and passed over."""

import copy
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from long_run_files import check, day, firing, pair, series, write

from batchcal.history import Apparatus
from batchcal.report.results import SCHEMA as WRITTEN_SCHEMA
from batchcal.trend.read import SCHEMA, read_day, read_folders


def good() -> dict[str, Any]:
    return day("2026-01-05", [*pair("S1", 25000.0, 25040.0), check(9, 99.9)], series=[series(10000.0, "2026-01-02")])


def data(document: object) -> bytes:
    return json.dumps(document).encode()


def test_the_schema_read_is_the_one_that_is_written() -> None:
    assert SCHEMA == WRITTEN_SCHEMA


def test_a_file_is_read_as_it_stands() -> None:
    read = read_day(data(good()), "a.results.json")
    first, _, of_check = read.firings
    assert (first.number, first.sample, str(first.date)) == ("1", "S1", "2026-01-05"), "the day's date where none"
    assert (first.gross_ad_J_per_g, first.gross_d_J_per_g) == (None, 25000.0)
    assert first.analyst == "K. Lindqvist", "Setup's analyst where the row names none"
    assert (of_check.apparatus, of_check.recovery_percent) == (Apparatus("A", "1"), 99.9)
    assert (read.series[0].heat_capacity_J_per_K, read.series[0].n) == (10000.0, 5)
    assert read.limits.repeatability_J_per_g == 120.0


def test_a_calibration_without_a_date_does_not_take_the_day_of_the_batch() -> None:
    read = read_day(data(day("2026-01-05", [firing(1, "calibration")])), "a")
    assert read.firings[0].date is None


def test_check_limits_in_joules_become_per_cent() -> None:
    read = read_day(
        data(day(check_limit_J_per_g=52.908, check_warning_limit_percent=0.1, check_sd_J_per_g=26.454)), "a"
    )
    assert read.limits.check_percent == pytest.approx(0.2)
    assert read.limits.check_warning_percent == 0.1
    assert read.limits.check_sd_percent == pytest.approx(0.1)


def test_a_file_of_before_the_added_keys_is_read() -> None:
    document = good()
    for one in document["firings"]:
        for key in ("date", "outcome", "calorimeter", "bomb", "analyst"):
            del one[key]
    for key in ("name", "expires"):
        del document["series"][0][key]
    del document["samples"][0]["fuel_class"]
    read = read_day(data(document), "a")
    assert str(read.firings[0].date) == "2026-01-05"
    assert read.samples == {"S1": ""}


def _without(path: str) -> Callable[[dict[str, Any]], object]:
    def change(document: dict[str, Any]) -> object:
        *way, last = path.split(".")
        place: Any = document
        for step in way:
            place = place[int(step) if step.isdigit() else step]
        del place[last]
        return document

    return change


def _with(path: str, value: object) -> Callable[[dict[str, Any]], object]:
    def change(document: dict[str, Any]) -> object:
        *way, last = path.split(".")
        place: Any = document
        for step in way:
            place = place[int(step) if step.isdigit() else step]
        place[int(last) if last.isdigit() else last] = value
        return document

    return change


UNFIT = [
    (lambda _: [], "foreign"),
    (lambda _: {"name": "a settings file of some editor"}, "foreign"),
    (_with("schema", "batchcal.results/2"), "another schema, 'batchcal.results/2'"),
    (_with("schema", ["x"]), "another schema"),
    (_without("firings"), "incomplete: without firings"),
    (_without("settings"), "incomplete: without settings"),
    (_without("firings.1.state"), r"incomplete: without firings\[1\].state"),
    (_without("series.0.heat_capacity_J_per_K"), r"without series\[0\].heat_capacity_J_per_K"),
    (_with("firings", None), "incomplete: without firings"),
    (_with("firings.0", None), r"incomplete: firings\[0\]. is no object"),
    (_with("firings.0.recovery_percent", "99,9"), r"firings\[0\].recovery_percent is not of its kind"),
    (_with("firings.0.mass_g", True), r"firings\[0\].mass_g is not of its kind"),
    (_with("firings.0.date", "05.01.2026"), r"firings\[0\].date is no date"),
    (_with("firings.0.findings", [1]), r"firings\[0\].findings is no list of texts"),
    (_with("settings.repeatability_limit_J_per_g", 10**400), "beyond reach"),
    (_with("settings.repeatability_limit_J_per_g", 1e-300), "next to nothing"),
    (_with("firings.1.gross_d_J_per_g", -1e308), r"firings\[1\].gross_d_J_per_g is beyond reach"),
    (_with("samples", {}), "samples is not of its kind"),
]


@pytest.mark.parametrize(("change", "says"), UNFIT)
def test_what_is_no_whole_results_file_is_told(change: Callable[[dict[str, Any]], object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        read_day(data(change(copy.deepcopy(good()))), "a")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b" \n", "empty"),
        (data(good())[:-40], "cut short"),
        (b"\xff\xfe\x00binary", "not JSON"),
        (b"[" * 100_000, "nested"),
        (data(good()).replace(b"25000.0", b"NaN"), "NaN"),
        (data(good()).replace(b"25000.0", b"1e999"), "beyond reach"),
    ],
    ids=["empty", "blank", "cut", "binary", "deep", "NaN", "overflow"],
)
def test_damaged_bytes_are_told(content: bytes, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        read_day(content, "a")


def test_every_truncation_is_told_and_none_breaks() -> None:
    whole = data(good())
    for length in range(0, len(whole), 17):
        with pytest.raises(ValueError, match=r"empty|damaged"):
            read_day(whole[:length], "a")


def test_folders_are_read_with_those_within_and_each_file_once(tmp_path: Path) -> None:
    write(tmp_path / "2026" / "01", good())
    write(tmp_path, good())
    (tmp_path / "bad.results.json").write_text("{")
    (tmp_path / "other.json").write_text("{")
    (tmp_path / ".hidden.results.json").write_text("{")
    (tmp_path / "folder.results.json").mkdir()
    days, passed = read_folders([tmp_path, tmp_path / "2026"])
    assert sorted(found.file for found in days) == ["0001.results.json", "2026/01/0001.results.json"]
    assert [entry.file for entry in passed] == ["bad.results.json"]
    assert re.fullmatch(r"damaged: .*", passed[0].why)
