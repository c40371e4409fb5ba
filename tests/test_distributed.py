"""Folders on the workers of a dask.distributed scheduler: a real scheduler and real workers on this machine."""

import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from folder_runs import Trouble, days, ended, lives, until
from test_cli import call
from test_folders import index, made, table

WORKED = {"done", "up"}
"""What was done by a worker that is lost before it is told is found up to date by the next."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Cluster:
    """A scheduler and its workers, each a process without a keeper that would start it anew."""

    def __init__(self, trouble: Trouble, folder: Path) -> None:
        folder.mkdir()
        self.address = f"tcp://127.0.0.1:{free_port()}"
        self._trouble, self._folder = trouble, folder
        self.processes: list[subprocess.Popen[bytes]] = []
        self._start("scheduler", "--host", self.address, "--no-dashboard", "--no-show")
        until(self._answers)

    def add_workers(self, bad: Path) -> None:
        """Start two and wait until one of them takes a workbook that cannot be read."""
        words = ("--no-nanny", "--nthreads", "1", "--no-dashboard", "--host", "127.0.0.1")
        for _ in range(2):
            self._start("worker", self.address, *words, "--local-directory", str(self._folder))
        until(lambda: "it has no worker" not in call("process", bad, "--scheduler", self.address).stderr)

    def _start(self, what: str, *words: str) -> None:
        log = (self._folder / f"{what}-{len(self.processes)}.log").open("wb")
        command = [sys.executable, "-m", "distributed.cli." + f"dask_{what}", *words]
        with log:
            self.processes.append(
                subprocess.Popen(command, env=self._trouble.environment, stdout=log, stderr=log, cwd=self._folder)
            )

    def _answers(self) -> bool:
        host, _, port = self.address.removeprefix("tcp://").partition(":")
        with socket.socket() as probe:
            return probe.connect_ex((host, int(port))) == 0

    def end(self) -> None:
        for process in self.processes:
            process.kill()
        for process in self.processes:
            process.wait()


@pytest.fixture
def trouble(tmp_path: Path) -> Trouble:
    return Trouble(tmp_path / "trouble")


@pytest.fixture
def cluster(tmp_path: Path, trouble: Trouble) -> Iterator[Cluster]:
    cluster = Cluster(trouble, tmp_path / "cluster")
    yield cluster
    cluster.end()


def test_a_worker_killed_half_way_and_every_byte_is_that_of_a_run_here(
    tmp_path: Path, trouble: Trouble, cluster: Cluster
) -> None:
    folder = days(tmp_path / "days", "a", "b", "slow-1", "slow-2", "y", "z")
    (folder / "bad.xlsx").write_bytes(b"this is no workbook")
    alone = call("process", folder, "--scheduler", cluster.address)
    assert (alone.exit_code, alone.stderr) == (2, f"batchcal: --scheduler {cluster.address}: it has no worker\n")
    cluster.add_workers(folder / "bad.xlsx")
    command = trouble.start("process", folder, "--scheduler", cluster.address, "--out", tmp_path / "out")
    until(lambda: len(trouble.began("slow")) >= 1)
    killed = trouble.began("slow")[0]
    assert killed in {process.pid for process in cluster.processes[1:]}
    os.kill(killed, signal.SIGKILL)
    until(lambda: not lives(killed))
    trouble.go()
    status, out, err = ended(command)
    assert status == 3, err
    outcomes = {name: row[0] for name, row in table(out).items()}
    assert outcomes.pop("bad.xlsx") == "failed"
    assert len(outcomes) == 6
    assert set(outcomes.values()) <= WORKED, err
    # What the lost worker had begun was begun anew by the other.
    assert len(set(trouble.began("slow"))) == 2
    assert call("process", folder, "--out", tmp_path / "here").exit_code == 3
    there = {path.name: path.read_bytes() for path in made(tmp_path / "out")}
    assert len(there) == 18
    assert there == {path.name: path.read_bytes() for path in made(tmp_path / "here")}
    again = call("process", folder, "--scheduler", cluster.address, "--out", tmp_path / "out")
    assert "6 up to date" in again.stderr


def test_a_workbook_that_ends_its_worker_and_control_c(
    tmp_path: Path, trouble: Trouble, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The scheduler gives a task up with the first worker that it takes along (of itself: the fourth). It suspects all
    # that the worker had at hand; with more tasks than it hands out at once, a worker has one.
    trouble.environment["DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES"] = "0"
    trouble.environment["DASK_DISTRIBUTED__SCHEDULER__WORKER_SATURATION"] = "1.0"
    cluster = Cluster(trouble, tmp_path / "cluster")
    try:
        folder = days(tmp_path / "days", "a", "b", "c", "d", "e", "killed", "z")
        bad = tmp_path / "bad.xlsx"
        bad.write_bytes(b"this is no workbook")
        cluster.add_workers(bad)
        status, out, err = ended(trouble.start("process", folder, "--scheduler", cluster.address))
        assert status == 3, err
        outcomes = {name: row[0] for name, row in table(out).items()}
        assert outcomes.pop("killed.xlsx") == "failed"
        assert len(outcomes) == 6
        assert set(outcomes.values()) <= WORKED, err
        assert "distributed" not in err
        assert "killed.xlsx: one worker after another was lost" in err
        days(folder, "slow")
        command = trouble.start("process", folder / "slow.xlsx", "--scheduler", cluster.address)
        until(lambda: len(trouble.began("slow")) == 1)
        os.killpg(command.pid, signal.SIGINT)
        status, out, err = ended(command)
        assert (status, table(out)["slow.xlsx"][0]) == (130, "not"), err
        assert "Traceback" not in err
    finally:
        trouble.go()
        cluster.end()


class _Killing(threading.Thread):
    """Kills processes as soon as a worker has begun to work on a slow workbook and all others are done."""

    def __init__(self, trouble: Trouble, processes: list[subprocess.Popen[bytes]], out: Path, done: int) -> None:
        super().__init__(daemon=True)
        self._trouble, self._processes, self._out, self._done = trouble, processes, out, done

    def run(self) -> None:
        until(lambda: bool(self._trouble.began("slow")) and len(list(self._out.glob("*.results.json"))) == self._done)
        for process in self._processes:
            process.kill()


@pytest.mark.parametrize("lost", ["workers", "scheduler"])
def test_without_workers_or_scheduler_the_work_ends_and_the_next_run_goes_on(
    tmp_path: Path, trouble: Trouble, cluster: Cluster, monkeypatch: pytest.MonkeyPatch, lost: str
) -> None:
    monkeypatch.setattr("batchcal.many.elsewhere.WORKERLESS_SECONDS", 1)
    monkeypatch.setattr("batchcal.many.elsewhere.LOOK_SECONDS", 0.2)
    folder = days(tmp_path / "days", "a", "b", "slow")
    bad = tmp_path / "bad.xlsx"
    bad.write_bytes(b"this is no workbook")
    cluster.add_workers(bad)
    out = tmp_path / "out"
    killing = _Killing(trouble, cluster.processes[1:] if lost == "workers" else cluster.processes[:1], out, 2)
    killing.start()
    result = call("process", folder, "--scheduler", cluster.address, "--out", out)
    killing.join()
    assert result.exit_code == 3, result.output
    says = "has had no worker for 1 s" if lost == "workers" else "was lost"
    assert result.stderr.splitlines()[-1].startswith("batchcal: 3 workbooks: ")
    assert f"the scheduler at {cluster.address} {says}: give the command again to go on" in result.stderr
    assert "Traceback" not in result.stderr
    outcomes = {name: row[0] for name, row in table(result.stdout).items()}
    assert outcomes.pop("slow.xlsx") == "not"
    assert set(outcomes.values()) <= {"done", "not"}
    assert [entry["outcome"] for entry in index(out)][2] == "not reached"
    cluster.end()  # a worker that lost its scheduler would go on with the slow one
    trouble.go()
    again = call("process", folder, "--out", out)
    assert again.exit_code == 0, again.output
    assert {name: row[0] for name, row in table(again.stdout).items()} == {
        "a.xlsx": "up", "b.xlsx": "up", "slow.xlsx": "done",
    }  # fmt: skip


def test_no_scheduler_and_no_extra_are_one_line_each(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = days(tmp_path / "days", "a")
    address = f"tcp://127.0.0.1:{free_port()}"
    monkeypatch.setattr("batchcal.many.elsewhere.CONNECT_SECONDS", 1)
    for words, says in (
        (["--scheduler", address], f"--scheduler {address}: no scheduler answers there"),
        (["--scheduler", "no address: at all"], "no scheduler answers there"),
        (["--scheduler", address, "--jobs", 2], "--jobs is for this machine"),
    ):
        result = call("process", folder, *words)
        assert result.exit_code == 2
        assert says in result.stderr
        assert len(result.stderr.splitlines()) == 1
    monkeypatch.delitem(sys.modules, "batchcal.many.elsewhere")
    monkeypatch.setitem(sys.modules, "distributed", None)
    result = call("process", folder, "--scheduler", address)
    assert (result.exit_code, len(result.stderr.splitlines())) == (2, 1)
    assert "pip install 'batchcal[distributed]'" in result.stderr
    assert made(folder) == []
