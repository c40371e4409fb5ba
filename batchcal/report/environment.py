"""Where every page is rendered: templates of the package, text escaped, nothing undefined."""

import functools
import importlib.resources
import re

import jinja2
import markupsafe


@functools.cache
def environment() -> jinja2.Environment:
    """Return the environment in which the pages are rendered; its filter ``whole`` keeps dates from breaking.

    There is one, so that a template is compiled once however many workbooks are processed.
    """
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
