"""Rows that patterns read: the same reading, and the same refusal word for word, as by the parser alone."""

import random
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from hostile.base import MAIN, RUNS, SAMPLES, SETUP, STRINGS, packed, parts

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.grid import Grid, PackedRow, last_columns
from batchcal.workbook.xlsx import plain_rows, stored
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.references import LETTERS
from batchcal.workbook.xlsx.workbook import grids

ROWS = 80
HEAD = f'<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="{MAIN}" xmlns:x="urn:x"><sheetData>'
TAIL = "</sheetData></worksheet>"

FORMS = {
    "shared texts": '<row r="{n}" spans="1:4"><c r="A{n}"><v>{n}</v></c><c r="B{n}" s="1"><v>4630{d}</v></c>'
    '<c r="C{n}" t="s"><v>{d}</v></c><c r="D{n}" s="2"/><c r="E{n}" s="2"><v>0.{n}</v></c></row>',
    "texts in place": '<row r="{n}"><c r="A{n}" t="inlineStr"><is><t>S{d} &amp; &lt;{n}</t></is></c>'
    '<c r="C{n}" s="0" t="n"></c><c r="D{n}" s="0" t="str"><v>_x0041_{n}</v></c></row>',
    "texts with blanks": '<row r="{n}" ht="15.5" x:dyDescent="0.25"><c r="A{n}" s="4" t="inlineStr"><is>'
    '<t xml:space="preserve"> S{d} </t></is></c><c r="AB{n}" t="n"><v>-1.5E-{n}</v></c></row>',
    "formulas": '<row r="{n}"><c r="A{n}"><v>{n}</v></c><c r="B{n}"><f>A{n}*2&amp;""</f><v>{n}</v></c>'
    '<c r="C{n}" t="str"><f>"a"</f><v>a</v></c><c r="D{n}" t="b"><v>1</v></c><c r="E{n}" t="e"><v>#N/A</v></c></row>',
    "shared formulas": '<row r="{n}"><c r="A{n}"><v>{n}</v></c><c r="B{n}" s="4"><f t="shared" si="0"/>'
    "<v>{n}</v></c></row>",
    "every type": '<row r="{n}"><c r="A{n}" s="3"><v>0.{d}</v></c><c r="B{n}" s="5"><v>0.{n}</v></c>'
    '<c r="C{n}" s="6"><v>1.{n}</v></c><c r="D{n}" t="d"><v>2026-05-{n}</v></c><c r="E{n}" t="b"><v>0</v></c></row>',
}
FIRST = '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><f t="shared" ref="B1:B99" si="0">A1*2+$A$1</f><v>3</v></c></row>'


