"""The certificate: it holds what a customer's report must, or is refused with all that is missing for it."""

import datetime as dt
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from logbook import DAY, Log, plain_log

from batchcal.cli import cli
from batchcal.report.environment import environment

MORE = {
    "Laboratory": ("Example Fuel Laboratory (invented)",),
    "Laboratory address": ("4 Kiln Road, Northmoor",),
    "Customer": ("Saltmarsh Heat & Power, Quay 2, Eastholm",),
    "Certificate number": ("26-0114",),
    "Method edition": ("lab procedure 7, 2025",),
    "Method deviations": ("none",),
    "Report unit": ("kJ/kg",),
    "Report rounding": (10,),
    "Bases required": ("ad, d, ar",),
    "Reference temperature": (25, "°C", "the method"),
}
SAMPLE = {
    "description": "Hard coal, washed", "delivery": "Barge 12", "received_on": dt.date(2026, 10, 12),
    "sampled_on": dt.date(2026, 10, 11), "sampled_by": "the customer", "condition": "sealed bag, dry",
    "moisture_total": 9.0, "moisture_date": DAY, "total_moisture_date": dt.date(2026, 10, 13),
    "moisture_and_contents_by": "own; total moisture by the customer",
}  # fmt: skip


def complete() -> Log:
    """A released day with all that a certificate needs: 24 965 J/g as analysed, 4 % and 9 % of moisture.

    Dry 24 965 / 0.96 = 26 005.2; as received 26 005.2 x 0.91 = 23 664.7 J/g, to 10 kJ/kg 24 960 (half to even),
    26 010 and 23 660.
    """
    log = plain_log(2.5, 2.505)
    log.setup |= MORE
    log.rows["Samples"] = []
    log.add("Samples", sample_no="S1", moisture_analysis=4.0, **SAMPLE)
    log.rows["Amendments"] = []
    log.add("Amendments", finding="release", reviewer="O. Adeyemi", date=dt.date(2026, 10, 15))
    return log


def process(log: Log, folder: Path, *options: str) -> Result:
    log.save(folder)
    result = CliRunner().invoke(cli, ["process", str(folder / "day.xlsx"), "--force", *options])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


def certificate(log: Log, folder: Path) -> str:
    result = process(log, folder, "--certificate")
    assert "no certificate" not in result.stderr, result.stderr
    return (folder / "day.certificate.html").read_text(encoding="utf-8")


