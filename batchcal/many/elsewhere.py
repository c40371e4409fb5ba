"""The workers of a dask.distributed scheduler: the same call for each workbook, on inputs and outputs that all see.

The scheduler does what is its own: it hands out, and hands out anew what a lost worker had at hand or had not yet told.
What such a worker had finished is then found up to date. Where no worker is left, or the scheduler itself is lost, the
work ends, and what is done stays done.
"""

import contextlib
import logging
import time
from collections.abc import Sequence
from typing import Any

from distributed import Client, as_completed
from distributed.scheduler import KilledWorker

import batchcal
from batchcal.errors import BatchcalError, UsageError
from batchcal.many.entry import Entry, Outcome, Task
from batchcal.many.here import Told, bug_entry
from batchcal.many.work import work

CONNECT_SECONDS = 10
"""How long a scheduler may take to answer."""


WORKERLESS_SECONDS = 60
"""How long the work waits for another worker where none is left."""

LOOK_SECONDS = 5
"""How often the scheduler is asked for its workers while nothing is finished."""

_IDLE_SECONDS = 0.1


def work_elsewhere(tasks: Sequence[Task], address: str, told: Told) -> tuple[list[BaseException], str]:
    """Work on all tasks on the workers of the scheduler at ``address``.

    Returns what programming errors raised and, where the work ended before all was done, why. Raises UsageError where
    no scheduler answers, or a worker cannot do the work as it is done here.
    """
    # What is handed out anew is no concern of a user, and what is lost is said in our own words.
    logging.getLogger("distributed.client").setLevel(logging.CRITICAL)
    try:
        client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise UsageError(f"--scheduler {address}: no scheduler answers there ({type(error).__name__})") from error
    bugs: list[BaseException] = []
    with client:
        _refuse_unfit_workers(client, address)
        futures = {client.submit(work, task.absolute(), pure=False): position for position, task in enumerate(tasks)}
        # With results: to fetch one that was lost with its worker would wait for the next worker, perhaps for ever.
        waiting = as_completed(list(futures), loop=client.loop, with_results=True, raise_errors=False)
        watch = _Watch(client)
        try:
            while not waiting.is_empty():
                finished = waiting.next_batch(block=False)
                for future, result in finished:
                    if future.cancelled():
                        return bugs, f"the scheduler at {address} was lost"
                    raised = future.exception() if future.status == "error" else None
                    if isinstance(raised, KilledWorker):
                        name = tasks[futures[future]].path.name
                        said = f"{name}: one worker after another was lost while working on it"
                        told(futures[future], Entry(Outcome.FAILED, BatchcalError.exit_status, error=said))
                    elif raised is not None:
                        bugs.append(raised)
                        told(futures[future], bug_entry(raised))
                    else:
                        told(futures[future], result)
                if not finished:
                    if watch.finds_nobody():
                        client.cancel(list(futures))
                        return bugs, f"the scheduler at {address} has had no worker for {WORKERLESS_SECONDS} s"
                    time.sleep(_IDLE_SECONDS)
        except KeyboardInterrupt:
            client.cancel(list(futures))
            raise
    return bugs, ""


class _Watch:
    """Looks now and then whether the scheduler still has workers."""

    def __init__(self, client: Client) -> None:
        self._client = client
        self._looked = self._seen = time.monotonic()

    def finds_nobody(self) -> bool:
        """Return whether no worker has been seen for so long that none will come."""
        now = time.monotonic()
        if now - self._looked < LOOK_SECONDS:
            return False
        self._looked = now
        with contextlib.suppress(OSError):  # a scheduler that does not answer has no worker for us
            if self._client.nthreads():
                self._seen = now
        return now - self._seen > WORKERLESS_SECONDS


def _refuse_unfit_workers(client: Client, address: str) -> None:
    versions: Any = client.get_versions(packages=["batchcal"])
    workers = versions["workers"]
    if not workers:
        raise UsageError(f"--scheduler {address}: it has no worker")
    for worker, found in workers.items():
        version = found["packages"].get("batchcal")
        if version != batchcal.__version__:
            has = f"batchcal {version}" if version else "no batchcal"
            raise UsageError(f"--scheduler {address}: the worker {worker} has {has}; here is {batchcal.__version__}")
