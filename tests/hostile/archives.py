"""Archives whose records lie, contradict each other or mean harm; and odd ones that are in order."""

import random
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache

from hostile.base import (
    CONTENT_TYPES,
    RUNS,
    SETUP,
    STRINGS,
    WORKBOOK,
    Entry,
    archive,
    entries,
    entry,
    packed,
    parts,
    with_parts,
    without,
)
from hostile.case import SAME, Case, Refused

_THEME = "xl/theme/theme1.xml"


def cases() -> Iterator[Case]:
    """Yield archives, refused or read as if nothing were."""
    yield from _names()
    yield from _lies()
    yield from _bombs()
    yield from _odd_but_in_order()


def _names() -> Iterator[Case]:
    for name, says in (
        (RUNS, "twice"),
        ("XL/Worksheets/SHEET2.xml", "twice"),
        ("../evil.xml", "unsafe name"),
        ("xl/../../evil.xml", "unsafe name"),
        ("/etc/passwd", "unsafe name"),
        ("xl\\worksheets\\sheet9.xml", "unsafe name"),
        ("C:/evil.xml", "unsafe name"),
        ("file:///etc/passwd", "unsafe name"),
        ("", "unsafe name"),
    ):
        yield Case(
            f"a part more named {name!r}",
            lambda name=name: archive([*entries(), entry(name, b"<x/>")]),  # type: ignore[misc]
            Refused(says),
        )
    yield Case("no content types", without(CONTENT_TYPES), Refused("not a workbook"))
    yield Case("digitally signed", with_parts({"_xmlsignatures/origin.sigs": b""}), Refused("signed"))
    yield Case("a sheet's part is missing", without(RUNS), Refused("sheet Runs is missing"))
    yield Case("the list of sheets is missing", without(WORKBOOK), Refused("workbook.xml is missing"))
    yield Case("the shared texts are missing", without(STRINGS), Refused("sheet Setup, cell A1 refers to the text '0'"))


def _lies() -> Iterator[Case]:
    for name, fields, says in (
        ("encrypted by its flag", {"flags": 0x1}, "password"),
        ("strongly encrypted by its flag", {"flags": 0x41}, "password"),
        ("of a strange encryption", {"flags": 0x40}, "damaged"),
        ("packed as a patch", {"flags": 0x20}, "damaged"),
        ("packed with bzip2", {"method": 12}, "packed in a way"),
        ("packed with lzma", {"method": 14}, "packed in a way"),
        ("packed with a method of no name", {"method": 99}, "packed in a way"),
        ("with a wrong check sum", {"crc": 1}, "damaged"),
        ("that claims to be smaller", {"size": 700}, "damaged"),
        ("that claims to be empty", {"size": 0}, "damaged"),
        ("that claims to be larger", {"size": 500_000}, "not of the size"),
        ("that claims 4 GB", {"size": 0xFFFFFFFE}, "unpacks to"),
        ("that claims 2 to the 63 bytes", {"size": 0xFFFFFFFF, "extra": _zip64(1 << 63)}, "unpacks to"),
        ("with a long size and none given", {"size": 0xFFFFFFFF, "extra": b"\x01\x00\x00\x00"}, "damaged"),
        ("with a field that ends early", {"extra": b"\x01\x00\xff\xff"}, "damaged"),
        ("that claims fewer bytes packed", {"packed_size": 40}, "damaged"),
        ("of another name where it stands", {"local_name": "xl/worksheets/sheet9.xml"}, "damaged"),
        ("without the mark of a part", {"local_signature": b"XXXX"}, "damaged"),
        ("that stands behind the end of the file", {"offset": 0x7FFFFFFF}, "damaged"),
        ("that stands where another does", {"offset": 0}, "damaged"),
        ("of a version not yet made", {"version": 999}, "damaged"),
    ):
        yield Case(
            f"a sheet {name}",
            lambda fields=fields: archive(entries(RUNS, **fields)),  # type: ignore[misc]
            Refused(says),
        )
    yield Case("a sheet packed as noise", lambda: archive(_noisy()), Refused("damaged"))
    yield Case("texts with a wrong check sum", lambda: archive(entries(STRINGS, crc=7)), Refused("damaged"))
    for name, end in (
        ("fewer bytes of list than there are", {"size": 100}),
        ("more bytes of list than there are", {"size": 1_000_000}),
        ("a list that begins elsewhere", {"offset": 5}),
        ("a list that begins beyond the end", {"offset": 0xFFFFFFF0}),
    ):
        yield Case(f"an end that tells of {name}", lambda end=end: archive(entries(), **end), Refused(""))  # type: ignore[misc]


def _bombs() -> Iterator[Case]:
    yield Case(
        "a sheet of 300 MB that claims 1 kB",
        lambda: archive([_bomb(each) if each.name == RUNS else each for each in entries()]),
        Refused("damaged"),
    )
    yield Case(
        "four parts of 300 MB",
        lambda: archive([*entries(), *(_part_of(f"xl/media/{n}.xml", zeros()) for n in range(4))]),
        Refused("unpacks to 1.2 GB"),
    )
    yield Case(
        "one packed stream for 4 000 parts of 300 MB",
        lambda: archive([*entries(), *_overlapping(4000)]),
        Refused("unpacks to 1200.0 GB"),
    )
    yield Case("a sheet of 300 MB of blanks", _blank_sheet(b" "), Refused("a text of more than"))
    yield Case("a sheet of 300 MB of tabs in its first tag", _blank_sheet(b"\t", b"<worksheet "), Refused("a tag of"))
    yield Case("6 000 parts", with_parts({f"xl/media/{n}.bin": b"" for n in range(6000)}), Refused("parts"))
    yield Case("30 000 parts", lambda: archive([*entries(), *_many(30_000)]), Refused("more than 5000 parts"))
    nested = packed({"a": bytes(1_000_000)})
    for _ in range(5):
        nested = packed({f"{number}.zip": nested for number in range(10)})
    yield Case("archives within archives", with_parts({"xl/embeddings/a.zip": nested}), SAME)


