"""The certificate and the list of changes as a browser lays them out: on a narrow screen, and on numbered sheets."""

import datetime as dt
import html
import re
from pathlib import Path

import pytest
from test_certificate import certificate, complete, process
from test_layout_in_browser import dumped
from test_printed_page import as_pdf, texts_of

MEASURE = """
const frame = document.querySelector("iframe");
frame.addEventListener("load", () => {
  const inner = frame.contentDocument, width = inner.documentElement.clientWidth, over = [];
  for (const element of inner.body.querySelectorAll("*")) {
    const box = element.getBoundingClientRect();
    if (box.width && !element.closest("thead, .scroll, .unseen, .skip") && (box.right > width + 1 || box.left < -1))
      over.push(element.outerHTML.slice(0, 120));
  }
  const shown = {over, width, scroll: inner.documentElement.scrollWidth, text: inner.body.innerText.length};
  document.body.textContent = "MEASURED" + JSON.stringify(shown) + "END";
});
frame.srcdoc = document.getElementById("page").content.textContent;
"""

LONG = "Saltmarsh-Heat-and-Power-of-the-Northern-Quays-and-Eastholm-Holdings"


@pytest.mark.parametrize("width", [360, 700])
@pytest.mark.parametrize("name", ["day.certificate.html", "day.summary.html"])
def test_nothing_runs_over(name: str, width: int, tmp_path: Path) -> None:
    log = complete()
    log.setup["Customer"] = (LONG,)
    process(log, tmp_path)
    log.setup["Repeatability limit"] = (130, "J/g", f"procedure {LONG}")
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.5061
    log.add("Amendments", finding="release", reviewer="C", date=dt.date(2026, 10, 17), reason="rise mistyped")
    certificate(log, tmp_path)
    page = (tmp_path / name).read_text(encoding="utf-8")
    assert ("Changed since the earlier set" in page) is (name == "day.summary.html")
    found = dumped(
        f'<!doctype html><meta charset="utf-8"><body style="margin:0"><iframe style="width:{width}px;height:900px;'
        f'border:0"></iframe><template id="page">{html.escape(page)}</template><script>{MEASURE}</script>',
        tmp_path,
    )
    assert found["over"] == []
    assert found["scroll"] == found["width"] == width
    assert found["text"] > 1000


def test_every_sheet_has_the_number_and_counts_the_sheets(tmp_path: Path) -> None:
    log = complete()
    for number in range(2, 9):
        name = f"S{number}"
        for firing in (2 * number, 2 * number + 1):
            log.add("Runs", firing_no=firing, sample_no=name, sample_mass=1.0, temperature_rise=2.5)
            log.rows["Runs"][-1]["Temperature rise (K)"] += firing / 5000
        log.rows["Samples"].append(log.rows["Samples"][0] | {"Sample no.": name})
    certificate(log, tmp_path)
    pdf = as_pdf(tmp_path / "day.certificate.html")
    sheets = texts_of(pdf)
    assert len(sheets) > 1
    for number, words in enumerate(sheets, 1):
        assert f"page {number} of {len(sheets)}" in words
        assert "Certificate 26-0114, issue 1" in words
    assert "End of certificate 26-0114" in sheets[-1]
    # No sample is torn: each stands with its results on one sheet.
    for name in (f"S{number}" for number in range(1, 9)):
        (sheet,) = (words for words in sheets if f"Sample {name} " in words)
        assert f"Results of sample {name} in kJ/kg" in sheet
    boxes = re.findall(rb"/MediaBox \[0 0 ([^]]+)\]", pdf.read_bytes())
    assert {tuple(round(float(side)) for side in box.split()) for box in boxes} == {(595, 842)}
