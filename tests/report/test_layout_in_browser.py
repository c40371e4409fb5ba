"""The page in a real browser: nothing runs over the edge on a narrow screen or on paper."""

import html
import json
import re
import subprocess
from pathlib import Path

import pytest
from curve_day import DIGIT, GAP, UNSTEADY, curve_log
from day import CONSTANTS, make_evaluation, printed
from logbook import run
from programs import program

from batchcal.report.page import summary_page

A4_WIDTH = round((210 - 2 * 13) / 25.4 * 96)
"""Width between the page's margins in CSS pixels."""

MEASURE = """
const frame = document.querySelector("iframe");
frame.addEventListener("load", () => {
  const inner = frame.contentDocument, width = inner.documentElement.clientWidth, over = [];
  for (const element of inner.body.querySelectorAll("*")) {
    const box = element.getBoundingClientRect();
    if (element.closest(".scroll, .unseen, .skip, thead") || !box.width) continue;
    if (box.right > width + 1 || box.left < -1) over.push(element.outerHTML.slice(0, 120));
  }
  const heading = inner.getElementById("h-samples").getBoundingClientRect();
  document.body.textContent = "MEASURED" + JSON.stringify({
    width, scroll: inner.documentElement.scrollWidth, over, text: inner.getElementById("samples").innerText.length,
    heading: heading.height,
  }) + "END";
});
"""


FOLLOW = """
const links = [...document.querySelectorAll("#samples a")], opened = [];
const next = () => {
  const link = links.shift();
  if (!link) {
    document.body.textContent = "MEASURED" + JSON.stringify({opened}) + "END";
    return;
  }
  link.click();
  setTimeout(() => {
    const target = document.getElementById(link.hash.slice(1)), part = target.closest("details");
    opened.push([link.textContent, part.open, target.getBoundingClientRect().height > 20]);
    part.open = false;
    next();
  }, 50);
};
next();
"""
"""Follows every link of the table of samples and notes whether its working came into view."""


def measured(page: str, width: int, folder: Path) -> dict[str, object]:
    """Lay the page out in a frame of this width and return what the browser measured."""
    return _dumped(
        '<!doctype html><meta charset="utf-8"><body style="margin:0">'
        f'<iframe style="width:{width}px;height:900px;border:0"></iframe>'
        f'<template id="page">{html.escape(page)}</template>'
        f'<script>{MEASURE}frame.srcdoc = document.getElementById("page").content.textContent;</script>',
        folder,
    )


def _dumped(document: str, folder: Path) -> dict[str, object]:
    """Open a document in the browser and return what its script left between MEASURED and END."""
    browser = program("chromium", "chromium-browser", "google-chrome")
    file = folder / "frame.html"
    file.write_text(document, encoding="utf-8")
    command = [
        browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync", "--hide-scrollbars",
        f"--user-data-dir={folder / 'profile'}", "--window-size=1200,1000", "--virtual-time-budget=5000",
        "--dump-dom", file.as_uri(),
    ]  # fmt: skip
    dumped = subprocess.run(command, check=True, capture_output=True, text=True, timeout=120).stdout
    found = re.search("MEASURED(.*)END", dumped, re.DOTALL)
    assert found is not None, dumped[:500]
    result: dict[str, object] = json.loads(html.unescape(found[1]))
    return result


@pytest.mark.parametrize("kind", ["titrated", "read against time"])
@pytest.mark.parametrize(
    ("width", "paper"),
    [(360, False), (740, False), (900, False), (1200, False), (A4_WIDTH, True)],
    ids=["360", "740", "900", "1200", "A4"],
)
def test_nothing_runs_over_the_edge(width: int, paper: bool, kind: str, tmp_path: Path) -> None:
    if kind == "titrated":
        evaluation = make_evaluation(check_off=-95.0, pressure=3.6)
    else:
        evaluation = run(curve_log(spoilt=(UNSTEADY, DIGIT, GAP)), tmp_path)
    page = summary_page(evaluation, printed, CONSTANTS, "Invented title").replace("<details>", "<details open>")
    if paper:
        assert "@media print" in page
        page = page.replace("@media print", "@media all").replace(
            "@media screen and (max-width", "@media not all and (max-width"
        )
    found = measured(page, width, tmp_path)
    assert found["width"] == width
    assert found["over"] == []
    assert found["scroll"] == width
    assert int(str(found["text"])) > 500


def test_a_number_in_the_table_opens_its_working(tmp_path: Path) -> None:
    evaluation = make_evaluation()
    page = summary_page(evaluation, printed, CONSTANTS)
    policy = re.search("<meta http-equiv[^>]*>", page)
    assert policy is not None
    page = page.replace(policy[0], "").replace("</body>", f"<script>{FOLLOW}</script></body>")
    opened = _dumped(page, tmp_path)["opened"]
    assert isinstance(opened, list)
    assert len(opened) == sum(1 + len(sample.firings) for sample in evaluation.samples)
    assert all(is_open and in_view for _, is_open, in_view in opened), opened
