"""The workbook behind the long-run page: one sheet a subject, unrounded, text that stays text."""

import datetime as dt
from collections.abc import Iterable, Sequence

from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook

from batchcal.history import Count, History, Pair, Pooled
from batchcal.workbook import styles
from batchcal.workbook.cells import LONGEST_TEXT
from batchcal.workbook.package import new_book, packed

Value = str | float | int | bool | dt.date | None

_PAIR_HEADINGS = (
    "Date", "Sample", "Fuel class", "Calorimeter", "Bomb", "Analyst code", "Basis", "First firing", "Second firing",
    "First (J/g)", "Second (J/g)", "First less second (J/g)", "Limit (J/g)", "Difference / limit", "Beyond the limit",
    "Results file",
)  # fmt: skip
_POOLED_HEADINGS = (
    "Grouped by", "Group", "Pairs", "s_r (J/g)", "2.77 s_r (J/g)", "95 % from (J/g)", "95 % to (J/g)",
    "Smallest limit (J/g)", "Largest limit (J/g)", "2.77 s_r / limit", "95 % from", "95 % to", "Verdict",
    "Pairs with a limit", "Pairs beyond it",
)  # fmt: skip


def trend_workbook(history: History) -> bytes:
    """Return the workbook with the tables behind the long-run page; the same history gives the same bytes."""
    book = new_book(rows_once=True)
    _sheet(
        book,
        "Heat capacity firings",
        ("Calorimeter", "Bomb", "Date", "Firing", "Heat capacity (J/K)", "Counted", "Results file"),
        (
            (
                run.apparatus.calorimeter,
                run.apparatus.bomb,
                p.date,
                p.firing,
                p.heat_capacity_J_per_K,
                p.counted,
                p.file,
            )
            for run in history.capacities
            for p in run.points
        ),
    )
    _sheet(
        book,
        "Heat capacities",
        ("Calorimeter", "Bomb", "Series", "First firing on", "Dated", "Heat capacity (J/K)", "Firings", "SD (J/K)",
         "Step (J/K)", "Good until", "State", "Pooled SD (J/K)", "Degrees of freedom", "Results file"),
        (
            (run.apparatus.calorimeter, run.apparatus.bomb, s.name, s.start, s.date, s.heat_capacity_J_per_K, s.n,
             s.sd_J_per_K, s.change_J_per_K, s.expires, s.state, run.pooled_sd_J_per_K, run.degrees_of_freedom, s.file)
            for run in history.capacities
            for s in run.series
        ),
    )  # fmt: skip
    _sheet(
        book,
        "Checks",
        ("Calorimeter", "Bomb", "Date", "Firing", "Recovery (%)", "Verdict", "Upward sum (SD)", "Downward sum (SD)",
         "SD judged by (%)", "Results file"),
        (
            (run.apparatus.calorimeter, run.apparatus.bomb, p.date, p.firing, 100.0 + p.off_percent, p.verdict, p.upper,
             p.lower, run.sd_percent, p.file)
            for run in history.checks
            for p in run.points
        ),
    )  # fmt: skip
    _sheet(book, "First pairs", _PAIR_HEADINGS, (_pair(pair, history) for pair in history.pairs))
    _sheet(book, "Repeatability", _POOLED_HEADINGS, _pooled(history))
    spans = [span.name for span in history.spans]
    _sheet(book, "Fired again", ("What", *spans, "All"), (_count(count)[1:] for count in history.events))
    _sheet(book, "Findings", ("Weight", "Code", *spans, "All"), (_count(count) for count in history.findings))
    _sheet(book, "Analyst codes", ("Code", "As logged"), ((code, name) for name, code in history.analyst_codes.items()))
    read = history.read
    _sheet(
        book,
        "Files",
        ("Results file", "State", "Workbook or reason", "Day"),
        [
            *((file, "counted", workbook, day) for file, workbook, day in read.counted),
            *((entry.file, "counted once", entry.why, None) for entry in read.once),
            *((entry.file, "passed over", entry.why, None) for entry in read.passed),
        ],
    )
    return packed(book)


def _pair(pair: Pair, history: History) -> Sequence[Value]:
    return (
        pair.date, pair.sample, pair.fuel_class, pair.calorimeter, pair.bomb,
        history.analyst_codes.get(pair.analyst, pair.analyst), pair.basis, pair.first, pair.second,
        pair.first_J_per_g, pair.second_J_per_g, pair.difference_J_per_g, pair.limit_J_per_g, pair.ratio, pair.beyond,
        pair.file,
    )  # fmt: skip


def _pooled(history: History) -> Iterable[Sequence[Value]]:
    groups: list[tuple[str, Sequence[Pooled]]] = [
        ("all", () if history.pooled is None else (history.pooled,)),
        ("fuel class", history.by_fuel_class),
        ("calorimeter and bomb", history.by_apparatus),
        ("analyst", history.by_analyst),
    ]
    none = (None, None)
    for by, found in groups:
        for p in found:
            yield (
                by, p.name, p.pairs, p.sd_J_per_g, p.limit_found_J_per_g, *(p.interval_J_per_g or none),
                *(p.limits_J_per_g or none), p.ratio, *(p.ratio_interval or none), p.verdict, p.judged, p.beyond,
            )  # fmt: skip


def _count(count: Count) -> tuple[Value, ...]:
    return (count.severity, count.key, *count.by_span, count.total)


def _plain(text: str) -> bool:
    """Return whether a text may be written as it stands: short, printable, and not like a formula."""
    return text.isprintable() and not text.startswith(styles.LIKE_A_FORMULA) and len(text) < LONGEST_TEXT


def _sheet(book: Workbook, name: str, headings: Sequence[str], rows: Iterable[Sequence[Value]]) -> None:
    """Add a sheet of plain rows; a text that begins like a formula is marked so that it stays text."""
    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    for index, heading in enumerate(headings, 1):
        sheet.column_dimensions[get_column_letter(index)].width = max(11, min(len(heading) + 2, 26))
    bold = Font(styles.FONT, 10, b=True, color=styles.INK)

    def kept(text: str, font: Font | None = None) -> object:
        cell = WriteOnlyCell(sheet)
        styles.write_text(cell, text)
        if font is not None:
            cell.font = font
        return cell

    sheet.append([kept(heading, bold) for heading in headings])
    for row in rows:
        sheet.append([kept(value) if isinstance(value, str) and not _plain(value) else value for value in row])
