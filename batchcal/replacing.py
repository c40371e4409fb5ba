"""Replacing a set of files as one: whatever befalls, all of the older files stand in the end, or all of the new ones.

The new files are first written into a hidden folder beside their places and flushed to the disk, as they are made, so
that a long one need not stand whole in memory. Then a journal in that folder says which files belong together. From
here on the older files are moved into the hidden folder, and after them the new ones into their places, so that old and
new never stand side by side. Removing the journal ends it; only then do the older files go. What fails on the way is
undone at once. A run that is killed on the way leaves the journal, and whoever looks next finishes what it began
(``recover``).
"""

import contextlib
import hashlib
import io
import json
import os
import re
import stat
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, BinaryIO, Literal

from msgspec import Struct
from msgspec.structs import replace

from batchcal.errors import OutputError

with contextlib.suppress(ImportError):
    import fcntl

_BINARY = getattr(os, "O_BINARY", 0)
_JOURNAL = "journal"
_LEFT_OVER = re.compile(r"(\d+\.(new|old)|journal\.new)")

Content = bytes | Callable[[BinaryIO, Mapping[str, str]], None]
"""What a file holds: its bytes, or a function that writes them.

It is given the empty file, which it may read and seek in as well, and the SHA-256 of each file before it, by name.
"""

Recovered = Literal["", "finished", "undone"]
"""What became of a replacement that had been interrupted; blank where none had been."""


