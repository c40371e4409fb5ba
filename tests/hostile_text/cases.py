# ruff: noqa: E501 - one case a line
"""Tables of text as laboratories export them, and as they break: what must be read, asked or refused.

Made up for these tests; the laboratory is invented. ``flagged`` names cells that no column of numbers may take.
"""

from dataclasses import dataclass, field

from batchcal.workbook.foreign.csv_form import CsvForm

HEADINGS = ["Firing no.", "Sample no.", "Mass (g)", "Final temperature (°C)", "Remark"]
ROWS = [
    ["1", "K-17", "1.0034", "25.5", "grey ash"],
    ["2", "K-17", "0.9987", "25.61", ""],
    ["3", "K-18", "1.1", "25.4", "soot"],
]


@dataclass(frozen=True)
class Case:
    """One file, and what is expected: cells by row and column, cells to be flagged, or a question, or a refusal."""

    name: str
    data: bytes
    form: CsvForm | None = None
    cells: dict[tuple[int, int], float | str | None] = field(default_factory=dict)
    flagged: dict[tuple[int, int], str] = field(default_factory=dict)
    asks: tuple[str, ...] = ()
    mentions: tuple[str, ...] = ()
    refused: str = ""


def table(
    rows: list[list[str]], delimiter: str = ",", decimal: str = ".", end: str = "\r\n", *, quoted: bool = False
) -> str:
    """Write rows whose numbers have points; quoted where a field needs it, or everywhere."""
    lines = []
    for row in rows:
        fields = []
        for value in row:
            written = value.replace(".", decimal) if value.replace(".", "").isdigit() else value
            if quoted or delimiter in written or '"' in written or "\n" in written:
                written = '"' + written.replace('"', '""') + '"'
            fields.append(written)
        lines.append(delimiter.join(fields))
    return end.join(lines) + end


DAY = [HEADINGS, *ROWS]
READ: dict[tuple[int, int], float | str | None] = {
    (1, 1): "Firing no.", (1, 4): "Final temperature (°C)", (2, 1): 1.0, (2, 2): "K-17", (2, 3): 1.0034,
    (2, 4): 25.5, (2, 5): "grey ash", (3, 3): 0.9987, (3, 5): None, (4, 3): 1.1, (4, 4): 25.4,
}  # fmt: skip

NAMES = {"\t": "tab", ";": "semicolon", ",": "comma", "|": "bar"}
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252")


def _grid_cases() -> list[Case]:
    cases = []
    for delimiter, name in NAMES.items():
        for decimal in ".,":
            cases += [
                Case(
                    f"{name}, decimal {decimal}, {encoding}",
                    table(DAY, delimiter, decimal).encode(encoding),
                    cells=READ,
                )
                for encoding in ENCODINGS
            ]
    return cases


def _with(row: int, column: int, value: str) -> list[list[str]]:
    rows = [list(line) for line in DAY]
    rows[row - 1][column - 1] = value
    return rows


def _text(rows: list[list[str]], delimiter: str = ";", decimal: str = ".") -> bytes:
    return table(rows, delimiter, decimal).encode()


def _heading(word: str, encoding: str) -> bytes:
    return table([["Firing no.", word, "Mass (g)"], ["1", "a", "1.5"], ["2", "b", "1.25"]], ";").encode(encoding)


LF = table(DAY, ";", end="\n").encode()
CSV = table(DAY, ",").encode()

