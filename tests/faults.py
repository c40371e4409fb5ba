"""Faults at the calls to the system with which files are written: an error, or the end of the process."""

import errno
import io
import os
import signal
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

CALLS = ("mkdir", "open", "fsync", "close", "rename", "unlink", "rmdir", "listdir", "lstat")
"""Functions of ``os`` that writing uses, directly or through pathlib; with them the writes and ends of its streams."""


class Faults:
    """Counts the calls; from the one numbered ``at`` on, or at it alone, ``act`` is called before or after it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.made: list[str] = []
        self.at = 0
        self.lasting = False
        self.after = False
        self.act: Callable[[], None] = lambda: None
        for name in CALLS:
            monkeypatch.setattr(os, name, partial(self.call, name, getattr(os, name)))
        monkeypatch.setattr(os, "fdopen", lambda handle, mode: io.BufferedRandom(Stream(handle, self.call)))

    def set(self, at: int, act: Callable[[], None], *, after: bool = False, lasting: bool = False) -> None:
        self.made = []
        self.at, self.act, self.after, self.lasting = at, act, after, lasting

    def clear(self) -> None:
        self.set(0, lambda: None)

    def call(self, name: str, real: Callable[..., Any], *arguments: Any, **named: Any) -> Any:
        """Call a function of the system, with the fault that is due before or after it."""
        self.made.append(name)
        number = len(self.made)
        due = self.at and (number == self.at or (self.lasting and number > self.at))
        if due and not self.after:
            if name == "write":  # a full disk takes a part of what it is given
                real(arguments[0][: len(arguments[0]) // 2])
            if name == "close":  # a file that cannot be closed without error is closed all the same
                real(*arguments)
            self.act()
        try:
            # Nothing here outlives the machine's memory, so the disk need not be waited for.
            return None if name == "fsync" else real(*arguments, **named)
        finally:
            if due and self.after:
                self.act()


class Stream(io.FileIO):
    """A new file that is written to, and the end of it, by calls that are counted."""

    def __init__(self, handle: int, call: Callable[..., Any]) -> None:
        super().__init__(handle, "w+")
        self._call = call

    def write(self, data: "ReadableBuffer", /) -> int:
        written: int = self._call("write", super().write, data)
        return written

    def close(self) -> None:
        if self.closed:
            return
        self._call("close", super().close)


def failing(number: int) -> Callable[[], None]:
    def act() -> None:
        raise OSError(number, os.strerror(number))

    return act


def dying() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


FULL, BROKEN, REFUSED = errno.ENOSPC, errno.EIO, errno.EACCES


def killed_in_child(run: Callable[[], object], faults: Faults) -> bool:
    """Run in a child process with the faults that are set, clear them here, and return whether it was killed."""
    child = os.fork()
    if child == 0:
        try:
            run()
        finally:
            os._exit(0)
    faults.clear()
    _, status = os.waitpid(child, 0)
    return os.WIFSIGNALED(status)
