"""Tables as an OpenDocument spreadsheet, for tests that need one and no LibreOffice."""

import datetime as dt
import io
import zipfile
from collections.abc import Sequence
from typing import Any
from xml.sax.saxutils import escape

import openpyxl
from logbook import Log

MIMETYPE = "application/vnd.oasis.opendocument.spreadsheet"
SPACES = " ".join(
    f'xmlns:{short}="urn:{urn}"'
    for short, urn in {
        "office": "oasis:names:tc:opendocument:xmlns:office:1.0",
        "table": "oasis:names:tc:opendocument:xmlns:table:1.0",
        "text": "oasis:names:tc:opendocument:xmlns:text:1.0",
        "style": "oasis:names:tc:opendocument:xmlns:style:1.0",
        "number": "oasis:names:tc:opendocument:xmlns:datastyle:1.0",
        "draw": "oasis:names:tc:opendocument:xmlns:drawing:1.0",
        "calcext": "org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0",
    }.items()
)


def document(tables: str, styles: str = "") -> str:
    """Return the content of a spreadsheet from the elements of its tables and of its automatic styles."""
    return (
        f"<office:document-content {SPACES}><office:automatic-styles>{styles}</office:automatic-styles><office:body>"
        f"<office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"
    )


def packed(content: str | bytes, mimetype: str = MIMETYPE, **parts: str) -> bytes:
    """Pack the content; other parts are named by the word before their ending."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("mimetype", mimetype)
        package.writestr("content.xml", content)
        for name, text in parts.items():
            package.writestr({"manifest": "META-INF/manifest.xml", "styles": "styles.xml"}[name], text)
    return stream.getvalue()


Table = tuple[str, list[Any], list[list[Any]]]
"""A sheet's title, its headings and its rows."""


def tables_of(log: Log) -> list[Table]:
    """Return what stands on the sheets of a log."""
    book = openpyxl.load_workbook(io.BytesIO(log.bytes()))
    tables = []
    for sheet in book.worksheets:
        headings, *rows = [list(row) for row in sheet.iter_rows(values_only=True)]
        tables.append((sheet.title, headings, rows))
    return tables


def as_ods(tables: Sequence[Table]) -> bytes:
    """Return a spreadsheet with a sheet for each table: its title, its headings, its rows."""
    sheets = ""
    for title, headings, rows in tables:
        written = "".join(
            f"<table:table-row>{''.join(_cell(value) for value in row)}</table:table-row>" for row in [headings, *rows]
        )
        sheets += f'<table:table table:name="{escape(title)}">{written}</table:table>'
    return packed(document(sheets))


def _cell(value: object) -> str:
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, int | float):
        kind = f'"float" office:value="{value!r}"'
    elif isinstance(value, dt.datetime):
        kind = f'"date" office:date-value="{value.isoformat()}"'
    else:
        kind = '"string"'
    text = escape(str(value))
    return f"<table:table-cell office:value-type={kind}><text:p>{text}</text:p></table:table-cell>"
