"""Sheets whose rows and cells contradict themselves, are elsewhere than they say, or hold what no cell holds.

The rise of the first firing, 2.5 K, stands in Runs!AB2; its mass in P2, its sample in F2.
"""

import re
from collections.abc import Callable, Iterator

from hostile.base import RUNS, edited, put
from hostile.case import SAME, Case, Reads, Refused, finds

_RISE = '<c r="AB2"><v>2.5</v></c>'


def cases() -> Iterator[Case]:
    """Yield the log with one sheet changed in its cells."""
    for name, cell, outcome in (*_numbers(), *_types(), *_texts(), *_formats(), *_places(), *_formulas(), *_shapes()):
        yield Case(f"rise: {name}", edited(RUNS, (_RISE, cell)), outcome)
    yield from _rows()
    yield from _order()
    yield from _beside_the_cells()


Changes = Iterator[tuple[str, str, Refused | Reads]]


def _numbers() -> Changes:
    def stored(text: str) -> str:
        return f'<c r="AB2"><v>{text}</v></c>'

    for text in ("2.50", "+2.5", " 2.5\n", "25e-1", "0.25E+1", "2.5" + "0" * 1000, "00002.5"):
        yield f"the number {text.strip()[:12]!r}", stored(text), SAME
    for text in (
        "abc", "1_000", "2,5", "２.５", "٢.٥", "nan", "NaN", "-INF", "Infinity", "0x10", "--2.5", "2.5e", ".", "-",
        "2.5 K", "2 5", "=2.5", "TRUE", "2026-05-02", "1e5_0", "²",
    ):  # fmt: skip
        yield f"{text!r} for a number", stored(text), Refused("sheet Runs, cell AB2 holds")
    for text in ("1E309", "-1e999", "9" * 400, "9" * 5000, "1" + "0" * 100_000):
        yield f"the number {text[:8]}, {len(text)} signs long", stored(text), finds("number-beyond-reach")
    yield "the smallest number there is", stored("4.9E-324"), finds("rise-unfit")
    yield "nothing between the tags", stored(""), finds("rise-missing")


def _types() -> Changes:
    def typed(kind: str, text: str) -> str:
        return f'<c r="AB2" t="{kind}"><v>{text}</v></c>'

    yield "said to be a number", typed("n", "2.5"), SAME
    yield "a text as a formula gives it", typed("str", "2.5"), finds("number-as-text")
    yield "a text in the cell", '<c r="AB2" t="inlineStr"><is><t>2.5</t></is></c>', finds("number-as-text")
    yield "a text in runs", _inline("<r><rPr><b/></rPr><t>2</t></r><r><t>.5</t></r>"), finds("number-as-text")
    yield "a text with reading aids", _inline('<t>2.5</t><rPh sb="0" eb="1"><t>zwei</t></rPh>'), finds("number-as-text")
    yield "a text where its value is", typed("inlineStr", "2.5"), finds("number-as-text")
    yield "a text and a value", '<c r="AB2" t="inlineStr"><v>2.6</v><is><t>2.5</t></is></c>', Refused("cell AB2 holds")
    yield (
        "a text said to be a number",
        '<c r="AB2"><is><t>2.5</t></is></c>',
        Refused("cell AB2 holds a text and is said"),
    )
    yield "two texts", '<c r="AB2" t="inlineStr"><is><t>2</t></is><is><t>5</t></is></c>', Refused("holds two texts")
    for text in ("1", "true", "0", "false"):
        yield f"a truth {text}", typed("b", text), finds("yes-no-in-number")
    for text in ("2", "2.5", "yes", "TRUE", "-1"):
        yield f"a truth {text}", typed("b", text), Refused("neither true nor false")
    for text in ("#DIV/0!", "#N/A", "#REF!", "#SPILL!", "whatever"):
        yield f"an error {text}", typed("e", text), finds("error-cell")
    for text in ("2026-05-02", "2026-05-02T08:30:00Z", "08:30", "2026-05-02T08:30:00.123", "PT26H"):
        yield f"a date {text}", typed("d", text), finds("date-in-number")
    for text in (
        "2.5",
        "02.05.2026",
        "2026-02-30",
        "2026-13-01",
        "2026-05-02T25:00",
        "T",
        "P",
        "PT",
        "2026-05-02x",
        "99",
    ):
        yield f"a date {text}", typed("d", text), Refused(f"cell AB2 holds {text!r}, which is no date")
    for kind in ("", "N", "x", "number", "S"):
        yield f"of the type {kind!r}", typed(kind, "2.5"), Refused("which is not known")


