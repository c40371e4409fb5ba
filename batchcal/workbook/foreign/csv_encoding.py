"""In which encoding a table of text is written: by what its bytes show, and by asking where they show two readings."""

import codecs
import re
import unicodedata
from collections.abc import Callable, Iterator
from itertools import pairwise

from msgspec import Struct

from batchcal.errors import WorkbookError

_MARKED = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
"""Byte order marks; that of UTF-32 begins with that of UTF-16, so it stands before."""

_NO_TEXT = ("utf-7", "unicode-escape", "unicode_escape", "raw-unicode-escape", "raw_unicode_escape", "idna", "punycode")

_SIGNS = frozenset("°µμ±²³·×÷§%‰½¼¾€£¢¥©®™«»‹›„“”‘’‚–—−…•¿¡ªº′″ \xad")
"""Signs that stand in logs; other signs beside letters and figures speak against a reading."""

_IN_WORDS = frozenset("’‘–—·×÷±µμ\xad")
_DEGREES = frozenset("°º")
_WESTERN = frozenset("ÄÖÜäöüßÀÂÆÇÈÉÊËÎÏÔŒÙÛŸàâæçèéêëîïôœùûÿÅØåøÑÁÍÓÚñáíóúÌÒìòÃÕãõÝýÐðÞþŠšŽž")
_CENTRAL = frozenset("ÄÖÜäöüßÁÂĂČĆÇĎĐÉĚËĘĄÍÎŁĹĽŃŇÓÔŐŔŘŚŠŞŤŢÚŮŰÝŹŻŽáâăčćçďđéěëęąíîłĺľńňóôőŕřśšşťţúůűýźżž")
_TURKISH = _WESTERN | frozenset("ĞİŞğış")
_USUAL = frozenset("ÄÖÜäöüßéèêëàâçîïôûùñÑåæøÅÆØáíóúìòÇÉ")


class _Candidate(Struct, frozen=True):
    name: str
    is_letter: Callable[[str], bool]


def _script(name: str) -> Callable[[str], bool]:
    return lambda character: unicodedata.name(character, "").startswith(name)


_WINDOWS = _Candidate("cp1252", _WESTERN.__contains__)
_RIVALS = (
    _Candidate("cp1250", _CENTRAL.__contains__),
    _Candidate("iso-8859-15", _WESTERN.__contains__),
    _Candidate("cp1254", _TURKISH.__contains__),
    _Candidate("cp1251", _script("CYRILLIC")),
    _Candidate("cp1253", _script("GREEK")),
    _Candidate("cp850", _USUAL.__contains__),
    _Candidate("mac-roman", _USUAL.__contains__),
)
"""What else a table may be written in that is in none of the forms of Unicode, each with the letters it is used for."""

_EASTERN = ("gb18030", "shift_jis", "euc_kr", "big5")
"""Encodings that take almost any bytes for signs of their own: named in the question, never found."""

_UTF_8_SIGN = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}")
"""A sign of two or three bytes as UTF-8 writes it; as two or three signs of their own these hardly ever stand so."""

_HIGH = re.compile(rb"[\x80-\xff]")
_WORD = re.compile(r"[^\W\d_]+")


class Decoded(Struct, frozen=True):
    """A table's text, the encoding that it was read in, and the encodings that would read it otherwise."""

    text: str
    encoding: str
    others: tuple[str, ...] = ()
    example: str = ""
    """Where the readings differ, in the words of each."""


