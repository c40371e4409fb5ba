"""The pages as a browser prints them: few enough sheets that someone reads them, and nothing torn from its words."""

import re
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner
from curve_day import curve_log
from day import CONSTANTS, printed
from logbook import run
from long_log import long_log
from programs import program
from test_layout_in_browser import A4_WIDTH, dumped, on_paper

from batchcal.cli import cli
from batchcal.report.page import summary_page

EXAMPLES = Path(__file__).parents[2] / "example_workbooks"
NARROW = re.compile("Liberation Sans|Arial|Helvetica|Segoe UI|Noto Sans")
"""Fonts that the page asks for; others are wider and take more room."""


def as_pdf(page: Path) -> Path:
    browser = program("chromium", "chromium-browser", "google-chrome")
    pdf = page.with_suffix(".pdf")
    command = [
        browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        f"--user-data-dir={page.parent / 'profile'}", "--no-pdf-header-footer", f"--print-to-pdf={pdf}",
        page.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return pdf


def texts_of(pdf: Path) -> list[str]:
    """The words of each side of a document."""
    command = [program("pdftotext"), str(pdf), "-"]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    return [" ".join(side.split()) for side in text.split("\f")[:-1]]


@pytest.mark.parametrize(("day", "most"), [("clean_day", 2), ("difficult_day", 2), ("readings_day", 2), ("twelve", 2)])
def test_a_day_fits_on_a_few_sheets(day: str, most: int, tmp_path: Path) -> None:
    """Two sides for a day of up to twelve samples with all that must be done and its curves."""
    workbook = EXAMPLES / f"{day}.xlsx"
    if day == "twelve":
        workbook = long_log(1, samples=12, apart=(0,)).save(tmp_path, "twelve.xlsx")
    CliRunner().invoke(cli, ["process", str(workbook), "--out", str(tmp_path)])
    document = as_pdf(tmp_path / f"{day}.summary.html").read_bytes()
    sheets = len(re.findall(rb"/Type\s*/Page\b", document))
    sizes = {
        tuple(round(float(side)) for side in box.split()) for box in re.findall(rb"/MediaBox \[0 0 ([^]]+)\]", document)
    }
    assert sizes == {(595, 842)}, "not A4"
    fonts = subprocess.run([program("fc-list"), ":", "family"], check=True, capture_output=True, text=True).stdout
    assert sheets <= (most if NARROW.search(fonts) else most + 1)


@pytest.mark.parametrize("day", ["difficult_day", "readings_day"])
def test_type_is_seven_points_or_more_on_paper(day: str, tmp_path: Path) -> None:
    """A unit of a drawing is its width on paper over the width of its view box; the type is set in such units."""
    CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{day}.xlsx"), "--out", str(tmp_path)])
    page = (tmp_path / f"{day}.summary.html").read_text(encoding="utf-8")
    policy = re.search("<meta http-equiv[^>]*>", page)
    assert policy is not None
    measure = """
    const sizes = [...document.querySelectorAll(".chart text")].map(text => {
      const box = text.closest("svg"), unit = box.getBoundingClientRect().width / box.viewBox.baseVal.width;
      return parseFloat(getComputedStyle(text).fontSize) * unit * 72 / 96;
    });
    const written = node => node.nodeType === 3 && node.data.trim();
    const plain = [...document.querySelectorAll("body *:not(svg *, script, .unseen)")].filter(element =>
      element.getBoundingClientRect().width && [...element.childNodes].some(written)
    ).map(element => parseFloat(getComputedStyle(element).fontSize) * 72 / 96);
    document.body.textContent = "MEASURED" + JSON.stringify({
      least: Math.min(...sizes), count: sizes.length, plain: Math.min(...plain), words: plain.length,
    }) + "END";
    """
    framed = f"<style>body {{ width: {A4_WIDTH}px; margin: 0; }}</style></head>"
    page = on_paper(page.replace(policy[0], "").replace("</head>", framed)).replace("<details>", "<details open>")
    found = dumped(page.replace("</body>", f"<script>{measure}</script></body>"), tmp_path)
    assert found["count"] > 40
    assert found["least"] >= 6.95
    assert found["words"] > 500
    assert found["plain"] >= 7


def test_what_is_left_out_on_paper_is_said_there(tmp_path: Path) -> None:
    CliRunner().invoke(cli, ["process", str(EXAMPLES / "clean_day.xlsx"), "--out", str(tmp_path)])
    page = tmp_path / "clean_day.summary.html"
    closed = " ".join(texts_of(as_pdf(page)))
    assert "On paper only opened parts appear. Settings and constants stand in the results workbook" in closed
    assert "Wire spool 3" not in closed
    assert "3203" in closed
    page.write_text(page.read_text(encoding="utf-8").replace("<details>", "<details open>"), encoding="utf-8")
    opened = " ".join(texts_of(as_pdf(page)))
    assert "Wire spool 3" in opened
    assert "Corrections, firing by firing" in opened


def test_the_words_above_the_small_curves_stay_with_them(tmp_path: Path) -> None:
    """Wherever on a side they come to stand, heading, words and the first row of curves stand on the same one."""
    page = summary_page(run(curve_log(), tmp_path), printed, CONSTANTS)
    section = re.search('<section id="curves".*?</section>', page, re.DOTALL)
    assert section is not None
    copies = [
        f'<div style="break-before: page; height: {height}mm"></div>{section[0]}' for height in range(20, 230, 15)
    ]
    policy = re.search("<meta http-equiv[^>]*>", page)
    assert policy is not None
    file = tmp_path / "copies.html"
    head = page.replace(policy[0], "").partition("<main>")[0]
    file.write_text(head + "".join(f"<main>{copy}</main>" for copy in copies), encoding="utf-8")
    sides = [side for side in texts_of(as_pdf(file)) if "Curves without a finding" in side]
    assert len(sides) == len(copies)
    for side in sides:
        words = side.partition("Curves without a finding")[2]
        assert "standard uncertainty of the corrected rise." in words
        assert "501 calibration" in words
