"""Every table of text is read as it is meant, or asked about, or refused with its line; nothing is guessed."""

import csv
import io
import random
from collections import Counter

import pandas as pd
import pytest

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import Trouble, as_number
from batchcal.workbook.foreign.csv_form import CsvForm, CsvQuestion
from batchcal.workbook.foreign.csv_table import read_csv
from hostile_text.cases import CASES, DAY, NAMES, Case, table
from hostile_text.random_tables import made


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("2026-10-14.csv", "2026-10-14"),
        ("the runs of the fourteenth of October.csv", "the runs of the fourteenth of O"),
        ("runs [1].csv", "runs _1_"),
        (".csv", ".csv"),
        ("'.csv", "table"),
    ],
)
def test_the_sheet_is_named_by_the_file(name: str, title: str) -> None:
    assert read_csv(name, b"a;b\nc;d\n").grid.title == title


def test_there_are_many_cases() -> None:
    assert len(CASES) >= 100
    assert len({case.name for case in CASES}) == len(CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_table_of_text(case: Case) -> None:
    limit = csv.field_size_limit()
    if case.refused:
        with pytest.raises(WorkbookError) as caught:
            read_csv("day.csv", case.data, case.form)
        assert not isinstance(caught.value, CsvQuestion)
        assert case.refused in str(caught.value)
        assert "\n" not in str(caught.value)
    elif case.asks:
        with pytest.raises(CsvQuestion) as asked:
            read_csv("day.csv", case.data, case.form)
        assert tuple(question.key for question in asked.value.questions) == case.asks
        for mention in case.mentions:
            assert mention in str(asked.value)
        for question in asked.value.questions:
            assert len(question.choices) > 1
            assert getattr(asked.value.known, question.key) is None
        assert "batchcal columns day.csv --save MAP.toml" in str(asked.value)
        assert "\n" not in str(asked.value)
    else:
        read = read_csv("day.csv", case.data, case.form)
        assert read.grid.title == "day"
        for place, expected in case.cells.items():
            assert read.grid.cell(*place).value == expected, place
        for place, code in case.flagged.items():
            trouble = as_number(read.grid.cell(*place))
            assert isinstance(trouble, Trouble), place
            assert trouble.code == code, place
        # What was found can be told, and gives the same.
        assert read_csv("day.csv", case.data, read.form) == read
    assert csv.field_size_limit() == limit


@pytest.mark.parametrize("delimiter", NAMES)
@pytest.mark.parametrize("decimal", [".", ","])
def test_numbers_are_those_that_pandas_reads(delimiter: str, decimal: str) -> None:
    """Against pandas.read_csv, which is told the form that is found here."""
    chance = random.Random(20261127)
    rows = [["Firing no.", "Mass (g)", "Rise (K)"]]
    rows += [[str(n), f"{chance.uniform(0.5, 1.5):.4f}", f"{chance.uniform(1, 4):.5f}"] for n in range(1, 200)]
    text = table(rows, delimiter, decimal)
    read = read_csv("day.csv", text.encode()).grid
    frame = pd.read_csv(io.StringIO(text), sep=delimiter, decimal=decimal)
    for number, row in enumerate(frame.itertuples(index=False), 2):
        assert [read.cell(number, column).value for column in (1, 2, 3)] == pytest.approx(list(row), rel=1e-15)


@pytest.mark.parametrize("delimiter", NAMES)
@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC])
def test_whatever_python_writes_comes_back(delimiter: str, decimal: str, quoting: int) -> None:
    stream = io.StringIO()
    rows = [
        [value.replace(".", decimal) if value.replace(".", "").isdigit() else value for value in row] for row in DAY
    ]
    csv.writer(stream, delimiter=delimiter, quoting=quoting).writerows(rows)  # type: ignore[arg-type]
    read = read_csv("day.csv", stream.getvalue().encode())
    assert read.form == CsvForm("utf-8", delimiter, decimal)
    assert read.grid.cell(3, 3).value == 0.9987


def test_noise_raises_nothing_else_and_never_moves_a_value() -> None:
    """Bytes put in at random: the table is refused, asked about, or each cell that is left alone reads as before."""
    chance = random.Random(20261128)
    plain = table(DAY * 1, ";").encode()
    before = read_csv("day.csv", plain).grid
    outcomes = set()
    for _ in range(600):
        noisy = bytearray(plain)
        place = chance.randrange(len(noisy))
        noisy[place:place] = bytes([chance.randrange(256)])
        try:
            read = read_csv("day.csv", bytes(noisy)).grid
        except CsvQuestion:
            outcomes.add("asked")
        except WorkbookError:
            outcomes.add("refused")
        else:
            outcomes.add("read")
            row = plain[:place].count(b"\n") + 1
            for number, cells in before.rows.items():
                if number != row and bytes(noisy[place : place + 1]) not in b"\r\n":
                    assert read.rows[number] == cells
    assert outcomes == {"asked", "refused", "read"}


def test_random_tables_are_read_as_they_were_meant_or_not_at_all() -> None:
    """Never a wrong reading; most are read, and an answer to each question that is asked reads the rest."""
    chance = random.Random(20261129)
    outcomes = Counter[str]()
    for _ in range(3000):
        table_made = made(chance)
        form = None
        try:
            read = read_csv("day.csv", table_made.data)
            outcomes["read"] += 1
        except CsvQuestion:
            outcomes["asked"] += 1
            encoding = None if "utf-16" in table_made.encoding else table_made.encoding
            form = CsvForm(encoding, table_made.delimiter, table_made.decimal)
            read = read_csv("day.csv", table_made.data, form)
        except WorkbookError:
            outcomes["refused"] += 1
            continue
        found = {(row, column): cell.value for row, cells in read.grid.rows.items() for column, cell in cells.items()}
        assert found == table_made.cells, (table_made, form)
    assert outcomes["read"] > 2000
    assert outcomes["refused"] < 100
