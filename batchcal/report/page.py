"""The summary page: one self-contained file, rendered from the flat view by templates that compute nothing."""

import importlib.resources
from collections.abc import Sequence

import jinja2

from batchcal.model import Evaluation, Quantity
from batchcal.report.view import CORRECTION_HEADINGS, Printed, page_view


def summary_page(
    evaluation: Evaluation, printed: Printed, constants: Sequence[Quantity], method_title: str = ""
) -> str:
    """Return the summary page of ``evaluation`` as HTML.

    ``printed`` turns J/g into the printed text in the report unit; ``constants`` are the figures in force that do
    not stand on Setup; ``method_title`` is the method's name in words. The same arguments give the same text.
    """
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(_template),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template("summary.html.j2").render(
        page=page_view(evaluation, printed, constants, method_title),
        correction_headings=CORRECTION_HEADINGS,
    )


def _template(name: str) -> str:
    return (importlib.resources.files("batchcal.templates") / name).read_text(encoding="utf-8")
