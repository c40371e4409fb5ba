"""A proposal in words, for the terminal."""

from batchcal.tables import table
from batchcal.workbook.cells import shortened
from batchcal.workbook.columns.column_map import SHAPES, MapTable
from batchcal.workbook.columns.propose import Proposal

_WIDEST = 38


def lines(proposal: Proposal) -> list[str]:
    """Return each table with its columns, a few values and the evidence; what holds besides; the open questions."""
    found: list[str] = []
    for entry in proposal.column_map.tables:
        sheet = next((shown.sheet for shown in proposal.shown if entry.sheet in ("*", shown.sheet)), entry.sheet)
        found += [f"Sheet {sheet}: {entry.holds}, {SHAPES[entry.shape]}", ""]
        rows = [
            [
                shown.address,
                *(shortened(text, _WIDEST) for text in (shown.heading, shown.means, ", ".join(shown.samples))),
                shown.evidence,
            ]
            for shown in proposal.shown
            if shown.sheet == sheet
        ]  # fmt: skip
        found += table(["cell", "heading", "read as", "values", "evidence"], rows)
        found += _besides(entry)
        found.append("")
    if proposal.without_table:
        found += [f"Nothing is read on: {', '.join(proposal.without_table)}", ""]
    for question in proposal.questions:
        found.append(f"? {question.finding.code}: {question.text}")
        choices = "; ".join(choice.text for choice in question.choices) or "a number"
        found.append(f"  {choices}")
    return found


def _besides(entry: MapTable) -> list[str]:
    said = [f"every row: {name} {value}" for name, value in entry.every_row.items()]
    said += [f"the name of the sheet is the {entry.sheet_is}"] if entry.sheet_is else []
    if entry.tests:
        said.append(f"test portions: {', '.join(entry.tests)}; passed over: {', '.join(entry.skip) or 'none'}")
    return said
