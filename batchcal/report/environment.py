"""Where every page is rendered: templates of the package, text escaped, nothing undefined."""

import base64
import contextlib
import functools
import hashlib
import importlib.resources
import importlib.util
import os
import pickle
import re
from pathlib import Path

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
        bytecode_cache=_beside_python(),
    )
    made.filters["whole"] = _whole
    return made


class _Kept(jinja2.FileSystemBytecodeCache):
    """Compiled templates beside Python's own compiled files; where those cannot be kept, these are not either.

    One is used only for the very text that it was compiled from, by the very files that compiled it.
    """

    def __init__(self, folder: Path, compiler: str) -> None:
        super().__init__(str(folder), "template-%s.cache")
        self._compiler = compiler

    def get_source_checksum(self, source: str) -> str:
        return hashlib.sha256(f"{self._compiler}\n{source}".encode()).hexdigest()

    def load_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        try:
            super().load_bytecode(bucket)
        except (OSError, EOFError, pickle.UnpicklingError):
            # Not to be read, or cut off; it is compiled again.
            bucket.reset()

    def dump_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
        with contextlib.suppress(OSError):
            super().dump_bytecode(bucket)


def kept_templates(folder: Path, compiler: str) -> jinja2.BytecodeCache:
    """Return what keeps compiled templates in ``folder``, if there is one; ``compiler`` names what compiles them."""
    return _Kept(folder, compiler)


def _beside_python() -> jinja2.BytecodeCache | None:
    """Return where compiled templates are kept; None where the program does not lie in files."""
    templates = importlib.util.find_spec("batchcal.templates")
    if templates is None or templates.origin is None:
        return None
    try:
        folder = Path(importlib.util.cache_from_source(templates.origin)).parent
        with os.scandir(Path(jinja2.__file__).parent) as entries:
            files = [Path(__file__), *(Path(entry) for entry in entries if entry.name.endswith(".py"))]
        state = [(file.name, (stat := file.stat()).st_size, stat.st_mtime_ns) for file in files]
    except (OSError, NotImplementedError):
        return None
    return kept_templates(folder, repr(sorted(state)))


def _whole(text: str) -> markupsafe.Markup:
    """Return ``text`` escaped, with dates and sample numbers such as 26-1042 kept from breaking at their hyphens."""
    kept = re.sub(
        r"(?<![\w-])\d{2,4}(?:-\d{2,6}){1,2}(?![\w-])", r'<span class="w">\g<0></span>', str(markupsafe.escape(text))
    )
    return markupsafe.Markup(kept)


@functools.cache
def script(name: str) -> tuple[markupsafe.Markup, str]:
    """Return a script of the templates to stand in a page, and the hash by which the page's policy lets it run."""
    text = _template(name)
    digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
    return markupsafe.Markup(text), f"sha256-{digest}"


def _template(name: str) -> str:
    return (importlib.resources.files("batchcal.templates") / name).read_text(encoding="utf-8")