def _inline(inside: str) -> str:
    return f'<c r="AB2" t="inlineStr"><is>{inside}</is></c>'


def _texts() -> Changes:
    for index in ("76", "99999999", "-1", "1.0", "abc", "１", "1e1", "9" * 5000):
        yield (
            f"the text number {index[:9]!r}",
            f'<c r="AB2" t="s"><v>{index}</v></c>',
            Refused("AB2 refers to the text"),
        )
    for index in ("59", " 59 ", "0059"):
        yield f"the text number {index!r}", f'<c r="AB2" t="s"><v>{index}</v></c>', finds("text-in-number")
    yield "no text number", '<c r="AB2" t="s"><v/></c>', finds("rise-missing")
    for name, text, codes in (
        ("a bell", "2.5_x0007_", ("number-as-text",)),
        ("an escaped escape", "_x005F_x0007_", ("text-in-number",)),
        ("half a pair of surrogates", "2.5_xD800_", ("stray-unit",)),
        ("a pair of surrogates", "2.5 _xD83D__xDD25_", ("stray-unit",)),
        ("a NUL", "2.5_x0000_K", ("stray-unit",)),
        ("blanks of every kind", "_x00A0_&#x2003;&#x3000; ", ("rise-missing",)),
        ("from right to left", "&#x202E;5.2", ("text-in-number",)),
        ("the longest that programs take", "2" * 32_767, ("text-in-number",)),
        ("longer than programs take", "2.5 " * 30_000, ("text-in-number",)),
        ("an accent on an accent, thousandfold", "2.5 &#x301;" + "&#x316;&#x301;" * 20_000, ("stray-unit",)),
    ):
        yield f"a text with {name}", _inline(f"<t>{text}</t>"), finds(*codes)


def _formats() -> Changes:
    for style in ("7", "99", "-1", "1.5", "x", "", "9" * 5000, "１"):
        yield f"of the format {style[:9]!r}", f'<c r="AB2" s="{style}"><v>2.5</v></c>', Refused("AB2 has the format")
    for style, outcome in (("00", SAME), (" 2 ", SAME), ("4", Reads()), ("3", finds("per-cent-format"))):
        yield f"of the format {style!r}", f'<c r="AB2" s="{style}"><v>2.5</v></c>', outcome
    for style, text in (("1", "46309"), ("5", "0.354"), ("6", "1.25"), ("1", "59"), ("1", "0")):
        yield f"{text} shown as a date", f'<c r="AB2" s="{style}"><v>{text}</v></c>', finds("date-in-number")
    for text in ("99999999", "-99999999", "1E300", "1E309"):
        yield f"{text} shown as a date", f'<c r="AB2" s="1"><v>{text}</v></c>', finds("error-cell")
    yield "a format that is not there, of nothing", '<c r="AB2" s="99"/>', Refused("AB2 has the format")


def _places() -> Changes:
    for place in ("A0", "XFE2", "AAAA2", "AB1048577", "AB99999999", "AB", "2", "", "$AB$2", "Runs!AB2", "R2C28",
                  "ÀB2", "AB２", "AB-2", " AB2", "AB2.0"):  # fmt: skip
        yield f"at {place!r}", f'<c r="{place}"><v>2.5</v></c>', Refused(f"in row 2, there is no cell {place!r}")
    yield "at an address in another row", '<c r="AB3"><v>2.5</v></c>', Refused("cell AB3 stands in row 2")
    yield "in small letters", '<c r="ab2"><v>2.5</v></c>', SAME
    yield "with noughts before its row", '<c r="AB002"><v>2.5</v></c>', SAME
    yield "behind an unknown attribute", '<c zz="1" r="AB2" cm="1" vm="2"><v>2.5</v></c>', SAME
    yield "twice, the same", _RISE * 2, Refused("cell AB2 stands twice")
    yield "twice, first empty", '<c r="AB2"/>' + _RISE, Refused("cell AB2 stands twice")
    yield "twice, one of them by counting", '<c r="AA2"/><c><v>2.5</v></c>' + _RISE, Refused("cell AB2 stands twice")
    yield "by counting", '<c r="AA2"/><c><v>2.5</v></c>', SAME
    yield "before the cells to its left", f'{_RISE}<c r="B2"/><c r="C2"/>', SAME
    yield "before a cell that stands already", f'{_RISE}<c r="P2"><v>1.1</v></c>', Refused("cell P2 stands twice")
    yield "before another by counting back", f'{_RISE}<c r="E2"/><c><v>9</v></c>', Refused("cell F2 stands twice")


