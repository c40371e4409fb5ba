"""The page in a real browser: nothing runs over the edge on a narrow screen or on paper."""

import html
import json
import re
import subprocess
from pathlib import Path

import pytest
from day import CONSTANTS, make_evaluation, printed
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


def measured(page: str, width: int, folder: Path) -> dict[str, object]:
    """Lay the page out in a frame of this width and return what the browser measured."""
    browser = program("chromium", "chromium-browser", "google-chrome")
    file = folder / "frame.html"
    file.write_text(
        '<!doctype html><meta charset="utf-8"><body style="margin:0">'
        f'<iframe style="width:{width}px;height:900px;border:0"></iframe>'
        f'<template id="page">{html.escape(page)}</template>'
        f'<script>{MEASURE}frame.srcdoc = document.getElementById("page").content.textContent;</script>',
        encoding="utf-8",
    )
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


@pytest.mark.parametrize(
    ("width", "paper"),
    [(360, False), (740, False), (900, False), (1200, False), (A4_WIDTH, True)],
    ids=["360", "740", "900", "1200", "A4"],
)
def test_nothing_runs_over_the_edge(width: int, paper: bool, tmp_path: Path) -> None:
    page = summary_page(make_evaluation(check_off=-95.0, pressure=3.6), printed, CONSTANTS, "Invented title")
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
