"""The release: a second person signs on Amendments; a released value that changes makes an amended issue or a draft."""

import datetime as dt
import hashlib
import json
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from logbook import DAY, Log, codes, plain_log, run

from batchcal.cli import cli
from batchcal.terms import Decision


def two_samples() -> Log:
    """S1 is 24 965 J/g as analysed (mean of 24 940 and 24 990), S2 25 040 J/g; both are ready."""
    log = plain_log(2.5, 2.505)
    log.add("Runs", firing_no=3, sample_no="S2", sample_mass=1.0, temperature_rise=2.51)
    log.add("Runs", firing_no=4, sample_no="S2", sample_mass=1.0, temperature_rise=2.512)
    log.add("Samples", sample_no="S2", moisture_analysis=5.0)
    return log


def signed(log: Log, **entries: Any) -> Log:
    row = {"finding": "release", "reviewer": "B", "date": DAY} | entries
    log.rows.setdefault("Amendments", [])
    log.add("Amendments", **{name: value for name, value in row.items() if value is not None})
    return log


def process(log: Log, folder: Path, *options: str) -> dict[str, Any]:
    """Process the log with --force, and return its results document."""
    log.save(folder)
    result = CliRunner().invoke(cli, ["process", str(folder / "day.xlsx"), "--force", *options])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    document: dict[str, Any] = json.loads((folder / "day.results.json").read_text(encoding="utf-8"))
    return document


def texts(folder: Path, sheet: str) -> list[list[Any]]:
    book = openpyxl.load_workbook(folder / "day.results.xlsx")
    return [[cell for cell in row if cell is not None] for row in book[sheet].iter_rows(values_only=True)]


def test_a_day_is_a_draft_until_a_second_person_signs(tmp_path: Path) -> None:
    draft = run(two_samples(), tmp_path)
    assert (draft.release.state, draft.release.words) == ("draft", "Draft until released by a signature on Amendments.")
    evaluation = run(signed(two_samples()), tmp_path)
    assert evaluation.release.words == "Released by B on 2026-10-14, issue 1."
    assert evaluation.release.samples == ("S1", "S2")
    assert evaluation.all_ready


def test_only_the_samples_that_are_named_are_released(tmp_path: Path) -> None:
    evaluation = run(signed(two_samples(), sample_no="S2"), tmp_path)
    assert evaluation.release.samples == ("S2",)
    assert evaluation.release.words == "Released by B on 2026-10-14, issue 1. Still a draft: S1."


@pytest.mark.parametrize(
    ("entries", "why"),
    [
        ({"reviewer": "a"}, "a is the analyst or made firings of this day"),
        ({"reviewer": None}, "no reviewer is named"),
        ({"date": None}, "it has no date"),
        ({"date": dt.date(2026, 10, 13)}, "dated 2026-10-13, before the last firing (2026-10-14)"),
        ({"date": "14th"}, "a cell of it cannot be read"),
        ({"sample_no": "S9"}, "there is no sample S9"),
        ({"where": "Runs!F7"}, "Where and Firing no. stay blank"),
    ],
)
def test_a_signature_that_does_not_count(entries: dict[str, Any], why: str, tmp_path: Path) -> None:
    evaluation = run(signed(two_samples(), **entries), tmp_path)
    assert evaluation.release.state == "draft"
    found = next(finding for finding in evaluation.findings if finding.code == "release-unfit")
    assert why in found.message
    assert found.where == "Amendments!A2"
    assert not evaluation.all_ready
    assert all(sample.decision is Decision.READY for sample in evaluation.samples)


def test_who_fired_one_sample_signs_none(tmp_path: Path) -> None:
    log = signed(two_samples(), sample_no="S2")
    log.rows["Runs"][0]["Analyst"] = "b"
    assert run(log, tmp_path).release.state == "draft"


def test_what_is_not_ready_cannot_be_signed(tmp_path: Path) -> None:
    log = two_samples()
    log.rows["Runs"][3]["Temperature rise (K)"] = 2.53  # 200 J/g beyond its pair, limit 120
    whole = run(signed(log.copy()), tmp_path)
    assert whole.release.samples == ()
    message = next(finding for finding in whole.findings if finding.code == "release-too-early").message
    assert "not ready is S2 (repeat)" in message or "not ready is S2 (hold)" in message
    named = run(signed(log.copy(), sample_no="S1"), tmp_path)
    assert named.release.samples == ("S1",)
    assert "release-too-early" not in codes(named)


