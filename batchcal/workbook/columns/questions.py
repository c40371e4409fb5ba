"""Questions that only a person can answer, each a finding with the choices there are."""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from batchcal.findings import Finding
from batchcal.workbook.columns.fields import FIELDS

NOT_READ = "-"
"""The answer by which a column is carried along and not read."""


class Choice(Struct, frozen=True):
    """One answer: what is stored, and how it is shown."""

    value: str
    text: str


class Question(Struct, frozen=True):
    """A question with its choices; without any, a number is asked for."""

    key: str
    finding: Finding
    choices: tuple[Choice, ...] = ()

    @property
    def text(self) -> str:
        """What is asked."""
        return self.finding.message


def of_fields(fields: Iterable[str]) -> tuple[Choice, ...]:
    """Return the choices between fields, and that it is none of them."""
    choices = [Choice(key, _shown(key)) for key in fields if key in FIELDS]
    return (*choices, Choice(NOT_READ, "none of these: carried along, not read"))


def _shown(key: str) -> str:
    field = FIELDS[key]
    means = field.means or next(iter(field.by_basis.values()), "").partition(",")[0]
    return f"{field.name} ({means})" if means else f"{field.name} (known, not read)"


def plain(values: Sequence[str], other: str = "") -> tuple[Choice, ...]:
    """Return the choices between values that are shown as they are; ``other`` is the text of carrying it along."""
    choices = tuple(Choice(value, value) for value in values)
    return (*choices, Choice(NOT_READ, other)) if other else choices


def named(fields: Iterable[str]) -> str:
    """Return fields in words: "empty crucible or crucible number"."""
    return " or ".join(FIELDS[key].name for key in fields if key in FIELDS)
