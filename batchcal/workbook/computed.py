"""Which computed columns there are for the lab's own sheets, and how the cells of each are written."""

from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from typing import ClassVar, Generic, TypeVar

from msgspec import Struct

from batchcal.findings import Finding
from batchcal.model import FiringResult, SampleResult
from batchcal.terms import BASIS_NAMES, Basis
from batchcal.workbook import styles
from batchcal.workbook.targets import Targets
from batchcal.workbook.xlsx.inline_cells import InlineColumn
from batchcal.workbook.xlsx.stylesheet import Stylesheet

_MOST_TEXTS = 1_000
"""Texts of a column that are kept as cells, in case they come again."""

Row = TypeVar("Row", FiringResult, SampleResult)


class Formats(Struct, frozen=True):
    """How the cells of a table look, by the numbers of their formats, and which of them lead somewhere."""

    stylesheet: Stylesheet
    text: int
    linked: int
    """The format of a text that leads somewhere."""
    heading: int
    targets: Targets
    leading: Set[int] = frozenset()
    """The rows of which the cell with the findings leads to the first of them."""

    def of_text(self, text: str) -> int:
        """Return the format of a text, another one where editing its cell would make a formula of it."""
        like_a_formula = text.startswith(styles.LIKE_A_FORMULA)
        return self.stylesheet.number(styles.COMPUTED_TEXT, quoted=True) if like_a_formula else self.text

    def number_all(self, columns: Sequence["ComputedColumn[Row]"], results: Iterable[Row]) -> None:
        """Have every format numbered that the cells will need: they are written when it is too late for another."""
        for column in columns:
            self.stylesheet.number(styles.COMPUTED, column.form)
        for column in columns:
            if isinstance(column, Text):
                for text in {column.value(result) for result in results}:
                    self.of_text(styles.visible(text))


class _Texts(dict[str, str]):
    """The cells of one column by the texts in them, each written when it first comes: most come again and again."""

    def __init__(self, column: InlineColumn, form: Callable[[str], int]) -> None:
        super().__init__()
        self._column = column
        self._form = form

    def __missing__(self, text: str) -> str:
        if len(self) == _MOST_TEXTS:
            self.clear()
        shown = styles.visible(text)
        cell = self[text] = self._column.text(self._form(shown), shown)
        return cell


Cells = Callable[[Mapping[int, Row]], Iterable[str]]
"""Writes the cells of one column for results by their rows."""


class Number(Struct, Generic[Row], frozen=True):
    """A computed column of numbers: its heading with the unit, where the value comes from, how it is shown."""

    heading: str
    value: Callable[[Row], float | None]
    form: str
    width: float = 0.0

    def cells(self, column: InlineColumn, formats: Formats) -> Cells[Row]:
        """Return what writes its cells."""
        form, value = formats.stylesheet.number(styles.COMPUTED, self.form), self.value
        return lambda results: column.numbers(form, [value(result) for result in results.values()])


class Text(Struct, Generic[Row], frozen=True):
    """A computed column of texts."""

    heading: str
    value: Callable[[Row], str]
    width: float = 0.0
    form: ClassVar[str] = "General"

    def cells(self, column: InlineColumn, formats: Formats) -> Cells[Row]:
        """Return what writes its cells."""
        texts, value = _Texts(column, formats.of_text), self.value
        return lambda results: [texts[value(result)] for result in results.values()]


class Found(Struct, Generic[Row], frozen=True):
    """The computed column of what was found: findings stand there by their codes, and lead to the first of them."""

    heading: str
    width: float = 0.0
    form: ClassVar[str] = "General"

    def cells(self, column: InlineColumn, formats: Formats) -> Cells[Row]:
        """Return what writes its cells."""
        plain, linked = _Texts(column, lambda _: formats.text), _Texts(column, lambda _: formats.linked)

        def cell(row: int, findings: Sequence[Finding]) -> str:
            codes = (finding.code for finding in formats.targets.in_order(findings))
            return (linked if row in formats.leading else plain)[", ".join(dict.fromkeys(codes))]

        nothing = plain[""]
        return lambda results: [
            cell(row, result.findings) if result.findings else nothing for row, result in results.items()
        ]


ComputedColumn = Number[Row] | Text[Row] | Found[Row]

FIRING_COLUMNS: tuple[ComputedColumn[FiringResult], ...] = (
    Number("Mass (g)", lambda firing: firing.mass_g, "0.0000"),
    Number("Rise (K)", lambda firing: firing.rise_K, "0.0000"),
    Number("Corrected rise (K)", lambda firing: firing.corrected_rise_K, "0.0000"),
    Number("Heat capacity (J/K)", lambda firing: firing.heat_capacity_J_per_K, "0.0"),
    Number("Ignition (J)", lambda firing: firing.ignition_J, "0.0"),
    Number("Aid and capsule (J)", lambda firing: firing.aid_J, "0.0"),
    Number("Nitric acid (J)", lambda firing: firing.nitric_J, "0.0"),
    Number("Sulphuric acid (J)", lambda firing: firing.sulphuric_J, "0.0"),
    Number("Gross, as analysed (J/g)", lambda firing: firing.gross_ad_J_per_g, "0.0"),
    Number("Gross, dry (J/g)", lambda firing: firing.gross_d_J_per_g, "0.0"),
    Number("Recovery (%)", lambda firing: firing.recovery_percent, "0.00"),
    Text("State", lambda firing: firing.state, width=14),
    Found("Findings", width=34),
    Text("Reason of the state", lambda firing: firing.reason, width=36),
)


def _gross(basis: Basis) -> Number[SampleResult]:
    return Number(f"Gross, {BASIS_NAMES[basis]} (J/g)", lambda sample: sample.gross_J_per_g.get(basis), "0.0")


SAMPLE_COLUMNS: tuple[ComputedColumn[SampleResult], ...] = (
    Number("Firings compared", lambda sample: float(sample.n_used), "0"),
    Number("Range (J/g)", lambda sample: sample.range_J_per_g, "0.0"),
    Number("Limit applied (J/g)", lambda sample: sample.limit_J_per_g, "0.0"),
    Number("Limit less range (J/g)", lambda sample: sample.margin_J_per_g, "0.0"),
    Text("Rule for further tests", lambda sample: sample.rule),
    *(_gross(basis) for basis in Basis),
    Text("Gross values are the", lambda sample: sample.statistic),
    Text("Decision", lambda sample: f"{styles.DECISION_SHAPES[sample.decision]} {sample.decision}", width=12),
    Found("Findings", width=34),
    Text("Reason of the decision", lambda sample: sample.why, width=40),
)
