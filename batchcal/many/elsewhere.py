"""The workers of a dask.distributed scheduler: the same call for each workbook, on inputs and outputs that all see.

The scheduler does what is its own: it hands out, and hands out anew what a lost worker had at hand or had not yet told.
What such a worker had finished is then found up to date.
"""

import logging
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


def work_elsewhere(tasks: Sequence[Task], address: str, told: Told) -> list[BaseException]:
    """Work on all tasks on the workers of the scheduler at ``address``; returns what programming errors raised.

    Raises UsageError where no scheduler answers, or a worker cannot do the work as it is done here.
    """
    logging.getLogger("distributed.client").setLevel(logging.ERROR)  # what is handed out anew is no concern of a user
    try:
        client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise UsageError(f"--scheduler {address}: no scheduler answers there ({type(error).__name__})") from error
    bugs: list[BaseException] = []
    with client:
        _refuse_unfit_workers(client, address)
        futures = {client.submit(work, task.absolute(), pure=False): position for position, task in enumerate(tasks)}
        try:
            for future in as_completed(list(futures), loop=client.loop):
                raised = future.exception() if future.status == "error" else None
                if isinstance(raised, KilledWorker):
                    said = f"{tasks[futures[future]].path.name}: one worker after another was lost while working on it"
                    told(futures[future], Entry(Outcome.FAILED, BatchcalError.exit_status, error=said))
                elif raised is not None:
                    bugs.append(raised)
                    told(futures[future], bug_entry(raised))
                else:
                    told(futures[future], future.result())
        except KeyboardInterrupt:
            client.cancel(list(futures))
            raise
    return bugs


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
