"""What processing costs, beside a floor that is measured in turn with it on the same machine.

    python tests/benchmarks/run.py [FIRINGS | FIRINGSxREADINGS ...] [--trend FILES ...] [--pairs N]

makes workbooks of 40 and 1 000 firings, and of 40 with 60 readings each (40x60), where nothing is given; 10000 and
100000 may be asked for. The floor is the plain loading and saving of the same workbook with openpyxl. Where LibreOffice
is installed, sizes up to 10 000 are also held against its loading, recalculating and saving of an equal workbook with
25 columns of formulas. ``batchcal --help`` is held against a program of one empty command.

``batchcal trend`` over 250 results files of 40 firings, or as many as --trend says, is held against a program that
parses the JSON of each of them and does nothing else. With --trend and without sizes nothing else is measured.

Each figure is that of a whole process of its own, and the two of a pair run one after the other, their order changing
from pair to pair. A ratio is the median of the pairs, with the lowest and the highest. Linux or macOS.
"""

import argparse
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
OFFICE_FIRINGS = 10_000
READINGS = "60"
HELP_PAIRS = 15
ENDED_WELL = (0, 1)
"""Exit statuses of ``batchcal process`` that mean: worked out."""

_FLOOR = "import sys, openpyxl; openpyxl.load_workbook(sys.argv[1]).save(sys.argv[2])"
_PARSE = """import json, os, sys
for folder, _, names in os.walk(sys.argv[1]):
    for name in names:
        with open(os.path.join(folder, name), "rb") as file:
            json.load(file)
"""
_BARE = """import click
@click.group()
def main(): "Nothing."
@main.command()
def nothing(): "Nothing."
main()
"""
_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>0</value></prop></item>
</oor:items>
"""


@dataclass(frozen=True, slots=True)
class Cost:
    """What one process took: seconds by the clock, seconds of work, and memory at its highest in MB."""

    wall_s: float
    work_s: float
    memory_MB: float


Run = Callable[[], Cost]


def cost(command: Sequence[str | Path], ended_well: Sequence[int] = (0,)) -> Cost:
    """Run a command to its end; this program itself stays small, since a child's peak begins with its parent's."""
    # Where compiled files may not be kept, our sources would be compiled at every start and an installed library's not.
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment)
    _, status, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in ended_well:
        raise SystemExit(f"exit status {process.returncode}: {' '.join(map(str, command))}")
    return Cost(wall, used.ru_utime + used.ru_stime, _megabytes(used))


def _megabytes(used: resource.struct_rusage) -> float:
    return used.ru_maxrss / (1e6 if sys.platform == "darwin" else 1e6 / 1024)


def pairs(ours: Run, theirs: Run, count: int) -> list[tuple[Cost, Cost]]:
    """Run both in turn, now the one first and now the other; one run of each beforehand is not counted."""
    ours(), theirs()
    found = []
    for number in range(count):
        if number % 2:
            second = theirs()
            found.append((ours(), second))
        else:
            found.append((ours(), theirs()))
    return found


def line(what: str, beside: str, found: Sequence[tuple[Cost, Cost]]) -> str:
    """Return a line of the table: the medians of both, and the ratios."""
    cells = [what, beside]
    for name, form in (("wall_s", ".2f"), ("work_s", ".2f"), ("memory_MB", ".0f")):
        ours, theirs = ([getattr(pair[side], name) for pair in found] for side in (0, 1))
        ratios = [one / other for one, other in zip(ours, theirs, strict=True)]
        cells.append(f"{statistics.median(ours):{form}} / {statistics.median(theirs):{form}}")
        cells.append(f"{statistics.median(ratios):.2f} ({min(ratios):.2f} to {max(ratios):.2f})")
    return "| " + " | ".join(cells) + " |"


class Bench:
    """Makes workbooks in a folder and runs what is held against each other on them."""

    def __init__(self, folder: Path, count: int) -> None:
        self._folder, self._count = folder, count
        profile = folder / "office" / "user"
        profile.mkdir(parents=True)
        (profile / "registrymodifications.xcu").write_text(_RECALCULATE, encoding="utf-8")

    def lines(self, size: str) -> list[str]:
        """Return the lines for one size."""
        firings, _, readings = size.partition("x")
        book = self._made("readings" if readings else "log", firings)
        name = f"{firings} firings" + (f", {readings} readings each" if readings else "")

        def ours() -> Cost:
            return self._process(book)

        found = [
            line(f"process, {name}", "openpyxl, load and save", pairs(ours, lambda: self._floor(book), self._count))
        ]
        office = shutil.which("soffice")
        if office and not readings and int(firings) <= OFFICE_FIRINGS:
            equal = self._made("formulas", firings)
            found.append(
                line(
                    f"process, {name}", "LibreOffice, 25 formula columns",
                    pairs(ours, lambda: self._office(office, equal), self._count),
                )
            )  # fmt: skip
        return found

    def help_line(self) -> str:
        """Return the line for the shortest command."""
        ours, bare = [sys.executable, "-m", "batchcal", "--help"], [sys.executable, "-c", _BARE, "--help"]
        return line("--help", "bare click program", pairs(lambda: cost(ours), lambda: cost(bare), HELP_PAIRS))

    def trend_line(self, files: int) -> str:
        """Return the line for the long run of so many results files."""
        archive = self._folder / f"archive-{files}"
        self._make("benchmarks.archive", str(files), str(archive))
        words: list[str | Path] = ["trend", archive, "--out", self._folder / "trend", "--force"]
        found = pairs(
            lambda: cost([sys.executable, "-m", "batchcal", *words]),
            lambda: cost([sys.executable, "-c", _PARSE, archive]),
            self._count,
        )
        shutil.rmtree(archive)
        return line(f"trend, {files} results files", "json, load each", found)

    def _made(self, kind: str, firings: str) -> Path:
        path = self._folder / f"{kind}-{firings}.xlsx"
        self._make("benchmarks.books", kind, firings, str(path))
        return path

    def _make(self, *words: str) -> None:
        environment = {**os.environ, "PYTHONPATH": str(TESTS)}
        subprocess.run([sys.executable, "-m", *words], env=environment, check=True)

    def _process(self, book: Path) -> Cost:
        out = self._folder / "out"
        shutil.rmtree(out, ignore_errors=True)
        return cost([sys.executable, "-m", "batchcal", "process", book, "--out", out], ENDED_WELL)

    def _floor(self, book: Path) -> Cost:
        return cost([sys.executable, "-c", _FLOOR, book, self._folder / "saved.xlsx"])

    def _office(self, office: str, book: Path) -> Cost:
        profile = f"-env:UserInstallation=file://{self._folder / 'office'}"
        return cost([office, profile, "--headless", "--convert-to", "xlsx", "--outdir", self._folder / "saved", book])


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sizes", nargs="*", metavar="FIRINGS", help="40, 40x60 and 1000 by default")
    parser.add_argument("--trend", type=int, nargs="+", metavar="FILES", help="250 by default")
    parser.add_argument("--pairs", type=int, default=5, help="pairs of each; 5 by default")
    given = parser.parse_args()
    sizes = given.sizes or ([] if given.trend else ["40", "40x60", "1000"])
    for size in sizes:
        firings, _, readings = size.partition("x")
        if not firings.isdecimal() or int(firings) < 40 or readings not in ("", READINGS):
            parser.error(f"{size}: a number of firings from 40, or one followed by x{READINGS}")
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder), given.pairs)
        _say("| what | beside | wall s | ratio | work s | ratio | peak MB | ratio |")
        _say("| --- | --- | --- | --- | --- | --- | --- | --- |")
        if sizes:
            _say(bench.help_line())
        for size in sizes:
            for one in bench.lines(size):
                _say(one)
        for files in given.trend or ([] if given.sizes else [250]):
            _say(bench.trend_line(files))


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
