"""Results files as plain records. A file that is damaged, foreign or incomplete is named and passed over."""

import datetime as dt
import json
import math
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from batchcal.history import Apparatus, Passed

SCHEMA = "batchcal.results/1"
ENDING = ".results.json"


@dataclass(frozen=True, slots=True)
class Firing:
    """One firing of a results file; texts are "" and numbers None where the file has null."""

    number: str
    purpose: str
    state: str
    sample: str
    date: dt.date | None
    outcome: str
    apparatus: Apparatus
    analyst: str
    mass_g: float | None
    rise_K: float | None
    heat_capacity_J_per_K: float | None
    gross_J_per_g: Mapping[str, float | None]
    recovery_percent: float | None
    findings: tuple[str, ...]

    @property
    def counts(self) -> bool:
        """Whether it takes part in results, if only provisionally."""
        return self.state in ("used", "provisional")


@dataclass(frozen=True, slots=True)
class SeriesRecord:
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


@dataclass(frozen=True, slots=True)
class Limits:
    """What the day was judged by; those of checks in % of the certificate value."""

    repeatability_J_per_g: float | None
    check_percent: float | None
    check_warning_percent: float | None
    check_sd_percent: float | None


@dataclass(frozen=True, slots=True)
class Day:
    """One results file."""

    file: str
    workbook: str
    sha256: str
    issue: int
    laboratory: str
    batch: str
    batch_date: dt.date | None
    method: str
    comparison_basis: str
    limits: Limits
    series: tuple[SeriesRecord, ...]
    firings: tuple[Firing, ...]
    samples: Mapping[str, str]
    """Fuel class by sample, "" where none is given."""
    findings: tuple[tuple[str, str], ...]
    """Code and severity."""

    @property
    def date(self) -> dt.date | None:
        """Day of the batch, else the last day on which something other than a series was fired."""
        if self.batch_date is not None:
            return self.batch_date
        days = [f.date for f in self.firings if f.date is not None and f.purpose != "calibration"]
        return max(days, default=None)


class _UnfitError(ValueError):
    """Why a file is passed over, in words."""


def read_folders(folders: Sequence[Path]) -> tuple[list[Day], list[Passed]]:
    """Return every results file in the folders and the folders within them, and those that cannot be used.

    Files are named as seen from their folder. A file that two of the folders hold is read once.
    """
    days, passed = [], []
    seen: set[Path] = set()
    for folder in folders:
        for path in results_files(folder):
            if path.resolve() in seen:
                continue
            seen.add(path.resolve())
            name = path.relative_to(folder).as_posix()
            try:
                days.append(read_day(path.read_bytes(), name))
            except OSError as error:
                passed.append(Passed(name, f"cannot be read ({error.strerror or error})"))
            except _UnfitError as error:
                passed.append(Passed(name, str(error)))
    return days, passed


def results_files(folder: Path) -> Iterator[Path]:
    """Return the results files in a folder and the folders within it, in the order of their names."""
    for root, folders, files in os.walk(folder):
        folders.sort()
        for name in sorted(files):
            if name.casefold().endswith(ENDING) and not name.startswith("."):
                yield Path(root, name)


def read_day(data: bytes, name: str) -> Day:
    """Return one results file, from its bytes.

    Raises ValueError, whose words say why, where it is not JSON, of another schema, or without what it must hold.
    """
    try:
        document = json.loads(data, parse_constant=_no_number)
    except RecursionError:
        raise _UnfitError("damaged: nested deeper than any results file") from None
    except _UnfitError:
        raise
    except ValueError:
        what = "empty" if not data.strip() else "damaged: not JSON, or cut short"
        raise _UnfitError(what) from None
    schema = document.get("schema") if isinstance(document, dict) else None
    if schema is None:
        raise _UnfitError("foreign: not a results file of batchcal")
    if schema != SCHEMA:
        raise _UnfitError(f"of another schema, {str(schema)[:40]!r}; {SCHEMA} is read")
    try:
        return _day(_Fields(document, ""), name)
    except OverflowError:
        raise _UnfitError("damaged: a number beyond reach") from None


def _no_number(word: str) -> NoReturn:
    raise _UnfitError(f"damaged: {word} stands where a number is meant")


