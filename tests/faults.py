"""Faults at the calls to the system with which files are written: an error, or the end of the process."""

import errno
import os
import signal
from collections.abc import Callable
from typing import Any

import pytest

CALLS = ("mkdir", "open", "write", "fsync", "close", "rename", "unlink", "rmdir", "listdir", "lstat")
"""Functions of ``os`` that writing uses, directly or through pathlib."""


class Faults:
    """Counts the calls; from the one numbered ``at`` on, or at it alone, ``act`` is called before or after it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.real = {name: getattr(os, name) for name in CALLS}
        self.made: list[str] = []
        self.at = 0
        self.lasting = False
        self.after = False
        self.act: Callable[[], None] = lambda: None
        for name in CALLS:
            monkeypatch.setattr(os, name, self._wrapped(name))

    def set(self, at: int, act: Callable[[], None], *, after: bool = False, lasting: bool = False) -> None:
        self.made = []
        self.at, self.act, self.after, self.lasting = at, act, after, lasting

    def clear(self) -> None:
        self.set(0, lambda: None)

    def _wrapped(self, name: str) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            self.made.append(name)
            number = len(self.made)
            due = self.at and (number == self.at or (self.lasting and number > self.at))
            if due and not self.after:
                if name == "write":  # a full disk takes a part of what it is given
                    self.real["write"](arguments[0], arguments[1][: len(arguments[1]) // 2])
                self._strike(name, arguments)
            try:
                # Nothing here outlives the machine's memory, so the disk need not be waited for.
                return None if name == "fsync" else self.real[name](*arguments, **named)
            finally:
                if due and self.after:
                    self._strike(name, arguments)

        return call

    def _strike(self, name: str, arguments: Any) -> None:
        if name == "close" and not self.after:
            self.real["close"](*arguments)  # a file that cannot be closed without error is closed all the same
        self.act()


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
