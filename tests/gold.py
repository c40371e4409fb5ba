"""The outputs of the examples as a person reads them, kept as text beside the tests.

    python tests/gold.py

writes ``tests/gold/`` anew; look through the differences before they are kept. The words of the page and the cells of
the sheets that are added stand one below another. Permitted to differ are only the version of the program and hashes.
"""

import re
import tempfile
from html.parser import HTMLParser
from pathlib import Path

import openpyxl
from click.testing import CliRunner

from batchcal import __version__
from batchcal.cli import cli

HERE = Path(__file__).parent
EXAMPLES = HERE.parent / "example_workbooks"
DAYS = ("difficult_day", "readings_day", "own_sheet_day")
ADDED = ("Results", "Findings", "Record")

_BLOCKS = {
    "article", "caption", "dd", "details", "div", "dt", "figcaption", "figure", "h1", "h2", "h3", "header", "li",
    "main", "nav", "p", "section", "summary", "svg", "table", "title", "tr",
}  # fmt: skip
_HIDDEN = {"script", "style"}


class _Words(HTMLParser):
    """Collects the words of a page, a block a line and cells of a row apart."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = [""]
        self.hidden = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.hidden += tag in _HIDDEN
        if tag in _BLOCKS:
            self.lines.append("")
        elif tag in ("td", "th"):
            self.lines[-1] += " | "
        elif tag in ("br", "text"):
            self.lines[-1] += " "

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in _HIDDEN
        if tag in _BLOCKS:
            self.lines.append("")

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.lines[-1] += data


def page_text(page: str) -> str:
    """Return the words of a page."""
    words = _Words()
    words.feed(page)
    lines = (" ".join(line.split()) for line in words.lines)
    return permitted("\n".join(line for line in lines if line) + "\n")


def sheets_text(workbook: Path) -> str:
    """Return the cells of the added sheets, row by row."""
    book = openpyxl.load_workbook(workbook, read_only=True)
    lines = []
    for name in ADDED:
        lines.append(f"== {name}")
        for row in book[name].iter_rows(values_only=True):
            cells = ["" if value is None else str(value) for value in row]
            if any(cells):
                lines.append(" | ".join(cells).rstrip(" |"))
    book.close()
    return permitted("\n".join(lines) + "\n")


def permitted(text: str) -> str:
    """Put a word in place of what may differ from version to version."""
    return re.sub(r"\b[0-9a-f]{64}\b", "(hash)", text).replace(f"batchcal {__version__}", "batchcal (version)")


def texts(day: str) -> dict[str, str]:
    """Process an example and return the texts of its outputs by the name of their file."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        columns = EXAMPLES / f"{day}.toml"
        options = ["--columns", str(columns)] if columns.exists() else []
        result = CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{day}.xlsx"), "--out", name, *options])
        assert result.exit_code in (0, 1), result.output
        page = (folder / f"{day}.summary.html").read_text(encoding="utf-8")
        return {
            f"{day}.page.txt": page_text(page),
            f"{day}.sheets.txt": sheets_text(folder / f"{day}.results.xlsx"),
        }


if __name__ == "__main__":
    (HERE / "gold").mkdir(exist_ok=True)
    for example in DAYS:
        for file, text in texts(example).items():
            (HERE / "gold" / file).write_text(text, encoding="utf-8")