QUIRKS = [
    Case("line feeds alone", LF, cells=READ),
    Case("no line end at the end", LF.rstrip(), cells=READ),
    Case("blank lines between", LF.replace(b"\n", b"\n\n"), cells={(1, 1): "Firing no.", (3, 3): 1.0034, (7, 3): 1.1}),
    Case("all fields quoted", table(DAY, ";", quoted=True).encode(), cells=READ),
    Case("all fields quoted, comma for both", table(DAY, ",", ",", quoted=True).encode(), cells=READ),
    Case("lines before the headings", b"Laboratory;Quarry Hill\nDay;2026-10-14\n\n" + LF, cells={(4, 1): "Firing no.", (5, 3): 1.0034}),
    Case("many lines before the headings", b"Laboratory;Quarry Hill\n" * 6 + LF, cells={(7, 1): "Firing no.", (8, 3): 1.0034}),
    Case("a note after the rows", LF + b"\nchecked by B\n", cells=READ),
    Case("rows cut short at the end", LF.replace(b";\n", b"\n"), cells=READ),
    Case("a heading with a comma", table([["Firing no.", "Moisture, analysis (%)", "Moisture, total (%)"], ["1", "2.51", "8.3"], ["2", "2.6", "8.11"]], ";", ",").encode(), cells={(1, 2): "Moisture, analysis (%)", (2, 2): 2.51, (3, 3): 8.11}),
    Case("a remark of two lines", _text(_with(2, 5, "grey\nash")), cells={(2, 5): "grey\nash", (3, 3): 0.9987}),
    Case("a quotation mark in a remark", _text(_with(2, 5, 'the "old" crucible')), cells={(2, 5): 'the "old" crucible'}),
    Case("an inch within a field", _text(DAY).replace(b"soot", b'5" wire'), cells={(4, 5): '5" wire'}),
    Case("semicolons in some remarks of a comma table", table(_with(2, 5, "grey; ash"), ",").encode(), cells={(2, 5): "grey; ash", (2, 3): 1.0034}),
    Case("one row and its headings", _text(DAY[:2]), cells={(2, 3): 1.0034}),
    Case("no mark in any number", _text([["Firing no.", "Sample no."], ["1", "2"], ["2", "3"]]), cells={(2, 1): 1.0, (3, 2): 3.0}),
    Case("a negative number and one with a sign", _text([["Firing no.", "Correction (K)"], ["1", "-0.013"], ["2", "+0.01"]]), cells={(2, 2): -0.013, (3, 2): 0.01}),
    Case("small numbers with exponents", _text([["Firing no.", "Value"], ["1", "1.2E-05"], ["2", "3e-4"]]), cells={(2, 2): 1.2e-05, (3, 2): 3e-4}),
    Case("seventeen figures", _text([["Firing no.", "Value"], ["1", "26453.999999999996"]]), cells={(2, 2): 26453.999999999996}),
    Case("leading zeros are a name", _text(_with(2, 2, "0123")), cells={(2, 2): "0123"}),
    Case("leading zeros in quotation marks", _text(_with(2, 2, "0123")).replace(b"0123", b'"0123"'), cells={(2, 2): "0123"}),
    Case("more figures than a number keeps", _text(_with(2, 2, "1234567890123456789")), cells={(2, 2): "1234567890123456789"}),
    Case("a name like 1E5", _text(_with(2, 2, "1E5")), cells={(2, 2): "1E5"}),
    Case("a day year-month-day", _text(_with(2, 2, "2026-10-14")), cells={(2, 2): "2026-10-14"}),
    Case("a formula stays text", _text(_with(2, 5, "=1+1")), cells={(2, 5): "=1+1"}),
    Case("a comma of decimals in one quoted field of a comma table", table(_with(2, 5, "1,5 g left"), ",").encode(), cells={(2, 5): "1,5 g left"}),
    Case("a number beyond every float", _text(_with(2, 3, "1.0E309")), flagged={(2, 3): "number-beyond-reach"}),
    Case("told what the file shows as well", LF, CsvForm("utf-8", ";", "."), cells=READ),
    Case("utf-8 with its mark, told", b"\xef\xbb\xbf" + LF, CsvForm("utf-8-sig"), cells=READ),
    Case("utf-16 with its mark, told", table(DAY, ";").encode("utf-16"), CsvForm("utf-16"), cells=READ),
]  # fmt: skip

