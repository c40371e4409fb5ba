"""Parts that are no XML, no longer whole, in other encodings, or XML that means harm."""

import codecs
import re
from collections.abc import Callable, Iterator
from functools import partial

from hostile.base import (
    CONTENT_TYPES,
    HEAD,
    MAIN,
    PARTS,
    ROOT_RELS,
    RUNS,
    STRINGS,
    STYLES,
    WORKBOOK,
    WORKBOOK_RELS,
    edited,
    put,
)
from hostile.case import SAME, Case, Reads, Refused

_WORDS = {
    CONTENT_TYPES: "types",
    ROOT_RELS: "root relationships",
    WORKBOOK: "workbook",
    WORKBOOK_RELS: "workbook relationships",
    RUNS: "sheet",
    STRINGS: "texts",
    STYLES: "formats",
}
_LAUGHS = b"<!DOCTYPE l [<!ENTITY a0 'ha'>" + b"".join(
    b"<!ENTITY a%d '%s'>" % (level, b"&a%d;" % (level - 1) * 10) for level in range(1, 10)
)


def cases() -> Iterator[Case]:
    """Yield the log with one part changed as XML."""
    for part in PARTS:
        for name, change, outcome in _everywhere():
            yield Case(f"{_WORDS[part]}: {name}", put(part, change), outcome)
    yield from _of_a_sheet()
    yield from _prefixes()


