"""The summary page: one self-contained file, rendered from the flat view by templates that compute nothing."""

from collections.abc import Sequence

from batchcal.model import Evaluation, Quantity
from batchcal.report.environment import environment, script
from batchcal.report.notation import in_notation
from batchcal.report.view import CORRECTION_HEADINGS, Printed, page_view
from batchcal.report.words import NONE


def summary_page(
    evaluation: Evaluation, printed: Printed, constants: Sequence[Quantity], method_title: str = ""
) -> str:
    """Return the summary page of ``evaluation`` as HTML.

    ``printed`` turns J/g into the printed text in the report unit; ``constants`` are the figures in force that do
    not stand on Setup; ``method_title`` is the method's name in words. The same arguments give the same text.
    """
    template = environment().get_template("summary.html.j2")
    code, code_hash = script("summary.js")
    view = page_view(evaluation, printed, constants, method_title)
    return template.render(
        page=in_notation(view, evaluation, constants, method_title),
        correction_headings=CORRECTION_HEADINGS,
        not_computed=NONE,
        script=code,
        script_hash=code_hash,
    )