class _Text(HTMLParser):
    """Collects the words of a page, without its style, and its tables as rows of cells."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.rows: list[list[str]] = []
        self.scopes: list[str] = []
        self.tags: list[str] = []
        self._style = False
        self.feed(re.sub(r'<span class="w">([^<]*)</span>', r"\1", page))  # it only keeps a date on one line
        self.text = " ".join(" ".join(self.words).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._style = tag == "style"
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th") and self.rows:
            self.rows[-1].append("")
        if tag == "th":
            self.scopes.append(dict(attrs).get("scope") or "")

    def handle_endtag(self, tag: str) -> None:
        self._style = self._style and tag != "style"
        if tag == "table":
            self.rows.append([])

    def handle_data(self, data: str) -> None:
        if self._style:
            return
        self.words.append(data)
        if self.rows and self.rows[-1]:
            self.rows[-1][-1] = " ".join((self.rows[-1][-1] + " " + data).split())


def test_a_complete_certificate_says_all_of_it(tmp_path: Path) -> None:
    """The list is that of a test report by the general requirements for laboratories (ISO/IEC 17025:2017, 7.8.2).

    From memory, unchecked.
    """
    page = _Text(certificate(complete(), tmp_path))
    for words in (
        "Test certificate: calorific value",
        "Example Fuel Laboratory (invented) 4 Kiln Road, Northmoor",
        "No. 26-0114 issue 1",
        "Customer Saltmarsh Heat & Power, Quay 2, Eastholm",
        "(lab), edition lab procedure 7, 2025 Deviations none Issued 2026-10-15",
        "Description Hard coal, washed Delivery Barge 12 Condition sealed bag, dry",
        "Sampled the customer, 2026-10-11 Received 2026-10-12 Tested 2026-10-14 Determinations mean of 2",
        "of the analysis sample 4 % (2026-10-14); total, as received 9 % (2026-10-13)",
        "Moisture and contents by own; total moisture by the customer",
        "Heat capacity 10000.0 J/K, the calorimeter (as entered, 2026-10-01)",
        "Ignition as a fixed heat per firing; no correction was made for nitric and sulphuric acid;",
        "No decision rule was agreed. This certificate makes no statement of conformity.",
        "The results relate only to the items tested",
        "sampling is not included",
        "Authorised for issue O. Adeyemi on 2026-10-15",
        "End of certificate 26-0114",
    ):
        assert words in page.text, words
    assert page.rows[1][:4] == ["Gross calorific value", "volume", "as analysed", "25 °C"]
    figures = {row[2]: row[4] for row in page.rows if row and row[0] == "Gross calorific value"}
    assert {basis: text.strip() for basis, text in figures.items()} == {
        "as analysed": "24960", "dry": "26010", "as received": "23660",
    }  # fmt: skip
    assert "Amended" not in page.text


def test_it_is_one_file_with_pages_counted_and_tables_that_can_be_read_aloud(tmp_path: Path) -> None:
    text = certificate(complete(), tmp_path)
    page = _Text(text)
    assert not {"script", "link", "img", "iframe"} & set(page.tags)
    assert "url(" not in text
    assert '"page " counter(page) " of " counter(pages)' in text
    assert page.tags.count("caption") == page.tags.count("table") == 1
    assert set(page.scopes) == {"col", "row"}
    assert page.tags.count("h1") == 1


def test_uncertainty_stands_with_its_factor_and_else_why_not(tmp_path: Path) -> None:
    page = _Text(certificate(complete(), tmp_path))
    assert "Where no uncertainty stands, it is not stated:" in page.text
    log = complete()
    log.setup |= {
        "Heat-capacity relative uncertainty": (0.05, "%", "own"),
        "Balance standard uncertainty": (0.1, "mg", "own"),
        "Thermometer standard uncertainty": (0.0005, "K", "own"),
        "Heat-exchange standard uncertainty": (0.0005, "K", "own"),
        "Correction relative uncertainty": (5, "%", "own"),
        "Moisture standard uncertainty": (0.05, "%", "own"),
        "Reading resolution": (0.001, "K"),
        "Acid scheme": ("fixed",),
        "Nitric acid heat": (40, "J", "own"),
        "Sulphuric acid heat": (302, "kJ/mol", "own"),
    }
    log.rows["Samples"][0] |= {"Sulphur (%)": 0.5, "Basis": "d"}
    log.rows["Amendments"] = []
    log.add("Amendments", finding="release", reviewer="C", date=dt.date(2026, 10, 16), reason="uncertainty asked for")
    page = _Text(certificate(log, tmp_path))
    document = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))
    spread = document["samples"][0]["expanded_uncertainty_J_per_g"]["d"]
    assert spread > 10
    assert next(row for row in page.rows if "dry" in row)[5] == f"± {10 * round(spread / 10)} (k = 2)"
    log.setup["Report rounding"] = (1000,)  # far coarser than the uncertainty, which must not be printed as 0
    log.add("Amendments", finding="release", reviewer="C", date=dt.date(2026, 10, 17), reason="rounding")
    assert "± under 1000 (k = 2)" in certificate(log, tmp_path)


ITEMS = (
    "Laboratory", "Laboratory address", "Customer", "Certificate number", "Method edition", "Method deviations",
    "Bases required", "Report unit", "Reference temperature",
)  # fmt: skip


@pytest.mark.parametrize("item", ITEMS)
def test_a_blank_item_is_named_with_its_place(item: str, tmp_path: Path) -> None:
    log = complete()
    del log.setup[item]
    result = process(log, tmp_path, "--certificate")
    assert f"no certificate: {item} is blank or could not be read: enter it on Setup" in result.stderr
    assert result.exit_code == 1
    assert not (tmp_path / "day.certificate.html").exists()
    assert (tmp_path / "day.results.json").exists()


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Description", "B"), ("Moisture date", "Q"), ("Received on", "S"), ("Sampled by", "U"), ("Condition", "V"),
        ("Total moisture date", "W"), ("Moisture and contents by", "X"),
    ],
)  # fmt: skip
def test_a_blank_cell_of_a_sample_is_named_with_its_address(heading: str, column: str, tmp_path: Path) -> None:
    log = complete()
    log.headings["Samples"] += [h for h in log.rows["Samples"][0] if h not in log.headings["Samples"]]
    log.headings["Samples"].sort(key=ORDER.index)
    log.rows["Samples"][0][heading] = None
    result = process(log, tmp_path, "--certificate")
    assert f"no certificate: sample S1: {heading} is blank: enter it in Samples!{column}2" in result.stderr


ORDER = [
    "Sample no.", "Description", "Fuel class", "Source", "Moisture, analysis (%)", "Moisture, total (%)", "Ash (%)",
    "Sulphur (%)", "Hydrogen (%)", "Nitrogen (%)", "Oxygen (%)", "Volatile matter (%)", "Carbon (%)", "Chlorine (%)",
    "Basis", "Hydrogen includes moisture", "Moisture date", "Delivery", "Received on", "Sampled on", "Sampled by",
    "Condition", "Total moisture date", "Moisture and contents by",
]  # fmt: skip


def test_a_draft_has_no_certificate(tmp_path: Path) -> None:
    log = complete()
    log.rows["Amendments"] = []
    result = process(log, tmp_path, "--certificate")
    assert "no certificate: sample S1: not released: a reviewer signs on Amendments" in result.stderr


def test_a_reason_that_several_samples_share_is_said_once(tmp_path: Path) -> None:
    log = with_another(complete())
    log.add("Runs", firing_no=4, sample_no="S2", sample_mass=1.0, temperature_rise=2.512)
    log.rows["Amendments"] = []
    said = process(log, tmp_path, "--certificate").stderr
    assert "no certificate: samples S1 and S2: not released: a reviewer signs on Amendments" in said
    assert said.count("not released") == 1


def with_another(log: Log, **entries: Any) -> Log:
    """A second sample that is not ready: it has one firing."""
    log.add("Runs", firing_no=3, sample_no="S2", sample_mass=1.0, temperature_rise=2.51)
    log.add("Samples", sample_no="S2", moisture_analysis=5.0, **(SAMPLE | entries))
    log.rows["Amendments"][0]["Sample no."] = "S1"
    return log


def test_a_sample_that_is_not_ready_must_be_left_off_in_so_many_words(tmp_path: Path) -> None:
    refused = process(with_another(complete()), tmp_path, "--certificate")
    assert "sample S2: not ready (repeat) and not released" in refused.stderr
    page = _Text(certificate(with_another(complete(), on_certificate="no"), tmp_path))
    assert "Sample S1" in page.text
    assert "S2" not in page.text


def test_net_values_say_what_their_hydrogen_is(tmp_path: Path) -> None:
    log = complete()
    log.setup["Bases required"] = ("ar, net",)
    missing = process(log, tmp_path, "--certificate")
    assert "not ready" in missing.stderr
    log.rows["Samples"][0] |= {"Hydrogen (%)": 4.5, "Basis": "d", "Hydrogen includes moisture": "no"}
    page = _Text(certificate(log, tmp_path))
    assert "Hydrogen measured, 4.5 %, dry; assumed: the oxygen, which is not known and taken as 0" in page.text
    kept = [row[:3] for row in page.rows if row and row[0] == "Net calorific value"]
    assert kept == [["Net calorific value", held, "as received"] for held in ("pressure", "volume")]


def test_what_was_overridden_stands_on_it(tmp_path: Path) -> None:
    log = complete()
    for row, letter in zip(log.rows["Runs"], "AA", strict=True):
        row["Replicate"] = letter
    log.add("Amendments", finding="replicate-twice", sample_no="S1", reason="record 7 shows both", reviewer="B")
    assert "Released over a finding by B: record 7 shows both." in certificate(log, tmp_path)


def test_an_agreed_rule_is_printed(tmp_path: Path) -> None:
    log = complete()
    log.setup["Decision rule"] = ("simple acceptance, contract 88",)
    assert "Rule agreed with the customer: simple acceptance, contract 88." in certificate(log, tmp_path)


def test_the_results_file_knows_the_certificate(tmp_path: Path) -> None:
    certificate(complete(), tmp_path)
    document = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))
    assert sorted(document["outputs"]) == ["day.certificate.html", "day.results.xlsx", "day.summary.html"]
    (tmp_path / "day.certificate.html").write_text("another", encoding="utf-8")
    again = CliRunner().invoke(cli, ["process", str(tmp_path / "day.xlsx")])
    assert "day.certificate.html is not the one" in again.stderr
    (tmp_path / "day.certificate.html").unlink()  # filed elsewhere
    assert "incomplete" not in CliRunner().invoke(cli, ["process", str(tmp_path / "day.xlsx")]).stderr
    as_input = CliRunner().invoke(cli, ["check", str(tmp_path / "day.certificate.html")])
    assert as_input.exit_code == 2 or not (tmp_path / "day.certificate.html").exists()


def test_an_amended_issue_says_what_it_replaces_and_what_changed(tmp_path: Path) -> None:
    log = complete()
    first = certificate(log, tmp_path)
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.507  # the mean 10 J/g more
    silent = process(log, tmp_path, "--certificate")
    assert "day.certificate.html of an earlier set stands there, and there is no new one: sample S1:" in silent.stderr
    assert silent.exit_code == 2
    assert (tmp_path / "day.certificate.html").read_text(encoding="utf-8") == first
    log.add("Amendments", finding="release", reviewer="O. Adeyemi", date=dt.date(2026, 10, 20), reason="rise mistyped")
    page = _Text(certificate(log, tmp_path))
    for words in (
        "Amended test certificate: calorific value",
        "No. 26-0114 issue 2",
        "This is issue 2. It replaces issue 1, which is no longer valid. Reason: Rise mistyped.",
        "Sample S1, gross, as analysed: 24960 → 24980 kJ/kg",
        "Issued 2026-10-20",
    ):
        assert words in page.text, words


def test_another_text_under_the_same_issue_is_refused(tmp_path: Path) -> None:
    log = complete()
    certificate(log, tmp_path)
    log.setup["Customer"] = ("Somebody else",)
    refused = process(log, tmp_path, "--certificate")
    assert "a certificate of issue 1 was written before and said something else" in refused.stderr
    log.add(
        "Amendments", finding="release", reviewer="O. Adeyemi", date=dt.date(2026, 10, 20), reason="customer's name"
    )
    assert "No value on this certificate was changed." in certificate(log, tmp_path)


def test_an_older_certificate_is_never_left_beside_other_results(tmp_path: Path) -> None:
    log = complete()
    certificate(log, tmp_path)
    before = (tmp_path / "day.results.json").read_bytes()
    refused = process(log, tmp_path)
    assert "give --certificate to replace it. To go on without, file it elsewhere" in refused.stderr
    assert (tmp_path / "day.results.json").read_bytes() == before


def test_the_same_workbook_gives_the_same_certificate(tmp_path: Path) -> None:
    first = certificate(complete(), tmp_path)
    CliRunner().invoke(cli, ["process", str(tmp_path / "day.xlsx"), "--force", "--certificate"])
    assert (tmp_path / "day.certificate.html").read_text(encoding="utf-8") == first


def test_what_a_lab_types_stays_text(tmp_path: Path) -> None:
    log = complete()
    log.setup["Certificate number"] = ('9"; } body { display: none } </style><script>',)
    log.setup["Customer"] = ("<b>Nobody</b>",)
    text = certificate(log, tmp_path)
    assert "<script>" not in text
    assert "<b>Nobody" not in text
    style = text.partition("<style>")[2].partition("</style>")[0]
    assert "body { display: none }" not in style


def test_many_workbooks_have_no_certificate_at_once(tmp_path: Path) -> None:
    complete().save(tmp_path)
    result = CliRunner().invoke(cli, ["process", str(tmp_path), "--certificate"])
    assert (result.exit_code, "one workbook at a time" in result.stderr) == (2, True)
    assert environment().get_template("certificate.html.j2") is not None
