"""A log of many days in one workbook: what needs doing and the newest day in detail, the rest told by day."""

import re
from pathlib import Path

import pytest
from day import CONSTANTS, make_evaluation, printed
from logbook import run
from long_log import A_DAY, long_log
from test_page import Page, html_of, sample_rows

from batchcal.model import Evaluation
from batchcal.report.page import summary_page
from batchcal.report.selection import ALL_SHOWN, MOST_SAMPLES, OlderRow, select

DAYS = 48
SAMPLES = 8 * DAYS


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Evaluation:
    """816 firings on 48 days beside the calibrations; the first samples of days 4 and 41 are far apart."""
    found = run(long_log(DAYS), tmp_path_factory.mktemp("log"))
    assert sum(firing.purpose != "calibration" for firing in found.firings) == DAYS * A_DAY == 816
    return found


@pytest.fixture(scope="module")
def html(log: Evaluation) -> str:
    return html_of(log)


def counted(rows: tuple[OlderRow, ...]) -> int:
    """How many samples the rows stand for."""
    return sum(
        int(found[1]) if (found := re.match(r"(\d+): ", row.samples)) else len(re.split(", | and ", row.samples))
        for row in rows
    )


def test_the_page_stays_small(html: str) -> None:
    assert len(html.encode()) < 400_000


def test_in_detail_stand_what_is_not_ready_and_the_last_day(log: Evaluation, html: str) -> None:
    page = Page(html)
    rows = sample_rows(page)
    open_ones = [sample.sample for sample in log.samples if sample.decision != "ready"]
    assert open_ones == ["004-1", "041-1"]
    shown = [*open_ones, *(f"048-{place}" for place in range(1, 9))]
    assert [name for name in rows if name in shown] == shown
    note = page.ids["samples"].all("p")[0].text
    assert note.startswith(
        f"A long log: 828 firings of {SAMPLES} samples. In detail stand every sample that is not ready"
    )
    assert f"The other {SAMPLES - len(shown)} samples are listed below." in note
    assert "batchcal explain works any number through" in note


def test_every_sample_is_shown_or_counted_on_its_day(log: Evaluation) -> None:
    chosen = select(log)
    assert counted(chosen.older) + len(chosen.shown.samples) == SAMPLES
    assert chosen.older[0] == OlderRow(
        "2026-10-13", chosen.older[0].decision, "8: 047-1 to 047-8", "", "Samples rows 370 to 377"
    )
    assert [row.day for row in chosen.older] == sorted((row.day for row in chosen.older), reverse=True)
    by_day = {row.day: row.samples for row in chosen.older}
    assert by_day["2026-10-07"] == "7: 041-2 to 041-8"  # its first is not ready and stands in detail


def test_what_is_to_be_done_is_said_of_all(html: str) -> None:
    page = Page(html)
    fire, sign = page.ids["do-fire"].text, page.ids["do-sign"].text
    assert "Fire C of 004-1" in fire
    assert "Fire C of 041-1" in fire
    assert "signs 8 samples: 048-1, 048-2" in sign
    assert f"and {SAMPLES - 10} older ones that are listed under Samples." in sign
    assert page.ids["verdict"].text.startswith(f"Verdict {SAMPLES - 2} ready")


def test_charts_hold_the_last_results_and_say_of_how_many(html: str) -> None:
    page = Page(html)
    section = page.ids["charts"]
    assert "The last 40 of 48." in section.text
    marks = page.ids["chart-checks"].all("circle") + page.ids["chart-checks"].all("path")
    assert sum(mark.attributes.get("class") in ("within", "beyond") for mark in marks) == 40
    assert "The last 12 of 48 check firings; none of the earlier 36 is out." in page.ids["calorimeter"].text


def test_working_and_corrections_are_those_of_what_is_shown(log: Evaluation, html: str) -> None:
    page = Page(html)
    shown = select(log).shown
    rows = page.ids["corrections"].all("tbody")[0].all("tr")
    assert [row.all("a")[0].text for row in rows] == [firing.name for firing in shown.firings]
    for link in (element for element in page.every if element.tag == "a"):
        assert str(link.attributes["href"])[1:] in page.ids
    series = {name for sample in shown.samples for firing in sample.firings if firing.series for name in
              firing.series.firings}  # fmt: skip
    assert series <= {firing.name for firing in shown.firings}
    assert "batchcal explain works any other number through" in page.ids["working"].text


def test_without_dates_the_last_samples_stand_for_the_last_day(tmp_path: Path) -> None:
    chosen = select(run(long_log(10, apart=(), dated=False), tmp_path))
    assert [sample.sample for sample in chosen.shown.samples][-1] == "010-8"
    assert len(chosen.shown.samples) == MOST_SAMPLES
    assert counted(chosen.older) == 80 - MOST_SAMPLES


def test_samples_that_wait_and_find_no_room_are_all_named(tmp_path: Path) -> None:
    log = long_log(30)
    del log.setup["Repeatability limit"]
    evaluation = run(log, tmp_path)
    assert {sample.decision for sample in evaluation.samples} == {"hold"}
    html = html_of(evaluation)
    assert len(html.encode()) < 700_000
    section = Page(html).ids["samples"].text
    for sample in evaluation.samples:
        assert re.search(rf"\b{sample.sample}\b", section), sample.sample
    assert select(evaluation).note.count("samples that are not ready and those of the last day") == 1


def test_an_old_sample_that_was_overridden_is_named_with_who_did_it(tmp_path: Path) -> None:
    log = long_log(10, apart=())
    for row in log.rows["Runs"]:
        if row.get("Sample no.") == "002-3":
            row["Replicate"] = "A"
    log.rows["Amendments"] = []
    log.add("Amendments", finding="replicate-twice", sample_no="002-3", reason="record 7 shows both", reviewer="B")
    evaluation = run(log, tmp_path)
    said = "released over a finding by B: record 7 shows both."
    (named,) = [older for older in select(evaluation).older if older.reason]
    assert named.samples == "002-3"
    assert named.reason.startswith(f"Ready, {said}")
    assert f"002-3: ready, {said}" in Page(html_of(evaluation)).ids["do-sign"].text


def test_a_day_is_shown_whole() -> None:
    day = make_evaluation()
    assert len(day.firings) <= ALL_SHOWN
    assert select(day).shown is day
    page = summary_page(day, printed, CONSTANTS)
    assert "A long log" not in page
    assert "The last" not in page
