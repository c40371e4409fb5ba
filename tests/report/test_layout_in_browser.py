"""The page in a real browser: nothing runs over the edge on a narrow screen or on paper."""

import html
import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from curve_day import DIGIT, GAP, UNSTEADY, curve_log
from day import CONSTANTS, make_batch, make_evaluation, printed, with_settings
from logbook import run
from long_log import long_log
from msgspec.structs import replace
from programs import program

from batchcal.report.page import summary_page

A4_WIDTH = round((210 - 2 * 13) / 25.4 * 96)
"""Width between the page's margins in CSS pixels."""

WIDTHS = (360, 740, 900, 980, 1200)
"""Widths of a screen in CSS pixels; just above 960 the tables are at their tightest."""

WIDE = '<style>body *:not(.work, .work *) { font-family: "DejaVu Sans" !important; }</style></head>'
"""The widest of the fonts that machines fall back on; a tenth to a fifth wider than those the page asks for."""

MEASURE = """
const frames = [...document.querySelectorAll("iframe")], found = {};
const size = element => parseFloat(getComputedStyle(element).fontSize);
const measure = frame => {
  const inner = frame.contentDocument, width = inner.documentElement.clientWidth, over = [];
  for (const element of inner.body.querySelectorAll("*")) {
    const box = element.getBoundingClientRect();
    if (element.closest(".scroll, .unseen, .skip, thead") || !box.width) continue;
    if (box.right > width + 1 || box.left < -1) over.push(element.outerHTML.slice(0, 120));
  }
  found[frame.title] = {
    width, scroll: inner.documentElement.scrollWidth, over: over.slice(0, 5),
    text: inner.body.innerText.length,
    grey: Math.max(...[...inner.querySelectorAll("p.soft, p.key")].map(size)), cell: size(inner.querySelector("td")),
  };
  if (Object.keys(found).length == frames.length) {
    document.body.textContent = "MEASURED" + JSON.stringify(found) + "END";
  }
};
for (const frame of frames) {
  frame.addEventListener("load", () => measure(frame));
  frame.srcdoc = document.getElementById(frame.dataset.page).content.textContent;
}
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


def measured(page: str, folder: Path) -> dict[str, dict[str, Any]]:
    """Lay the page out at every width, on the screen and on paper, and return what the browser measured of each."""
    sides = {"screen": page, "paper": on_paper(page)}
    frames = [("screen", width) for width in WIDTHS] + [("paper", A4_WIDTH)]
    return dumped(
        '<!doctype html><meta charset="utf-8"><body style="margin:0">'
        + "".join(
            f'<iframe title="{side} {width}" data-page="{side}" style="width:{width}px;height:900px;border:0"></iframe>'
            for side, width in frames
        )
        + "".join(f'<template id="{side}">{html.escape(text)}</template>' for side, text in sides.items())
        + f"<script>{MEASURE}</script>",
        folder,
    )


def assert_nothing_runs_over(page: str, folder: Path) -> None:
    found = measured(page, folder)
    assert len(found) == len(WIDTHS) + 1
    for side, measures in found.items():
        assert measures["over"] == [], side
        assert measures["scroll"] == measures["width"] == int(side.split()[1]), side
        assert measures["text"] > 3000
        assert measures["grey"] <= measures["cell"], f"{side}: what is said aside is larger than the text"


def dumped(document: str, folder: Path) -> dict[str, Any]:
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
    result: dict[str, Any] = json.loads(html.unescape(found[1]))
    return result


def in_wide_font(page: str) -> str:
    """Return the page set in the wide font; the test is skipped where that is not installed."""
    installed = subprocess.run([program("fc-list"), ":", "family"], check=True, capture_output=True, text=True).stdout
    if "DejaVu Sans\n" not in installed.replace(",", "\n"):
        pytest.skip("needs the font DejaVu Sans, which is not installed here")
    return page.replace("</head>", WIDE)


def on_paper(page: str) -> str:
    """Return the page with the rules for print in force on the screen."""
    assert "@media print" in page
    return page.replace("@media print", "@media all").replace(
        "@media screen and (max-width", "@media not all and (max-width"
    )


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Pages with every part open: a day titrated, one with every basis and net, one against time, and a long log."""
    evaluations = {
        "titrated": make_evaluation(check_off=-95.0, pressure=3.6),
        "every basis": with_settings(
            lambda e: replace(e, value="ad, d, ar, daf") if e.key == "bases_required" else e, make_batch()
        ),
        "read against time": run(curve_log(spoilt=(UNSTEADY, DIGIT, GAP)), tmp_path_factory.mktemp("curves")),
        "one odd curve": run(curve_log(spoilt=(DIGIT,)), tmp_path_factory.mktemp("curve")),
        "long log": run(long_log(8), tmp_path_factory.mktemp("long")),
    }
    return {
        kind: re.sub("<details( [^>]*)?>", "<details open>", summary_page(evaluation, printed, CONSTANTS, "Title"))
        for kind, evaluation in evaluations.items()
    }


@pytest.mark.parametrize("kind", ["titrated", "every basis", "read against time", "one odd curve", "long log"])
@pytest.mark.parametrize("wide", [False, True], ids=["", "wide"])
def test_nothing_runs_over_the_edge(wide: bool, kind: str, pages: dict[str, str], tmp_path: Path) -> None:
    assert_nothing_runs_over(in_wide_font(pages[kind]) if wide else pages[kind], tmp_path)


@pytest.mark.parametrize("paper", [False, True], ids=["screen", "paper"])
def test_a_single_odd_curve_takes_the_whole_width(paper: bool, pages: dict[str, str], tmp_path: Path) -> None:
    page = on_paper(pages["one odd curve"]) if paper else pages["one odd curve"]
    policy = re.search("<meta http-equiv[^>]*>", page)
    assert policy is not None
    figure = """const box = s => document.querySelector(s).getBoundingClientRect();
      document.body.textContent = "MEASURED" + JSON.stringify({figure: box(".odd figure").width,
      section: box("#curves").width, chart: box(".odd .chart").width, words: box(".odd figcaption").width}) + "END";"""
    found = dumped(page.replace(policy[0], "").replace("</body>", f"<script>{figure}</script></body>"), tmp_path)
    assert found["figure"] == pytest.approx(found["section"], abs=1)
    assert found["chart"] + found["words"] > 0.9 * found["section"]


def test_a_number_in_the_table_opens_its_working(tmp_path: Path) -> None:
    evaluation = make_evaluation()
    page = summary_page(evaluation, printed, CONSTANTS)
    policy = re.search("<meta http-equiv[^>]*>", page)
    assert policy is not None
    page = page.replace(policy[0], "").replace("</body>", f"<script>{FOLLOW}</script></body>")
    opened = dumped(page, tmp_path)["opened"]
    assert isinstance(opened, list)
    assert len(opened) == sum(1 + len(sample.firings) for sample in evaluation.samples)
    assert all(is_open and in_view for _, is_open, in_view in opened), opened
