"""What a kind of finding is: code, severity, trigger, wording, remedy, and the decision that it forces."""

from enum import StrEnum

from msgspec import Struct

from batchcal.terms import Decision

CAUTION = (
    "Follow the equipment's instructions and the local rules for oxygen and pressure, and ask the responsible "
    "trained person."
)


class Severity(StrEnum):
    """How much a finding matters; safety and block stop a release, review and note never do."""

    SAFETY = "safety"
    BLOCK = "block"
    REVIEW = "review"
    NOTE = "note"

    @property
    def stops(self) -> bool:
        """Whether a finding of this severity keeps the exit status from being 0."""
        return self in (Severity.SAFETY, Severity.BLOCK)

    @property
    def rank(self) -> int:
        """Position in the order in which findings are shown: safety first."""
        return list(Severity).index(self)


class Kind(Struct, frozen=True):
    """One kind of finding."""

    code: str
    severity: Severity
    group: str
    trigger: str
    message: str
    remedy: str
    effect: Decision | None = None
    silences: frozenset[str] = frozenset()
    """Codes of findings that follow from one of this kind and are then left unsaid of the same sample."""

    def __hash__(self) -> int:
        """Return the hash of the code, which no two kinds share: findings are gathered in sets by the thousand."""
        return hash(self.code)


Row = tuple[str, str, str, str] | tuple[str, str, str, str, Decision]
"""Code, trigger, message, remedy, and the decision that it forces where it forces one."""


def kinds(severity: Severity, group: str, *rows: Row) -> tuple[Kind, ...]:
    """Return kinds of one severity and group from rows of text."""
    return tuple(Kind(row[0], severity, group, *row[1:4], row[4] if len(row) > 4 else None) for row in rows)