def test_a_finding_about_the_day_stops_every_release(tmp_path: Path) -> None:
    log = signed(two_samples(), reviewer="C")
    log.setup["Reviewer"] = ("A",)  # names the analyst
    evaluation = run(log, tmp_path)
    assert all(sample.decision is Decision.READY for sample in evaluation.samples)
    assert evaluation.release.state == "draft"
    assert "reviewer-is-analyst (Setup!B5)" in next(
        finding for finding in evaluation.findings if finding.code == "release-too-early"
    ).message  # fmt: skip


def test_a_release_is_no_override(tmp_path: Path) -> None:
    assert not {"override-used", "override-unfit", "override-without-finding"} & set(
        codes(run(signed(two_samples()), tmp_path))
    )


def test_the_release_stands_in_every_output(tmp_path: Path) -> None:
    document = process(signed(two_samples()), tmp_path)
    release = document["release"]
    assert [release[key] for key in ("state", "analyst", "reviewer", "issue", "date", "samples")] == [
        "released", "A", "B", 1, "2026-10-14", ["S1", "S2"],
    ]  # fmt: skip
    assert release["issued"]["values_J_per_g"]["S1"]["gross, ad"] == pytest.approx(24965, abs=1e-6)
    words = "Released by B on 2026-10-14, issue 1."
    assert words in (tmp_path / "day.summary.html").read_text(encoding="utf-8")
    assert [words] in texts(tmp_path, "Results")
    assert ["Release", words] in texts(tmp_path, "Record")
    assert ["SHA-256 of the settings", document["settings_sha256"]] in texts(tmp_path, "Record")
    assert document["settings_sha256"] in (tmp_path / "day.summary.html").read_text(encoding="utf-8")


def test_the_settings_hash_can_be_made_by_hand(tmp_path: Path) -> None:
    document = process(two_samples(), tmp_path)
    in_force = json.dumps(dict(sorted(document["settings_in_force"].items())))
    assert document["settings_sha256"] == hashlib.sha256(in_force.encode()).hexdigest()
    assert document["settings_in_force"]["Repeatability limit"] == "120 J/g; own"
    log = two_samples()
    log.setup["Analyst"] = ("Somebody else",)
    assert process(log, tmp_path)["settings_sha256"] == document["settings_sha256"]
    log.setup["Repeatability limit"] = (130, "J/g", "own")
    assert process(log, tmp_path)["settings_sha256"] != document["settings_sha256"]


def test_what_changed_since_the_earlier_set_is_listed(tmp_path: Path) -> None:
    assert process(two_samples(), tmp_path)["changes"] is None
    log = two_samples()
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.506
    log.rows["Runs"][2]["Sample mass (g)"] = "1.0"
    log.setup["Repeatability limit"] = (130, "J/g", "own")
    changes = process(log, tmp_path)["changes"]
    assert changes["cells"] == [
        {"sheet": "Setup", "cell": "B9", "earlier": "120", "now": "130"},
        {"sheet": "Runs", "cell": "AB3", "earlier": "2.505", "now": "2.506"},
        {"sheet": "Runs", "cell": "P4", "earlier": "1", "now": "1.0 (as text)"},
    ]
    assert changes["settings"] == [{"item": "Repeatability limit", "earlier": "120 J/g; own", "now": "130 J/g; own"}]
    rows = texts(tmp_path, "Changes")
    assert ["Sheet", "Cell", "Earlier", "Now", "Reason", "Initials"] in rows
    assert ["Runs", "AB3", "2.505", "2.506"] in rows
    page = (tmp_path / "day.summary.html").read_text(encoding="utf-8")
    assert "Changed since the earlier set" in page
    assert "Runs AB3" in page


def rows_of_changes(page: str) -> list[tuple[bool, str]]:
    """Of the part on changes, each line with whether it is printed."""
    part = page.partition('id="changes"')[2].partition("</section>")[0]
    found = re.findall(
        '<tr role="row"( class="screen")?><th scope="row" role="rowheader"><span class="long">([^<]*)', part
    )
    return [(not on_screen_only, what) for on_screen_only, what in found]