FLAGGED = [
    Case("a stray decimal comma", _text(_with(2, 3, "1,0034")), CsvForm(decimal="."), flagged={(2, 3): "decimal-comma"}),
    Case("a stray decimal point", _text(_with(2, 3, "1#0034"), decimal=",").replace(b"#", b"."), CsvForm(decimal=","), flagged={(2, 3): "number-as-text"}),
    Case("groups of thousands, decimal point", _text(_with(2, 3, "1,234.5")), flagged={(2, 3): "decimal-comma"}),
    Case("groups of thousands, decimal comma", _text(_with(2, 3, "1#234,5"), decimal=",").replace(b"#", b"."), flagged={(2, 3): "decimal-comma"}),
    Case("groups parted by blanks", _text(_with(2, 3, "26 454")), flagged={(2, 3): "text-in-number"}),
    Case("groups parted by apostrophes", _text(_with(2, 3, "26'454")), flagged={(2, 3): "stray-unit"}),
    Case("a unit behind the number", _text(_with(2, 3, "1.0034 g")), flagged={(2, 3): "stray-unit"}),
    Case("per cent", _text(_with(2, 3, "4.0 %")), flagged={(2, 3): "stray-unit"}),
    Case("an error of a formula", _text(_with(2, 3, "#DIV/0!")), flagged={(2, 3): "error-cell"}),
    Case("a formula without value", _text(_with(2, 3, "#N/A")), flagged={(2, 3): "error-cell"}),
    Case("a word", _text(_with(2, 3, "about 1")), flagged={(2, 3): "text-in-number"}),
    Case("not a number", _text(_with(2, 3, "nan")), flagged={(2, 3): "text-in-number"}),
    Case("infinite", _text(_with(2, 3, "inf")), flagged={(2, 3): "text-in-number"}),
    Case("a dash for nothing", _text(_with(2, 3, "-")), flagged={(2, 3): "text-in-number"}),
    Case("underscores", _text(_with(2, 3, "1_000")), flagged={(2, 3): "stray-unit"}),
    Case("a minus of typography", _text(_with(2, 3, "−1.5")), flagged={(2, 3): "text-in-number"}),
    Case("wide figures", _text(_with(2, 3, "１.５")), flagged={(2, 3): "number-as-text"}),
    Case("leading zeros in a column of numbers", _text(_with(2, 3, "007")), flagged={(2, 3): "number-as-text"}),
    Case("a letter for a figure", _text(_with(2, 3, "1.O034")), flagged={(2, 3): "stray-unit"}),
    Case("a day in a column of numbers", _text(_with(2, 3, "14.10.2026")), flagged={(2, 3): "text-in-number"}),
    Case("truth in a column of numbers", _text(_with(2, 3, "TRUE")), flagged={(2, 3): "text-in-number"}),
    Case("an exponent without sign or mark", _text(_with(2, 3, "1E5")), flagged={(2, 3): "number-as-text"}),
]  # fmt: skip

ASKED = [
    Case("three figures behind every comma", _text([["Firing no.", "Mass"], ["1", "1,234"], ["2", "1,122"]]), asks=("decimal",), mentions=("1,234", "1.234", "1234")),
    Case("three figures behind every point", _text([["Firing no.", "Mass"], ["1", "1.234"], ["2", "1.122"]]), asks=("decimal",), mentions=("1.234", "1234")),
    Case("quoted, three figures behind every comma", b'"Firing no.","Mass"\n"1","1,234"\n"2","1,122"\n', asks=("decimal",)),
    Case("points and commas in one table", _text(_with(2, 3, "1,0034")), asks=("decimal",), mentions=("1,0034", "25.5")),
    Case("hours with points beside decimal commas", _text([["Firing no.", "Time", "Mass"], ["1", "9#30", "1,0034"], ["2", "9#55", "1,01"]]).replace(b"#", b"."), asks=("decimal",)),
    Case("two signs divide alike", b"Firing no.;a,b;x\nr;a,b;x\ns;c,d;y\n", asks=("delimiter",), mentions=("semicolon makes 3", "comma makes 2")),
    Case("commas for both, unquoted", b"Firing no.,Mass,Rise\n1,1,0034,2,5123\n2,0,9987,2,6001\n3,1,1002,2,55\n", asks=("delimiter",)),
    Case("a word in two readings", _heading("prøve", "cp1252"), asks=("encoding",), mentions=("prøve", "prřve", "cp1250")),
    Case("a degree in the old form of DOS", _heading("Final temperature (°C)", "cp850"), asks=("encoding",), mentions=("cp850", "°C", "øC")),
    Case("a degree in the form of old Macs", _heading("Final temperature (°C)", "mac-roman"), asks=("encoding",), mentions=("mac-roman", "°C")),
    Case("Cyrillic", _heading("Масса навески (г)", "cp1251"), asks=("encoding",), mentions=("cp1251",)),
    Case("Chinese", _heading("样品质量", "gb18030"), asks=("encoding",), mentions=("gb18030",)),
    Case("Czech", _heading("Teplota měření", "cp1250"), asks=("encoding",), mentions=("cp1250",)),
    Case("two questions at once", _heading("Масса", "cp1251").replace(b"1.5", b"1.234").replace(b"1.25", b"1.122"), asks=("encoding", "decimal")),
]  # fmt: skip