def _everywhere() -> Iterator[tuple[str, Callable[[bytes], bytes], Refused | Reads]]:
    broken = Refused("is no whole XML")
    yield "empty", lambda _: b"", broken
    yield "not XML", lambda _: b"Firing no.;Mass\n1;1.0\n", broken
    yield "cut in two", lambda data: data[: len(data) // 2], broken
    yield "without its last sign", lambda data: data[:-1], broken
    yield "twice over", lambda data: data + data.partition(b"?>")[2], broken
    yield "with words behind its end", lambda data: data + b"and more", broken
    yield "with a NUL", lambda data: data.replace(b"><", b">\0<", 1), broken
    yield "with a bell", lambda data: data.replace(b"><", b">\x07<", 1), broken
    yield "with a half character", lambda data: data.replace(b"><", b">\xc3<", 1), broken
    yield "with half a pair of surrogates", lambda data: data.replace(b"><", b">\xed\xa0\x80<", 1), broken
    yield "with an entity nobody defined", lambda data: data.replace(b"><", b">&nbsp;<", 1), broken
    yield "with two attributes of one name", _with_attribute(b' xml:lang="en" xml:lang="de"'), broken
    yield "with a prefix nobody bound", _with_attribute(b' none:x="1"'), broken
    typed = Refused("declares a document type")
    yield "billion laughs", _with_type(_LAUGHS + b"]>", b"&a9;"), typed
    yield "an entity from a file", _with_type(b"<!DOCTYPE x [<!ENTITY f SYSTEM 'file:///etc/passwd'>]>", b"&f;"), typed
    yield "an entity from the network", _with_type(b"<!DOCTYPE x SYSTEM 'http://localhost:9/x.dtd'>", b""), typed
    yield "a parameter entity", _with_type(b"<!DOCTYPE x [<!ENTITY % p '<!ENTITY q \"\">'> %p;]>", b""), typed
    yield "a document type and no more", _with_type(b"<!DOCTYPE x>", b""), typed
    yield "300 elements within elements", _inside(b"<a>" * 300 + b"</a>" * 300), Refused("")
    yield "in an encoding for Western Europe", _declared("windows-1252"), Refused("is written in windows-1252")
    yield "in an encoding of two bytes", _declared("shift_jis"), Refused("is written in shift_jis")
    yield "in an encoding nobody knows", _declared("batchcal-1"), Refused("is written in batchcal-1")
    yield "in an encoding that unpacks", _declared("zlib_codec"), Refused("is written in zlib_codec")
    yield "said to be in UTF-16", _declared("UTF-16"), broken
    yield "in UTF-16 and said to be in UTF-8", lambda data: data.decode().encode("utf-16-le"), broken
    yield "in UTF-16", partial(_in_utf16, codec="utf-16-le", mark=codecs.BOM_UTF16_LE), SAME
    yield "in UTF-16 the other way round", partial(_in_utf16, codec="utf-16-be", mark=codecs.BOM_UTF16_BE), SAME
    yield "in UTF-32", lambda data: data.decode().replace("UTF-8", "UTF-32").encode("utf-32"), Refused("")
    yield "with a byte order mark", lambda data: codecs.BOM_UTF8 + data, SAME
    yield "without a declaration", lambda data: data.removeprefix(HEAD.encode()), SAME
    yield "with remarks and instructions", _with_remarks, SAME
    yield "with line ends and indents", lambda data: re.sub(rb">(?=<)", b">\r\n\t  ", data), SAME
    yield "with quotes of the other kind", lambda data: re.sub(rb'"([^"\']*)"', rb"'\1'", data), SAME
    yield "with characters written as numbers", _with_numbers, SAME


def _of_a_sheet() -> Iterator[Case]:
    yield Case("sheet: a remark of 7 MB", put(RUNS, _inside(b"<!--" + b"x" * 7_000_000 + b"-->")), SAME)
    yield Case(
        "sheet: a remark of 40 MB", put(RUNS, _inside(b"<!--" + b"x" * 40_000_000 + b"-->")), Refused("a tag of")
    )
    yield Case(
        "sheet: 300 000 attributes",
        put(RUNS, _with_attribute(b"".join(b' a%d="1"' % number for number in range(300_000)))),
        SAME,
    )
    yield Case("sheet: a text of 3 MB", edited(RUNS, ("<v>59</v>", f"<v>{'5' * 3_000_000}</v>")), Refused("a text of"))
    yield Case(
        "texts: a text of 3 MB", edited(STRINGS, (">Item<", f">{'Item ' * 600_000}<")), Refused("a text of more than")
    )
    yield Case(
        "texts: a text of 3 MB in runs",
        edited(STRINGS, ('<t xml:space="preserve">Item</t>', f"<r><t>{'Item ' * 1000}</t></r>" * 600)),
        Refused("a text of more than"),
    )
    yield Case("sheet: a value in CDATA", edited(RUNS, ("<v>2.5</v>", "<v><![CDATA[2.5]]></v>")), SAME)
    yield Case("sheet: a value in pieces", edited(RUNS, ("<v>2.5</v>", "<v>2<!-- -->.<?x y?><![CDATA[5]]></v>")), SAME)
    yield Case(
        "sheet: CDATA never closed", edited(RUNS, ("<v>2.5</v>", "<v><![CDATA[2.5</v>")), Refused("no whole XML")
    )
    deep = "<ext>" * 300 + "</ext>" * 300
    yield Case(
        "sheet: 300 elements behind the rows",
        edited(RUNS, ("</sheetData>", f"</sheetData><extLst>{deep}</extLst>")),
        Refused("elements within elements"),
    )


def _prefixes() -> Iterator[Case]:
    for part in (WORKBOOK, WORKBOOK_RELS, RUNS, STRINGS, STYLES, CONTENT_TYPES, ROOT_RELS):
        yield Case(f"{_WORDS[part]}: with prefixes", put(part, _prefixed), SAME)
    for part, says in ((WORKBOOK, "not a workbook"), (RUNS, "no worksheet"), (STRINGS, "no sst"), (STYLES, "no style")):
        yield Case(
            f"{_WORDS[part]}: of another namespace",
            edited(part, (MAIN, "http://example.org/other")),
            Refused(says),
        )
        yield Case(f"{_WORDS[part]}: of no namespace", edited(part, (f' xmlns="{MAIN}"', "")), Refused(says))
    yield Case(
        "sheet: one row of another namespace",
        edited(RUNS, ('<row r="2"', '<row xmlns="http://example.org/other" r="2"')),
        Refused("an element row where none can be"),
    )
    yield Case(
        "sheet: one cell of another namespace",
        edited(RUNS, ('<c r="AB2"', '<c xmlns="http://example.org/other" r="AB2"')),
        Refused("an element c where none can be"),
    )
    yield Case(
        "sheet: one value of another namespace",
        edited(RUNS, ("<v>2.5</v>", '<v xmlns="http://example.org/other">2.5</v>')),
        Refused("an element v where none can be"),
    )


def _with_attribute(text: bytes) -> Callable[[bytes], bytes]:
    """Put attributes into the tag of the outermost element."""
    return lambda data: re.sub(rb"(<[A-Za-z]+) ", lambda match: match[1] + text + b" ", data, count=1)


def _with_type(declaration: bytes, used: bytes) -> Callable[[bytes], bytes]:
    return lambda data: data.replace(b"?>", b"?>" + declaration, 1).replace(b"</", used + b"</", 1)


def _inside(text: bytes) -> Callable[[bytes], bytes]:
    """Put text behind the tag of the outermost element."""
    return lambda data: re.sub(rb"<[A-Za-z]+ [^>]*>", lambda match: match[0] + text, data, count=1)


def _declared(encoding: str) -> Callable[[bytes], bytes]:
    return lambda data: data.replace(b"UTF-8", encoding.encode(), 1)


def _in_utf16(data: bytes, codec: str, mark: bytes) -> bytes:
    return mark + data.decode().replace("UTF-8", "UTF-16", 1).encode(codec)


def _with_remarks(data: bytes) -> bytes:
    return re.sub(rb">(?=<[^/])", b"><!-- <c>9</c> --><?note <v>9</v>?>", data)


def _with_numbers(data: bytes) -> bytes:
    """Write every letter within quotes or between tags as a number, but for what an address of a namespace is."""

    def text(match: re.Match[bytes]) -> bytes:
        return match[1] + re.sub(rb"[A-Za-z]", lambda sign: b"&#%d;" % sign[0][0], match[2]) + match[3]

    return re.sub(rb'( (?:name|Target|r|t|Id)=")([^"&]*)(")', text, data)


def _prefixed(data: bytes) -> bytes:
    return re.sub(rb"<(/?)([A-Za-z])", rb"<\1zz:\2", data).replace(b' xmlns="', b' xmlns:zz="')