def test_the_page_shows_changes_of_what_was_read_first_and_prints_a_dozen(tmp_path: Path) -> None:
    log = two_samples()
    log.headings = {"A notebook": ["Note"]} | log.headings
    log.rows = {"A notebook": [{"Note": f"note {number}"} for number in range(30)]} | log.rows
    process(log, tmp_path)
    for number in range(30):
        log.rows["A notebook"][number]["Note"] = f"another {number}"
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.506
    process(log, tmp_path)
    page = (tmp_path / "day.summary.html").read_text(encoding="utf-8")
    lines = rows_of_changes(page)
    assert lines[0] == (True, "Runs AB3")
    assert [what for _, what in lines[1:3]] == ["A notebook A2", "A notebook A3"]
    assert [printed for printed, _ in lines] == [True] * 12 + [False] * 13
    assert '<p class="soft screen">… and 6 cells more, listed on Changes in the results workbook.</p>' in page
    assert '<p class="soft paper">… and 19 cells more, listed on Changes in the results workbook.</p>' in page


def test_released_values_that_read_alike_are_only_counted_on_the_page(tmp_path: Path) -> None:
    process(signed(two_samples()), tmp_path)
    log = signed(two_samples())
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.505001
    document = process(log, tmp_path)
    assert document["changes"]["values"]
    page = (tmp_path / "day.summary.html").read_text(encoding="utf-8")
    assert "No released value changed by 0.1 J/g or more." in page
    assert [what for _, what in rows_of_changes(page)] == ["Runs AB3"]


def test_a_row_put_in_leaves_those_below_it_unchanged(tmp_path: Path) -> None:
    process(two_samples(), tmp_path)
    log = two_samples()
    log.rows["Runs"].insert(2, {"Firing no.": 9, "Purpose": "trial"})
    cells = process(log, tmp_path)["changes"]["cells"]
    assert [(cell["cell"], cell["now"]) for cell in cells] == [("A4 (row added)", "9"), ("D4 (row added)", "trial")]


def test_the_same_workbook_again_gives_the_same_outputs(tmp_path: Path) -> None:
    log = signed(two_samples())
    process(log, tmp_path)
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.506
    signed(log, sample_no="S1", reason="rise of firing 2 mistyped")
    first = process(log, tmp_path)
    kept = {name: (tmp_path / name).read_bytes() for name in ("day.results.xlsx", "day.results.json")}
    CliRunner().invoke(cli, ["process", str(tmp_path / "day.xlsx"), "--force"])
    assert first["release"]["state"] == "amended"
    assert first["changes"]["cells"]
    for name, data in kept.items():
        assert (tmp_path / name).read_bytes() == data


def test_a_released_value_that_changes_is_an_amended_issue_only_with_a_reason(tmp_path: Path) -> None:
    log = signed(two_samples())
    process(log, tmp_path)
    earlier = hashlib.sha256((tmp_path / "day.results.json").read_bytes()).hexdigest()
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.506  # 10 J/g more for the firing, 5 J/g for the mean
    silent = process(log, tmp_path)
    assert (silent["release"]["state"], silent["release"]["issue"]) == ("draft", 2)
    finding = next(f for f in silent["findings"] if f["code"] == "released-then-changed")
    assert finding["sample"] == "S1"
    assert "gross, ad: 24965.0 J/g → 24970.0 J/g" in finding["message"]
    page = (tmp_path / "day.summary.html").read_text(encoding="utf-8")
    assert "Draft until released as issue 2. Issue 1 was released by B on 2026-10-14." in page
    # A signature without a reason, and one of another sample, are not enough, also in a later run.
    for entries in ({"date": dt.date(2026, 10, 15)}, {"sample_no": "S2", "reason": "why not"}):
        assert process(signed(log.copy(), **entries), tmp_path)["release"]["state"] == "draft"
    log = signed(log, sample_no="S1", date=dt.date(2026, 10, 16), reason="rise of firing 2 mistyped", reviewer="C")
    release = process(log, tmp_path)["release"]
    assert (release["state"], release["issue"], release["reviewer"]) == ("amended", 2, "C")
    assert release["issued"]["supersedes"] == {"issue": 1, "results_sha256": earlier}
    assert release["issued"]["changed"][0] == {
        "sample": "S1",
        "value": "gross, ad",
        "earlier_J_per_g": pytest.approx(24965),
        "now_J_per_g": pytest.approx(24970),
    }
    assert "It replaces issue 1: rise of firing 2 mistyped." in (tmp_path / "day.summary.html").read_text("utf-8")
    assert ["Replaces issue 1", f"results file SHA-256 {earlier}"] in texts(tmp_path, "Record")
    # The reason of issue 2 is used up: another change needs another.
    log.rows["Runs"][0]["Temperature rise (K)"] = 2.501
    again = process(log, tmp_path)["release"]
    assert (again["state"], again["issue"]) == ("draft", 3)


