"""Reading a table of text (.csv) as one sheet: never by guessing, and every field as what stands there."""

import csv
import datetime as dt
import io
import re
from collections.abc import Sequence
from pathlib import PurePath

from msgspec import Struct
from msgspec.structs import replace

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.foreign.csv_encoding import decode
from batchcal.workbook.foreign.csv_form import (
    DATES,
    DELIMITERS,
    Block,
    CsvForm,
    CsvQuestion,
    DecimalEvidence,
    Question,
    block,
    delimiter_question,
    refuse_unfit,
)
from batchcal.workbook.grid import Grid
from batchcal.workbook.xlsx.references import LAST_COLUMN, LAST_ROW

MAX_BYTES = 200_000_000
MAX_FIELD = 100_000
"""Characters of one field; a cell holds 32 767 in spreadsheet programs."""
MAX_LINE = 1_000_000
MAX_RECORDS = LAST_ROW
MAX_FIELDS = 5_000_000
"""Bounds of a table; a log of 100 000 firings is far from each of them."""

_ERROR = re.compile(r"#(DIV/0!|N/A|NAME\?|NULL!|NUM!|REF!|VALUE!)")
_LONGEST_WHOLE = 15
_LONGEST_TITLE = 31
_OTHER_KINDS = (
    (b"PK\x03\x04", "a zipped workbook"),
    (bytes.fromhex("D0CF11E0A1B11AE1"), "an .xls workbook"),
    (b"%PDF", "a PDF file"),
    (b"{\\rtf", "a text document"),
)


class CsvTable(Struct, frozen=True):
    """A table of text as it was read: its one sheet, and how it is written."""

    grid: Grid
    form: CsvForm


def read_csv(name: str, data: bytes, form: CsvForm | None = None) -> CsvTable:
    """Return the table of a text file as a sheet named by the file without its ending.

    ``form`` is what is known of how it is written; the rest must be shown by the whole file. A number is read as one
    with the decimal mark of the table; one with leading zeros, of more than 15 figures without a mark, or with groups
    of thousands stays text, and so does a date
    unless ``form`` tells how dates stand. Raises CsvQuestion where the file can be read in more than one way,
    and WorkbookError with one line, naming the line of the file, where it is no whole table.
    """
    told = form or CsvForm()
    refuse_unfit(name, told)
    _refuse_other_kinds(name, data)
    decoded = decode(name, data, told.encoding)
    questions: list[Question] = []
    if decoded.others:
        questions.append(Question("encoding", decoded.others, f"{decoded.example} by {', '.join(decoded.others)}"))
    _refuse_unfit_lines(name, decoded.text)
    records, found, delimiter = _divided(name, decoded.text, told, questions)
    decimal = told.decimal
    if decimal is None and delimiter is not None:
        evidence = DecimalEvidence.of(records)
        decimal = evidence.mark
        if decimal is None:
            questions.append(evidence.question())
    known = CsvForm(decoded.encoding if not decoded.others else None, delimiter, decimal, told.date)
    if questions or delimiter is None or decimal is None:
        raise CsvQuestion(name, questions, known)
    _refuse_wide(name, records, found)
    rows = {}
    for number, record in enumerate(records, 1):
        read = ((column, _cell(field, decimal, told.date)) for column, field in enumerate(record, 1))
        cells = {column: cell for column, cell in read if cell is not None}
        if cells:
            rows[number] = cells
    return CsvTable(Grid(_title(name), rows), replace(known, encoding=decoded.encoding))


def _title(name: str) -> str:
    """Return the name of the sheet: the file's without its ending, as far as a sheet can be named so."""
    return re.sub(r"[\[\]:*?/\\]", "_", PurePath(name).stem)[:_LONGEST_TITLE].strip("' ") or "table"


def _refuse_other_kinds(name: str, data: bytes) -> None:
    if not data.strip():
        raise WorkbookError(f"{name}: the file is empty")
    if len(data) > MAX_BYTES:
        raise WorkbookError(f"{name}: is {len(data) / 1e6:.0f} MB large, more than any log needs; refused")
    for mark, kind in _OTHER_KINDS:
        if data.startswith(mark):
            raise WorkbookError(f"{name}: not a table of text but {kind} under another ending; give it its own")


def _refuse_unfit_lines(name: str, text: str) -> None:
    alone = re.search(r"\r(?!\n)", text)
    if alone:
        line = text.count("\n", 0, alone.start()) + 1
        raise WorkbookError(
            f"{name}: line {line} holds a carriage return without a line feed; save the file again with ordinary line "
            "ends"
        )
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise WorkbookError(f"{name}: line {line} holds a zero byte, which no text has; export the table again")
    for number, line_text in enumerate(text.split("\n"), 1):
        if len(line_text) > MAX_LINE:
            raise WorkbookError(f"{name}: line {number} has {len(line_text)} characters, more than any row; refused")


