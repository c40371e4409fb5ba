"""The release of a day's results: who signed what, which issue it is, and what changed since an earlier one.

Dataclasses only. An issue is what was handed out under one number: the values of the samples that were released.
"""

import datetime as dt
from collections.abc import Mapping
from enum import StrEnum

from msgspec import Struct, field

RELEASE_WORD = "release"
"""What stands under Finding on Amendments where a reviewer releases results."""


class ReleaseState(StrEnum):
    """How far the results of a day are."""

    DRAFT = "draft"
    RELEASED = "released"
    AMENDED = "amended"


class Signature(Struct, frozen=True):
    """One row of Amendments that releases: a sample, or "" for every sample of the day."""

    sample: str
    reviewer: str
    date: dt.date
    reason: str = ""

    @property
    def words(self) -> str:
        """By whom and when."""
        return f"{self.reviewer} on {self.date.isoformat()}"


class ValueChange(Struct, frozen=True):
    """One released value in J/g that is another now; None where there is none."""

    sample: str
    value: str
    earlier: float | None
    now: float | None

    @property
    def words(self) -> str:
        """The change in one line."""
        earlier, now = ("none" if figure is None else f"{figure:.1f} J/g" for figure in (self.earlier, self.now))
        return f"sample {self.sample}, {self.value}: {earlier} → {now}"


class Issue(Struct, frozen=True):
    """What was released under one number: the values by sample and name, in J/g, and who signed."""

    number: int
    state: ReleaseState
    signatures: tuple[Signature, ...]
    """Those that make this issue."""
    values: Mapping[str, Mapping[str, float]]
    replaces: int | None = None
    """Number of the issue that it takes the place of."""
    replaces_sha256: str = ""
    """SHA-256 of the results file of that issue."""
    changed: tuple[ValueChange, ...] = ()
    """Values that differ from those of the issue it replaces."""
    sha256: str = ""
    """SHA-256 of its results file; "" while that is still to be written."""
    known: tuple[Signature, ...] = ()
    """Every signature up to this issue: none of them makes another one."""
    certificate: str = ""
    """SHA-256 of what its certificate says, "" where none was written."""

    @property
    def signed(self) -> str:
        """By whom and when, each once."""
        return " and ".join(dict.fromkeys(signature.words for signature in self.signatures))

    @property
    def reasons(self) -> str:
        """Why it was signed anew, each reason once."""
        return "; ".join(dict.fromkeys(s.reason.rstrip(".") for s in self.signatures if s.reason))


class Release(Struct, frozen=True):
    """The state of a day's results: a draft, or an issue with its signatures."""

    state: ReleaseState = ReleaseState.DRAFT
    issue: int = 1
    """Number of the issue that is released, or that a draft would become."""
    issued: Issue | None = None
    """The issue that is released; of a draft, the last one that was, or None where there was none."""
    unreleased: tuple[str, ...] = ()
    """Samples of the day that are not released."""

    @property
    def samples(self) -> tuple[str, ...]:
        """The samples that are released."""
        return () if self.state is ReleaseState.DRAFT or self.issued is None else tuple(self.issued.values)

    @property
    def words(self) -> str:
        """The state in words, as it stands on every output."""
        issued = self.issued
        if issued is None:
            return "Draft until released by a signature on Amendments."
        if self.state is ReleaseState.DRAFT:
            return f"Draft until released as issue {self.issue}. Issue {issued.number} was released by {issued.signed}."
        text = f"Released by {issued.signed}, issue {issued.number}."
        if self.state is ReleaseState.AMENDED:
            text = f"Amended. {text} It replaces issue {issued.replaces}: {issued.reasons}."
        elif issued.replaces is not None:
            text += f" It adds to issue {issued.replaces}, whose values stand unchanged in it."
        if self.unreleased:
            text += f" Still a draft: {', '.join(self.unreleased)}."
        return text


class CellChange(Struct, frozen=True):
    """One cell of the lab's sheets that holds something else than in the earlier set."""

    sheet: str
    cell: str
    """Address in the workbook as it is now; of a row that is gone, its earlier address."""
    earlier: str
    now: str


class SettingChange(Struct, frozen=True):
    """One setting that is another than in the earlier set."""

    item: str
    earlier: str
    now: str


class Changes(Struct, frozen=True):
    """What changed since the earlier set of outputs of the same workbook."""

    workbook: str
    sha256: str
    """Name and SHA-256 of the workbook as it was then."""
    version: str
    """Version of the program that made the earlier set."""
    settings_sha256: str = ""
    cells: tuple[CellChange, ...] = ()
    settings: tuple[SettingChange, ...] = ()
    values: tuple[ValueChange, ...] = ()
    """Values that were released and are others now."""
    not_compared: str = ""
    """Why the cells could not be compared, or ""."""


class Earlier(Struct, frozen=True):
    """What is known of the set of outputs that stood there before."""

    issued: Issue | None
    changes: Changes | None
    """What changed since, but for the values; None where there was none to compare with."""
    settings: Mapping[str, str] = field(default_factory=dict)
    unread: str = ""
    """Why nothing is known of it, or ""."""
    repeated: bool = False
    """Whether it was made from the same bytes, settings and version, so that ``changes`` is its own."""
