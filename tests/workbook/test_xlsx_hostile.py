"""Every hostile and broken workbook: one clear line, or the reading and the findings that it must give, no more."""

import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from hostile import MODULES, all_cases
from hostile.base import packed, parts
from hostile.case import Case, Refused

from batchcal.cli import cli
from batchcal.errors import WorkbookError
from batchcal.evaluate import evaluate
from batchcal.workbook.grid import Grid
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

CASES = list(all_cases())
BOMBS = (
    "a sheet of 300 MB that claims 1 kB",
    "one packed stream for 4 000 parts of 300 MB",
    "a sheet of 300 MB of blanks",
    "a sheet of 300 MB of tabs in its first tag",
    "texts: billion laughs",
    "a long text in 200 000 cells",
    "a long formula in 200 000 cells",
    "archives within archives",
    "1 500 000 elements that nobody knows beside the sheets",
)


def reading(path: Path) -> tuple[tuple[Grid, ...], set[str]]:
    source = open_source(path)
    return source.grids, {finding.code for finding in evaluate(read_workbook(source)).findings}


@pytest.fixture(scope="module")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> tuple[tuple[Grid, ...], set[str]]:
    path = tmp_path_factory.mktemp("untouched") / "day.xlsx"
    path.write_bytes(packed(parts()))
    return reading(path)


def test_there_are_many_and_each_has_its_name() -> None:
    names = [case.name for case in CASES]
    assert len(set(names)) == len(names) >= 700
    assert all(len(list(module.cases())) >= 40 for module in MODULES)
    assert set(BOMBS) <= set(names)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_hostile_file(case: Case, tmp_path: Path, untouched: tuple[tuple[Grid, ...], set[str]]) -> None:
    path = tmp_path / f"day{case.ending}"
    path.write_bytes(case.make())
    if isinstance(case.outcome, Refused):
        with pytest.raises(WorkbookError) as caught:
            reading(path)
        line = str(caught.value)
        assert line.startswith(path.name)
        assert case.outcome.says in line
        assert line.isprintable()
        assert len(line) < 260
        return
    grids, codes = reading(path)
    if case.outcome.same:
        assert grids == untouched[0]
    assert codes - untouched[1] == case.outcome.codes
    for grid in grids:
        assert list(grid.rows) == sorted(grid.rows)
        assert all(list(cells) == sorted(cells) and cells for cells in grid.rows.values())


@cache
def _smaller() -> list[Case]:
    """Return one case in seven, without the large ones."""
    return [case for case in CASES[::7] if case.name not in BOMBS]


def test_the_command_line_says_one_line_of_each(tmp_path: Path) -> None:
    refused: list[Path] = []
    read: list[Path] = []
    for number, case in enumerate(_smaller()):
        path = tmp_path / f"{number}{case.ending}"
        path.write_bytes(case.make())
        (refused if isinstance(case.outcome, Refused) else read).append(path)
    for paths, statuses in ((refused, {3}), (read, {0, 1})):
        result = CliRunner().invoke(cli, ["check", *map(str, paths)])
        assert isinstance(result.exception, SystemExit), result.exception
        assert result.exit_code in statuses
        lines = [line for line in result.stderr.splitlines() if line.startswith("batchcal: ")]
        assert [line.split(":")[1].strip() for line in lines] == [path.name for path in paths]
    result = CliRunner().invoke(cli, ["process", *map(str, read)])
    assert isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code in {0, 1}
    assert all(path.with_suffix(".results.json").exists() for path in read)


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process are set another way there")
def test_bombs_stay_small_in_a_process_that_has_little(tmp_path: Path) -> None:
    """400 MB of addresses and two minutes of work for all of them; the library alone takes half of the former."""
    paths: list[Path] = []
    for case in CASES:
        if case.name in BOMBS:
            paths.append(tmp_path / f"{len(paths)}{case.ending}")
            paths[-1].write_bytes(case.make())
    program = (
        "import resource, sys; from pathlib import Path\n"
        "from batchcal.errors import WorkbookError\n"
        "from batchcal.workbook.source import open_source\n"
        "resource.setrlimit(resource.RLIMIT_AS, (400_000_000, 400_000_000))\n"
        "resource.setrlimit(resource.RLIMIT_CPU, (120, 120))\n"
        "for name in sys.argv[1:]:\n"
        "    try: print(len(open_source(Path(name)).grids))\n"
        "    except WorkbookError as error: print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, *map(str, paths)], capture_output=True, text=True, env=os.environ, check=False
    )
    assert done.returncode == 0, done.stderr[-500:]
    assert len(done.stdout.splitlines()) == len(paths)


@pytest.mark.parametrize("ending", [".xlsx", ".xlsm"])
def test_what_is_no_regular_file(tmp_path: Path, ending: str) -> None:
    fifo, link, loop = (tmp_path / f"{name}{ending}" for name in ("fifo", "link", "loop"))
    device, nowhere = (tmp_path / f"{name}{ending}" for name in ("device", "nowhere"))
    os.mkfifo(fifo)
    link.symlink_to(tmp_path / "absent")
    loop.symlink_to(loop)
    device.symlink_to("/dev/zero")
    nowhere.symlink_to("/dev/null")
    folder = tmp_path / f"folder{ending}"
    folder.mkdir()
    for path in (fifo, link, loop, device, nowhere, folder, tmp_path / f"absent{ending}"):
        with pytest.raises(WorkbookError) as caught:
            open_source(path)
        assert "\n" not in str(caught.value)
        assert path.name in str(caught.value)
    huge = tmp_path / f"huge{ending}"
    with huge.open("wb") as file:
        file.truncate(1_000_000_001)  # a hole, which takes no room
    with pytest.raises(WorkbookError, match="larger than 1 GB"):
        open_source(huge)
    good = tmp_path / f"good{ending}"
    good.write_bytes(packed(parts()))
    good_link = tmp_path / f"to_good{ending}"
    good_link.symlink_to(good)
    assert open_source(good_link).grids == open_source(good).grids
