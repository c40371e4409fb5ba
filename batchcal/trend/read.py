"""Results files as plain records. A file that is damaged, foreign or incomplete is named and passed over.

An archive holds hundreds of thousands of firings, so a list of objects is read key by key: the values of one key are
taken from all objects, and their kinds are looked at together. A value that does not fit is then looked for and told.
"""

import contextlib
import datetime as dt
import json
import os
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from operator import itemgetter
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

import msgspec
from msgspec import Struct

from batchcal.history import Apparatus, Passed

SCHEMA = "batchcal.results/1"
ENDING = ".results.json"


class Firing(NamedTuple):
    """One firing of a results file; texts are "" and numbers None where the file has null."""

    purpose: str
    number: str
    date: dt.date | None
    calorimeter: str
    bomb: str
    mass_g: float | None
    rise_K: float | None
    state: str
    sample: str
    outcome: str
    analyst: str
    heat_capacity_J_per_K: float | None
    gross_ad_J_per_g: float | None
    gross_d_J_per_g: float | None
    recovery_percent: float | None
    findings: tuple[str, ...]

    @property
    def apparatus(self) -> Apparatus:
        """Calorimeter and bomb."""
        return Apparatus(self.calorimeter, self.bomb)

    @property
    def counts(self) -> bool:
        """Whether it takes part in results, if only provisionally."""
        return self.state in WORKED


IDENTITY = 7
"""A firing is the same wherever its first fields are: purpose, number, date, calorimeter, bomb, mass and rise."""

WORKED = ("used", "provisional")
"""States of firings that take part in results."""


class SeriesRecord(Struct, frozen=True):
    """One heat capacity of a results file."""

    apparatus: Apparatus
    name: str
    heat_capacity_J_per_K: float | None
    n: int | None
    sd_J_per_K: float | None
    date: dt.date | None
    expires: dt.date | None
    state: str
    firings: tuple[str, ...]


class Limits(Struct, frozen=True):
    """What the day was judged by; those of checks in % of the certificate value."""

    repeatability_J_per_g: float | None
    check_percent: float | None
    check_warning_percent: float | None
    check_sd_percent: float | None


class Day(Struct, frozen=True):
    """One results file."""

    file: str
    workbook: str
    sha256: str
    issue: int
    laboratory: str
    batch: str
    batch_date: dt.date | None
    date: dt.date | None
    """Day of the batch, else the last day on which something other than a series was fired."""
    method: str
    comparison_basis: str
    limits: Limits
    series: tuple[SeriesRecord, ...]
    firings: tuple[Firing, ...]
    samples: dict[str, str]
    """Fuel class by sample, "" where none is given."""
    findings: tuple[tuple[str, str], ...]
    """Code and severity."""


class _UnfitError(ValueError):
    """Why a file is passed over, in words."""


def read_folders(folders: Sequence[Path]) -> tuple[list[Day], list[Passed]]:
    """Return every results file in the folders and the folders within them, and those that cannot be used.

    Files are named as seen from their folder. A file that two of the folders hold is read once.
    """
    days, passed = [], []
    seen: set[str] = set()
    for folder in folders:
        for path, name in _results_files(folder):
            place = os.path.realpath(path) if os.path.islink(path) else path
            if place in seen:
                continue
            seen.add(place)
            try:
                days.append(read_day(Path(path).read_bytes(), name))
            except OSError as error:
                passed.append(Passed(name, f"cannot be read ({error.strerror or error})"))
            except _UnfitError as error:
                passed.append(Passed(name, str(error)))
    return days, passed


def _results_files(folder: Path) -> Iterator[tuple[str, str]]:
    """Return the results files in a folder and the folders within it, in the order of their names.

    Of each the real place of its folder with its name, and the name as seen from ``folder``.
    """
    for root, folders, files in os.walk(folder):
        folders.sort()
        found = sorted(name for name in files if name.casefold().endswith(ENDING) and not name.startswith("."))
        within, place = Path(root).relative_to(folder).as_posix(), os.path.realpath(root)
        for name in found:
            yield os.path.join(place, name), name if within == "." else f"{within}/{name}"


def read_day(data: bytes, name: str) -> Day:
    """Return one results file, from its bytes.

    Raises ValueError, whose words say why, where it is not JSON, of another schema, or without what it must hold.
    """
    document = _document(data)
    schema = document.get("schema") if isinstance(document, dict) else None
    if schema is None:
        raise _UnfitError("foreign: not a results file of batchcal")
    if schema != SCHEMA:
        raise _UnfitError(f"of another schema, {str(schema)[:40]!r}; {SCHEMA} is read")
    try:
        return _day(_Objects([document], ""), name)
    except OverflowError:
        raise _UnfitError("damaged: a number beyond reach") from None