def _formulas() -> Changes:
    def formula(inside: str, kind: str = "") -> str:
        return f'<c r="AB2"{kind}>{inside}</c>'

    text = ' t="str"'
    yield "a formula", formula("<f>5/2</f><v>2.5</v>"), Reads()
    yield "a formula never worked out", formula("<f>5/2</f>"), finds("formula-without-value")
    yield "a formula with an empty value", formula("<f>5/2</f><v/>"), finds("formula-without-value")
    yield "a formula with a blank value", formula("<f>5/2</f><v> </v>"), finds("formula-without-value")
    yield "a formula that gives an empty text", formula('<f>""</f><v></v>', text), finds("rise-missing")
    yield "a formula of texts never worked out", formula("<f>A1</f>", text), finds("formula-without-value")
    yield "a formula that gives blanks", formula('<f>"  "</f><v>  </v>', text), finds("rise-missing")
    yield "two formulas", formula("<f>1</f><f>2</f><v>2.5</v>"), Refused("AB2 holds two formulas")
    yield "the formula behind the value", formula("<v>2.5</v><f>5/2</f>"), Reads()
    yield "an empty formula", formula("<f/><v>2.5</v>"), Reads()
    yield "a share of no formula", formula('<f t="shared" si="7"/><v>2.5</v>'), Refused("AB2 shares the formula '7'")
    yield "a share that says not of what", formula('<f t="shared"/><v>2.5</v>'), Refused("AB2 shares the formula ''")
    yield "a formula of many cells", formula('<f t="array" ref="AB2:AB3">5/{2;2}</f><v>2.5</v>'), Reads()
    yield "a table of what if", formula('<f t="dataTable" ref="AB2:AB3" dt2D="0" r1="A1"/><v>2.5</v>'), Reads()
    yield "a formula of no type that is known", formula('<f t="x">5/2</f><v>2.5</v>'), Reads()
    yield "a formula of 100 000 signs", formula(f"<f>{'1+' * 50_000}1</f><v>2.5</v>"), Reads()
    yield (
        "a share of a formula of 100 000 signs",
        formula(f'<f t="shared" si="0" ref="AB2:AC2">{"A1+" * 34_000}1</f><v>2.5</v>')
        + '<c r="AC2"><f t="shared" si="0"/><v>1</v></c>',
        Refused("AC2 has a formula of"),
    )
    yield (
        "a formula of brackets and quotes left open",
        formula(f'<f t="shared" si="0">{"[" * 2000}{chr(39) * 2001}"{"(" * 2000}</f><v>2.5</v>')
        + '<c r="AC2"><f t="shared" si="0"/></c>',
        finds("formula-without-value"),
    )


