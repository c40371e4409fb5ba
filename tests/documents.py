"""The generated parts of README.md and DEVELOPERS.md; run this file to write them anew after a change.

A generated part stands between ``<!-- generated: NAME -->`` and ``<!-- end -->``; ``test_documents.py`` compares.
"""

import re
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from click.testing import CliRunner

from batchcal import reference, units
from batchcal.cli import cli
from batchcal.findings import CATALOGUE
from batchcal.items import SETUP_ITEMS
from batchcal.workbook.layout import SHEETS, Column

ROOT = Path(__file__).parent.parent
DOCUMENTS = (ROOT / "README.md", ROOT / "DEVELOPERS.md")


def _table(headings: list[str], rows: list[list[str]]) -> str:
    lines = [headings, ["---"] * len(headings), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def help_text() -> str:
    parts = []
    for words in ([], *([name] for name in sorted(cli.commands))):
        result = CliRunner().invoke(cli, [*words, "--help"], prog_name="batchcal", terminal_width=100)
        parts.append(f"$ batchcal {' '.join([*words, '--help'])}\n{result.output.rstrip()}")
    return "```text\n" + "\n\n".join(parts) + "\n```"


def setup_items() -> str:
    rows = []
    for item in SETUP_ITEMS:
        name = f"{item.name} [{item.labelled}]" if item.labelled else item.name
        kinds = {"number": "a number", "date": "a date"}
        takes = ", ".join(item.choices) if item.choices else kinds.get(item.kind, "text")
        if item.kind == "number" and item.choices:
            takes += ", or a number"
        if item.from_method:
            takes += ", or `method`"
        rows.append([f"`{name}`", takes, units.readable(item.quantity) if item.quantity else "", item.note])
    return _table(["Item", "Takes", "Units read", "What for"], rows)


def _takes(column: Column) -> str:
    if column.choices:
        return ", ".join(column.choices)
    if column.quantity:
        return units.readable(column.quantity)
    return {"number": "a number", "date": "a date", "time": "a time", "id": "text (an id)"}.get(column.kind, "text")


def columns() -> str:
    parts = []
    for sheet in SHEETS:
        if sheet.role == "runs":
            parts.append(f"**{sheet.name}**: {sheet.note} The columns are those of Calibration.")
            continue
        offered = {column.field for column in sheet.columns}
        rows = [
            [
                f"`{column.heading}`",
                _takes(column),
                column.note + ("" if column.field in offered else " Where it is there."),
            ]
            for column in sheet.readable
        ]
        parts.append(f"**{sheet.name}**: {sheet.note}\n\n" + _table(["Heading", "Takes", "What for"], rows))
    return "\n\n".join(parts)


def finding_table() -> str:
    rows = [
        [f"`{kind.code}`", kind.severity, kind.effect or "", f"{kind.trigger[0].upper()}{kind.trigger[1:]}."]
        for kind in CATALOGUE.values()
    ]
    return _table(["Code", "Severity", "Decision", "When"], rows)


def method_table() -> str:
    rows = []
    for method in reference.methods():
        if not method.figures:
            rows.append([f"`{method.key}`", method.title, "no figure on record", ""])
        for figure in method.figures.values():
            value = f"{figure.value:g} {figure.unit}" + (f" ({figure.basis})" if figure.basis else "")
            rows.append([f"`{method.key}`", f"{figure.name}", value, figure.mark])
    return _table(["Method", "Figure", "Value", "Mark"], rows)


def example_output() -> str:
    with tempfile.TemporaryDirectory() as folder:
        words = ["process", str(ROOT / "example_workbooks" / "difficult_day.xlsx"), "--out", folder]
        return "```text\n" + CliRunner().invoke(cli, words).stdout.rstrip() + "\n```"


GENERATED: dict[str, Callable[[], str]] = {
    "output": example_output,
    "help": help_text,
    "setup": setup_items,
    "columns": columns,
    "findings": finding_table,
    "methods": method_table,
}

_PART = re.compile(r"(<!-- generated: (\w+) -->\n)(?:(?!<!-- generated).)*?(<!-- end -->)", re.DOTALL)


def filled(text: str) -> str:
    """Return a document with its generated parts made anew."""
    return _PART.sub(lambda match: match[1] + "\n" + GENERATED[match[2]]() + "\n\n" + match[3], text)


if __name__ == "__main__":
    for document in DOCUMENTS:
        document.write_text(filled(document.read_text(encoding="utf-8")), encoding="utf-8")
    sys.exit(0)