def _divided(
    name: str, text: str, told: CsvForm, questions: list[Question]
) -> tuple[list[list[str]], Block, str | None]:
    """Return the records under the delimiter that was told or that the file shows; a question where it shows none."""
    if told.delimiter is not None:
        records = _records(name, text, told.delimiter)
        return records, block(records, told.delimiter), told.delimiter
    divided: dict[str, list[list[str]]] = {}
    failed: dict[str, WorkbookError] = {}
    for delimiter in DELIMITERS:
        if delimiter in text:
            try:
                divided[delimiter] = _records(name, text, delimiter)
            except WorkbookError as error:
                failed[delimiter] = error
    blocks = {delimiter: block(records, delimiter) for delimiter, records in divided.items()}
    tables = [delimiter for delimiter, found in blocks.items() if found.is_table]
    if len(tables) == 1:
        return divided[tables[0]], blocks[tables[0]], tables[0]
    if not divided and not failed:
        raise WorkbookError(f"{name}: not a table: none of {', '.join(DELIMITERS.values())} stands in it")
    likeliest = max((*divided, *failed), key=text.count)
    if not tables and likeliest in failed:
        raise failed[likeliest]
    questions.append(delimiter_question(blocks))
    return [], Block(), None


def _records(name: str, text: str, delimiter: str) -> list[list[str]]:
    before = csv.field_size_limit(MAX_FIELD)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    records: list[list[str]] = []
    line = fields = 0
    try:
        for record in reader:
            fields += len(record)
            if len(records) >= MAX_RECORDS or fields > MAX_FIELDS or len(record) > LAST_COLUMN:
                raise WorkbookError(f"{name}: line {line + 1} is beyond what any log needs; refused")
            if reader.line_num > line + 1:
                _refuse_swallowed(name, record, delimiter, line + 1, reader.line_num)
            records.append(record)
            line = reader.line_num
    except csv.Error as error:
        raise WorkbookError(f"{name}: {_words(str(error), line + 1, reader.line_num)}") from error
    finally:
        csv.field_size_limit(before)
    return records


def _words(error: str, first: int, last: int) -> str:
    if "field larger" in error:
        return f"line {first} has a field of more than {MAX_FIELD} characters, or a quotation mark that is not closed"
    if "unexpected end" in error:
        return f"the quotation mark that opens in line {first} is never closed"
    lines = f"line {first}" if first >= last else f"lines {first} to {last}"
    return f"{lines}: something follows a closing quotation mark; double a mark that stands within quoted text"


def _refuse_swallowed(name: str, record: Sequence[str], delimiter: str, first: int, last: int) -> None:
    """Refuse a field of several lines that look like rows: a mark was left open, and another closed it further on."""
    for field in record:
        for inner in field.split("\n")[1:]:
            if inner.count(delimiter) >= max(2, (len(record) - 1) // 2):
                raise WorkbookError(
                    f"{name}: lines {first} to {last} stand within one pair of quotation marks; close the mark that is "
                    f"open in line {first}"
                )


def _refuse_wide(name: str, records: Sequence[Sequence[str]], found: Block) -> None:
    """Refuse a row with more fields than there are headings: all behind the one too many would be misplaced."""
    for number, record in enumerate(records[found.first :], found.first + 1):
        filled = max((place for place, field in enumerate(record, 1) if field.strip()), default=0)
        if filled > found.width and found.width > 1:
            raise WorkbookError(
                f"{name}: row {number} has {filled} fields, and the headings in row {found.first + 1} {found.width}; "
                "a delimiter or a decimal comma stands within a field: put that field in quotation marks"
            )


def _cell(field: str, decimal: str, date: str | None) -> Cell | None:
    text = field.strip()
    if not text:
        return None
    if _ERROR.fullmatch(text):
        return Cell(CellKind.ERROR, text)
    day = _date(text, date) if date is not None else None
    if day is not None:
        return Cell(CellKind.DATE, day)
    number = _number(text, decimal)
    return Cell(CellKind.TEXT, field) if number is None else Cell(CellKind.NUMBER, number)


def _date(text: str, written: str) -> dt.datetime | None:
    """Return the day that a text is as dates were told to stand; None for any other text, as for 31.02.2026."""
    if re.fullmatch(r"\d{1,2}[./-]\d{1,2}[./-]\d{4}", text, re.ASCII) is None:
        return None
    try:
        return dt.datetime.strptime(text, DATES[written])
    except ValueError:
        return None


def _number(text: str, decimal: str) -> float | None:
    """Return the number that a text is with this decimal mark; None for an id, groups of thousands and the rest."""
    mark = re.escape(decimal)
    match = re.fullmatch(rf"([+-]?)(\d*)(?:({mark})(\d*))?(?:[eE]([+-]?)\d{{1,3}})?", text, re.ASCII)
    if match is None:
        return None
    _, whole, has_mark, fraction, sign = match.groups()
    if not (whole or fraction):
        return None
    if len(whole) > 1 and whole.startswith("0"):
        return None  # 0123 is a name, not a number
    if not has_mark and (len(whole) > _LONGEST_WHOLE or sign == ""):
        return None  # so is 1E5, and figures beyond those that a number keeps
    return float(text.replace(decimal, "."))
