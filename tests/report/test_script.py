"""What the page's script adds, used in a real browser: order, filter, opening, unrounded figures."""

import base64
import hashlib
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from day import CONSTANTS, make_evaluation, printed
from programs import program
from test_layout_in_browser import dumped

from batchcal.cli import cli
from batchcal.model import Evaluation
from batchcal.report.page import summary_page

EXAMPLES = Path(__file__).parents[2] / "example_workbooks"

HELP = """
const text = element => element.textContent.replace(/\\s+/g, " ").trim();
const names = () => [...document.querySelectorAll("#samples tbody th a")].map(text);
const column = index => [...document.querySelectorAll("table.samples tbody")].map(body => body.rows[0].cells[index]);
const sort = word => [...document.querySelectorAll("#samples .sort")].find(one => text(one).startsWith(word));
const press = word => [...document.querySelectorAll("button")].find(one => text(one) == word).click();
const said = () => text(document.querySelector("p[role=status]"));
const choose = (list, value) => { list.value = value; list.dispatchEvent(new Event("change")); };
const type = value => {
  const find = document.querySelector("#samples input");
  find.value = value;
  find.dispatchEvent(new Event("input"));
};
const visible = () => [...document.querySelectorAll("table.samples tbody")].filter(one => one.offsetHeight)
  .map(one => text(one.querySelector("th a")));
const done = found => { document.body.textContent = "MEASURED" + JSON.stringify(found) + "END"; };
"""


@pytest.fixture(scope="module")
def evaluation() -> Evaluation:
    return make_evaluation()


@pytest.fixture(scope="module")
def page(evaluation: Evaluation) -> str:
    return summary_page(evaluation, printed, CONSTANTS)


def used(page: str, actions: str, folder: Path) -> dict[str, Any]:
    """Do ``actions`` on the page and return what they hand to ``done``."""
    policy = re.search("<meta http-equiv[^>]*>", page)
    assert policy is not None
    page = page.replace(policy[0], "").replace("</body>", f"<script>{HELP}{actions}</script></body>")
    return dumped(page, folder)


def test_samples_are_put_in_order_and_back(page: str, evaluation: Evaluation, tmp_path: Path) -> None:
    actions = """
    const found = {page: names()};
    for (const state of ["up", "down", "back"]) {
      sort("Sample").click();
      found[state] = [names(), document.querySelector("#samples th").getAttribute("aria-sort"), said()];
    }
    sort("Difference").click();
    found.ratios = column(3).map(cell => cell.dataset.key);
    sort("Difference").click();
    found.falling = column(3).map(cell => cell.dataset.key);
    found.sorted = document.querySelectorAll("#samples [aria-sort]").length;
    sort("As analysed").click();
    found.values = column(4).map(cell => cell.querySelector("data")?.value ?? null);
    sort("Decision").click();
    found.decisions = column(1).map(cell => Number(cell.dataset.key));
    found.rows = [...document.querySelectorAll("table.samples tbody")].map(body => body.rows.length);
    done(found);
    """
    found = used(page, actions, tmp_path)
    every = sorted(sample.sample for sample in evaluation.samples)
    assert found["page"] != every
    assert found["up"] == [every, "ascending", "In order of Sample, ascending"]
    assert found["down"] == [every[::-1], "descending", "In order of Sample, descending"]
    assert found["back"] == [found["page"], None, "In the order of the page"]
    known = [float(ratio) for ratio in found["ratios"] if ratio]
    assert known == sorted(known)
    assert len(known) > 3
    blank = len(found["ratios"]) - len(known)
    assert blank > 0
    assert found["ratios"][-blank:] == found["falling"][-blank:] == [""] * blank
    assert [float(ratio) for ratio in found["falling"][:-blank]] == known[::-1]
    assert found["sorted"] == 1
    values = [float(value) for value in found["values"] if value is not None]
    assert values == sorted(values)
    assert found["decisions"] == sorted(found["decisions"])
    assert set(found["rows"]) == {2}


def test_samples_are_filtered_by_words_and_decision(page: str, evaluation: Evaluation, tmp_path: Path) -> None:
    actions = """
    const found = {}, list = document.querySelector("#samples select");
    const count = document.querySelector("#samples output");
    type("PETROLEUM");
    found.words = [visible(), text(count)];
    type("");
    choose(list, "ready");
    found.ready = visible();
    type("petroleum");
    found.both = visible();
    type("no such thing");
    found.none = [visible(), text(count)];
    type("");
    choose(list, "");
    found.all = [visible().length, text(count)];
    done(found);
    """
    found = used(page, actions, tmp_path)
    every = len(evaluation.samples)
    coke = [s for s in evaluation.samples if s.row is not None and "coke" in s.row.description]
    assert found["words"] == [[s.sample for s in coke], f"1 of {every} shown"]
    ready = {sample.sample for sample in evaluation.samples if sample.decision == "ready"}
    assert set(found["ready"]) == ready
    assert 0 < len(ready) < every
    assert set(found["both"]) == ready & {sample.sample for sample in coke}
    assert found["none"] == [[], f"0 of {every} shown"]
    assert found["all"] == [every, ""]


