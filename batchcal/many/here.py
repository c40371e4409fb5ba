"""The worker processes of this machine: a workbook that ends its worker takes no other one with it.

Workers are started afresh (spawned), so that it is the same on every system. They never see Ctrl-C: the one process
that does lets them finish the workbooks at hand. They end when that process ends, in whatever way.
"""

import contextlib
import multiprocessing
import multiprocessing.connection
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.process import BaseProcess

from batchcal.errors import BatchcalError
from batchcal.many.entry import Entry, Outcome, Task
from batchcal.many.work import work
from batchcal.memory import leave_out_numpy, look_rarely, tidy

Told = Callable[[int, Entry], None]
"""Called with the position of a task and what came of it, as soon as it is known."""

_ENDED = "{name}: the process that worked on it was ended from outside, perhaps for want of memory; try it alone"


def work_here(tasks: Sequence[Task], jobs: int, told: Told, stopping: Callable[[], None]) -> list[BaseException]:
    """Work on all tasks in ``jobs`` processes; returns what was raised by programming errors.

    At most as many tasks as there are workers are handed out at a time, so that those that a broken pool had at hand
    are known: each is tried once more in a worker of its own. On KeyboardInterrupt ``stopping`` is called; those at
    hand are finished, or ended by another one, and it passes through.
    """
    waiting = dict(enumerate(tasks))
    pools = _Pools(told, stopping)
    while waiting:
        for position in pools.work(waiting, min(jobs, len(waiting))):
            alone = {position: tasks[position]}
            if pools.work(alone, 1) or alone:
                told(position, Entry(Outcome.FAILED, BatchcalError.exit_status, error=_ended(tasks[position])))
    return pools.bugs


class _Pools:
    """One pool of workers after another; a new one is needed where a worker was ended from outside."""

    def __init__(self, told: Told, stopping: Callable[[], None]) -> None:
        self._told, self._stopping = told, stopping
        self.bugs: list[BaseException] = []

    def work(self, waiting: dict[int, Task], jobs: int) -> list[int]:
        """Work until nothing is waiting or the pool breaks; returns the positions that were at hand when it broke."""
        others = set(multiprocessing.active_children())
        pool = ProcessPoolExecutor(jobs, multiprocessing.get_context("spawn"), _begin)
        at_hand: dict[Future[Entry], int] = {}
        suspects: list[int] = []
        ended = False
        try:
            while at_hand or (waiting and not ended):
                while waiting and not ended and len(at_hand) < jobs:
                    position, task = next(iter(waiting.items()))
                    try:
                        with _interrupts_held():
                            at_hand[pool.submit(_work, task)] = position
                    except BrokenProcessPool:
                        ended = True
                    else:
                        del waiting[position]
                done = wait(at_hand, return_when=FIRST_COMPLETED).done
                suspects += self._tell({future: at_hand.pop(future) for future in done})
                ended = ended or bool(suspects)
            pool.shutdown()
        except KeyboardInterrupt:
            self._finish(pool, at_hand, others)
            self._tell({future: at_hand[future] for future in at_hand if future.done() and not future.cancelled()})
            raise
        return sorted(suspects)

    def _tell(self, done: Mapping[Future[Entry], int]) -> list[int]:
        """Tell what came of these; returns the positions of those that a broken pool lost."""
        lost = []
        for future, position in done.items():
            raised = future.exception()
            if isinstance(raised, BrokenProcessPool):
                lost.append(position)
            elif raised is not None:
                self.bugs.append(raised)
                self._told(position, bug_entry(raised))
            else:
                self._told(position, future.result())
        return lost

    def _finish(self, pool: ProcessPoolExecutor, at_hand: Iterable[Future[Entry]], others: set[BaseProcess]) -> None:
        """Let the workers finish what is at hand, or end them; what they were writing is put in order by the next.

        The pool is not waited for: Python takes its thread for ended where Ctrl-C breaks into the waiting.
        """
        pool.shutdown(wait=False, cancel_futures=True)
        try:
            self._stopping()
            wait(at_hand)
        except KeyboardInterrupt:
            for worker in set(multiprocessing.active_children()) - others:
                worker.terminate()
            wait(at_hand)


def bug_entry(raised: BaseException) -> Entry:
    """Return the entry of a workbook on which the program itself failed."""
    said = f"an error of the program itself, please report it: {type(raised).__name__}: {raised}"
    return Entry(Outcome.FAILED, BatchcalError.exit_status, error=said)


def _ended(task: Task) -> str:
    return _ENDED.format(name=task.path.name)


@contextlib.contextmanager
def _interrupts_held() -> Iterator[None]:
    """Hold Ctrl-C back while workers are started; what is held back when a process starts it never sees."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _work(task: Task) -> Entry:
    """Work on a task, in the memory that the last one took: a worker sees thousands of workbooks."""
    tidy()
    return work(task)


def _begin() -> None:
    look_rarely()
    leave_out_numpy()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        multiprocessing.connection.wait([parent.sentinel])
        os._exit(1)
