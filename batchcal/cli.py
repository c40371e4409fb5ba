"""The command line: parse, make one library call a command, print, exit. Nothing else prints or exits."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from batchcal import __version__
from batchcal.errors import BatchcalError
from batchcal.terms import METHOD_KEYS

if TYPE_CHECKING:
    import datetime as dt

    from batchcal.model import Evaluation

_WORKBOOKS = click.argument("workbooks", nargs=-1, required=True, type=click.Path(exists=True, path_type=Path))
_METHOD = click.option(
    "--method", type=click.Choice(METHOD_KEYS), help="Method to use where Setup names none; it must not differ."
)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="batchcal")
def cli() -> None:
    """Turn a day's bomb-calorimeter log into calorific values that can be released.

    Exit status: 0 every sample is ready; 1 worked out, and some sample is not ready or some finding blocks or
    concerns safety; 2 wrong usage; 3 a workbook could not be processed. Of several workbooks, the highest.

    Oxygen under pressure and burning charges injure: this program sees typed numbers after the fact and never
    calls equipment safe. Follow the equipment's instructions, local codes and the responsible trained person.
    """


@cli.command()
@_WORKBOOKS
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the outputs.")
@_METHOD
@click.option("--force", is_flag=True, help="Replace outputs that exist already.")
def process(workbooks: tuple[Path, ...], out: Path | None, method: str | None, force: bool) -> NoReturn:
    """Process WORKBOOKS, or every workbook of a folder.

    Beside each day.xlsx (or in --out) stand then day.results.xlsx, day.summary.html and day.results.json. The
    workbook itself is never written.
    """
    from batchcal.process import plan, process_workbook

    try:
        planned = plan(workbooks, out)
    except BatchcalError as error:
        _stop(error)
    status = 0
    for path, outputs in planned:
        try:
            done = process_workbook(path, outputs, method=method, force=force)
        except BatchcalError as error:
            _complain(str(error))
            status = max(status, error.exit_status)
            continue
        for remark in done.remarks:
            _complain(remark)
        _print_verdicts(done.evaluation, title=path.name if len(planned) > 1 else None)
        _complain(f"{path.name}: {_count(done.evaluation)}; page: {done.outputs.page}")
        status = max(status, 0 if done.evaluation.all_ready else 1)
    sys.exit(status)


@cli.command()
@_WORKBOOKS
@_METHOD
def check(workbooks: tuple[Path, ...], method: str | None) -> NoReturn:
    """Show the findings of WORKBOOKS only; nothing is written."""
    from batchcal.process import check_workbook, inputs

    try:
        paths = inputs(workbooks)
    except BatchcalError as error:
        _stop(error)
    status = 0
    for path in paths:
        try:
            evaluation = check_workbook(path, method)
        except BatchcalError as error:
            _complain(str(error))
            status = max(status, error.exit_status)
            continue
        if len(paths) > 1:
            click.echo(path.name)
        for finding in evaluation.findings:
            place = f" [{finding.where}]" if finding.where and finding.where not in finding.message else ""
            click.echo(f"{finding.severity.upper():7} {finding.code}: {finding.message}{place}")
            click.echo(f"        {finding.remedy}")
        _complain(f"{path.name}: {_count(evaluation)}")
        status = max(status, 0 if evaluation.all_ready else 1)
    sys.exit(status)


@cli.command()
@click.argument("workbook", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("number")
@_METHOD
def explain(workbook: Path, number: str, method: str | None) -> NoReturn:
    """Work through firing or sample NUMBER of WORKBOOK, line by line, with constants and sources."""
    from batchcal.process import explain_number

    try:
        lines = explain_number(workbook, number, method)
    except BatchcalError as error:
        _stop(error)
    for line in lines:
        click.echo(line)
    sys.exit(0)


@cli.command()
@click.argument("key", required=False, type=click.Choice(METHOD_KEYS))
def methods(key: str | None) -> NoReturn:
    """Show the methods, or all figures and constants in force for one, each with mark and source."""
    from batchcal.listing import all_methods, marks, one_method

    for line in all_methods() if key is None else one_method(key):
        click.echo(line)
    click.echo()
    for line in marks():
        click.echo(line)
    sys.exit(0)


@cli.command()
@click.argument("out", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--force", is_flag=True, help="Replace the file if it exists already.")
def new(out: Path, force: bool) -> NoReturn:
    """Write the blank workbook to OUT (an .xlsx file)."""
    from batchcal.process import new_workbook

    try:
        new_workbook(out, force=force)
    except BatchcalError as error:
        _stop(error)
    _complain(f"{out}: a blank workbook; start with its first sheet")
    sys.exit(0)


@cli.command()
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path(),
    help="Folder for the record; this one by default.",
)
@click.option("--force", is_flag=True, help="Replace a record of the same day.")
def verify(out: Path, force: bool) -> NoReturn:
    """Re-run the published check cases on this machine and write a dated validation record.

    The record is batchcal-validation-DATE.html and .json. Exit status: 0 every case passed; 1 some case failed.
    """
    import datetime as dt

    from batchcal.report.verification import validation_lines, verdict_line
    from batchcal.verify import verify as run

    try:
        verified = run(out, dt.datetime.now().astimezone(), force=force)
    except BatchcalError as error:
        _stop(error)
    for line in validation_lines(verified.record):
        click.echo(line)
    _complain(f"{verdict_line(verified.record)}; record: {verified.page}")
    sys.exit(0 if verified.passed else 1)


@cli.command()
@click.argument(
    "folders",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    metavar="FOLDER ...",
)
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the outputs; else FOLDER itself."
)
@click.option("--force", is_flag=True, help="Replace outputs that exist already.")
@click.option("--since", type=click.DateTime(["%Y-%m-%d"]), help="First day that counts.", metavar="DATE")
@click.option("--until", type=click.DateTime(["%Y-%m-%d"]), help="Last day that counts.", metavar="DATE")
def trend(
    folders: tuple[Path, ...], out: Path | None, force: bool, since: dt.datetime | None, until: dt.datetime | None
) -> NoReturn:
    """Show the long run from the results files (*.results.json) in each FOLDER and in the folders within it.

    Writes trend.summary.html, and trend.results.xlsx with the tables behind it. DATE is year-month-day. A file that
    cannot be read is named and passed over. Exit status: 0 written; 2 wrong usage; 3 nothing could be read.
    """
    from batchcal.long_run import NothingReadError, long_run

    first, last = (None if day is None else day.date() for day in (since, until))
    try:
        made = long_run(folders, out, force=force, since=first, until=last)
    except BatchcalError as error:
        for entry in error.passed if isinstance(error, NothingReadError) else ():
            _complain(f"{entry.file}: passed over, {entry.why}")
        _stop(error)
    for entry in (*made.history.read.passed, *made.history.read.once):
        _complain(f"{entry.file}: {entry.why}")
    read = made.history.read
    _complain(f"{len(read.counted)} results files, {len(made.history.pairs)} first pairs; page: {made.page}")
    sys.exit(0)


def main() -> None:
    """Run the command line."""
    cli()


def _stop(error: BatchcalError) -> NoReturn:
    _complain(str(error))
    sys.exit(error.exit_status)


def _complain(line: str) -> None:
    click.echo(f"batchcal: {line}", err=True)


def _print_verdicts(evaluation: Evaluation, title: str | None) -> None:
    from batchcal.process import printer
    from batchcal.report.verdicts import verdict_table

    if title:
        click.echo(title)
    for line in verdict_table(evaluation, printer(evaluation.settings)):
        click.echo(line)


def _count(evaluation: Evaluation) -> str:
    from batchcal.report.verdicts import verdict_line

    return verdict_line(evaluation)
