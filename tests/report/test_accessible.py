"""The pages are held to axe-core (by the package axe-core-python): names, structure, contrast, in light and dark."""

import html
import importlib.resources
import json
import re
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner
from programs import program
from test_certificate import certificate, complete

from batchcal.cli import cli

EXAMPLES = Path(__file__).parents[2] / "example_workbooks"
RUN = """
for (const one of [...document.querySelectorAll(".sort, [aria-pressed]")].slice(0, 3)) one.click();
if ([...document.querySelectorAll("details")].some(part => !part.open)) {
  [...document.querySelectorAll(".tools button")].at(-1)?.click();
}
axe.run(document, {resultTypes: ["violations"]}).then(found => {
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  const used = document.querySelectorAll("[aria-sort], [aria-pressed=true]").length;
  const short = found.violations.map(one => [one.id, one.impact, one.nodes.length, one.nodes[0].html.slice(0, 300),
                                             one.nodes[0].failureSummary]);
  document.title = "done";
  const said = document.createElement("pre");
  said.textContent = "FOUND" + JSON.stringify([short, found.passes.length, dark, used]) + "END";
  document.body.append(said);
});
"""


def violations(page: Path, *, dark: bool = False) -> tuple[list[list[str]], int]:
    """Return what axe-core finds on a page, and how many of its rules the page passes.

    Every part is opened, a table put in order and figures shown unrounded where the page has a script for it.
    """
    script = importlib.resources.files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    text = page.read_text(encoding="utf-8").replace("<details>", "<details open>")
    text = re.sub('<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    file = page.with_name(f"{page.stem}.axe.html")
    file.write_text(
        text.replace("</body>", f"<script>{script}</script><script>{RUN}</script></body>"), encoding="utf-8"
    )
    command = [
        program("chromium", "chromium-browser", "google-chrome"), "--headless", "--no-sandbox", "--disable-gpu",
        "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
        "--disable-sync", f"--user-data-dir={page.parent / 'profile'}", "--window-size=1200,1000",
        "--virtual-time-budget=20000", f"--blink-settings=preferredColorScheme={0 if dark else 1}", "--dump-dom",
        file.as_uri(),
    ]  # fmt: skip
    dumped = subprocess.run(command, check=True, capture_output=True, text=True, timeout=120).stdout
    found = re.search("FOUND(\\[.*\\])END", dumped, re.DOTALL)
    assert found is not None, dumped[-500:]
    broken, passed, seen_dark, in_use = json.loads(html.unescape(found[1]))
    assert seen_dark is dark
    assert in_use == (2 if "<script>" in page.read_text(encoding="utf-8") else 0)
    return broken, passed


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("day", ["difficult_day", "readings_day"])
def test_the_page_of_a_day(day: str, dark: bool, tmp_path: Path) -> None:
    CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{day}.xlsx"), "--out", str(tmp_path)])
    broken, passed = violations(tmp_path / f"{day}.summary.html", dark=dark)
    assert broken == []
    assert passed > 15


def test_the_pages_of_the_long_run_and_of_the_check_cases(tmp_path: Path) -> None:
    CliRunner().invoke(cli, ["process", str(EXAMPLES / "clean_day.xlsx"), "--out", str(tmp_path)])
    CliRunner().invoke(cli, ["trend", str(tmp_path), "--out", str(tmp_path / "trend")])
    CliRunner().invoke(cli, ["verify", "--out", str(tmp_path / "record")])
    for page in (*(tmp_path / "trend").glob("*.html"), *(tmp_path / "record").glob("*.html")):
        broken, passed = violations(page)
        assert broken == [], page.name
        assert passed > 10


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_the_certificate(dark: bool, tmp_path: Path) -> None:
    certificate(complete(), tmp_path)
    broken, passed = violations(tmp_path / "day.certificate.html", dark=dark)
    assert broken == []
    assert passed > 10


def test_a_page_without_a_name_fails(tmp_path: Path) -> None:
    page = tmp_path / "bare.html"
    page.write_text('<!doctype html><html><body><img src="x.png"><p style="color:#ddd">pale</p></body></html>')
    broken, _ = violations(page)
    assert {"image-alt", "html-has-lang", "color-contrast"} <= {one[0] for one in broken}
