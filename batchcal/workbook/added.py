"""The computed columns for the lab's own sheets, in a style of their own."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Generic, TypeVar

from msgspec import Struct, field

from batchcal.findings import Finding
from batchcal.logged import Place
from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.terms import BASIS_NAMES, Basis
from batchcal.workbook import styles
from batchcal.workbook.targets import Targets
from batchcal.workbook.xlsx.columns import AddedCell, LinkedCell
from batchcal.workbook.xlsx.stylesheet import Stylesheet

_NARROWEST, _WIDEST = 11.0, 60.0
"""Widths of columns in characters."""

_BETWEEN = 3.0
"""Width of the column that parts the columns of one firing from those of the next, in characters."""

Row = TypeVar("Row", FiringResult, SampleResult)


class Computed(Struct, Generic[Row], frozen=True):
    """One computed column: its heading with the unit, how its cells look, and where the value comes from."""

    heading: str
    value: Callable[[Row], float | str | Sequence[Finding] | None]
    """Findings stand there by their codes, and lead to the first of them."""
    form: str = "General"
    width: float = 0.0


FIRING_COLUMNS: tuple[Computed[FiringResult], ...] = (
    Computed("Mass (g)", lambda firing: firing.mass_g, "0.0000"),
    Computed("Rise (K)", lambda firing: firing.rise_K, "0.0000"),
    Computed("Corrected rise (K)", lambda firing: firing.corrected_rise_K, "0.0000"),
    Computed("Heat capacity (J/K)", lambda firing: firing.heat_capacity_J_per_K, "0.0"),
    Computed("Ignition (J)", lambda firing: firing.ignition_J, "0.0"),
    Computed("Aid and capsule (J)", lambda firing: firing.aid_J, "0.0"),
    Computed("Nitric acid (J)", lambda firing: firing.nitric_J, "0.0"),
    Computed("Sulphuric acid (J)", lambda firing: firing.sulphuric_J, "0.0"),
    Computed("Gross, as analysed (J/g)", lambda firing: firing.gross_ad_J_per_g, "0.0"),
    Computed("Gross, dry (J/g)", lambda firing: firing.gross_d_J_per_g, "0.0"),
    Computed("Recovery (%)", lambda firing: firing.recovery_percent, "0.00"),
    Computed("State", lambda firing: firing.state, width=14),
    Computed("Findings", lambda firing: firing.findings, width=34),
    Computed("Reason of the state", lambda firing: firing.reason, width=36),
)


def _gross(basis: Basis) -> Computed[SampleResult]:
    return Computed(f"Gross, {BASIS_NAMES[basis]} (J/g)", lambda sample: sample.gross_J_per_g.get(basis), "0.0")


SAMPLE_COLUMNS: tuple[Computed[SampleResult], ...] = (
    Computed("Firings compared", lambda sample: float(sample.n_used), "0"),
    Computed("Range (J/g)", lambda sample: sample.range_J_per_g, "0.0"),
    Computed("Limit applied (J/g)", lambda sample: sample.limit_J_per_g, "0.0"),
    Computed("Limit less range (J/g)", lambda sample: sample.margin_J_per_g, "0.0"),
    Computed("Rule for further tests", lambda sample: sample.rule),
    *(_gross(basis) for basis in Basis),
    Computed("Gross values are the", lambda sample: sample.statistic),
    Computed("Decision", lambda sample: f"{styles.DECISION_SHAPES[sample.decision]} {sample.decision}", width=12),
    Computed("Findings", lambda sample: sample.findings, width=34),
    Computed("Reason of the decision", lambda sample: sample.why, width=40),
)


class Block(Struct):
    """The computed columns of one sheet, side by side: the width of each, and by row their cells, None for no cell."""

    sheet: str
    widths: list[float] = field(default_factory=list)
    rows: dict[int, list[AddedCell | None]] = field(default_factory=dict)
    links: int = 0
    """How many of the cells lead somewhere."""

    @property
    def reach(self) -> tuple[int, int]:
        """The first and the last row that are written."""
        return min(self.rows), max(self.rows)

    def add(self, widths: Sequence[float], rows: Mapping[int, Sequence[AddedCell]]) -> None:
        """Put columns at the right of those that are there, with a narrow one between."""
        if self.widths:
            self.widths.append(_BETWEEN)
        before = len(self.widths)
        self.widths += widths
        for row in {**self.rows, **rows}:
            cells = self.rows.setdefault(row, [])
            cells += [None] * (before - len(cells))
            cells += rows.get(row, [None] * len(widths))


def computed_columns(evaluation: Evaluation, formats: Stylesheet, targets: Targets) -> list[Block]:
    """Return the computed columns of every sheet on which firings or samples have a row each.

    Where a row holds several firings, each has columns of its own; beside forms there are none. What is found on a
    row leads to ``targets``.
    """
    blocks: dict[str, Block] = {}
    text, linked = styles.COMPUTED_TEXT, styles.LINKED[styles.COMPUTED_TEXT.name]
    writer = _Writer(blocks, formats, targets, formats.number(text), formats.number(linked))
    writer.add(((firing.row.place, firing) for firing in evaluation.firings), FIRING_COLUMNS)
    samples = ((sample.row.place, sample) for sample in evaluation.samples if sample.row is not None)
    writer.add(samples, SAMPLE_COLUMNS)
    return list(blocks.values())


class _Writer(Struct, frozen=True):
    """Writes columns into the blocks of their sheets."""

    blocks: dict[str, Block]
    formats: Stylesheet
    targets: Targets
    text: int
    """The form of a text."""
    linked: int
    """The form of a text that leads somewhere."""

    def add(self, results: Iterable[tuple[Place, Row]], columns: Sequence[Computed[Row]]) -> None:
        """Write the columns of rows; each part of a row has its own."""
        parts: dict[tuple[str, str], list[tuple[Place, Row]]] = {}
        for place, result in results:
            if place.table.columns:
                parts.setdefault((place.sheet, place.table.part), []).append((place, result))
        form = self.formats.number(styles.COMPUTED_HEADING)
        for (sheet, part), found in parts.items():
            texts = [styles.visible(f"{part}: {column.heading}" if part else column.heading) for column in columns]
            # The row of headings is as high as the lab has it, so a heading gets the width that it needs.
            widths = [
                max(_NARROWEST, column.width, min(len(text) + 2.0, _WIDEST))
                for column, text in zip(columns, texts, strict=True)
            ]
            headings = [AddedCell(form, text) for text in texts]
            rows = {place.table.heading_row: headings for place, _ in found}
            forms = [self.formats.number(styles.COMPUTED, column.form) for column in columns]
            writers = list(zip((column.value for column in columns), forms, strict=True))
            rows |= {place.row: [self._cell(value(result), form) for value, form in writers] for place, result in found}
            block = self.blocks.setdefault(sheet, Block(sheet))
            block.add(widths, rows)
            block.links += sum(bool(result.findings) for _, result in found)

    def _cell(self, value: float | str | Sequence[Finding] | None, form: int) -> AddedCell:
        if value is None or isinstance(value, float):
            return AddedCell(form, value)
        if isinstance(value, str):
            text = styles.visible(value)
            quoted = text.startswith(styles.LIKE_A_FORMULA)
            return AddedCell(self.formats.number(styles.COMPUTED_TEXT, quoted=True) if quoted else self.text, text)
        findings = self.targets.in_order(value)
        codes = ", ".join(dict.fromkeys(finding.code for finding in findings))
        link = self.targets.finding(findings[0]) if findings else None
        return AddedCell(self.text, codes) if link is None else LinkedCell(self.linked, codes, link, self.text)
