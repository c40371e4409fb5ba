"""The sheet Working: rows written for themselves, in the frame of the program's own sheets."""

from collections.abc import Callable, Iterator
from functools import partial

from batchcal.model import Evaluation
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.record import RecordCells
from batchcal.workbook.targets import Targets
from batchcal.workbook.working.acids import AcidRules, write_strengths
from batchcal.workbook.working.body import (
    COLUMNS,
    LAST,
    RESULT,
    STORED,
    Body,
    Form,
    Line,
    Words,
    style_ids,
    write_headings,
)
from batchcal.workbook.working.charge import Sheet
from batchcal.workbook.working.constants import Ground, write_constants
from batchcal.workbook.working.curves import write_curves
from batchcal.workbook.working.firings import COMPARED, Firings
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import Live
from batchcal.workbook.working.samples import HEADINGS as SAMPLE_HEADINGS
from batchcal.workbook.working.samples import write_samples

CLOSE = 1e-9
"""Relative difference from the stored value up to which a formula agrees with it."""

_HEADINGS = {
    "A": "Firing no.", "B": "Sample or purpose", "C": "State", "D": "Mass (g)", "E": "Rise (K)",
    "F": "Heat exchange (K)", "G": "Corrected rise (K)", "H": "Heat capacity (J/K)", "I": "Benzoic acid (J/g)",
    "J": "Wire (J)", "K": "Thread (J)", "L": "Ignition (J)", "M": "Aids (J)", "N": "Capsule (J)",
    "O": "Acid titrated (mmol)", "P": "Sulphur (mmol)", "Q": "Of it nitric (mmol)", "R": "Nitric acid (J)",
    "S": "Sulphuric acid (J)", RESULT: "Result", COMPARED: "Compared (J/g), recovery (%)", STORED: "Stored",
    LAST: "Relative difference",
}  # fmt: skip

_WIDTHS = {
    "A": 10.0, "B": 12.0, "C": 12.0, "D": 7.0, "E": 8.0, "F": 9.0, "G": 9.5, "H": 9.5, "I": 9.0, "J": 7.5, "K": 7.5,
    "L": 8.0, "M": 8.5, "N": 8.5, "O": 8.5, "P": 8.5, "Q": 8.0, "R": 8.0, "S": 9.5, "T": 9.5, "U": 10.0, "V": 9.5,
    "W": 10.5,
}  # fmt: skip

_HEADING_ROWS = (5, 6)
_FIRST_ROW = 7

_EXPLAINED = (
    "Every figure is a formula on the cells of this workbook and on Record; 'stored' is what the results rest on. "
    "Correct a figure in the log and the formulas follow, the stored ones do not."
)
_BARE = " A bare number in a formula was typed as text, or is given by the map of the columns: no cell holds it."


class Working:
    """The sheet Working of one evaluation."""

    def __init__(self, sheet: OwnSheet, evaluation: Evaluation, record: RecordCells, targets: Targets) -> None:
        """Set up ``sheet``, which stays without cells of its own.

        ``record`` says where the figures on Record stand; in ``targets`` is noted where the samples stand here.
        """
        self._sheet = sheet
        self._evaluation = evaluation
        self._targets = targets
        self._record = record
        self._bare = False
        sheet.widths = list(_WIDTHS.values())
        sheet.still = (_FIRST_ROW - 1, 1)
        sheet.title_rows = "{}:{}".format(*_HEADING_ROWS)

    def write(self) -> Callable[[str], Iterator[bytes]]:
        """Write the rows, and return what gives the sheet's part piece by piece, in a namespace.

        Every formula stands with its value.
        """
        body = Body(_FIRST_ROW, style_ids(self._sheet.formats))
        self._write(body)
        return partial(self._part, body)

    def _part(self, body: Body, space: str) -> Iterator[bytes]:
        yield self._sheet.head(space, body.next - 1, len(COLUMNS)) + self._head(body).encode()
        yield from body.rows()
        yield from self._sheet.tail(body.links)

    def _write(self, body: Body) -> None:
        evaluation = self._evaluation
        inputs = Inputs(self._record)
        ground = Ground(evaluation, inputs, write_constants(body, evaluation, self._record))
        strengths = write_strengths(body, ground)
        firings = Firings(body, Sheet(ground, write_curves(body, ground), {}), AcidRules(ground, strengths))
        firings.write_series()
        firings.write_aids()
        write_samples(body, ground, firings.write_day(), self._targets)
        self._bare = inputs.bare > 0

    def _head(self, body: Body) -> str:
        """Return the rows above the first section: title, largest difference, and the two rows of headings."""
        settings = self._evaluation.settings
        lines = [Line(number, height) for number, height in ((1, 28), (2, 18), (3, 20), (4, 16), (5, 52), (6, 40))]
        title, subtitle, worst, explained, of_firings, of_samples = lines
        title.write("A", "Working", Form.TITLE)
        day = settings.batch_date.isoformat() if settings.batch_date else ""
        parts = [settings.laboratory, settings.batch, day, self._evaluation.batch.file_name]
        subtitle.write("A", "   |   ".join(part for part in parts if part), Form.SUBTITLE)
        differences = f"{LAST}{_FIRST_ROW}:{LAST}{max(_FIRST_ROW, body.next - 1)}"
        worst.write("A", "Largest difference on this sheet", Form.VERDICT)
        value = worst.put("E", Live(f"MAX({differences})", body.worst), Form.WORST)
        verdict = f'IF(ISNUMBER({value.text}),IF({value.text}<=1E-9,"agrees","differs"),"differs")'
        worst.write("F", Words(verdict, "agrees" if body.worst <= CLOSE else "differs"), Form.STRONG)
        worst.put("G", Live(f"COUNT({differences})", float(body.compared)), Form.COUNT)
        worst.write("H", "results compared; a difference up to 1E-9 of the value agrees", Form.TEXT)
        explained.write("A", _EXPLAINED + (_BARE if self._bare else ""), Form.SUBTITLE)
        write_headings(of_firings, _HEADINGS)
        write_headings(of_samples, SAMPLE_HEADINGS)
        return "".join(line.xml(body.style_ids) for line in lines)


def links_wanted(evaluation: Evaluation) -> int:
    """Return how many cells of Working lead somewhere: each firing to its row, each sample to its row and results."""
    rows = sum(sample.row is not None for sample in evaluation.samples)
    return len(evaluation.firings) + rows + len(evaluation.samples)
