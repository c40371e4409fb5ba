"""A sample that is ready only because a reviewer has overridden a block is nowhere plainly ready."""

from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from logbook import Log, plain_log, run, sample
from test_page import Page, html_of, sample_rows

from batchcal.cli import cli
from batchcal.model import Evaluation
from batchcal.report.explain import explain
from batchcal.report.verdicts import verdict_line

WORDS = "released over a finding by B: record 7 shows both"


def overridden() -> Log:
    """S1 with the replicate A twice, overridden; S2 as it should be."""
    log = plain_log()
    fired = [("S1", "A", 1.0012, 2.512), ("S1", "A", 1.0113, 2.538), ("S2", "A", 1.01, 2.5), ("S2", "B", 1.0, 2.48)]
    for number, (name, letter, mass, rise) in enumerate(fired, 1):
        log.add("Runs", firing_no=number, sample_no=name, replicate=letter, sample_mass=mass,
                temperature_rise=rise, analyst="A")  # fmt: skip
    log.add("Samples", sample_no="S2", moisture_analysis=4.0)
    log.rows["Amendments"] = []
    log.add("Amendments", finding="replicate-twice", sample_no="S1", reason="record 7 shows both.", reviewer="B")
    return log


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Evaluation:
    return run(overridden(), tmp_path_factory.mktemp("day"))


def test_the_page_says_it_in_the_verdict_the_list_to_sign_and_the_row(day: Evaluation) -> None:
    page = Page(html_of(day))
    assert "2 ready may be reviewed and signed, 1 of them over a finding" in page.ids["verdict"].text
    assert f"S1: ready, {WORDS}." in page.ids["do-sign"].text
    rows = sample_rows(page)
    assert "over a finding" in rows["S1"][0].all("td")[0].text
    assert rows["S1"][1].text.startswith(f"Ready, {WORDS}. Mean of 2: ")
    assert "over a finding" not in rows["S2"][0].text + rows["S2"][1].text


def test_explain_says_it(day: Evaluation) -> None:
    lines = explain(day, "S1")
    assert lines is not None
    assert lines[0] == f"Sample S1: ready, {WORDS}"
    assert any("replicate-twice" in line and "Overridden by B: record 7 shows both." in line for line in lines)
    plain = explain(day, "S2")
    assert plain is not None
    assert plain[0] == "Sample S2: ready"


def test_the_terminal_counts_it(day: Evaluation) -> None:
    assert verdict_line(day).startswith("2 ready (1 over a finding); ")


def test_the_workbook_says_it(tmp_path: Path) -> None:
    path = overridden().save(tmp_path)
    assert CliRunner().invoke(cli, ["process", str(path)]).exit_code == 0
    book = openpyxl.load_workbook(tmp_path / "day.results.xlsx")
    for sheet, heading in (("Results", "Reason"), ("Samples", "Reason of the decision")):
        table = [[cell.value for cell in row] for row in book[sheet].iter_rows()]
        row = next(row for row in table if heading in row)
        column = row.index(heading)
        texts = {line[0]: str(line[column]) for line in table if line[0] in ("S1", "S2")}
        assert texts["S1"].startswith(f"Ready, {WORDS}. mean of 2: ")
        assert "over a finding" not in texts["S2"]


def test_a_check_that_is_out_and_overridden_is_said_of_the_samples_of_that_day(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Check limit": (0.2, "%", "own"),
    }
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=2.7)
    log.rows["Amendments"] = []
    log.add("Amendments", finding="check-out", firing_no="9", reason="pellet chipped", reviewer="B")
    found = sample(run(log, tmp_path))
    assert found.released_over.endswith(" by B: pellet chipped")


def test_a_finding_on_setup_that_is_overridden_is_said_of_every_sample(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    del log.setup["Repeatability limit"]
    held = run(log, tmp_path)
    assert sample(held).decision == "hold"
    code = next(f.code for f in held.findings if f.effect == "hold" and not f.sample and not f.firing)
    log.rows["Amendments"] = []
    log.add("Amendments", finding=code, reason="as agreed", reviewer="B")
    found = sample(run(log, tmp_path))
    # The override lifts the finding, and no limit is made of it: the sample stays held by that.
    assert any(finding.overridden == "B: as agreed" for finding in found.findings)
    assert found.decision == "hold"
    assert found.released_over == ""