@pytest.fixture(autouse=True)
def patterns_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have patterns made of sheets as short as those here."""
    monkeypatch.setattr(plain_rows, "_FEW", 0)


def rows_of(form: str) -> list[str]:
    numbers = range(10, 32) if form == "every type" else range(2, ROWS)  # days of a month
    return [FIRST, *(FORMS[form].format(n=number, d=number % 5) for number in numbers)]


def book(sheet: str | bytes) -> bytes:
    data = sheet if isinstance(sheet, bytes) else sheet.encode()
    texts = "".join(f"<si><t>text {number}</t></si>" for number in range(5))
    strings = f'<sst xmlns="{MAIN}">{texts}<si><t> </t></si><si><t>{"long" * 40}</t></si></sst>'.encode()
    empty = (HEAD + TAIL).encode()
    return packed({**parts(), SETUP: empty, SAMPLES: empty, RUNS: data, STRINGS: strings})


def read(data: bytes) -> tuple[Grid, ...] | str:
    """Return the reading, or the line by which it is refused."""
    try:
        return grids(Package("day.xlsx", data))
    except WorkbookError as error:
        return str(error)


@contextmanager
def by_parser_alone() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plain_rows, "_IN_UTF_8", re.compile(rb"(?!)"))
        yield


def both(data: bytes) -> tuple[Grid, ...] | str:
    """Return what both ways make of a workbook."""
    found = read(data)
    with by_parser_alone():
        expected = read(data)
    assert found == expected
    if not isinstance(found, str) and not isinstance(expected, str):
        assert last_columns(found) == last_columns(expected)
        for grid, other in zip(found, expected, strict=True):
            assert list(grid.rows) == list(other.rows)
            assert [list(row) for row in grid.rows.values()] == [list(row) for row in other.rows.values()]
    return found


def packed_rows(found: tuple[Grid, ...] | str) -> int:
    assert not isinstance(found, str), found
    return sum(isinstance(row, PackedRow) for grid in found for row in grid.rows.values())


def refusal(found: tuple[Grid, ...] | str) -> str:
    assert isinstance(found, str)
    return found


@pytest.mark.parametrize("form", FORMS)
def test_rows_of_one_form_are_read_alike(form: str) -> None:
    rows = rows_of(form)
    found = both(book(HEAD + "".join(rows) + TAIL))
    assert packed_rows(found) >= len(rows) - 1 - plain_rows._OFTEN > 0


def test_two_forms_in_turn_are_both_read_by_patterns() -> None:
    turns = zip(rows_of("shared texts"), rows_of("formulas"), strict=True)
    mixed = "".join(turn[number % 2] for number, turn in enumerate(turns))
    assert packed_rows(both(book(HEAD + mixed + TAIL))) == ROWS - 2 - 2 * plain_rows._OFTEN


def test_what_stands_in_a_packed_row() -> None:
    found = read(book(HEAD + "".join(rows_of("shared texts")) + TAIL))
    assert not isinstance(found, str)
    row = found[1].rows[77]
    assert isinstance(row, PackedRow)
    assert row[1] == Cell(CellKind.NUMBER, 77.0)
    assert row[3] == Cell(CellKind.TEXT, "text 2")
    assert row[5] == Cell(CellKind.NUMBER, 0.77)
    assert 4 not in row
    assert row.get(4) is None
    assert list(row) == [1, 2, 3, 5]
    assert row.contents[0] == 77.0


PLAIN = FORMS["shared texts"]
ODD_ROWS = {
    "a remark": "<!-- </row> -->" + PLAIN.format(n=70, d=1),
    "a remark that hides a row": f"<!-- {PLAIN.format(n=71, d=1)} -->" + PLAIN.format(n=70, d=1),
    "an empty row and a remark": '<row r="70"/><!-- </row>' + PLAIN.format(n=71, d=1) + " -->",
    "text that is none": '<row r="70"><c r="A70"><v><![CDATA[7]]></v></c></row>',
    "a text of elements": '<row r="70"><c r="A70" t="inlineStr"><is><t><![CDATA[<v>1</v></row>]]></t></is></c></row>',
    "an instruction": "<?x </row> ?>" + PLAIN.format(n=70, d=1),
    "a hidden row": PLAIN.format(n=70, d=1).replace(" spans", ' hidden="1" spans'),
    "another namespace": PLAIN.format(n=70, d=1).replace("<row", '<row xmlns="urn:x"'),
    "a prefix that is not bound": PLAIN.format(n=70, d=1).replace("<row", '<row y:z="1"'),
    "a row of one number twice": PLAIN.format(n=69, d=1),
    "an earlier row": PLAIN.format(n=30, d=1),
    "a row out of its order": PLAIN.format(n=90, d=1),
    "a row beyond the last": PLAIN.format(n=1048577, d=1),
    "a row without its number": PLAIN.format(n=70, d=1).replace(' r="70"', "", 1),
    "another row's cell": PLAIN.format(n=70, d=1).replace('"E70"', '"E71"'),
    "a cell twice": PLAIN.format(n=70, d=1).replace('"E70"', '"C70"'),
    "cells out of their order": PLAIN.format(n=70, d=1).replace('"A70"', '"F70"'),
    "a column beyond the last": PLAIN.format(n=70, d=1).replace('"E70"', '"XFE70"'),
    "a format that is not there": PLAIN.format(n=70, d=1).replace('s="2"><v>', 's="99"><v>'),
    "a text that is not there": PLAIN.format(n=70, d=9),
    "a text of blanks": PLAIN.format(n=70, d=5),
    "a long text": PLAIN.format(n=70, d=6),
    "a number that is none": PLAIN.format(n=70, d=1).replace("0.70", "0.7.0"),
    "a number of another script": PLAIN.format(n=70, d=1).replace("0.70", "0.٧"),
    "a number beyond all": PLAIN.format(n=70, d=1).replace("0.70", "1e999"),
    "less than nothing": PLAIN.format(n=70, d=1).replace("0.70", "-0"),
    "a date beyond all": PLAIN.format(n=70, d=1).replace("46301", "99999999999"),
    "two values": PLAIN.format(n=70, d=1).replace("<v>70</v>", "<v>70</v><v>70</v>"),
    "words outside": PLAIN.format(n=70, d=1).replace("</v></c>", "</v>x</c>", 1),
    "blanks outside": "\n " + PLAIN.format(n=70, d=1).replace("</v></c>", "</v>\n</c>", 1),
    "a tag that does not end": PLAIN.format(n=70, d=1).replace("</c>", "", 1),
    "a sign that is none": PLAIN.format(n=70, d=1).replace("0.70", "&x;"),
    "a sign by its number": '<row r="70"><c r="A70" t="str"><v>&#65;&#x42;</v></c></row>',
    "the end of a text": '<row r="70"><c r="A70" t="str"><v>a]]>b</v></c></row>',
    "a control": '<row r="70"><c r="A70" t="str"><v>a\x01b</v></c></row>',
    "no character": '<row r="70"><c r="A70" t="str"><v>a\uffffb</v></c></row>',
    "lines": '<row r="70"><c r="A70" t="str"><v>a\r\nb\tc</v></c></row>',
    "a formula without a value": '<row r="70"><c r="A70"><f>1+1</f></c></row>',
    "a shared formula that is not there": '<row r="70"><c r="A70"><f t="shared" si="7"/><v>1</v></c></row>',
    "the rows twice": "</sheetData><sheetData>" + PLAIN.format(n=70, d=1),
    "more behind the rows": PLAIN.format(n=70, d=1)
    + '</sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells><x:x>',
}
AGREE_ON = {"more behind the rows": "</x:x></worksheet>"}


@pytest.mark.parametrize("what", ODD_ROWS)
def test_what_is_not_plain_goes_to_the_parser(what: str) -> None:
    plain = [PLAIN.format(n=number, d=number % 5) for number in range(1, 70)]
    after = [PLAIN.format(n=number, d=number % 5) for number in range(72, ROWS)]
    end = AGREE_ON.get(what)
    sheet = HEAD + "".join(plain) + ODD_ROWS[what] + ("".join(after) + TAIL if end is None else end)
    found = both(book(sheet))
    if not isinstance(found, str):
        assert packed_rows(found) > 0


def test_many_like_an_odd_row_are_no_plainer() -> None:
    """A shape may come often enough and still hold what only the parser may judge."""
    for what in ("a text that is not there", "a text of blanks", "a number beyond all", "less than nothing"):
        rows = [ODD_ROWS[what].replace("70", str(number)) for number in range(1, ROWS)]
        both(book(HEAD + "".join(rows) + TAIL))


def test_all_three_ways_out_of_the_rows() -> None:
    assert "is no whole XML" in refusal(both(book(HEAD + "".join(rows_of("formulas")) + "</worksheet>")))
    assert "is no whole XML" in refusal(both(book(HEAD + "".join(rows_of("formulas")))))
    assert "is no whole XML" in refusal(both(book(HEAD + "".join(rows_of("formulas")) + TAIL + "x")))


def test_the_place_of_damage_is_that_in_the_whole_part() -> None:
    sheet = HEAD + "".join(rows_of("shared texts")) + "</sheetDate></worksheet>"
    assert f"line 1, column {sheet.index('</sheetDate>') + 2}" in refusal(both(book(sheet)))


@pytest.mark.parametrize("encoding", ["utf-16", "us-ascii", "iso-8859-1", "UTF-8"])
def test_a_part_in_another_encoding(encoding: str) -> None:
    sheet = HEAD.replace("UTF-8", encoding) + "".join(rows_of("texts in place")).replace("&amp;", "é") + TAIL
    both(book(sheet.encode("utf-16" if encoding == "utf-16" else "utf-8")))
    both(book(sheet.encode("utf-16" if encoding == "utf-16" else "latin-1")))


def test_a_prefix_before_every_name() -> None:
    sheet = re.sub(r"<(/?)(?=[a-z])", r"<\1p:", "".join(rows_of("shared texts")))
    found = both(book(f'<p:worksheet xmlns:p="{MAIN}"><p:sheetData>{sheet}</p:sheetData></p:worksheet>'))
    assert packed_rows(found) == 0


def test_rows_of_another_namespace_than_their_element() -> None:
    sheet = "".join(rows_of("shared texts"))
    both(book(f'<p:worksheet xmlns:p="{MAIN}" xmlns="urn:x"><p:sheetData>{sheet}</p:sheetData></p:worksheet>'))
    both(book(f'<p:worksheet xmlns:p="{MAIN}"><!-- <sheetData> --><p:sheetData>{sheet}</p:sheetData></p:worksheet>'))
    both(book(f'<p:worksheet xmlns:p="{MAIN}"><sheetData>{sheet}</sheetData><p:sheetData/></p:worksheet>'))


def test_a_long_part_comes_in_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = book(HEAD + "".join(rows_of("shared texts")) + TAIL)
    expected = read(sheet)
    for size in (500, 777, 1001):
        monkeypatch.setattr("batchcal.workbook.xlsx.package.CHUNK", size)
        assert read(sheet) == expected
        assert packed_rows(read(sheet)) > 0
    monkeypatch.setattr(plain_rows, "_LONGEST_ROW", 100)
    assert read(sheet) == expected


def test_a_short_sheet_is_parsed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plain_rows, "_FEW", ROWS)
    assert packed_rows(both(book(HEAD + "".join(rows_of("shared texts")) + TAIL))) == 0


def test_noise_gives_the_same_reading_or_the_same_refusal() -> None:
    chance, outcomes = random.Random(20261127), Counter[str]()
    pieces = (
        b"<!-- x -->", b"<![CDATA[1]]>", b"&lt;", b"<row/>", b"<c/>", b"</row>", b"<v>1</v>", b"<f>1</f>", b' t="s"',
        b' r="A1"', b' s="1"', b"\xff", b"]]>", b"&", b"<", b">", b"<!--", b"-->", b"</c>", b"\xc3\xa9", b"\n", b" ",
    )  # fmt: skip
    sheets = {form: (HEAD + "".join(rows_of(form)[:40]) + TAIL).encode() for form in FORMS if form != "every type"}
    for _ in range(400):
        noisy = bytearray(chance.choice(list(sheets.values())))
        for _ in range(chance.choice((1, 1, 1, 3))):
            at, way = chance.randrange(len(noisy)), chance.random()
            if way < 0.4:
                noisy[at] = chance.choice(b'<>/"&;=0123456789 rcvts')
            elif way < 0.6:
                del noisy[at : at + chance.randrange(1, 40)]
            elif way < 0.8:
                begin = chance.randrange(len(noisy))
                noisy[at:at] = noisy[begin : begin + chance.randrange(1, 400)]
            else:
                noisy[at:at] = chance.choice(pieces)
        found = both(book(bytes(noisy)))
        outcomes["refused" if isinstance(found, str) else "packed" if packed_rows(found) else "parsed"] += 1
    assert {"refused", "packed"} <= set(outcomes)


def test_cells_that_are_always_out_of_their_order_are_read_in_it() -> None:
    rows = "".join(f'<row r="{n}"><c r="C{n}"><v>3</v></c><c r="A{n}"><v>1</v></c></row>' for n in range(1, ROWS))
    found = both(book(HEAD + rows + TAIL))
    assert packed_rows(found) == 0


def test_a_long_text_is_counted_in_every_row(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stored, "MAX_REPEATED_CHARACTERS", 160 * (ROWS - 5))  # the sixth text has 160
    rows = [f'<row r="{n}"><c r="A{n}" t="s"><v>6</v></c></row>' for n in range(1, ROWS)]
    assert "over and over" in refusal(both(book(HEAD + "".join(rows) + TAIL)))
    assert packed_rows(both(book(HEAD + "".join(rows[:-10]) + TAIL))) > 0


def test_patterns_of_wide_rows_are_soon_too_many() -> None:
    """A pattern takes long to make: of rows like none that a log has, only a few."""
    cells = 1_500
    rows = [
        f'<row r="{n}">'
        + "".join(f'<c r="{LETTERS[c]}{n}"><v>1</v></c>' for c in range(1, cells) if c != n // 20 + 1)
        + "</row>"
        for n in range(1, 201)
    ]
    assert 0 < packed_rows(both(book(HEAD + "".join(rows) + TAIL))) < 40
