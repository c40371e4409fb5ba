"""The library calls behind the commands: one workbook in, an evaluation and a set of outputs out."""

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from batchcal import reference
from batchcal.errors import UsageError, WorkbookError
from batchcal.evaluate import evaluate
from batchcal.evaluate.record import constants_used
from batchcal.evaluate.release import against
from batchcal.findings import Finding, in_order, make
from batchcal.formulas.rounding import text_to_step
from batchcal.logged import Batch
from batchcal.model import Evaluation, Settings
from batchcal.outputs import OutputSet, is_output, refuse_output, standing, write_file
from batchcal.workbook.grid import last_columns
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import SUFFIXES, Source, open_source
from batchcal.workbook.xlsx.package import is_package

if TYPE_CHECKING:
    from batchcal.report.certificate import Certificate
    from batchcal.workbook.columns.column_map import ColumnMap
    from batchcal.workbook.columns.propose import Proposal
    from batchcal.workbook.columns.questions import Question
    from batchcal.workbook.foreign.csv_form import CsvForm, CsvQuestion

_DEFAULT_STEPS = {"MJ/kg": 0.001}
"""Print rounding where Setup gives none, in the report unit; 1 for the others. Ours: finer than any method prints."""


class Done(Struct, frozen=True):
    """What came of one workbook: its evaluation, where the outputs stand, and remarks for the user."""

    evaluation: Evaluation
    outputs: OutputSet
    remarks: tuple[str, ...] = ()
    no_certificate: tuple[str, ...] = ()
    """What is missing for the certificate that was asked for; nothing where it was written or not asked for."""


def inputs(paths: Sequence[Path]) -> list[Path]:
    """Return the workbooks that the paths name: each file, and of a folder every workbook that is not an output.

    Raises UsageError for an output given as input and for a folder without a workbook.
    """
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = [file for file in sorted(path.iterdir()) if _is_input(file)]
            if not inside:
                raise UsageError(f"{path}: no workbook in this folder")
            found += inside
        else:
            refuse_output(path)
            found.append(path)
    return found


def _is_input(file: Path) -> bool:
    hidden = file.name.startswith(("~$", "."))
    return file.suffix.lower() in SUFFIXES and not hidden and not is_output(file) and file.is_file()


def plan(paths: Sequence[Path], out: Path | None) -> list[tuple[Path, OutputSet]]:
    """Return every workbook with its outputs; UsageError where two would write the same ones."""
    planned = [(path, OutputSet.for_input(path, out)) for path in inputs(paths)]
    owners: dict[Path, Path] = {}
    for path, outputs in planned:
        target = outputs.results.absolute()
        if target in owners:
            raise UsageError(f"{owners[target]} and {path} would both write {outputs.results}")
        owners[target] = path
    return planned


def check_workbook(path: Path, method: str | None = None, columns: Path | None = None) -> Evaluation:
    """Read and evaluate one workbook; raises BatchcalError with one clear line where that cannot be done.

    ``columns`` is the map of a lab's own sheets, where they are not those of the blank workbook.
    """
    return evaluate(read_log(path, columns)[1], method)


def read_log(path: Path, columns: Path | None) -> tuple[Source, Batch]:
    """Return a workbook as it came and what was read from it, by the map ``columns`` if there is one.

    Raises BatchcalError with one clear line where it cannot be read.
    """
    if columns is None:
        source = open_source(path)
        return source, read_workbook(source)
    from batchcal.workbook.columns.map_file import read_map
    from batchcal.workbook.columns.read import read_by_map, refuse_unready

    column_map = read_map(columns)
    refuse_unready(column_map)
    source = open_source(path, column_map.text.form)
    return source, read_by_map(source, column_map)


def process_workbook(
    path: Path,
    outputs: OutputSet,
    *,
    method: str | None = None,
    columns: Path | None = None,
    force: bool = False,
    certificate: bool = False,
) -> Done:
    """Process one workbook, read by the map ``columns`` if there is one, and write its outputs: all of them, or none.

    With ``certificate`` there is one among them, or what is missing for it is said. Raises BatchcalError with one clear
    line: UsageError where outputs stand already and ``force`` is not given, or where a certificate of an earlier set
    would be left beside them.
    """
    earlier, remarks = _there(path.name, outputs, force=force)
    source, batch = read_log(path, columns)
    sheets = last_columns(source.grids)
    source.let_go()
    evaluation = replace(evaluate(batch, method), sheets=sheets)
    del batch  # all rows of the workbook, while the outputs need much memory themselves
    package, evaluation = _ready(source, evaluation, outputs, earlier=earlier)
    return _write(package, evaluation, outputs, remarks, certificate=certificate)