def _odd_but_in_order() -> Iterator[Case]:
    yield Case("stored unpacked", lambda: archive(_stored()), SAME)
    yield Case("sizes behind each part", _streamed, SAME)
    yield Case("the parts in another order", lambda: packed(dict(reversed(parts().items()))), SAME)
    yield Case("a long remark", lambda: packed(parts())[:-2] + b"\xff\xff" + b"x" * 0xFFFF, SAME)
    yield Case("a line behind the end", lambda: packed(parts()) + b"\r\n", SAME)
    yield Case("names of the parts in capitals", _in_capitals, SAME)
    yield Case("folders of their own", with_parts({"xl/": b"", "xl/worksheets/": b""}), SAME)
    yield Case("a part that nobody needs is damaged", lambda: archive([*entries(), entry(_THEME, b"x", crc=5)]), SAME)
    yield Case("a part of a very long name", with_parts({"xl/" + "a" * 60_000: b""}), SAME)
    yield Case("a part named with a bell and a NUL", with_parts({"xl/\x07a\x00b": b""}), SAME)
    yield Case("a part named in Greek", with_parts({"xl/θερμιδόμετρο.xml": b"<x/>"}), SAME)
    yield Case("bytes behind a packed stream", lambda: archive(_with_tail()), SAME)
    yield Case("more bytes claimed than packed", lambda: archive(entries(RUNS, packed_size=0x7FFFFFFF)), SAME)
    yield Case("macros", with_parts({"xl/vbaProject.bin": b"\xd0\xcf\x11\xe0"}), SAME, ".xlsm")
    yield Case("parts dated before 1980 and after 2099", _strange_times, SAME)


def _zip64(size: int) -> bytes:
    return b"\x01\x00\x08\x00" + size.to_bytes(8, "little")


def _noisy() -> list[Entry]:
    noise = random.Random(5).randbytes(800)
    return [replace(each, data=noise) if each.name == RUNS else each for each in entries()]


def _stored() -> list[Entry]:
    return [replace(entry(name, data), data=data, method=zipfile.ZIP_STORED) for name, data in parts().items()]


def _with_tail() -> list[Entry]:
    return [replace(each, data=each.data + b"tail") if each.name == SETUP else each for each in entries()]


@cache
def zeros(count: int = 300_000_000, filling: bytes = b"\0", before: bytes = b"", behind: bytes = b"") -> Entry:
    """Return an entry of many bytes that are the same; 300 MB pack into 300 kB."""
    packer = zlib.compressobj(1, zlib.DEFLATED, -15)
    block = filling * 1_000_000
    data, crc = [packer.compress(before)], zlib.crc32(before)
    for _ in range(count // len(block)):
        data.append(packer.compress(block))
        crc = zlib.crc32(block, crc)
    data += [packer.compress(behind), packer.flush()]
    return Entry("", b"".join(data), zlib.crc32(behind, crc), len(before) + count + len(behind))


def _part_of(name: str, each: Entry) -> Entry:
    return replace(each, name=name)


def _bomb(each: Entry) -> Entry:
    return replace(each, data=zeros().data, size=1000)


def _blank_sheet(filling: bytes, head: bytes = b"") -> Callable[[], bytes]:
    def make() -> bytes:
        data = parts()[RUNS]
        at = data.index(b"<row") if not head else data.index(head) + len(head)
        each = zeros(filling=filling, before=data[:at], behind=data[at:])
        return archive([_part_of(RUNS, each) if other.name == RUNS else other for other in entries()])

    return make


def _overlapping(count: int) -> Iterator[Entry]:
    each = zeros()
    behind = sum(30 + len(other.name) + len(other.data) for other in entries())
    yield replace(each, name="xl/media/0.xml")
    for number in range(1, count):
        yield replace(each, name=f"xl/media/{number}.xml", data=b"", packed_size=len(each.data), offset=behind)


def _many(count: int) -> Iterator[Entry]:
    for number in range(count):
        yield Entry(f"x/{number}", b"", method=zipfile.ZIP_STORED)


def _streamed() -> bytes:
    class Unseekable:
        """Takes bytes and cannot go back, so that the sizes stand behind each part."""

        def __init__(self) -> None:
            self.data = b""

        def write(self, data: bytes) -> int:
            self.data += data
            return len(data)

        def flush(self) -> None:
            pass

    stream = Unseekable()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:  # type: ignore[call-overload]
        for name, data in parts().items():
            package.writestr(name, data)
    return stream.data


def _in_capitals() -> bytes:
    return packed({(name if name.startswith(("[", "_")) else name.upper()): data for name, data in parts().items()})


def _strange_times() -> bytes:
    data = packed(parts())
    # The date of each part in both places: month 15, day 31 of the year 2107.
    return data.replace(b"\x00\x00\x21\x00", b"\x00\x00\xff\xff")