def test_figures_are_shown_unrounded_but_not_on_paper(page: str, evaluation: Evaluation, tmp_path: Path) -> None:
    actions = """
    const figures = [...document.querySelectorAll("data[title]")], texts = () => figures.map(one => one.textContent);
    const found = {before: texts(), titles: figures.map(one => one.title), values: figures.map(one => one.value)};
    press("Unrounded figures");
    found.full = texts();
    found.pressed = document.querySelector("[aria-pressed]").getAttribute("aria-pressed");
    dispatchEvent(new Event("beforeprint"));
    found.paper = texts();
    dispatchEvent(new Event("afterprint"));
    found.after = texts();
    press("Unrounded figures");
    found.again = texts();
    done(found);
    """
    found = used(page, actions, tmp_path)
    assert found["full"] == found["after"] == found["titles"]
    assert found["before"] == found["paper"] == found["again"]
    assert all(before != full for before, full in zip(found["before"], found["full"], strict=True))
    assert found["pressed"] == "true"
    values = {float(value) for value in found["values"]}
    for firing in evaluation.firings:
        if firing.gross_ad_J_per_g is not None:
            assert firing.gross_ad_J_per_g in values


def test_parts_open_corrections_and_findings_take_an_order(page: str, tmp_path: Path) -> None:
    actions = """
    const found = {}, open = () => [...document.querySelectorAll("details")].map(part => part.open);
    press("Open all parts");
    found.open = open();
    press("Close all parts");
    found.closed = open();
    press("Open all parts");
    const rise = [...document.querySelectorAll("#corrections .sort")].find(one => text(one) == "Rise K");
    rise.click();
    found.rises = [...document.querySelectorAll("#corrections tbody tr")]
      .map(row => row.cells[3].querySelector("data")?.value ?? null);
    const titles = () => [...document.querySelectorAll("#findings h3")].map(text);
    found.page = titles();
    const list = [...document.querySelectorAll("#findings select")].pop();
    choose(list, "subject");
    found.subject = titles();
    choose(list, "severity");
    found.severity = titles();
    const kinds = document.querySelector("#findings select"), word = kinds.options[1].value;
    choose(kinds, word);
    found.one = [...document.querySelectorAll("#findings li")].filter(one => one.offsetHeight)
      .map(one => text(one.querySelector(".word")) == word);
    done(found);
    """
    found = used(page, actions, tmp_path)
    assert all(found["open"])
    assert not any(found["closed"])
    rises = [float(rise) for rise in found["rises"] if rise is not None]
    assert rises == sorted(rises)
    assert found["subject"] == sorted(found["page"], key=str.casefold)
    assert found["severity"] == found["page"]
    assert len(found["page"]) > 1
    assert found["one"]
    assert all(found["one"])


def test_headings_are_buttons_on_a_wide_screen_and_a_list_on_a_narrow_one(page: str, tmp_path: Path) -> None:
    actions = """
    const list = document.querySelector("#samples .narrow select"), seen = () => list.offsetHeight > 0;
    const found = {button: sort("Sample").tagName, reached: sort("Sample").tabIndex, list: seen()};
    choose(list, "0");
    found.order = names();
    done(found);
    """
    wide = used(page, actions, tmp_path)
    assert (wide["button"], wide["reached"], wide["list"]) == ("BUTTON", 0, False)
    assert wide["order"] == sorted(wide["order"])
    narrow = used(page.replace("(max-width: 60rem)", "(max-width: 600rem)"), actions, tmp_path)
    assert (narrow["reached"], narrow["list"]) == (-1, True)


@pytest.mark.parametrize("day", ["difficult_day", "clean_day"])
def test_the_script_runs_under_the_policy_of_the_page_without_a_complaint(day: str, tmp_path: Path) -> None:
    CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{day}.xlsx"), "--out", str(tmp_path)])
    file = tmp_path / f"{day}.summary.html"
    command = [
        program("chromium", "chromium-browser", "google-chrome"), "--headless", "--no-sandbox", "--disable-gpu",
        "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
        "--disable-sync", f"--user-data-dir={tmp_path / 'profile'}", "--virtual-time-budget=5000",
        "--enable-logging=stderr", "--dump-dom", file.as_uri(),
    ]  # fmt: skip
    ran = subprocess.run(command, check=True, capture_output=True, text=True, timeout=120)
    assert "CONSOLE" not in ran.stderr
    assert ran.stdout.count('class="tools"') >= 2
    assert '<button type="button" class="sort">' in ran.stdout


def test_without_script_nothing_of_it_is_there(page: str) -> None:
    policy = re.search('<meta http-equiv="Content-Security-Policy" content="([^"]*)">', page)
    code = re.search("<script>(.*?)</script>", page, re.DOTALL)
    assert policy is not None
    assert code is not None
    digest = base64.b64encode(hashlib.sha256(code[1].encode()).digest()).decode()
    assert policy[1] == f"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{digest}'"
    rest = page.replace(code[0], "")
    assert "<button" not in rest
    assert "<select" not in rest
    assert not re.search(r"<[^>]*\son\w+=", rest)
    for what in ("fetch(", "XMLHttpRequest", "import(", "http", "innerHTML", "eval("):
        assert what not in code[1], what
    assert len(code[1]) < 12_000
