"""The published and reference cases: loaded, run through the formulas and compared."""

import csv
import hashlib
from collections.abc import Mapping
from enum import StrEnum
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType

from msgspec import Struct

from batchcal.errors import BatchcalError
from batchcal.verification.checks import Check, Kind
from batchcal.verification.kinds import KINDS

_NO_INPUT = frozenset({"case", "status", "source", "note"})
_ANSWERS = ("expected", "tolerance", "printed_wrong")


class Status(StrEnum):
    """How well the value that a case expects is known."""

    VERIFIED = "verified"
    PUBLISHED_WRONG = "published wrong"
    LOOSE = "loose"
    MEMORY = "from memory"
    DERIVED = "derived"
    INPUTS_ONLY = "inputs only"

    @property
    def meaning(self) -> str:
        """What the status says, in a sentence."""
        return _MEANINGS[self]


_MEANINGS = {
    Status.VERIFIED: "Inputs and answer were read in the source, and the answer must come out.",
    Status.PUBLISHED_WRONG: "The answer printed in the source is wrong: the right one must come out and the printed "
    "one must not.",
    Status.LOOSE: "Inputs and answer were read in the source; the tolerance allows for slips of its own.",
    Status.MEMORY: "The published answer is recalled: from memory, unchecked.",
    Status.DERIVED: "The answer was worked out here another way from figures with a source; it proves less.",
    Status.INPUTS_ONLY: "The inputs were read in the source and the answer is our own arithmetic; it proves less.",
}


class CaseResult(Struct, frozen=True):
    """One case that was run: what it asked, what came out, and whether that agrees.

    ``inputs`` are the figures of the case as its file gives them; ``trouble`` says why nothing could be computed.
    """

    case: str
    kind: Kind
    status: Status
    source: str
    note: str
    inputs: Mapping[str, str]
    checks: tuple[Check, ...]
    trouble: str = ""

    @property
    def passed(self) -> bool:
        """Whether every value of the case was obtained within its tolerance."""
        return not self.trouble and bool(self.checks) and all(check.passed for check in self.checks)


def check_value_files() -> dict[str, str]:
    """Return the SHA-256 of each file of check values, by its name, so that a record says what was run."""
    return {kind.file: hashlib.sha256(_bytes(kind.file)).hexdigest() for kind in KINDS}


def rows(kind: Kind) -> list[dict[str, str]]:
    """Return the rows of a kind's file as text; BatchcalError where the installation lacks the file."""
    return list(csv.DictReader(_bytes(kind.file).decode("utf-8").splitlines()))


def run_cases() -> list[CaseResult]:
    """Run every case, file by file in the order of ``KINDS``; BatchcalError where a file is missing."""
    return [run_case(kind, row) for kind in KINDS for row in rows(kind)]


def run_case(kind: Kind, row: Mapping[str, str]) -> CaseResult:
    """Run one case. A formula that refuses its inputs, or an unreadable figure, makes a case that did not pass."""
    checks: tuple[Check, ...] = ()
    trouble = ""
    try:
        checks = tuple(kind.run(row))
    except (ValueError, ArithmeticError) as error:
        trouble = f"not computed: {error}"
    return CaseResult(
        case=row["case"],
        kind=kind,
        status=Status(row["status"]),
        source=row["source"],
        note=row.get("note", ""),
        inputs=MappingProxyType({name: text for name, text in row.items() if text and _is_input(name)}),
        checks=checks,
        trouble=trouble,
    )


def _is_input(name: str) -> bool:
    return name not in _NO_INPUT and not any(word in name for word in _ANSWERS)


def _bytes(name: str) -> bytes:
    file: Traversable = resources.files("batchcal.reference") / "check_values" / name
    try:
        return file.read_bytes()
    except OSError as error:
        raise BatchcalError(
            f"the check values {name} cannot be read in this installation; install batchcal anew"
        ) from error
