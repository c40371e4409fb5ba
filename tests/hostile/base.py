"""The log that every case starts from, its parts typed by hand, and archives with every field at will."""

import datetime as dt
import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from xml.sax.saxutils import escape

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
DOCUMENT = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGED = "http://schemas.openxmlformats.org/package/2006"
SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"

CONTENT_TYPES = "[Content_Types].xml"
ROOT_RELS = "_rels/.rels"
WORKBOOK = "xl/workbook.xml"
WORKBOOK_RELS = "xl/_rels/workbook.xml.rels"
SETUP, RUNS, SAMPLES = (f"xl/worksheets/sheet{number}.xml" for number in (1, 2, 3))
STRINGS = "xl/sharedStrings.xml"
STYLES = "xl/styles.xml"
PARTS = (CONTENT_TYPES, ROOT_RELS, WORKBOOK, WORKBOOK_RELS, RUNS, STRINGS, STYLES)

HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
DATE_STYLE = 1
"""Formats: 0 plain, 1 a date, 2 four decimals, 3 per cent, 4 struck through, 5 a time, 6 hours beyond a day."""

Parts = dict[str, bytes]

# A log of the tests' own, which stays as it is when the contract grows: cases name its cells and count its texts.
_SETUP_ROWS = (
    ("Item", "Value", "Unit", "Source", "In force from"),
    ("Laboratory", "Invented laboratory"),
    ("Batch date", dt.date(2026, 10, 14)),
    ("Analyst", "A"),
    ("Reviewer", "B"),
    ("Method", "lab"),
    ("Acid scheme", "none"),
    ("Comparison basis", "ad"),
    ("Repeatability limit", 120, "J/g", "own"),
    ("Heat-capacity life", 90, "days", "own"),
    ("Fixed ignition heat", 60, "J", "own"),
    ("Effective heat capacity", 10000, "J/K", "own series", dt.date(2026, 10, 1)),
)
_RUNS_HEADINGS = (
    "Firing no.", "Date", "Time", "Purpose", "Series", "Sample no.", "Replicate", "Outcome", "Use", "Reason", "Analyst",
    "Calorimeter", "Bomb", "Crucible (g)", "Crucible + sample (g)", "Sample mass (g)", "Wire fitted (cm)",
    "Wire left (cm)", "Wire mass (mg)", "Thread (mg)", "Aid", "Aid mass (g)", "Capsule mass (g)", "Water in bomb (mL)",
    "Oxygen pressure (MPa)", "Initial temperature (°C)", "Final temperature (°C)", "Temperature rise (K)",
    "Heat-exchange correction (K)", "Residue", "Washings kept", "Remark",
)  # fmt: skip
_SAMPLES_HEADINGS = (
    "Sample no.", "Description", "Fuel class", "Source", "Moisture, analysis (%)", "Moisture, total (%)", "Ash (%)",
    "Sulphur (%)", "Hydrogen (%)", "Nitrogen (%)", "Oxygen (%)", "Volatile matter (%)", "Carbon (%)", "Chlorine (%)",
    "Basis", "Hydrogen includes moisture", "Moisture date", "Delivery",
)  # fmt: skip


def parts() -> Parts:
    """Return the parts of an easy day: two firings of one sample, 2.5 K each; the rise of the first is Runs!AB2."""
    firings = [
        {"Firing no.": n, "Sample no.": "S1", "Sample mass (g)": 1.0, "Temperature rise (K)": 2.5} for n in (1, 2)
    ]
    sheets: list[Sequence[Sequence[Any]]] = [
        _SETUP_ROWS,
        [_RUNS_HEADINGS, *([row.get(heading) for heading in _RUNS_HEADINGS] for row in firings)],
        [_SAMPLES_HEADINGS, ["S1", None, None, None, 4.0]],
    ]
    strings: dict[str, int] = {}
    written = [_sheet(rows, strings) for rows in sheets]
    texts = "".join(f'<si><t xml:space="preserve">{escape(text)}</t></si>' for text in strings)
    made = {
        CONTENT_TYPES: f'<Types xmlns="{PACKAGED}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/{WORKBOOK}" ContentType="{SHEET_TYPE}.sheet.main+xml"/>'
        + "".join(
            f'<Override PartName="/{name}" ContentType="{SHEET_TYPE}.worksheet+xml"/>'
            for name in (SETUP, RUNS, SAMPLES)
        )
        + f'<Override PartName="/{STRINGS}" ContentType="{SHEET_TYPE}.sharedStrings+xml"/>'
        f'<Override PartName="/{STYLES}" ContentType="{SHEET_TYPE}.styles+xml"/></Types>',
        ROOT_RELS: f'<Relationships xmlns="{PACKAGED}/relationships">'
        f'<Relationship Id="rId1" Type="{DOCUMENT}/officeDocument" Target="{WORKBOOK}"/></Relationships>',
        WORKBOOK: f'<workbook xmlns="{MAIN}" xmlns:r="{DOCUMENT}"><workbookPr/><sheets>'
        '<sheet name="Setup" sheetId="1" r:id="rId1"/><sheet name="Runs" sheetId="2" r:id="rId2"/>'
        '<sheet name="Samples" sheetId="3" r:id="rId3"/></sheets></workbook>',
        WORKBOOK_RELS: f'<Relationships xmlns="{PACKAGED}/relationships">'
        + "".join(
            f'<Relationship Id="rId{number}" Type="{DOCUMENT}/worksheet" Target="worksheets/sheet{number}.xml"/>'
            for number in (1, 2, 3)
        )
        + f'<Relationship Id="rId4" Type="{DOCUMENT}/sharedStrings" Target="sharedStrings.xml"/>'
        f'<Relationship Id="rId5" Type="{DOCUMENT}/styles" Target="styles.xml"/></Relationships>',
        SETUP: written[0],
        RUNS: written[1],
        SAMPLES: written[2],
        STRINGS: f'<sst xmlns="{MAIN}" count="{len(strings)}" uniqueCount="{len(strings)}">{texts}</sst>',
        STYLES: f'<styleSheet xmlns="{MAIN}"><numFmts count="3"><numFmt numFmtId="164" formatCode="yyyy\\-mm\\-dd"/>'
        '<numFmt numFmtId="165" formatCode="0.0000"/><numFmt numFmtId="166" formatCode="[h]:mm"/></numFmts>'
        '<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font>'
        '<font><strike/><sz val="11"/><name val="Calibri"/></font></fonts>'
        '<fills count="1"><fill><patternFill/></fill></fills><borders count="1"><border/></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        '<cellXfs count="7"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
        + "".join(
            f'<xf numFmtId="{number}" fontId="{font}" fillId="0" borderId="0" xfId="0"/>'
            for number, font in ((164, 0), (165, 0), (10, 0), (0, 1), (20, 0), (166, 0))
        )
        + "</cellXfs></styleSheet>",
    }
    return {name: (HEAD + text).encode() for name, text in made.items()}


