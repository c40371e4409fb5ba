"""Exceptions: the program cannot go on with a workbook. Doubts about data are findings, not exceptions."""

INTERRUPTED_STATUS = 130
"""Exit status of a command that Ctrl-C ended, as shells give it."""


class BatchcalError(Exception):
    """Anything that ends the work on one workbook; its text is one clear line for the user."""

    exit_status = 3


class WorkbookError(BatchcalError):
    """The workbook cannot be read, or a sheet, heading or row that is always needed is absent."""


class OutputError(BatchcalError):
    """An output could not be written; whatever stood there before still stands."""


class UsageError(BatchcalError):
    """The command was asked for something that contradicts itself or what is already there."""

    exit_status = 2
