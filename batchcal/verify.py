"""The library call behind ``batchcal verify``: run the cases, write the dated record."""

import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from batchcal.errors import UsageError
from batchcal.outputs import standing, write_files
from batchcal.replacing import sha256
from batchcal.report.verification import validation_page
from batchcal.verification.cases import run_cases
from batchcal.verification.record import validation_record


class Verified(Struct, frozen=True):
    """A validation record and where it was written."""

    record: Mapping[str, Any]
    page: Path
    document: Path

    @property
    def passed(self) -> bool:
        """Whether every case passed."""
        return bool(self.record["verdict"] == "pass")


def verify(out: Path, when: dt.datetime, *, force: bool = False) -> Verified:
    """Run every case and write batchcal-validation-DATE.html and .json to the folder ``out``.

    ``when`` is the time of the run, with its zone. The JSON record is written last and carries the page's SHA-256.
    Raises UsageError where a record of that day stands already and ``force`` is not given, since a record that
    failed must not vanish behind a later one; OutputError where a file cannot be written.
    """
    stem = f"batchcal-validation-{when.date().isoformat()}"
    page, document = out / f"{stem}.html", out / f"{stem}.json"
    already = standing(page, document)
    if already and not force:
        raise UsageError(f"{' and '.join(already)} of this day: already in {out}; use --force, or another --out")
    record = validation_record(run_cases(), when)
    written = validation_page(record).encode()
    whole = {**record, "outputs": {page.name: sha256(written)}}
    write_files({page: written, document: (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode()})
    return Verified(whole, page, document)
