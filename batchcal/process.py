"""The library calls behind the commands: one workbook in, an evaluation and a set of outputs out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from batchcal.errors import UsageError
from batchcal.evaluate import evaluate
from batchcal.evaluate.record import constants_used
from batchcal.findings import Finding, in_order, make
from batchcal.formulas.rounding import text_to_step
from batchcal.model import Evaluation, Settings
from batchcal.outputs import OutputSet, is_output, write_file
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import SUFFIXES, open_source

_DEFAULT_STEPS = {"MJ/kg": 0.001}
"""Print rounding where Setup gives none, in the report unit; 1 for the others. Ours: finer than any method prints."""


@dataclass(frozen=True, slots=True)
class Done:
    """What came of one workbook: its evaluation, where the outputs stand, and remarks for the user."""

    evaluation: Evaluation
    outputs: OutputSet
    remarks: tuple[str, ...] = ()


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
        elif is_output(path):
            raise UsageError(f"{path}: results are never taken as input; give the workbook they were made from")
        else:
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


def check_workbook(path: Path, method: str | None = None) -> Evaluation:
    """Read and evaluate one workbook; raises BatchcalError with one clear line where that cannot be done."""
    return evaluate(read_workbook(open_source(path)), method)


def process_workbook(path: Path, outputs: OutputSet, *, method: str | None = None, force: bool = False) -> Done:
    """Process one workbook and write its outputs: all of them, or none.

    Raises BatchcalError with one clear line: UsageError where outputs stand already and ``force`` is not given.
    """
    from batchcal.report.page import summary_page
    from batchcal.report.results import results_json
    from batchcal.workbook.carried import parts_not_carried
    from batchcal.workbook.writer import results_workbook

    remarks = []
    state = outputs.state()
    if state.kind != "absent" and not force:
        standing = f"an incomplete set ({state.reason})" if state.kind == "incomplete" else "outputs"
        raise UsageError(f"{path.name}: {standing} of it stands in {outputs.results.parent} already; use --force")
    if state.kind == "incomplete":
        remarks.append(f"{path.name}: replaced an incomplete set of outputs ({state.reason})")
    source = open_source(path)
    evaluation = evaluate(read_workbook(source), method)
    printed = printer(evaluation.settings)
    constants = constants_used(evaluation.settings)
    workbook = results_workbook(source.data, evaluation, printed, constants)
    lost = parts_not_carried(source.data, workbook)
    if lost:
        # The finding must stand in the workbook it is about, so that is made again with it.
        evaluation = with_finding(evaluation, make("sheet-part-not-carried", parts="; ".join(lost)))
        workbook = results_workbook(source.data, evaluation, printed, constants)
    page = summary_page(evaluation, printed, constants)
    outputs.write(workbook, page.encode(), lambda hashes: results_json(evaluation, hashes))
    return Done(evaluation, outputs, tuple(remarks))


def with_finding(evaluation: Evaluation, finding: Finding) -> Evaluation:
    """Return the evaluation with one more finding."""
    return replace(evaluation, findings=in_order([*evaluation.findings, finding]))


def printer(settings: Settings) -> Callable[[float], str]:
    """Return the function that words a value in J/g for print: in the report unit, rounded once to its step."""
    factor = settings.report_unit_factor
    step = settings.report_rounding or _DEFAULT_STEPS.get(settings.report_unit, 1.0)
    return lambda value_J_per_g: text_to_step(value_J_per_g / factor, step)


def explain_number(path: Path, number: str, method: str | None = None) -> list[str]:
    """Return the working of one firing or sample; UsageError where the workbook has none of that number."""
    from batchcal.report.explain import explain

    lines = explain(check_workbook(path, method), number)
    if lines is None:
        raise UsageError(f"{path.name}: there is no firing and no sample {number}")
    return lines


def new_workbook(path: Path, *, force: bool = False) -> None:
    """Write the blank workbook to ``path``; UsageError where it exists already and ``force`` is not given."""
    from batchcal.workbook.blank import blank_workbook

    if path.suffix.lower() not in SUFFIXES:
        raise UsageError(f"{path}: the blank workbook is written as {', '.join(SUFFIXES)}")
    if path.exists() and not force:
        raise UsageError(f"{path} exists already. Use --force")
    write_file(path, blank_workbook())