def _shapes() -> Changes:
    none = Refused("where none can be")
    yield "two values", '<c r="AB2"><v>2.5</v><v>2.5</v></c>', Refused("AB2 holds two values")
    yield "a value in a value", '<c r="AB2"><v>2<v>.5</v></v></c>', none
    yield "a value in a formula", '<c r="AB2"><f>5/2<v>2.5</v></f></c>', none
    yield "a formula in a value", '<c r="AB2"><v><f>5/2</f>2.5</v></c>', none
    yield "a cell in a cell", f'<c r="AB2">{_RISE}</c>', none
    yield "a row in a cell", '<c r="AB2"><row r="9"/></c>', none
    yield "a value in no cell", "<v>2.5</v>", none
    yield "a formula in no cell", "<f>5/2</f>", none
    yield "a text in no cell", "<is><t>2.5</t></is>", none
    yield "words in a cell", '<c r="AB2">2.5</c>', Refused("at row 2 it has the words '2.5'")
    yield "words before the value", '<c r="AB2">9<v>2.5</v></c>', Refused("at row 2 it has the words '9'")
    yield "words in a row", f"9{_RISE}", Refused("at row 2 it has the words '9'")
    yield "words in a text in the cell", _inline("2.5"), Refused("has words outside of every text")
    yield "an unknown element in a cell", '<c r="AB2"><w>2.5</w></c>', none
    yield "an unknown element in a value", '<c r="AB2"><v>2.5<b/></v></c>', none
    yield "an unknown element in a text", _inline("<w>2.5</w>"), none
    yield "a text in a text", _inline("<t>2<t>.5</t></t>"), none
    yield "two texts side by side", _inline("<t>2</t><t>.5</t>"), none
    yield "a run in a run", _inline("<r><r><t>2.5</t></r></r>"), none
    yield "a choice of cells", f"<choice>{_RISE}</choice>", none
    yield "more in a cell, set apart", '<c r="AB2"><v>2.5</v><extLst><ext><c><v>9</v></c></ext></extLst></c>', SAME


def _rows() -> Iterator[Case]:
    row = '<row r="2">'
    for text in ("0", "-2", "1048577", "99999999999", "2.5", "two", "", "2e0", "２", "A2"):
        yield Case(f"row {text!r}", edited(RUNS, (row, f'<row r="{text}">')), Refused(f"there is no row {text!r}"))
    for text in ("2.0", "02", "2."):
        yield Case(f"row {text!r}", edited(RUNS, (row, f'<row r="{text}">')), SAME)
    yield Case("row with another number", edited(RUNS, (row, '<row r="7">')), Refused("cell A2 stands in row 7"))
    yield Case("row twice", edited(RUNS, ('<row r="3">', '<row r="2"/><row r="3">')), Refused("row 2 stands twice"))
    yield Case(
        "row twice, one of them by counting",
        edited(
            RUNS,
            ('<row r="3">', '<row r="1048575"/><row/><row r="3">'),
            ("</sheetData>", '<row r="1048576"/></sheetData>'),
        ),
        Refused("row 1048576 stands twice"),
    )
    yield Case(
        "rows counted beyond the last",
        edited(RUNS, ("</sheetData>", '<row r="1048576"/><row/></sheetData>')),
        Refused("there is no row '1048577'"),
    )
    yield Case("a row in a row", edited(RUNS, (row, f'{row}<row r="9"/>')), Refused("where none can be"))
    yield Case(
        "a row behind the rows", edited(RUNS, ("</sheetData>", '</sheetData><row r="9"/>')), Refused("none can be")
    )
    yield Case("a cell among the rows", edited(RUNS, (row, f'<c r="A9"/>{row}')), Refused("where none can be"))
    yield Case("the rows twice", edited(RUNS, ("</worksheet>", "<sheetData/></worksheet>")), Refused("stands twice"))
    yield Case("no place for rows", put(RUNS, _cut_out(r"<sheetData>.*</sheetData>")), Refused("its rows is missing"))
    choice = 'xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"'
    yield Case(
        "a choice of rows",
        edited(
            RUNS,
            ("<sheetData>", f"<mc:AlternateContent {choice}><mc:Fallback><sheetData>"),
            ("</sheetData>", "</sheetData></mc:Fallback></mc:AlternateContent>"),
        ),
        Refused("the place of its rows is missing"),
    )
    yield Case(
        "200 000 empty rows",
        edited(RUNS, ("</sheetData>", "<row/>" * 200_000 + "</sheetData>")),
        SAME,
    )
    yield Case(
        "a row of 16 385 cells",
        edited(RUNS, ("</sheetData>", f'<row r="9">{"<c/>" * 16_385}</row></sheetData>')),
        Refused("row 9 has more cells than columns"),
    )
    yield Case(
        "a row hidden", edited(RUNS, ('<row r="3">', '<row r="3" hidden="true">')), finds("row-hidden-or-struck")
    )
    yield Case(
        "a row hidden and a filter",
        edited(
            RUNS, ('<row r="3">', '<row r="3" hidden="1">'), ("</sheetData>", '</sheetData><autoFilter ref="A1:AB3"/>')
        ),
        finds("row-hidden-or-struck"),
    )
    yield Case("a row hidden by a word", edited(RUNS, ('<row r="3">', '<row r="3" hidden="perhaps">')), SAME)