def test_a_change_that_touches_no_released_value_keeps_the_issue(tmp_path: Path) -> None:
    log = signed(two_samples(), sample_no="S1")
    process(log, tmp_path)
    log.rows["Runs"][2]["Temperature rise (K)"] = 2.511
    release = process(log, tmp_path)["release"]
    assert (release["state"], release["issue"], release["samples"]) == ("released", 1, ["S1"])
    signed(log, sample_no="S2", date=dt.date(2026, 10, 15))
    release = process(log, tmp_path)["release"]
    assert (release["state"], release["issue"], release["samples"]) == ("released", 2, ["S1", "S2"])


def test_a_release_that_is_taken_back_is_said(tmp_path: Path) -> None:
    process(signed(two_samples()), tmp_path)
    document = process(two_samples(), tmp_path)
    assert document["release"]["state"] == "draft"
    found = [f for f in document["findings"] if f["code"] == "released-then-changed"]
    assert [f["sample"] for f in found] == ["S1", "S2"]
    assert "it is not released any more" in found[0]["message"]


@pytest.mark.parametrize("damage", ["{", "[]", '{"release": 3}', '{"release": {"issued": {"number": "x"}}}', ""])
def test_a_damaged_earlier_set_makes_no_release(damage: str, tmp_path: Path) -> None:
    process(signed(two_samples()), tmp_path)
    (tmp_path / "day.results.json").write_text(damage, encoding="utf-8")
    document = process(signed(two_samples()), tmp_path)
    assert document["release"]["state"] == "draft"
    assert "earlier-issue-unread" in {f["code"] for f in document["findings"]}


def test_a_results_workbook_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    process(two_samples(), tmp_path)
    (tmp_path / "day.results.xlsx").write_bytes(b"PK damaged")
    log = two_samples()
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.506
    changes = process(log, tmp_path)["changes"]
    assert changes["cells"] == []
    assert "cells were not compared" in changes["not_compared"]


def test_cells_of_another_kind_of_file_are_compared_by_what_they_show(tmp_path: Path) -> None:
    """An .ods is written out as values, so that a formula is no change, and neither is anything else."""
    from workbook_as_ods import as_ods, tables_of

    for rise in (2.505, 2.506):
        log = two_samples()
        log.rows["Runs"][1]["Temperature rise (K)"] = rise
        (tmp_path / "day.ods").write_bytes(as_ods(tables_of(log)))
        CliRunner().invoke(cli, ["process", str(tmp_path / "day.ods"), "--force"])
    document = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))
    assert [(cell["sheet"], cell["cell"]) for cell in document["changes"]["cells"]] == [("Runs", "AB3")]


def test_rows_that_are_all_alike_are_compared_one_after_another(tmp_path: Path) -> None:
    """A column with two words in a thousand rows, one of them exchanged: each is found, and in good time."""
    first, second = two_samples(), two_samples()
    for log, word in ((first, "wet"), (second, "dry")):
        log.headings["Notes"] = ["Note"]
        log.rows["Notes"] = [{"Note": word if number % 3 else "as before"} for number in range(999)]
    process(first, tmp_path)
    cells = process(second, tmp_path)["changes"]["cells"]
    assert len(cells) == 666
    assert cells[0] == {"sheet": "Notes", "cell": "A3", "earlier": "wet", "now": "dry"}


def test_a_formula_typed_over_with_its_value_is_a_change(tmp_path: Path) -> None:
    log = two_samples()
    path = log.save(tmp_path)
    for typed in (False, True):
        book = openpyxl.load_workbook(path)
        notes = book.create_sheet("Notes") if "Notes" not in book.sheetnames else book["Notes"]
        notes["A1"] = 2 if typed else "=1+1"
        book.save(path)
        CliRunner().invoke(cli, ["process", str(path), "--force"])
    document = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))
    assert document["changes"]["cells"] == [{"sheet": "Notes", "cell": "A1", "earlier": "from =1+1", "now": "2"}]
