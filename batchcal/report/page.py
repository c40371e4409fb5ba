"""The summary page: one self-contained file, rendered from the flat view by templates that compute nothing."""

import importlib.resources
import re
from collections.abc import Sequence

import jinja2
import markupsafe

from batchcal.model import Evaluation, Quantity
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
    return template.render(
        page=page_view(evaluation, printed, constants, method_title),
        correction_headings=CORRECTION_HEADINGS,
        not_computed=NONE,
    )


def environment() -> jinja2.Environment:
    """Return the environment in which the pages are rendered; its filter ``whole`` keeps dates from breaking."""
    made = jinja2.Environment(
        loader=jinja2.FunctionLoader(_template),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["whole"] = _whole
    return made


def _whole(text: str) -> markupsafe.Markup:
    """Return ``text`` escaped, with dates and sample numbers such as 26-1042 kept from breaking at their hyphens."""
    kept = re.sub(
        r"(?<![\w-])\d{2,4}(?:-\d{2,6}){1,2}(?![\w-])", r'<span class="w">\g<0></span>', str(markupsafe.escape(text))
    )
    return markupsafe.Markup(kept)


def _template(name: str) -> str:
    return (importlib.resources.files("batchcal.templates") / name).read_text(encoding="utf-8")
