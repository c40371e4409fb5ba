"""Files of other kinds under the ending of a workbook, and files that were cut short."""

import gzip
import io
import lzma
import zipfile
from collections.abc import Iterator

from hostile.base import CONTENT_TYPES, WORKBOOK, edited, packed, parts
from hostile.case import Case, Refused

_OLE = bytes.fromhex("D0CF11E0A1B11AE1")
_HTML = "<table><tr><td>Firing no.</td></tr></table>"
_XML = '<Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"><Worksheet/></Workbook>'


def cases() -> Iterator[Case]:
    """Yield files that are no workbook of the kind that their names say."""
    for name, data, says in (
        ("empty", b"", "empty"),
        ("one byte", b"P", "not a workbook"),
        ("zeros", bytes(5000), "not a workbook"),
        ("blanks", b" " * 5000, "not a workbook"),
        ("beginning of an archive only", b"PK\x03\x04", "not a workbook"),
        ("end of an archive only", b"PK\x05\x06" + bytes(18), "not a workbook"),
        ("comma separated", b"Firing no.,Mass\n1,1.0\n", "text file"),
        ("semicolons and decimal commas", "Firing no.;Masse (g);Außen\n1;1,0;x\n".encode("cp1252"), "text file"),
        ("tabs in UTF-16", "Firing no.\tMass\r\n1\t1.0\r\n".encode("utf-16"), "text file"),
        ("text with a byte order mark", b"\xef\xbb\xbfFiring no.,Mass\n1,1.0\n", "text file"),
        ("web page", f"<!DOCTYPE html><html><body>{_HTML}</body></html>".encode(), "web page"),
        ("table of a web page", _HTML.encode(), "web page"),
        ("web page in UTF-16", f"\n<HTML>{_HTML}</HTML>".encode("utf-16"), "web page"),
        ("spreadsheet in one XML file", f'<?xml version="1.0"?>\n{_XML}'.encode(), "XML file"),
        ("spreadsheet in one XML file, undeclared", _XML.encode(), "XML file"),
        ("billion laughs as a file", b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aa">]><x>&a;</x>', "XML file"),
        ("PDF", b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n", "PDF"),
        ("RTF", rb"{\rtf1\ansi Firing no.}", "RTF"),
        ("picture", b"\x89PNG\r\n\x1a\n" + bytes(100), "not a workbook"),
        ("old workbook", _OLE + bytes(2048), ".xls"),
        (
            "workbook with a password",
            _OLE + bytes(512) + "EncryptedPackage".encode("utf-16-le") + bytes(512),
            "password",
        ),
        ("gzip of a workbook", gzip.compress(packed(parts()), mtime=0), "not a workbook"),
        ("xz of a workbook", lzma.compress(packed(parts())), "not a workbook"),
    ):
        yield Case(name, lambda data=data: data, Refused(says))  # type: ignore[misc]
    yield Case("archive of something else", lambda: packed({"letter.txt": b"dear"}), Refused("not a workbook"))
    yield Case("archive of a workbook", lambda: packed({"day.xlsx": packed(parts())}), Refused("not a workbook"))
    yield Case("text document", _text_document, Refused("not a workbook"))
    yield Case("open document", _open_document, Refused("not a workbook"))
    yield Case("binary workbook", _binary, Refused(".xlsb"))
    yield Case(
        "binary by its type alone",
        edited(CONTENT_TYPES, ("spreadsheetml.sheet.main+xml", "sheet.binary.macroEnabled.main")),
        Refused(".xlsb"),
    )
    for tenths in range(1, 10):
        yield Case(f"cut short at {tenths} tenths", lambda tenths=tenths: _cut(tenths), Refused("cut short"))  # type: ignore[misc]
    yield Case("cut short by one byte", lambda: packed(parts())[:-1], Refused("cut short"))
    yield Case("first half lost", lambda: packed(parts())[2000:], Refused("damaged"))
    yield Case("a hole of zeros in the middle", _with_hole, Refused("damaged"))
    yield Case("twice over", lambda: packed(parts()) * 2, Refused("before its first part"))
    yield Case("behind something else", lambda: b"GIF89a" + packed(parts()), Refused("before its first part"))
    yield Case("transferred as text", lambda: packed(parts()).replace(b"\n", b"\r\n"), Refused(""))


def _cut(tenths: int) -> bytes:
    data = packed(parts())
    return data[: len(data) * tenths // 10]


def _with_hole() -> bytes:
    data = packed(parts())
    return data[:1500] + bytes(1000) + data[2500:]


def _text_document() -> bytes:
    made = {name: data for name, data in parts().items() if name != WORKBOOK}
    made["word/document.xml"] = b'<document xmlns="http://schemas.openxmlformats.org/wordprocessingml/2006/main"/>'
    made["_rels/.rels"] = made["_rels/.rels"].replace(b"xl/workbook.xml", b"word/document.xml")
    return packed(made)


def _open_document() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr("content.xml", "<x/>")
    return stream.getvalue()


def _binary() -> bytes:
    made = {name.replace("workbook.xml", "workbook.bin"): data for name, data in parts().items()}
    made["_rels/.rels"] = made["_rels/.rels"].replace(b"workbook.xml", b"workbook.bin")
    return packed(made)