def _document(data: bytes) -> object:
    """Return what a file of JSON holds; the standard library takes twice the time, and tells why a file is none."""
    with contextlib.suppress(msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return msgspec.json.decode(data)
    try:
        return json.loads(data, parse_constant=_no_number)
    except RecursionError:
        raise _UnfitError("damaged: nested deeper than any results file") from None
    except _UnfitError:
        raise
    except ValueError:
        what = "empty" if not data.strip() else "damaged: not JSON, or cut short"
        raise _UnfitError(what) from None


def _no_number(word: str) -> NoReturn:
    raise _UnfitError(f"damaged: {word} stands where a number is meant")


class _Dates(dict[str | None, dt.date | None]):
    """Dates by their texts; an archive names few of them, each very often."""

    def __missing__(self, text: str | None) -> dt.date | None:
        date = dt.date.fromisoformat(text) if text else None
        self[text] = date
        return date


_DATES = _Dates()


def _is_date(text: str | None) -> bool:
    try:
        _DATES[text]
    except ValueError:
        return False
    return True


_NOTHING = type(None)
_TEXT, _NUMBER, _WHOLE, _LIST, _OBJECT = (
    frozenset({_NOTHING, *kinds}) for kinds in ((str,), (float, int), (int,), (list,), (dict,))
)
_ABSENT = object()
_OBJECTS = frozenset({dict})
_FARTHEST = 1e12
"""Further from 0 than any quantity of a laboratory in the units of such a file; chosen here, no source."""

_FIRING_KEYS = (
    "purpose", "firing", "date", "calorimeter", "bomb", "mass_g", "rise_K", "state", "sample", "outcome", "analyst",
    "heat_capacity_J_per_K", "gross_ad_J_per_g", "gross_d_J_per_g", "recovery_percent", "findings",
)  # fmt: skip
_SERIES_KEYS = (
    "calorimeter", "bomb", "name", "heat_capacity_J_per_K", "n", "sd_J_per_K", "date", "expires", "state", "firings",
)  # fmt: skip
_SAMPLE_KEYS = "sample", "fuel_class"
_FINDING_KEYS = "code", "severity"


class _Objects:
    """Objects of the document that stand in one list, or one alone; their values are asked for by key and kind.

    Each question returns one value for each object. What does not fit is told with its place.
    """

    def __init__(self, content: list[Any], where: str, keys: Sequence[str] = (), *, listed: bool = False) -> None:
        """Take the objects; the values under two or more ``keys``, if all are there, are taken out in one go."""
        self._content, self._where, self._listed = content, where, listed
        if not set(map(type, content)) <= _OBJECTS:
            place = next(place for place, one in enumerate(content) if type(one) is not dict)
            raise _UnfitError(f"incomplete: {self._name(place) or 'the document'} is no object")
        self._columns: dict[str, tuple[Any, ...]] = {}
        if keys and content:
            with contextlib.suppress(KeyError):
                self._columns = dict(zip(keys, zip(*map(itemgetter(*keys), content), strict=True), strict=True))

    def _name(self, place: int) -> str:
        return f"{self._where}[{place}]." if self._listed else self._where

    def _column(self, key: str, kinds: frozenset[type], *, added: bool) -> tuple[Sequence[Any], set[type]]:
        """Return the values under a key, and the kinds that are found among them."""
        column: Sequence[Any] | None = self._columns.get(key)
        if column is None:
            absent = None if added else _ABSENT
            column = [one.get(key, absent) for one in self._content]
        found = set(map(type, column))
        if not found <= kinds:
            place = next(place for place, value in enumerate(column) if type(value) not in kinds)
            what = "incomplete: without {}" if column[place] is _ABSENT else "damaged: {} is not of its kind"
            raise _UnfitError(what.format(self._name(place) + key))
        return column, found

    def texts(self, key: str, *, added: bool = False) -> Sequence[str]:
        column, found = self._column(key, _TEXT, added=added)
        return [value or "" for value in column] if _NOTHING in found else column

    def numbers(self, key: str, *, added: bool = False) -> Sequence[float | None]:
        column, found = self._column(key, _NUMBER, added=added)
        if int in found:
            column = [None if value is None else float(value) for value in column]
        sizes = list(map(abs, filter(None, column)))
        if sizes and max(sizes) > _FARTHEST:
            place = next(place for place, value in enumerate(column) if value and abs(value) > _FARTHEST)
            raise _UnfitError(f"damaged: {self._name(place)}{key} is beyond reach")
        return column

    def wholes(self, key: str) -> Sequence[int | None]:
        return self._column(key, _WHOLE, added=False)[0]

    def dates(self, key: str, *, added: bool = False) -> Sequence[dt.date | None]:
        column, _ = self._column(key, _TEXT, added=added)
        try:
            return list(map(_DATES.__getitem__, column))
        except ValueError:
            place = next(place for place, text in enumerate(column) if not _is_date(text))
            raise _UnfitError(f"damaged: {self._name(place)}{key} is no date") from None

    def lists_of_texts(self, key: str) -> Sequence[tuple[str, ...]]:
        column, _ = self._column(key, _LIST, added=False)
        for place, values in enumerate(column):
            if values and set(map(type, values)) != {str}:
                raise _UnfitError(f"damaged: {self._name(place)}{key} is no list of texts")
        return [tuple(values) if values else () for values in column]

    def part(self, key: str) -> "_Objects":
        """Return the object under a key of the one object that this is."""
        column, _ = self._column(key, _OBJECT, added=False)
        return _Objects(list(column), f"{self._where}{key}.")

    def parts(self, key: str, keys: Sequence[str]) -> "_Objects":
        """Return the objects of the list under a key of the one object that this is; of them ``keys`` are read."""
        ((values,), _) = self._column(key, _LIST, added=False)
        if values is None:
            raise _UnfitError(f"incomplete: without {self._where}{key}")
        return _Objects(values, f"{self._where}{key}", keys, listed=True)


def _day(document: _Objects, name: str) -> Day:
    origin, release, settings = document.part("input"), document.part("release"), document.part("settings")
    (analyst,), (batch_date,) = release.texts("analyst"), settings.dates("batch_date")
    firings = _firings(document.parts("firings", _FIRING_KEYS), analyst, batch_date)
    samples, findings = document.parts("samples", _SAMPLE_KEYS), document.parts("findings", _FINDING_KEYS)
    return Day(
        file=name,
        workbook=origin.texts("file")[0],
        sha256=origin.texts("sha256")[0],
        issue=release.wholes("issue")[0] or 1,
        laboratory=settings.texts("laboratory")[0],
        batch=settings.texts("batch")[0],
        batch_date=batch_date,
        date=batch_date or _last_fired(firings),
        method=settings.texts("method")[0],
        comparison_basis=settings.texts("comparison_basis")[0],
        limits=_limits(settings),
        series=_series(document.parts("series", _SERIES_KEYS)),
        firings=firings,
        samples=dict(zip(samples.texts("sample"), samples.texts("fuel_class", added=True), strict=True)),
        findings=tuple(zip(findings.texts("code"), findings.texts("severity"), strict=True)),
    )


def _last_fired(firings: Sequence[Firing]) -> dt.date | None:
    return max((f.date for f in firings if f.date is not None and f.purpose != "calibration"), default=None)


def _limits(settings: _Objects) -> Limits:
    (certificate,), (repeatability,) = (
        settings.numbers(key) for key in ("benzoic_heat_in_air_J_per_g", "repeatability_limit_J_per_g")
    )
    if any(divisor and abs(divisor) < 1.0 / _FARTHEST for divisor in (certificate, repeatability)):
        raise _UnfitError("damaged: a limit or the heat of benzoic acid is next to nothing")

    def percent(name: str, *, added: bool) -> float | None:
        (value,) = settings.numbers(f"{name}_percent", added=added)
        (energy,) = settings.numbers(f"{name}_J_per_g", added=added)
        return 100.0 * energy / certificate if value is None and energy is not None and certificate else value

    return Limits(
        repeatability,
        percent("check_limit", added=False),
        percent("check_warning_limit", added=True),
        percent("check_sd", added=True),
    )


def _series(parts: _Objects) -> tuple[SeriesRecord, ...]:
    columns = (
        map(Apparatus, parts.texts("calorimeter"), parts.texts("bomb")),
        parts.texts("name", added=True),
        parts.numbers("heat_capacity_J_per_K"),
        parts.wholes("n"),
        parts.numbers("sd_J_per_K"),
        parts.dates("date"),
        parts.dates("expires", added=True),
        parts.texts("state"),
        parts.lists_of_texts("firings"),
    )
    return tuple(map(SeriesRecord, *columns))


def _firings(parts: _Objects, analyst: str, batch_date: dt.date | None) -> tuple[Firing, ...]:
    """Return the firings; of Setup they take the analyst and, where they are no calibration, the date of the batch."""
    purposes, dates = parts.texts("purpose"), parts.dates("date", added=True)
    columns = (
        purposes,
        parts.texts("firing"),
        [
            date or (None if purpose == "calibration" else batch_date)
            for purpose, date in zip(purposes, dates, strict=True)
        ],
        parts.texts("calorimeter", added=True),
        parts.texts("bomb", added=True),
        parts.numbers("mass_g"),
        parts.numbers("rise_K"),
        parts.texts("state"),
        parts.texts("sample"),
        parts.texts("outcome", added=True),
        [name or analyst for name in parts.texts("analyst", added=True)],
        parts.numbers("heat_capacity_J_per_K"),
        parts.numbers("gross_ad_J_per_g"),
        parts.numbers("gross_d_J_per_g"),
        parts.numbers("recovery_percent"),
        parts.lists_of_texts("findings"),
    )
    return tuple(map(_made_firing, zip(*columns, strict=True)))


_made_firing: Callable[[tuple[Any, ...]], Firing] = partial(tuple.__new__, Firing)
"""What ``Firing._make`` does, in a third of its time."""
