"""What many small workbooks cost: memory over time, workers against one, and leaving what is up to date.

    python tests/benchmarks/folder.py [WORKBOOKS] [--jobs N ...] [--keep FOLDER]

makes as many workbooks (250) of six to ten firings each, of invented figures, and processes all of them once with each
number of workers (1 and 2). Every second it looks at the memory of the command and of its workers and prints, at each
tenth of the workbooks, the highest since the last. Then the command is given again: all are up to date. Seconds of work
are those of the command and its workers together; the ratio by the clock tells something on an idle machine only.
With --keep the workbooks stay in FOLDER, where a later run finds them. Linux.
"""

import argparse
import datetime as dt
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from logbook import DAY, plain_log

from benchmarks.books import write  # the path of the tests stands first

ENDED_WELL = (0, 1)
_PAGE_MB = os.sysconf("SC_PAGE_SIZE") / 1e6


def small_days(count: int, folder: Path) -> None:
    """Write so many workbooks of three to five samples, each fired twice; those that are there already are left."""
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(count):
        path = folder / f"day-{number:06}.xlsx"
        if path.exists():
            continue
        chance = random.Random(number)
        log = plain_log()
        log.setup["Batch date"] = (DAY + dt.timedelta(days=number % 80),)
        log.rows["Runs"], log.rows["Samples"] = [], []
        for place in range(3 + number % 3):
            sample, rise = f"{number}-{place + 1}", chance.uniform(1.9, 2.8)
            for replicate in (1, 2):
                log.add("Runs", firing_no=f"{number}-{2 * place + replicate}", sample_no=sample, sample_mass=1.0,
                        temperature_rise=round(rise + chance.gauss(0, 0.003), 4))  # fmt: skip
            log.add("Samples", sample_no=sample, moisture_analysis=round(chance.uniform(1, 9), 2))
        write(log, path)


@dataclass(slots=True)
class Watched:
    """One run of the command: what it took, and memory in MB by the number of workbooks that were done."""

    wall_s: float = 0.0
    work_s: float = 0.0
    memory: list[tuple[int, float, float]] = field(default_factory=list)
    """Workbooks done, and the highest since the line before of the command and of one of its workers."""


def watched(command: Sequence[str | Path], out: Path, count: int) -> Watched:
    """Run the command to its end and look at its memory every second."""
    found, start, before = Watched(), time.perf_counter(), _work_s()
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment)
    highest, step = (0.0, 0.0), 1
    while process.poll() is None:
        mine, workers = _memory(process.pid), [_memory(child) for child in _children(process.pid)]
        highest = max(highest[0], mine), max([highest[1], *workers])
        done = _done(out)
        if done >= step * count / 10:
            found.memory.append((done, *highest))
            step, highest = int(10 * done / count) + 1, (0.0, 0.0)
        time.sleep(1)
    found.wall_s = time.perf_counter() - start
    found.work_s = _work_s() - before
    if process.returncode not in ENDED_WELL:
        raise SystemExit(f"exit status {process.returncode}: {' '.join(map(str, command))}")
    return found


def _work_s() -> float:
    """Return the seconds of work of all commands that have ended, with those of their workers."""
    used = os.times()
    return used.children_user + used.children_system


def _memory(process: int) -> float:
    try:
        return int(Path(f"/proc/{process}/statm").read_text(encoding="ascii").split()[1]) * _PAGE_MB
    except (FileNotFoundError, ProcessLookupError):
        return 0.0


def _children(process: int) -> list[int]:
    try:
        return [int(child) for child in Path(f"/proc/{process}/task/{process}/children").read_text("ascii").split()]
    except (FileNotFoundError, ProcessLookupError):
        return []


def _done(out: Path) -> int:
    """Return how many results files stand in a folder; of one that is being written the name is there at the end."""
    try:
        return sum(entry.name.endswith(".results.json") for entry in os.scandir(out))
    except FileNotFoundError:
        return 0


def main() -> None:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("workbooks", type=int, nargs="?", default=250)
    parser.add_argument("--jobs", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--keep", type=Path, metavar="FOLDER")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        days = given.keep or Path(scratch) / "days"
        small_days(given.workbooks, days)
        for jobs in given.jobs:
            out = Path(scratch) / f"out-{jobs}"
            command = [sys.executable, "-m", "batchcal", "process", days, "--out", out, "--jobs", str(jobs)]
            for what in ("processed", "up to date"):
                found = watched(command, out, given.workbooks)
                _say(
                    f"{given.workbooks} workbooks {what}, {jobs} workers: {found.wall_s:.1f} s by the clock, "
                    f"{found.work_s:.1f} s of work, {1000 * found.work_s / given.workbooks:.0f} ms each"
                )
                if what == "processed":
                    for done, parent, worker in found.memory:
                        _say(f"  {done:6} done: command {parent:.0f} MB, largest worker {worker:.0f} MB")


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
