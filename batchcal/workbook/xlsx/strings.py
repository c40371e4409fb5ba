"""Texts as they are stored: plain or in runs of formatting, with characters that XML cannot hold written out."""

import re
from collections.abc import Callable

from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.references import UnfitError
from batchcal.workbook.xlsx.stream import MAX_TEXT, Handlers, Stream, nothing

MAX_STRINGS = 20_000_000
"""Texts that a workbook may hold; as many as it may have filled cells."""

_SIGNS = {"amp": "&", "lt": "<", "gt": ">", "quot": '"', "apos": "'"}
_WRITTEN_OUT = re.compile(
    r"_x([Dd][89ABab][0-9A-Fa-f]{2})__x([Dd][C-Fc-f][0-9A-Fa-f]{2})_|_x([0-9A-Fa-f]{4})_", re.ASCII
)


def unescaped(text: str) -> str:
    """Return a text with the characters that are written out (_x0007_) in their place.

    An underscore before such a group is itself written out (_x005F_). Half of a pair of surrogates is no character
    and is left as it is written. ECMA-376 Part 1, 22.9.2.19, ST_Xstring (from memory, unchecked).
    """
    return _WRITTEN_OUT.sub(_character, text) if "_x" in text else text


def plain(stored: str) -> str:
    """Return a text as it stands in a part, with the five signs that XML itself writes out (&amp;) in their place.

    UnfitError where anything else is written out.
    """
    if "&" not in stored:
        return stored
    first, *rest = stored.split("&")
    found = [first]
    for piece in rest:
        name, semicolon, after = piece.partition(";")
        if not semicolon or name not in _SIGNS:
            raise UnfitError("has a sign written out in another way")
        found += [_SIGNS[name], after]
    return "".join(found)


def _character(match: re.Match[str]) -> str:
    if match[3] is None:
        return chr(0x10000 + (int(match[1], 16) - 0xD800) * 0x400 + int(match[2], 16) - 0xDC00)
    code = int(match[3], 16)
    return match[0] if 0xD800 <= code <= 0xDFFF else chr(code)


class RichText:
    """Reads elements of rich text (si, is), one after another: what is shown, without reading aids (phonetics)."""

    def __init__(self, stream: Stream) -> None:
        self._stream = stream
        self._text, self._run, *aids = (stream.space + name for name in ("t", "r", "rPr", "rPh", "phoneticPr"))
        self._aids = frozenset(aids)
        self._runs: list[str] = []
        self._in_run = self._in_text = self._has_text = False
        self._before = stream.handlers()
        self._done: Callable[[str], None] = self._runs.append

    def begin(self, done: Callable[[str], None]) -> None:
        """Read the element that has just begun; ``done`` gets its text at its end, when all goes on as before."""
        self._before = self._stream.handlers()
        self._done = done
        self._runs = []
        self._has_text = False
        self._stream.handle(self._start, self._end)

    def _start(self, name: str, _attributes: dict[str, str]) -> None:
        if self._in_text:
            raise self._stream.unknown(name)
        if name == self._text and not self._has_text:
            if self._stream.pieces:
                self._refuse_words()
            self._in_text = self._has_text = True
        elif name == self._run and not self._in_run:
            self._in_run, self._has_text = True, False
        elif name in self._aids:
            self._stream.skip()
        else:
            raise self._stream.unknown(name)

    def _end(self, _name: str) -> None:
        pieces = self._stream.pieces
        if self._in_text:
            self._in_text = False
            self._runs.append(unescaped("".join(pieces)))
            pieces.clear()
        elif self._in_run:
            self._in_run, self._has_text = False, True
        else:
            if pieces:
                self._refuse_words()
            self._stream.handle(*self._before)
            text = self._runs[0] if len(self._runs) == 1 else "".join(self._runs)
            if len(text) > MAX_TEXT:
                raise self._stream.text_too_long()
            self._done(text)

    def _refuse_words(self) -> None:
        """Refuse words between the elements, where they belong to no text; blanks there say nothing."""
        if "".join(self._stream.pieces).strip():
            raise self._stream.damaged("has words outside of every text")
        self._stream.pieces.clear()


def shared_strings(package: Package) -> list[str]:
    """Return the texts that cells refer to by number; WorkbookError where their part is damaged."""
    part = package.related("sharedStrings")
    texts: list[str] = []
    if part is None:
        return texts
    stream = Stream(package, part)

    def begin() -> Handlers:
        item, more = stream.space + "si", stream.space + "extLst"
        rich, add = RichText(stream), texts.append

        def start(name: str, _attributes: dict[str, str]) -> None:
            if name == item:
                if len(texts) >= MAX_STRINGS:
                    raise stream.refused(f"holds more than {MAX_STRINGS} texts, more than any log needs; refused")
                rich.begin(add)
            elif name == more:
                stream.skip()
            else:
                raise stream.unknown(name)

        return start, nothing

    stream.read("sst", begin)
    return texts