def _order() -> Iterator[Case]:
    yield Case("rows from the last to the first", put(RUNS, _reversed(rb"<row .*?</row>")), SAME)
    yield Case("cells from the right to the left", put(RUNS, _each_row(_reversed(rb"<c .*?</c>"))), SAME)
    yield Case("no addresses of rows", put(RUNS, _cut_out(r'(?<=<row) r="\d+"')), SAME)
    yield Case("no addresses of cells in the row of headings", put(RUNS, _cut_out(r'(?<=<c) r="[A-Z]+1"')), SAME)
    yield Case("a cell in the last row and column", edited(RUNS, ("</sheetData>", _far(1_048_576))), Reads())
    yield Case("a cell in the last column of every row", put(RUNS, _far_right), Reads())


def _beside_the_cells() -> Iterator[Case]:
    end = "</sheetData>"
    for reference in (
        "B2:A1",
        "A1:",
        ":",
        "A0:B2",
        "A1:XFE2",
        "",
        "A1:B2:C3",
        "Runs!A1:B2",
        "A:1",
        "1:A",
        "A1,B2",
        "²:²",
    ):
        yield Case(
            f"merged {reference!r}",
            edited(RUNS, (end, f'{end}<mergeCells><mergeCell ref="{reference}"/></mergeCells>')),
            Refused("sheet Runs is damaged: of its merged areas, there is no"),
        )
    for name, references in (
        ("a whole column", ("AE1:AE1048576",)),
        ("a whole column by its letters", ("AE:AE",)),
        ("whole rows by their numbers", ("8:9",)),
        ("the whole sheet", ("A1:XFD1048576",)),
        ("one cell", ("AE2",)),
        ("areas over each other", ("AE2:AF3", "AF3:AF4")),
        ("50 000 areas", tuple(f"A{row}:B{row}" for row in range(10, 50_010))),
    ):
        merged = "".join(f'<mergeCell ref="{reference}"/>' for reference in references)
        outcome = finds("value-covered") if name == "the whole sheet" else Reads()
        yield Case(f"merged: {name}", edited(RUNS, (end, f"{end}<mergeCells>{merged}</mergeCells>")), outcome)
    yield Case(
        "200 001 merged areas",
        edited(
            RUNS,
            (end, f"{end}<mergeCells>{'<mergeCell ref=' + chr(34) + 'A1' + chr(34) + '/>'}"),
            (
                "</worksheet>",
                f"{'<mergeCell ref=' + chr(34) + 'B1' + chr(34) + '/>'}" * 200_001 + "</mergeCells></worksheet>",
            ),
        ),
        Refused("more than 200000 merged areas"),
    )
    yield Case(
        "a dimension that lies", edited(RUNS, ("<sheetData>", '<dimension ref="A1:XFD1048576"/><sheetData>')), SAME
    )
    yield Case("spans that lie", edited(RUNS, ('<row r="2">', '<row r="2" spans="900:16384">')), SAME)
    yield Case("a filter of no area", edited(RUNS, (end, f'{end}<autoFilter ref="none"/>')), Reads())
    yield Case("an element that nobody knows", edited(RUNS, (end, f"{end}<surprise><c/></surprise>")), SAME)


def _cut_out(pattern: str) -> Callable[[bytes], bytes]:
    return lambda data: re.sub(pattern.encode(), b"", data)


def _reversed(pattern: bytes) -> Callable[[bytes], bytes]:
    """Put what matches, one after another, into the opposite order."""

    def change(data: bytes) -> bytes:
        found = re.findall(pattern, data)
        return data.replace(b"".join(found), b"".join(reversed(found)))

    return change


def _each_row(change: Callable[[bytes], bytes]) -> Callable[[bytes], bytes]:
    return lambda data: re.sub(rb"(?<=>)<c .*?(?=</row>)", lambda match: change(match[0]), data)


def _far(row: int) -> str:
    return f'<row r="{row}"><c r="XFD{row}"><v>1</v></c></row></sheetData>'


def _far_right(data: bytes) -> bytes:
    return re.sub(rb'<row r="(\d+)">(.*?)</row>', rb'<row r="\1">\2<c r="XFD\1"><v>1</v></c></row>', data)