def decode(name: str, data: bytes, encoding: str | None) -> Decoded:
    """Return the text of a table; WorkbookError where its bytes are no text, or none in ``encoding``."""
    for mark, marked in _MARKED:
        if data.startswith(mark):
            if encoding is not None and _family(_plain(name, encoding)) != _family(marked):
                raise WorkbookError(f"{name}: begins with the mark of {marked}, and not of {encoding}")
            return Decoded(_strict(name, data[len(mark) :], marked), marked)
    if encoding is not None:
        return Decoded(_strict(name, data, _plain(name, encoding)), encoding)
    if b"\0" in data:
        return _wide(name, data)
    try:
        return Decoded(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError as error:
        if 2 * sum(map(len, _UTF_8_SIGN.findall(data))) > len(_HIGH.findall(data)):
            line = data.count(b"\n", 0, error.start) + 1
            raise WorkbookError(
                f"{name}: line {line} is not written in UTF-8, and other lines are; save the table again as UTF-8"
            ) from error
        return _single_byte(data)


def _plain(name: str, encoding: str) -> str:
    try:
        found = codecs.lookup(encoding).name
    except LookupError as error:
        raise WorkbookError(f"{name}: the encoding {encoding!r} is not known; utf-8 and cp1252 are common") from error
    if found in _NO_TEXT:
        raise WorkbookError(f"{name}: {encoding!r} is no encoding of tables; utf-8 and cp1252 are common")
    return found


def _family(encoding: str) -> str:
    return encoding.removesuffix("-sig").removesuffix("-le").removesuffix("-be")


def _strict(name: str, data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].decode(encoding, "ignore").count("\n") + 1
        raise WorkbookError(f"{name}: line {line} is not written in {encoding}; save it again as UTF-8") from error
    except LookupError as error:
        raise WorkbookError(f"{name}: {encoding!r} is no encoding of tables; utf-8 and cp1252 are common") from error


def _wide(name: str, data: bytes) -> Decoded:
    """Read two bytes for each sign, where every zero byte is the empty half of one."""
    for encoding, empty in (("utf-16-le", 0), ("utf-16-be", 1)):
        if len(data) % 2 == 0 and b"\0" not in data[empty::2]:
            try:
                text = data.decode(encoding)
            except UnicodeDecodeError:
                continue
            if not any(unicodedata.category(sign) in ("Cn", "Co", "Cs") for sign in set(text)):
                return Decoded(text, encoding)
    line = data[: data.index(b"\0")].count(b"\n") + 1
    raise WorkbookError(f"{name}: line {line} holds a zero byte, which no text has; export the table again")


def _single_byte(data: bytes) -> Decoded:
    own = _reading(data, _WINDOWS)
    readings = {rival.name: reading for rival in _RIVALS if (reading := _reading(data, rival)) is not None}
    if own is None:
        others = (*readings, *_EASTERN)
        text = data.decode("latin-1")
        return Decoded(text, "", others, _first_strange(text))
    others = tuple(rival for rival, reading in readings.items() if reading != own)
    if not others:
        return Decoded(own, "cp1252")
    return Decoded(own, "cp1252", ("cp1252", *others), _differing(own, {one: readings[one] for one in others}))


def _reading(data: bytes, candidate: _Candidate) -> str | None:
    """Return the text as the candidate reads it, None where nobody would have written that."""
    try:
        text = data.decode(candidate.name)
    except UnicodeDecodeError:
        return None
    strange = {sign for sign in set(text) if not sign.isascii()}
    if any(not (sign in _SIGNS or candidate.is_letter(sign)) for sign in strange):
        return None
    letters = {sign for sign in strange if candidate.is_letter(sign)}
    if any(_stands_in_word(sign, text) for sign in strange - letters - _IN_WORDS):
        return None
    return text if all(_is_word(word, letters) for word in set(_WORD.findall(text))) else None


def _stands_in_word(sign: str, text: str) -> bool:
    """Return whether a sign stands between letters as a letter does; only a degree may stand so before one: dT°C."""
    after = "{2}" if sign in _DEGREES else ""
    return re.search(rf"[^\W\d_µμ]{re.escape(sign)}[^\W\d_]{after}", text) is not None


def _is_word(word: str, letters: set[str]) -> bool:
    """Return whether a word can be one: of one script, in Latin not mostly of marked letters, no capital within."""
    own = [sign for sign in word if sign in letters]
    plain = [sign for sign in word if sign.isascii()]
    if not own:
        return True
    if not unicodedata.name(own[0], "").startswith("LATIN"):
        return not plain
    if len(word) > 2 and len(own) > len(plain):
        return False
    return not any(before.islower() and sign.isupper() and not sign.isascii() for before, sign in pairwise(word))


def _differing(own: str, readings: dict[str, str]) -> str:
    for place, sign in enumerate(own):
        if any(reading[place] != sign for reading in readings.values()):
            return " or ".join(dict.fromkeys(_around(reading, place) for reading in (own, *readings.values())))
    return ""


def _first_strange(text: str) -> str:
    return next((_around(text, place) for place, sign in enumerate(text) if not sign.isascii()), "")


def _around(text: str, place: int) -> str:
    piece = text[max(0, place - 12) : place + 12]
    return repr("".join(_shown(piece)).strip())


def _shown(piece: str) -> Iterator[str]:
    for sign in piece:
        yield sign if sign.isprintable() else " "