ANSWERED = [
    Case("a decimal comma told", ASKED[0].data, CsvForm(decimal=","), cells={(2, 2): 1.234, (3, 2): 1.122}),
    Case("a decimal point told", ASKED[0].data, CsvForm(decimal="."), flagged={(2, 2): "decimal-comma"}),
    Case("a semicolon told", ASKED[5].data, CsvForm(delimiter=";"), cells={(2, 2): "a,b"}),
    Case("Danish told", ASKED[7].data, CsvForm("cp1252"), cells={(1, 2): "prøve"}),
    Case("DOS told", ASKED[8].data, CsvForm("cp850"), cells={(1, 2): "Final temperature (°C)"}),
    Case("Cyrillic told", ASKED[10].data, CsvForm("cp1251"), cells={(1, 2): "Масса навески (г)"}),
    Case("Chinese told", ASKED[11].data, CsvForm("gb18030"), cells={(1, 2): "样品质量"}),
    Case("another delimiter told", table(DAY, "~").encode(), CsvForm(delimiter="~"), cells=READ),
    Case("German by cp1252 and by cp1250 alike", _heading("Tiegel, gewogen nach Glühen (mg) für Prüfer", "cp1252"), cells={(1, 2): "Tiegel, gewogen nach Glühen (mg) für Prüfer", (2, 3): 1.5}),
    Case("degrees and micrometres by all alike", _heading("Temperatur (°C) ± µm", "cp1252"), cells={(1, 2): "Temperatur (°C) ± µm"}),
]  # fmt: skip

REFUSED = [
    Case("one line that is no UTF-8", LF.replace(b"soot", b"so\xe9t"), refused="line 4 is not written in UTF-8, and other lines are"),
    Case("empty", b"", refused="the file is empty"),
    Case("blanks alone", b" \r\n\r\n", refused="the file is empty"),
    Case("a zero byte", LF.replace(b"0.9987", b"0.99\x0087"), refused="line 3 holds a zero byte"),
    Case("a zero byte in UTF-16", table(_with(3, 5, "a\0b"), ";").encode("utf-16"), refused="line 3 holds a zero byte"),
    Case("a carriage return alone", LF.replace(b"soot", b"so\rot"), refused="line 4 holds a carriage return without"),
    Case("carriage returns for line ends", table(DAY, ";", end="\r").encode(), refused="line 1 holds a carriage return without"),
    Case("a mark never closed", LF.replace(b"grey ash", b'"grey ash'), refused="the quotation mark that opens in line 2 is never closed"),
    Case("a mark closed two rows further on", LF.replace(b"grey ash", b'"grey ash').replace(b"soot", b'soot"'), refused="lines 2 to 4 stand within one pair of quotation marks"),
    Case("text after a closing mark", LF.replace(b"grey ash", b'"grey" ash'), refused="line 2: something follows a closing quotation mark"),
    Case("an unquoted decimal comma in one row", CSV.replace(b"1.1,", b"1,1,"), CsvForm(delimiter=","), refused="row 4 has 6 fields, and the headings in row 1 5"),
    Case("an unquoted comma in one row of many", CSV + b"4,K-18,1.2,25.1,a\r\n5,K-18,1,2,25.1,a\r\n6,K-19,1.2,25.1,a\r\n", refused="row 6 has 6 fields"),
    Case("a field without end", LF + b'7;K-19;"' + b"x" * 100_001 + b'";;\n', refused="line 5 has a field of more than 100000 characters"),
    Case("a line without end", LF + b";" * 1_000_001, refused="line 5 has 1000001 characters"),
    Case("no delimiter at all", b"Mass\n1\n2\n", refused="not a table"),
    Case("a zipped workbook", b"PK\x03\x04 and more", refused="a zipped workbook under another ending"),
    Case("an old workbook", bytes.fromhex("D0CF11E0A1B11AE1") + b"\0" * 100, refused="an .xls workbook under another ending"),
    Case("not in the encoding told", _heading("Glühen", "cp1252"), CsvForm("utf-8"), refused="line 1 is not written in utf-8"),
    Case("an encoding that is none", LF, CsvForm("klingon"), refused="'klingon' is not known"),
    Case("an encoding that is no text", LF, CsvForm("base64"), refused="is no encoding of tables"),
    Case("an encoding that carries code", LF, CsvForm("unicode_escape"), refused="is no encoding of tables"),
    Case("another mark than was told", b"\xef\xbb\xbf" + LF, CsvForm("cp1252"), refused="begins with the mark of utf-8"),
    Case("a delimiter of two signs", LF, CsvForm(delimiter=";;"), refused="the delimiter is one sign"),
    Case("a decimal mark that is none", LF, CsvForm(decimal="'"), refused="the decimal mark is a point or a comma"),
    Case("half a sign of UTF-16", table(DAY, ";").encode("utf-16")[:-1], refused="is not written in utf-16-le"),
]  # fmt: skip

CASES = [*_grid_cases(), *QUIRKS, *FLAGGED, *ASKED, *ANSWERED, *REFUSED]