def write_evaluation(
    source: Source, evaluation: Evaluation, outputs: OutputSet, *, force: bool = False, certificate: bool = False
) -> Done:
    """Write the outputs of an evaluation of ``source``, as :func:`process_workbook` does, and raise what it raises."""
    earlier, remarks = _there(source.name, outputs, force=force)
    evaluation = replace(evaluation, sheets=last_columns(source.grids))
    package, evaluation = _ready(source, evaluation, outputs, earlier=earlier)
    return _write(package, evaluation, outputs, remarks, certificate=certificate)


def _there(name: str, outputs: OutputSet, *, force: bool) -> tuple[bool, list[str]]:
    """Return whether outputs stand already, and remarks on them; UsageError where they may not be replaced."""
    state = outputs.state()
    remarks = state.remarks(name)
    if state.kind != "absent" and not force:
        there = f"an incomplete set ({state.reason})" if state.kind == "incomplete" else "outputs"
        where = outputs.results.parent
        said = "; ".join([*remarks, f"{there} of it stands in {where} already; use --force"])
        raise UsageError(said if remarks else f"{name}: {said}")
    if state.kind == "incomplete":
        remarks.append(f"{name}: replaced an incomplete set of outputs ({state.reason})")
    return state.kind != "absent", remarks


def _ready(source: Source, evaluation: Evaluation, outputs: OutputSet, *, earlier: bool) -> tuple[bytes, Evaluation]:
    """Return the package that carries the results, and the evaluation that knows what else was read of it."""
    package = source.data
    if not is_package(package):
        from batchcal.workbook.values import workbook_of_values

        evaluation = with_finding(evaluation, make("results-in-new-workbook", file=source.name))
        package = workbook_of_values(source.grids, source.name)
    if earlier:
        from batchcal.earlier import read_earlier

        evaluation = against(evaluation, read_earlier(outputs, evaluation, source))
    return package, evaluation


def _write(
    package: bytes, evaluation: Evaluation, outputs: OutputSet, remarks: list[str], *, certificate: bool
) -> Done:
    from batchcal.report.page import summary_page
    from batchcal.report.results import write_results
    from batchcal.workbook.writer import write_results_workbook

    printed = printer(evaluation.settings)
    evaluation, written, missing = _certificate(evaluation, outputs, printed, wanted=certificate)
    constants = constants_used(evaluation.settings)
    page = summary_page(evaluation, printed, constants)
    if evaluation.release.issued is not None:
        remarks.append(f"{evaluation.batch.file_name}: {evaluation.release.words}")
    outputs.write(
        lambda out, _: write_results_workbook(out, package, evaluation, printed, constants),
        page.encode(),
        lambda out, hashes: write_results(out, evaluation, hashes),
        written,
    )
    return Done(evaluation, outputs, tuple(remarks), tuple(missing))


def _certificate(
    evaluation: Evaluation, outputs: OutputSet, printed: Callable[[float], str], *, wanted: bool
) -> tuple[Evaluation, bytes | None, list[str]]:
    """Return the evaluation that knows its certificate, the certificate, and why there is none although it is wanted.

    Raises UsageError where a certificate of an earlier set would be left beside results that it does not belong to.
    """
    made: Certificate | None = None
    missing: list[str] = []
    if wanted:
        from batchcal.report.certificate import certificate

        method = evaluation.settings.method
        made, missing = certificate(evaluation, printed, reference.method(method).title if method else "")
    issued = evaluation.release.issued
    if made is not None and issued is not None:
        from batchcal.report.certificate import certificate_page

        release = replace(evaluation.release, issued=replace(issued, certificate=made.content_sha256))
        return replace(evaluation, release=release), certificate_page(made, evaluation).encode(), []
    if os.path.lexists(outputs.certificate):
        why = f"and there is no new one: {'; '.join(missing)}" if missing else "so give --certificate to replace it"
        name = outputs.certificate.name
        raise UsageError(f"{name} of an earlier set stands there, {why}. To go on without, file it elsewhere")
    return evaluation, None, missing