class _Fields:
    """One object of the document, whose values are asked for by key and kind; what does not fit is told where."""

    def __init__(self, content: object, where: str) -> None:
        if not isinstance(content, dict):
            raise _UnfitError(f"incomplete: {where or 'the document'} is no object")
        self._content: dict[str, Any] = content
        self._where = where

    def _get(self, key: str, kinds: tuple[type, ...], *, added: bool) -> Any:
        if key not in self._content and not added:
            raise _UnfitError(f"incomplete: without {self._where}{key}")
        value = self._content.get(key)
        if value is not None and (not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds)):
            raise _UnfitError(f"damaged: {self._where}{key} is not of its kind")
        return value

    def text(self, key: str, *, added: bool = False) -> str:
        return self._get(key, (str,), added=added) or ""

    def number(self, key: str, *, added: bool = False) -> float | None:
        value = self._get(key, (int, float), added=added)
        if value is not None and not math.isfinite(value):
            raise _UnfitError(f"damaged: {self._where}{key} is beyond reach")
        return None if value is None else float(value)

    def whole(self, key: str) -> int | None:
        value: int | None = self._get(key, (int,), added=False)
        return value

    def date(self, key: str, *, added: bool = False) -> dt.date | None:
        text = self.text(key, added=added)
        if not text:
            return None
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            raise _UnfitError(f"damaged: {self._where}{key} is no date") from None

    def texts(self, key: str) -> tuple[str, ...]:
        values = self._get(key, (list,), added=False) or ()
        if not all(isinstance(value, str) for value in values):
            raise _UnfitError(f"damaged: {self._where}{key} is no list of texts")
        return tuple(values)

    def part(self, key: str) -> "_Fields":
        return _Fields(self._get(key, (dict,), added=False), f"{self._where}{key}.")

    def parts(self, key: str) -> list["_Fields"]:
        values = self._get(key, (list,), added=False)
        if values is None:
            raise _UnfitError(f"incomplete: without {self._where}{key}")
        return [_Fields(value, f"{self._where}{key}[{index}].") for index, value in enumerate(values)]


def _day(document: _Fields, name: str) -> Day:
    origin, release, settings = document.part("input"), document.part("release"), document.part("settings")
    analyst, batch_date = release.text("analyst"), settings.date("batch_date")
    return Day(
        file=name,
        workbook=origin.text("file"),
        sha256=origin.text("sha256"),
        issue=release.whole("issue") or 1,
        laboratory=settings.text("laboratory"),
        batch=settings.text("batch"),
        batch_date=batch_date,
        method=settings.text("method"),
        comparison_basis=settings.text("comparison_basis"),
        limits=_limits(settings),
        series=tuple(_series(part) for part in document.parts("series")),
        firings=tuple(_firing(part, analyst, batch_date) for part in document.parts("firings")),
        samples={part.text("sample"): part.text("fuel_class", added=True) for part in document.parts("samples")},
        findings=tuple((part.text("code"), part.text("severity")) for part in document.parts("findings")),
    )


def _limits(settings: _Fields) -> Limits:
    certificate = settings.number("benzoic_heat_in_air_J_per_g")

    def percent(name: str, *, added: bool) -> float | None:
        value = settings.number(f"{name}_percent", added=added)
        energy = settings.number(f"{name}_J_per_g", added=added)
        return 100.0 * energy / certificate if value is None and energy is not None and certificate else value

    return Limits(
        settings.number("repeatability_limit_J_per_g"),
        percent("check_limit", added=False),
        percent("check_warning_limit", added=True),
        percent("check_sd", added=True),
    )


def _series(part: _Fields) -> SeriesRecord:
    return SeriesRecord(
        apparatus=Apparatus(part.text("calorimeter"), part.text("bomb")),
        name=part.text("name", added=True),
        heat_capacity_J_per_K=part.number("heat_capacity_J_per_K"),
        n=part.whole("n"),
        sd_J_per_K=part.number("sd_J_per_K"),
        date=part.date("date"),
        expires=part.date("expires", added=True),
        state=part.text("state"),
        firings=part.texts("firings"),
    )


def _firing(part: _Fields, analyst: str, batch_date: dt.date | None) -> Firing:
    purpose = part.text("purpose")
    return Firing(
        number=part.text("firing"),
        purpose=purpose,
        state=part.text("state"),
        sample=part.text("sample"),
        date=part.date("date", added=True) or (None if purpose == "calibration" else batch_date),
        outcome=part.text("outcome", added=True),
        apparatus=Apparatus(part.text("calorimeter", added=True), part.text("bomb", added=True)),
        analyst=part.text("analyst", added=True) or analyst,
        mass_g=part.number("mass_g"),
        rise_K=part.number("rise_K"),
        heat_capacity_J_per_K=part.number("heat_capacity_J_per_K"),
        gross_J_per_g={"ad": part.number("gross_ad_J_per_g"), "d": part.number("gross_d_J_per_g")},
        recovery_percent=part.number("recovery_percent"),
        findings=part.texts("findings"),
    )