def sha256(data: bytes) -> str:
    """Return the SHA-256 of ``data`` in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def replace_files(staging: Path, files: Mapping[Path, Content]) -> None:
    """Put files in place, all of them or none; ``staging`` is the hidden folder, in the folder where they all belong.

    They are written in their order. Raises OutputError with one line where that fails, and whatever a function that
    writes one of them raises; what stood there before then stands there still or again.
    """
    with _told(staging.parent, "nothing can be written there"):
        staging.parent.mkdir(parents=True, exist_ok=True)
    with _claimed(staging):
        _put_in_order(staging)
        try:
            for path in files:
                _refuse_unfit(path)
            _carry_out(_written(staging, files))
        finally:
            _remove(staging)


def recover(staging: Path) -> Recovered:
    """Put in order what an interrupted run left in ``staging``, and say what became of it.

    Raises OutputError with one line where that cannot be done, or another run is writing there just now.
    """
    if not _is_there(staging):
        return ""
    with _claimed(staging):
        try:
            return _put_in_order(staging)
        finally:
            _remove(staging)


class _Entry(Struct, frozen=True):
    """One file of a set: its place, the SHA-256 of its new content, whether an older one stood at its place."""

    number: int
    place: Path
    sha256: str
    stood: bool
    staging: Path

    @property
    def new(self) -> Path:
        return self.staging / f"{self.number}.new"

    @property
    def old(self) -> Path:
        return self.staging / f"{self.number}.old"

    def is_new(self, path: Path) -> bool:
        with _told(path, "cannot be read"):
            if not _is_there(path) or not path.is_file():
                return False
            with path.open("rb") as stream:
                return _sha256_of(stream) == self.sha256


class _Swap(Struct, frozen=True):
    """A set on its way into place."""

    staging: Path
    entries: Sequence[_Entry]

    @property
    def is_whole(self) -> bool:
        """Whether every new file is there, in the hidden folder or at its place."""
        return all(entry.is_new(entry.new) or entry.is_new(entry.place) for entry in self.entries)

    def forward(self) -> None:
        """Move the older files out of the way and the new ones into place, from wherever an earlier run stopped."""
        for entry in reversed(self.entries):
            if _is_there(entry.new) and entry.stood and not _is_there(entry.old):
                _move(entry.place, entry.old, self.staging)
        for entry in self.entries:
            if _is_there(entry.new):
                _move(entry.new, entry.place, self.staging)
        _flush(self.staging.parent)
        self._end()

    def back(self) -> None:
        """Take the new files away again and put the older ones back."""
        for entry in reversed(self.entries):
            if not _is_there(entry.new) and entry.is_new(entry.place):
                _move(entry.place, entry.new, self.staging)
        for entry in self.entries:
            if _is_there(entry.old):
                _move(entry.old, entry.place, self.staging)
        _flush(self.staging.parent)
        self._end()

    def _end(self) -> None:
        with _told(self.staging.parent, "the outputs cannot be put in place"):
            os.unlink(self.staging / _JOURNAL)
        _flush(self.staging)


def _written(staging: Path, files: Mapping[Path, Content]) -> _Swap:
    """Write the new files into the hidden folder, and return the set once all are on the disk."""
    entries: list[_Entry] = []
    for number, (path, content) in enumerate(files.items()):
        entry = _Entry(number, path, "", _is_there(path), staging)
        with _told(path):
            found = _write_through(entry.new, content, {each.place.name: each.sha256 for each in entries})
        entries.append(replace(entry, sha256=found))
    return _Swap(staging, entries)


def _carry_out(swap: _Swap) -> None:
    try:
        _announce(swap)
        swap.forward()
    except BaseException as error:
        if _is_there(swap.staging / _JOURNAL):
            try:
                swap.back()
            except OutputError:
                kept = f"{error}; all files are kept in {swap.staging.name}, and the next run puts them in order"
                raise OutputError(kept) from error
        raise


def _announce(swap: _Swap) -> None:
    """Write the journal."""
    content = [{"name": entry.place.name, "sha256": entry.sha256, "stood": entry.stood} for entry in swap.entries]
    with _told(swap.entries[-1].place):
        _write_through(swap.staging / f"{_JOURNAL}.new", json.dumps(content).encode(), {})
        os.rename(swap.staging / f"{_JOURNAL}.new", swap.staging / _JOURNAL)
    _flush(swap.staging)
    _flush(swap.staging.parent)


def _put_in_order(staging: Path) -> Recovered:
    swap = _journal(staging)
    if swap is None:
        _clear(staging)
        return ""
    whole = swap.is_whole
    if whole:
        swap.forward()
    else:
        swap.back()
    _clear(staging)
    return "finished" if whole else "undone"


def _journal(staging: Path) -> _Swap | None:
    path = staging / _JOURNAL
    try:
        content: list[dict[str, Any]] = json.loads(path.read_bytes())
        entries = [
            _Entry(number, staging.parent / Path(one["name"]).name, str(one["sha256"]), one["stood"] is True, staging)
            for number, one in enumerate(content)
        ]
    except FileNotFoundError:
        return None
    except OSError as error:
        raise OutputError(f"{path}: cannot be read ({error.strerror or error}), so nothing is written here") from error
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise OutputError(f"{path}: not a journal of batchcal; move {staging.name} away and try again") from error
    return _Swap(staging, entries)


def _clear(staging: Path) -> None:
    """Remove what an ended run left in the hidden folder, as far as that goes: it is needed no more."""
    with contextlib.suppress(OSError):
        for name in os.listdir(staging):
            if _LEFT_OVER.fullmatch(name):
                with contextlib.suppress(OSError):
                    os.unlink(staging / name)


def _remove(staging: Path) -> None:
    """Remove the hidden folder, unless its journal still waits for the next run."""
    if not _is_there(staging / _JOURNAL):
        _clear(staging)
        with contextlib.suppress(OSError):
            os.rmdir(staging)


@contextlib.contextmanager
def _claimed(staging: Path) -> Iterator[None]:
    """Hold the hidden folder for this run alone; the hold ends with the process, however that ends."""
    with _told(staging.parent, "nothing can be written there"):
        handle = _held(staging)
    try:
        yield
    finally:
        if handle is not None:
            with contextlib.suppress(OSError):
                os.close(handle)


def _held(staging: Path) -> int | None:
    while True:
        with contextlib.suppress(FileExistsError):
            os.mkdir(staging)
        if os.name != "posix":
            return None  # no locks there: two runs on one workbook at the same time are not told apart
        handle = os.open(staging, os.O_RDONLY)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            os.close(handle)
            raise OutputError(f"{staging.parent}: another run is writing the same outputs; wait for it") from error
        except OSError:
            return handle  # a file system without locks
        try:
            same = os.path.samestat(os.stat(staging), os.fstat(handle))
        except FileNotFoundError:
            same = False
        if same:
            return handle
        os.close(handle)  # the run that held it has just ended and removed it


def _refuse_unfit(path: Path) -> None:
    with _told(path):
        try:
            mode = os.lstat(path).st_mode
        except FileNotFoundError:
            return
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(None, "a folder of this name is there")
        if stat.S_ISREG(mode) and not mode & 0o222:
            raise OSError(None, "it is write-protected; it is left as it is")


def _write_through(path: Path, content: Content, before: Mapping[str, str]) -> str:
    """Write a file, flush it to the disk, and return its SHA-256; ``before`` are those of the files before it."""
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | _BINARY, 0o666)
    with os.fdopen(handle, "w+b") as stream:
        if isinstance(content, bytes):
            stream.write(content)
        else:
            content(stream, before)
        stream.flush()
        os.fsync(handle)
        return _sha256_of(stream)


def _sha256_of(stream: io.BufferedRandom | io.BufferedReader) -> str:
    stream.seek(0)
    return hashlib.file_digest(stream, "sha256").hexdigest()


def _move(source: Path, target: Path, staging: Path) -> None:
    with _told(target if source.parent == staging else source):
        if _is_there(target):
            raise OutputError(
                f"{target}: stands where a file belongs that an interrupted run left in {staging.name}; move it away "
                "and try again"
            )
        os.rename(source, target)


def _is_there(path: Path) -> bool:
    try:
        os.lstat(path)
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError as error:
        raise OutputError(f"{path}: cannot be looked at ({error.strerror or error})") from error
    return True


def _flush(folder: Path) -> None:
    """Flush the names in a folder to the disk, where the system knows how; the files are whole either way."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def _told(path: Path, what: str = "cannot be written") -> Iterator[None]:
    try:
        yield
    except OSError as error:
        locked = isinstance(error, PermissionError) and path.is_file()
        hint = "; close it where it is open and try again" if locked else ""
        raise OutputError(f"{path}: {what} ({error.strerror or error}){hint}") from error