def with_finding(evaluation: Evaluation, finding: Finding) -> Evaluation:
    """Return the evaluation with one more finding."""
    return replace(evaluation, findings=in_order([*evaluation.findings, finding]))


def printer(settings: Settings) -> Callable[[float], str]:
    """Return the function that words a value in J/g for print: in the report unit, rounded once to its step."""
    factor = settings.report_unit_factor
    step = settings.report_rounding or _DEFAULT_STEPS.get(settings.report_unit, 1.0)
    return lambda value_J_per_g: text_to_step(value_J_per_g / factor, step)


def explain_number(path: Path, number: str, method: str | None = None, columns: Path | None = None) -> list[str]:
    """Return the working of one firing or sample; UsageError where the workbook has none of that number."""
    from batchcal.report.explain import explain

    lines = explain(check_workbook(path, method, columns), number)
    if lines is None:
        raise UsageError(f"{path.name}: there is no firing and no sample {number}")
    return lines


def propose_columns(
    path: Path,
    earlier: Path | None = None,
    ask: "Callable[[Question, Proposal], str | None] | None" = None,
    ask_text: "Callable[[CsvQuestion], CsvForm | None] | None" = None,
) -> "Proposal":
    """Return what the sheets of a lab's own workbook are found to be; raises BatchcalError where it cannot be read.

    ``earlier`` is a map of the same lab, whose answers are kept. ``ask`` puts one question after another to a person
    and returns the answer; None leaves it, and all others, open. Without it all questions stay open. ``ask_text`` is
    asked how a table of text is written where it does not show; without an answer it cannot be read (CsvQuestion).
    """
    from batchcal.workbook.columns.map_file import read_map
    from batchcal.workbook.columns.propose import of_text, propose
    from batchcal.workbook.columns.read import own_grids
    from batchcal.workbook.foreign.csv_form import CsvQuestion

    before = None if earlier is None else read_map(earlier)
    form = None if before is None else before.text.form
    source = None
    while source is None:
        try:
            source = open_source(path, form)
        except CsvQuestion as asked:
            form = None if ask_text is None else ask_text(asked)
            if form is None:
                raise
    grids = own_grids(source)
    if not grids:
        raise UsageError(f"{path.name}: its sheets are those of the blank workbook; no map is needed")
    answers: dict[str, str] = {}
    proposal = propose(grids, answers, before)
    if not proposal.column_map.tables:
        raise WorkbookError(f"{path.name}: no table of firings, samples or readings is recognised on any sheet")
    while ask is not None and proposal.questions:
        question = proposal.questions[0]
        answer = ask(question, proposal)
        if answer is None:
            break
        answers[question.key] = answer
        proposal = propose(grids, answers, before)
    return proposal if source.csv_form is None else of_text(proposal, source.csv_form)


def save_columns(column_map: "ColumnMap", path: Path, workbook: str, *, force: bool = False) -> None:
    """Write a map; UsageError where the file exists already and ``force`` is not given."""
    from batchcal.workbook.columns.map_file import written

    if path.suffix.lower() != ".toml":
        raise UsageError(f"{path}: a column map is written as .toml")
    if standing(path) and not force:
        raise UsageError(f"{path} exists already. Use --force")
    write_file(path, written(column_map, workbook).encode())


def new_workbook(
    path: Path, *, method: str | None = None, calorimeters: Sequence[str] = (), force: bool = False
) -> None:
    """Write the blank workbook to ``path``; UsageError where it exists already and ``force`` is not given.

    With a method's key, or calorimeters named as CALORIMETER or CALORIMETER/BOMB, what follows from these is filled in.
    """
    from batchcal.workbook.blank import blank_workbook
    from batchcal.workbook.prefill import prefill

    if path.suffix.lower() != ".xlsx":
        raise UsageError(f"{path}: the blank workbook is written as .xlsx")
    filled = prefill(method, calorimeters)
    if standing(path) and not force:
        raise UsageError(f"{path} exists already. Use --force")
    write_file(path, blank_workbook(filled))