def _sheet(rows: Iterable[Iterable[Any]], strings: dict[str, int]) -> str:
    lines = []
    for number, row in enumerate(rows, 1):
        cells = [_cell(f"{letters(column)}{number}", value, strings) for column, value in enumerate(row, 1)]
        lines.append(f'<row r="{number}">{"".join(cells)}</row>')
    return f'<worksheet xmlns="{MAIN}"><sheetData>{"".join(lines)}</sheetData></worksheet>'


def _cell(place: str, value: Any, strings: dict[str, int]) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return f'<c r="{place}" t="s"><v>{strings.setdefault(value, len(strings))}</v></c>'
    if isinstance(value, dt.date):
        return f'<c r="{place}" s="{DATE_STYLE}"><v>{(value - dt.date(1899, 12, 30)).days}</v></c>'
    return f'<c r="{place}"><v>{value}</v></c>'


def letters(column: int) -> str:
    """Return the letters of a column, counted from 1."""
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


def packed(made: Mapping[str, bytes]) -> bytes:
    """Return the parts as an ordinary archive."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in made.items():
            package.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def with_parts(more: Mapping[str, bytes]) -> Callable[[], bytes]:
    """Return how to make the log with more parts, or others in the place of its own."""
    return lambda: packed({**parts(), **more})


def edited(part: str, *pairs: tuple[str, str]) -> Callable[[], bytes]:
    """Return how to make the log with texts in one part changed; each must stand there, and the first one is."""

    def make() -> bytes:
        made = parts()
        text = made[part].decode()
        for old, new in pairs:
            if old not in text:
                raise ValueError(f"{part} has no {old}")
            text = text.replace(old, new, 1)
        made[part] = text.encode()
        return packed(made)

    return make


def put(part: str, data: bytes | Callable[[bytes], bytes]) -> Callable[[], bytes]:
    """Return how to make the log with other bytes as one part."""

    def make() -> bytes:
        made = parts()
        made[part] = data if isinstance(data, bytes) else data(made[part])
        return packed(made)

    return make


def without(part: str) -> Callable[[], bytes]:
    """Return how to make the log without one of its parts."""
    return lambda: packed({name: data for name, data in parts().items() if name != part})


@dataclass(frozen=True)
class Entry:
    """One part of an archive with every field at will; None where it is to be as it should."""

    name: str
    data: bytes
    """As it stands in the archive."""
    crc: int = 0
    size: int = 0
    """What it says that it unpacks to."""
    method: int = zipfile.ZIP_DEFLATED
    flags: int = 0
    packed_size: int | None = None
    local_name: str | None = None
    local_signature: bytes = b"PK\x03\x04"
    offset: int | None = None
    extra: bytes = b""
    version: int = 20


def entry(name: str, data: bytes, **fields: Any) -> Entry:
    """Return an honest entry, but for the fields that are given."""
    packer = zlib.compressobj(6, zlib.DEFLATED, -15)
    return replace(Entry(name, packer.compress(data) + packer.flush(), zlib.crc32(data), len(data)), **fields)


def archive(entries: Iterable[Entry], **end: int) -> bytes:
    """Return an archive as its entries say; ``end`` are fields of its last record (count, size, offset)."""
    body, central, count = b"", b"", 0
    for each in entries:
        name = each.name.encode()
        local = name if each.local_name is None else each.local_name.encode()
        offset = len(body) if each.offset is None else each.offset
        size = len(each.data) if each.packed_size is None else each.packed_size
        clipped = min(each.size, 0xFFFFFFFF)
        head = struct.pack("<HHHHHIII", each.version, each.flags, each.method, 0, 33, each.crc, size, clipped)
        body += each.local_signature + head + struct.pack("<HH", len(local), 0) + local + each.data
        central += (
            b"PK\x01\x02" + struct.pack("<H", each.version) + head
            + struct.pack("<HHHHHII", len(name), len(each.extra), 0, 0, 0, 0, offset) + name + each.extra
        )  # fmt: skip
        count += 1
    last = {"count": count, "size": len(central), "offset": len(body)} | end
    return (
        body
        + central
        + b"PK\x05\x06"
        + struct.pack("<HHHHIIH", 0, 0, last["count"] & 0xFFFF, last["count"] & 0xFFFF, last["size"], last["offset"], 0)
    )


def entries(part: str = "", **fields: Any) -> list[Entry]:
    """Return the entries of the log, the one of ``part`` with other fields."""
    return [entry(name, data, **(fields if name == part else {})) for name, data in parts().items()]
