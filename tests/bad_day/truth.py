"""What a slip did to a day: the answer that a finder has to be judged by."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from bad_day.day import MASS, OWN_AD, OWN_D, OWN_MEAN, OWN_VERDICT, RISE, Day, Row

Choice = TypeVar("Choice")


@dataclass(frozen=True)
class Place:
    """Cells of a sheet: some rows, by their number in the written sheet, under some headings."""

    sheet: str
    rows: tuple[int, ...]
    columns: tuple[str, ...]


@dataclass(frozen=True)
class Truth:
    """The one slip in a day.

    ``places`` are the cells that were altered, the telling one first; all columns that are worked out in the lab's
    own sheet from an altered cell follow it where ``recalculated``. ``added`` and ``removed`` name whole rows by
    their names in the day. ``confidence``: A certain from the data, B strong, C a hint.
    """

    kind: str
    number: int
    confidence: str
    places: tuple[Place, ...]
    note: str
    recalculated: bool = True
    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()

    @property
    def sheet(self) -> str:
        """Sheet of the telling cells."""
        return self.places[0].sheet

    @property
    def rows(self) -> tuple[int, ...]:
        """Row numbers of the telling cells in the written sheet."""
        return self.places[0].rows

    @property
    def column(self) -> str | None:
        """Heading of the telling cells; None where whole rows are meant."""
        return self.places[0].columns[0] if self.places[0].columns else None


class UnfitError(Exception):
    """The day offers no place for this slip; another seed or style does."""


def first(choices: Sequence[Choice]) -> Choice:
    """Return the first of what fits, or say that nothing does."""
    if not choices:
        raise UnfitError
    return choices[0]


def shuffled(rng: Any, choices: Sequence[Choice]) -> list[Choice]:
    """Return the choices in a random order."""
    return list(rng.sample(list(choices), len(choices)))


def place(day: Day, sheet: str, rows: Sequence[Row], *columns: str) -> Place:
    """Return the place of rows of the day under headings."""
    return Place(sheet, day.numbers(sheet, rows), columns)


def mass_columns(row: Row) -> list[str]:
    """Return the headings under which a firing's masses stand."""
    return [heading for heading in ("Crucible (g)", "Crucible + sample (g)", MASS) if row.get(heading) is not None]


def rise_columns(row: Row) -> list[str]:
    """Return the headings under which a firing's temperatures stand."""
    names = ("Initial temperature (°C)", "Final temperature (°C)", RISE)
    return [heading for heading in names if row.get(heading) is not None]


OWN_RUNS = (OWN_AD, OWN_D)
OWN_SAMPLES = (OWN_MEAN, OWN_VERDICT)
