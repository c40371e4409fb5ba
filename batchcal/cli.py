"""The command line: parse, make one library call a command, print, exit. Nothing else prints or exits."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click
from msgspec.structs import replace

from batchcal import __version__
from batchcal.errors import INTERRUPTED_STATUS, BatchcalError, UsageError
from batchcal.memory import leave_out_numpy, look_rarely
from batchcal.terms import METHOD_KEYS

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from batchcal.many.entry import Entry
    from batchcal.model import Evaluation
    from batchcal.outputs import OutputSet
    from batchcal.workbook.columns.propose import Proposal
    from batchcal.workbook.columns.questions import Question
    from batchcal.workbook.foreign.csv_form import CsvForm, CsvQuestion

_WORKBOOKS = click.argument("workbooks", nargs=-1, required=True, type=click.Path(exists=True, path_type=Path))
_METHOD = click.option(
    "--method", type=click.Choice(METHOD_KEYS), help="Method to use where Setup names none; it must not differ."
)
_COLUMNS = click.option(
    "--columns",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="MAP.toml",
    help="Map of your own sheets, made by batchcal columns.",
)

_CLEAR_LINE = "\r\x1b[K"


class _Commands(click.Group):
    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except (KeyboardInterrupt, click.Abort):
            # A question that is left by Ctrl-C, or at the end of what is typed, ends as an Abort.
            _complain("stopped")
            sys.exit(INTERRUPTED_STATUS)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="batchcal")
def cli() -> None:
    """Turn a day's bomb-calorimeter log into calorific values that can be released.

    Exit status: 0 every sample is ready; 1 worked out, and some sample is not ready or some finding blocks or
    concerns safety; 2 wrong usage; 3 a workbook could not be processed; 130 stopped by Ctrl-C. Of several workbooks,
    the highest.

    Oxygen under pressure and burning charges injure: this program sees typed numbers after the fact and never
    calls equipment safe. Follow the equipment's instructions, local codes and the responsible trained person.
    """


@cli.command()
@_WORKBOOKS
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for the outputs.")
@_METHOD
@_COLUMNS
@click.option("--update", is_flag=True, help="Replace outputs that are out of date; the others are left.")
@click.option("--force", is_flag=True, help="Replace all outputs that exist already.")
@click.option("--certificate", is_flag=True, help="Write the customer's certificate too, or say what it lacks.")
@click.option("--jobs", type=click.IntRange(min=1), metavar="N", help="Processes that share the work; 1 by default.")
@click.option("--scheduler", metavar="ADDRESS", help="dask.distributed scheduler whose workers do the work.")
@click.option(
    "--index",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.json",
    help="Index of what came of each workbook; else batchcal.index.json in --out or in FOLDER.",
)
def process(
    workbooks: tuple[Path, ...],
    *,
    out: Path | None,
    method: str | None,
    columns: Path | None,
    update: bool,
    force: bool,
    certificate: bool,
    jobs: int | None,
    scheduler: str | None,
    index: Path | None,
) -> NoReturn:
    """Process WORKBOOKS, or every workbook of a folder.

    Beside each day.xlsx (or in --out) stand then day.results.xlsx, day.summary.html and day.results.json. The
    workbook itself is never written.

    The results are a draft until a reviewer signs on Amendments: `release` under Finding, Reviewer and Date. With
    --force an earlier set is compared first: what changed is listed, and a released value is never changed in silence.
    With --certificate stands there day.certificate.html as well; while anything on it is missing or not released, what
    is missing is listed instead and the exit status is 1.

    Of many, one line each is printed. Those whose outputs are up to date are left as they are; those whose outputs are
    not (the workbook, the map, --method or batchcal has changed) are refused without --update. Interrupted work goes
    on when the command is given again. Ctrl-C lets the workbooks at hand be finished and gives exit status 130.
    """
    from batchcal.process import plan

    try:
        planned = plan(workbooks, out)
    except BatchcalError as error:
        _stop(error)
    if len(planned) == 1 and not workbooks[0].is_dir() and not any((update, jobs, scheduler, index)):
        sys.exit(_process_one(*planned[0], method, columns, force=force, certificate=certificate))
    if certificate:
        _stop(UsageError("--certificate is for one workbook at a time, without --update, --jobs or --index"))
    from batchcal.many.entry import Replacing, Task
    from batchcal.many.run import index_place, outcome_line, outcome_table, process_many

    replacing = Replacing.ALL if force else Replacing.OUT_OF_DATE if update else Replacing.NONE
    tasks = [Task(path, outputs, method, columns, replacing) for path, outputs in planned]
    place = index_place(workbooks, out, index)
    try:
        many = process_many(
            tasks, told=_teller(len(tasks)), stopping=_say_stopping, jobs=jobs, scheduler=scheduler, index=place
        )
    except BatchcalError as error:
        _stop(error)
    for line in outcome_table(many):
        click.echo(line)
    _complain(outcome_line(many) + (f"; index: {many.index}" if many.index else ""))
    if many.bugs:
        raise many.bugs[0]
    sys.exit(many.exit_status)


@cli.command()
@_WORKBOOKS
@_METHOD
@_COLUMNS
def check(workbooks: tuple[Path, ...], method: str | None, columns: Path | None) -> NoReturn:
    """Show the findings of WORKBOOKS only; nothing is written."""
    from batchcal.process import check_workbook, inputs

    try:
        paths = inputs(workbooks)
    except BatchcalError as error:
        _stop(error)
    status = 0
    for path in paths:
        try:
            evaluation = check_workbook(path, method, columns)
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
@_COLUMNS
def explain(workbook: Path, number: str, method: str | None, columns: Path | None) -> NoReturn:
    """Work through firing or sample NUMBER of WORKBOOK, line by line, with constants and sources."""
    from batchcal.process import explain_number

    try:
        lines = explain_number(workbook, number, method, columns)
    except BatchcalError as error:
        _stop(error)
    for line in lines:
        click.echo(line)
    sys.exit(0)


@cli.command()
@click.argument("workbook", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--save", type=click.Path(dir_okay=False, path_type=Path), metavar="MAP.toml", help="Write the map there."
)
@click.option(
    "--columns",
    "earlier",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="MAP.toml",
    help="An earlier map of the same lab, whose answers are kept.",
)
@click.option("--force", is_flag=True, help="Replace the map if it exists already.")
def columns(workbook: Path, save: Path | None, earlier: Path | None, force: bool) -> NoReturn:
    """Say which column is what on the sheets of a WORKBOOK of your own, and save it as a map.

    At a terminal it asks where more than one reading is possible, and before the map is written; elsewhere the
    questions are listed and stand in the map as "?". The map is plain text, may be edited, and is given to process,
    check and explain as --columns. Exit status: 0 nothing is open; 1 something is; 2 wrong usage; 3 the workbook cannot
    be read.
    """
    from batchcal.process import propose_columns, save_columns
    from batchcal.workbook.columns.propose import of_questions
    from batchcal.workbook.foreign.csv_form import CsvQuestion

    asking = _at_terminal()
    try:
        try:
            proposal = propose_columns(workbook, earlier, _asker() if asking else None, _ask_text if asking else None)
        except CsvQuestion as question:
            if save is None:
                raise
            save_columns(of_questions(question), save, workbook.name, force=force)
            _complain(str(question))
            _complain(f"{workbook.name}: answer under [csv] in {save}, then give it as --columns")
            sys.exit(1)
        _show_proposal(proposal)
        kept = "not kept; give --save MAP.toml"
        if save is not None and asking and not click.confirm("Is this right, and shall it be written?"):
            kept = f"not kept, as you said; {save} is as it was"
        elif save is not None:
            save_columns(proposal.column_map, save, workbook.name, force=force)
            kept = f"map: {save}"
    except BatchcalError as error:
        _stop(error)
    count = len(proposal.questions)
    said = f"{count} {'question is' if count == 1 else 'questions are'} open" if count else "nothing is open"
    _complain(f"{workbook.name}: {said}; {kept}")
    sys.exit(1 if count else 0)


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
@click.option("--method", type=click.Choice(METHOD_KEYS), help="Method for Setup; its limits wait for a Source.")
@click.option("--calorimeter", multiple=True, metavar="NAME[/BOMB]", help="Apparatus to offer; may be repeated.")
def new(out: Path, force: bool, method: str | None, calorimeter: tuple[str, ...]) -> NoReturn:
    """Write the blank workbook to OUT (an .xlsx file). Its first sheet says what the options have filled in."""
    from batchcal.process import new_workbook

    try:
        new_workbook(out, method=method, calorimeters=calorimeter, force=force)
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
    look_rarely()
    leave_out_numpy()
    cli()


def _process_one(
    path: Path, outputs: OutputSet, method: str | None, columns: Path | None, *, force: bool, certificate: bool
) -> int:
    from batchcal.process import process_workbook

    try:
        done = process_workbook(path, outputs, method=method, columns=columns, force=force, certificate=certificate)
    except BatchcalError as error:
        _complain(str(error))
        return error.exit_status
    for remark in done.remarks:
        _complain(remark)
    _print_verdicts(done.evaluation)
    _complain(f"{path.name}: {_count(done.evaluation)}; page: {done.outputs.page}")
    for why in done.no_certificate:
        _complain(f"no certificate: {why}")
    if certificate and not done.no_certificate:
        _complain(f"certificate: {done.outputs.certificate}")
    return 0 if done.evaluation.all_ready and not done.no_certificate else 1


def _teller(total: int) -> Callable[[int, Entry], None]:
    """Return what says on standard error what came of a workbook, and at a terminal how far the work is."""
    import time

    from batchcal.many.progress import Progress

    progress, start = Progress(total), time.monotonic()

    def show(line: str) -> None:
        if sys.stderr.isatty():
            click.echo(_CLEAR_LINE + line, err=True, nl=False)

    def tell(_: int, entry: Entry) -> None:
        progress.count(entry)
        show("")
        for remark in (*entry.remarks, *([entry.error] if entry.error else ())):
            _complain(remark)
        show(progress.line(time.monotonic() - start))

    show(progress.line(0))
    return tell


def _say_stopping() -> None:
    _complain("finishing the workbooks at hand; Ctrl-C once more ends that too")


def _stop(error: BatchcalError) -> NoReturn:
    _complain(str(error))
    sys.exit(error.exit_status)


def _complain(line: str) -> None:
    click.echo(f"batchcal: {line}", err=True)


def _at_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _asker() -> Callable[[Question, Proposal], str | None]:
    """Return what puts the questions; the whole proposal is shown before the first."""
    shown: list[Proposal] = []

    def ask(question: Question, proposal: Proposal) -> str | None:
        if not shown:
            shown.append(proposal)
            _show_proposal(proposal)
        return _ask(question, proposal)

    return ask


def _ask(question: Question, proposal: Proposal) -> str | None:
    """Put one question; an empty answer leaves it and all others open."""
    click.echo()
    click.echo(f"{question.text} {question.finding.remedy}")
    for shown in proposal.shown:
        if question.finding.cell and shown.address == question.finding.cell and shown.sheet == question.finding.sheet:
            click.echo(f"  its values: {', '.join(shown.samples) or 'none yet'}")
    if not question.choices:
        number = click.prompt("  A number (0: leave it out; empty: later)", default="", show_default=False)
        return _number_or_none(number)
    for position, choice in enumerate(question.choices, 1):
        click.echo(f"  {position}  {choice.text}")
    numbers = [str(position) for position in range(1, len(question.choices) + 1)]
    answer = click.prompt("  Which? (empty: later)", default="", show_default=False)
    while answer not in ("", *numbers):
        answer = click.prompt(f"  One of {', '.join(numbers)}, or empty", default="", show_default=False)
    return question.choices[int(answer) - 1].value if answer else None


def _ask_text(question: CsvQuestion) -> CsvForm | None:
    """Ask how a table of text is written; an empty answer leaves it open."""
    form = question.known
    for one in question.questions:
        click.echo()
        click.echo(f"How is the table written? {one.key}: {one.why}")
        shown = {str(position): choice for position, choice in enumerate(one.choices, 1)}
        for position, choice in shown.items():
            click.echo(f"  {position}  {choice!r}")
        answer = click.prompt("  Which? (empty: later)", default="", show_default=False)
        while answer not in ("", *shown):
            answer = click.prompt(f"  One of {', '.join(shown)}, or empty", default="", show_default=False)
        if not answer:
            return None
        form = replace(form, **{one.key: shown[answer]})
    return form


def _number_or_none(text: str) -> str | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return "-" if value == 0 else repr(value)


def _show_proposal(proposal: Proposal) -> None:
    from batchcal.workbook.columns.show import lines

    for line in lines(proposal):
        click.echo(line)


def _print_verdicts(evaluation: Evaluation) -> None:
    from batchcal.process import printer
    from batchcal.report.verdicts import verdict_table

    click.echo("\n".join(verdict_table(evaluation, printer(evaluation.settings))))


def _count(evaluation: Evaluation) -> str:
    from batchcal.report.verdicts import verdict_line

    return verdict_line(evaluation)
