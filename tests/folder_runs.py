"""Running ``batchcal process`` as a process of its own, whose workers are slow, fall over or are wrong where told."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from logbook import plain_log

PATIENCE = 60
"""Seconds after which something that should happen is given up; nothing is measured by it."""

# Every Python process started with this folder on its path runs it at its start, spawned workers included.
_TROUBLE = """
import os, pathlib, signal, sys, time
import batchcal.process as process
plain, folder = process.process_workbook, pathlib.Path(os.environ["TROUBLE"])
def troubled(path, *words, **more):
    (folder / f"{path.stem}.{os.getpid()}.began").touch()
    if path.stem.startswith("killed"):
        os.kill(os.getpid(), signal.SIGKILL)
    if path.stem.startswith("wrong"):
        raise TypeError("an error of the program")
    while path.stem.startswith("slow") and not (folder / "go").exists():
        time.sleep(0.02)
    return plain(path, *words, **more)
process.process_workbook = troubled
"""


def days(folder: Path, *names: str) -> Path:
    """Fill a folder with invented days; each has another first rise, so that no two have the same results."""
    folder.mkdir(exist_ok=True)
    for number, name in enumerate(names):
        plain_log(2.5 + number / 1000, 2.505 + number / 1000).save(folder, f"{name}.xlsx")
    return folder


class Trouble:
    """The folder from which processes take the trouble, and in which they say what they began."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir()
        (folder / "sitecustomize.py").write_text(_TROUBLE, encoding="utf-8")
        self.folder = folder
        self.environment = {**os.environ, "PYTHONPATH": str(folder), "TROUBLE": str(folder)}

    def go(self) -> None:
        """Let the slow ones go on."""
        (self.folder / "go").touch()

    def began(self, stem: str = "") -> list[int]:
        """Return the process ids of those that began to work on a workbook, in the order of their names."""
        return [int(path.name.split(".")[-2]) for path in sorted(self.folder.glob(f"{stem}*.began"))]

    def start(self, *words: object) -> "subprocess.Popen[str]":
        """Start the command in a process group of its own, as a shell does."""
        return subprocess.Popen(
            [sys.executable, "-m", "batchcal", *(str(word) for word in words)],
            env=self.environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
        )  # fmt: skip


def ended(command: "subprocess.Popen[str]") -> tuple[int, str, str]:
    """Wait for a command; return its exit status and what it said."""
    try:
        out, err = command.communicate(timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        os.killpg(command.pid, signal.SIGKILL)
        raise
    return command.returncode, out, err


def until(happened: Callable[[], bool]) -> None:
    """Wait until something has happened."""
    end = time.monotonic() + PATIENCE
    while not happened():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.02)


def lives(process: int) -> bool:
    """Return whether a process is there and has not ended."""
    try:
        return Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def stamps(paths: Sequence[Path]) -> dict[str, tuple[int, int]]:
    """Return what changes when a file is replaced."""
    return {path.name: (path.stat().st_ino, path.stat().st_mtime_ns) for path in paths}
