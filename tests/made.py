"""Outputs of an evaluation as bytes."""

import io
from collections.abc import Mapping
from pathlib import Path

from batchcal.evaluate import evaluate
from batchcal.evaluate.record import constants_used
from batchcal.model import Evaluation
from batchcal.process import printer
from batchcal.report.results import write_results
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source
from batchcal.workbook.writer import write_results_workbook


def results_workbook(source: bytes, evaluation: Evaluation) -> bytes:
    """The results workbook of the workbook ``source``."""
    out = io.BytesIO()
    settings = evaluation.settings
    write_results_workbook(out, source, evaluation, printer(settings), constants_used(settings))
    return out.getvalue()


def results_of(path: Path) -> bytes:
    """The results workbook of the log at ``path``."""
    source = open_source(path)
    return results_workbook(source.data, evaluate(read_workbook(source)))


def results_json(evaluation: Evaluation, outputs: Mapping[str, str]) -> bytes:
    """The results file."""
    out = io.BytesIO()
    write_results(out, evaluation, outputs)
    return out.getvalue()
