"""The dated validation record: what was run, on what, and what came out, as plain dictionaries and lists.

It is the one output that carries the date of its run; the keys and their order are a contract (``SCHEMA``).
"""

import datetime as dt
import hashlib
import importlib.metadata
import platform
import re
from collections.abc import Iterator, Sequence
from importlib import resources
from importlib.resources.abc import Traversable

import batchcal
from batchcal.verification.cases import CaseResult, Status, check_value_files
from batchcal.verification.checks import Check

SCHEMA = "batchcal.validation/1"

LIMITS = (
    "This record shows that the formulas of this installation, on this machine, give the answers listed. It does not "
    "show that a workbook was filled in rightly, that a method was followed or that equipment is in order.",
    "It asks the formulas one by one. Reading a workbook, judging a series or a pair of duplicates and choosing the "
    "corrections that a method asks for are covered by the tests that ship with the source, not here.",
    "No published example with its answer could be read for the washings titrated twice, for a weighed capsule, for "
    "six tenths of the rise, for the integral over the main period with a right answer, for a decision on duplicates "
    "or for the worked annexes of the standards; such cases stand here as derived, inputs only or from memory.",
    "Add your laboratory's own worked example, and repeat the run after every change of batchcal, Python or machine.",
)


def validation_record(results: Sequence[CaseResult], when: dt.datetime) -> dict[str, object]:
    """Return the validation record of ``results``, run at ``when`` (with its time zone).

    Counts are of cases, by status and apart, since a case whose answer is our own arithmetic proves less than one
    whose answer was published. Raises ValueError for a time without zone.
    """
    if when.tzinfo is None:
        raise ValueError("the time of a validation record needs its time zone")
    return {
        "schema": SCHEMA,
        "date": when.date().isoformat(),
        "run_at": when.isoformat(timespec="seconds"),
        "verdict": "pass" if results and all(result.passed for result in results) else "fail",
        "installation": {
            "batchcal_version": batchcal.__version__,
            "python": f"{platform.python_implementation()} {platform.python_version()}",
            "platform": platform.platform(),
            "machine": platform.machine(),
            "packages": _packages(),
            "formulas_and_constants_sha256": _program_sha256(),
            "check_values_sha256": check_value_files(),
        },
        "counts": {
            status.value: {
                "meaning": status.meaning,
                "cases": len(of_status),
                "passed": sum(result.passed for result in of_status),
                "values": sum(len(result.checks) for result in of_status),
            }
            for status in Status
            for of_status in [[result for result in results if result.status is status]]
        },
        "limits": list(LIMITS),
        "cases": [_case(result) for result in results],
    }


def _case(result: CaseResult) -> dict[str, object]:
    return {
        "case": result.case,
        "kind": result.kind.title,
        "formulas": list(result.kind.formulas),
        "status": result.status.value,
        "verdict": "pass" if result.passed else "fail",
        "trouble": result.trouble or None,
        "values": [_value(check) for check in result.checks],
        "inputs": dict(result.inputs),
        "note": result.note or None,
        "source": result.source,
        "file": result.kind.file,
    }


def _value(check: Check) -> dict[str, object]:
    return {
        "quantity": check.quantity,
        "unit": check.unit or None,
        "expected": check.expected,
        "tolerance": check.tolerance,
        "obtained": check.obtained,
        "difference": check.difference,
        "printed_wrong": check.printed_wrong,
        "verdict": "pass" if check.passed else "fail",
    }


def _packages() -> dict[str, str]:
    """Return the versions of the packages that batchcal stands on; empty where it runs without being installed."""
    try:
        needed = importlib.metadata.requires("batchcal") or []
        names = [re.split(r"[^\w.-]", need)[0] for need in needed if "extra ==" not in need]
        return {name: importlib.metadata.version(name) for name in sorted(names)}
    except importlib.metadata.PackageNotFoundError:
        return {}


def _program_sha256() -> str:
    """Return one SHA-256 over the formulas and the reference data, by name and content."""
    digest = hashlib.sha256()
    for package in ("batchcal.formulas", "batchcal.reference"):
        for name, file in _files(resources.files(package), package):
            digest.update(f"{name}\0".encode())
            digest.update(hashlib.sha256(file.read_bytes()).digest())
    return digest.hexdigest()


def _files(folder: Traversable, name: str) -> Iterator[tuple[str, Traversable]]:
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.is_dir() and entry.name != "__pycache__":
            yield from _files(entry, f"{name}/{entry.name}")
        elif entry.is_file() and entry.name.endswith((".py", ".toml", ".csv")):
            yield f"{name}/{entry.name}", entry
