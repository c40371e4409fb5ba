"""Imports go one way; one place each for workbooks, templates and printing; every finding is defined and used."""

import ast
import re
import tomllib
from pathlib import Path

import pytest

from batchcal.findings import CATALOGUE

PACKAGE = Path(__file__).parent.parent / "batchcal"
MODULES = {
    ".".join(("batchcal", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
}
ROOT = {"advice", "release", "logged", "tables", "terms", "items", "findings", "units", "errors", "runs"}
ALLOWED: dict[str, set[str]] = {
    "terms": set(),
    "items": {"items", "terms"},
    "units": set(),
    "errors": set(),
    "runs": set(),
    "tables": set(),
    "listing": {"reference", "tables"},
    "findings": {"findings", "terms"},
    "logged": {"terms", "findings"},
    "advice": {"terms"},
    "release": set(),
    "model": {"terms", "findings", "logged", "advice", "release"},
    "reference": {"reference"},
    "formulas": {"formulas", "reference", "terms"},
    "evaluate": {"evaluate", "formulas", "reference", "model", *ROOT},
    "history": {"terms"},
    "trend": {"trend", "history", "formulas", "reference", *ROOT},
    "workbook": {"workbook", "reference", "model", "history", "batchcal", *ROOT},
    "report": {"report", "model", "history", "batchcal", *ROOT},
    "verification": {"verification", "formulas", "reference", "batchcal", "terms", "units", "errors", "outputs"},
    "outputs": {"errors", "replacing"},
    "replacing": {"errors"},
    "memory": set(),
    "many": {"many", "memory", "process", "outputs", "batchcal", *ROOT},
    "api": {"process", "evaluate", "workbook", "model", "outputs", "logged", "terms", "errors"},
    "frames": {"report", "model"},
}
"""What each part may import of the package; parts not named here (process, verify, long_run, cli) may import all."""


def imports(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= names if node.module == "batchcal" else {node.module}
    return found


def part(module: str) -> str:
    words = module.split(".")
    return words[1] if len(words) > 1 else words[0]


@pytest.mark.parametrize("module", MODULES)
def test_imports_follow_the_table(module: str) -> None:
    allowed = ALLOWED.get(part(module))
    if allowed is None:
        assert module in {
            "batchcal", "batchcal.__main__", "batchcal.cli", "batchcal.earlier", "batchcal.process", "batchcal.verify",
            "batchcal.long_run",
        }  # fmt: skip
        return
    ours = {name for name in imports(MODULES[module]) if name.split(".")[0] == "batchcal"}
    parts = {"batchcal" if name == "batchcal.__version__" else part(name) for name in ours}
    assert parts <= allowed, sorted(parts - allowed)


@pytest.mark.parametrize(
    ("library", "home"),
    [("openpyxl", "workbook"), ("jinja2", "report"), ("click", "cli"), ("sys", "cli memory"), ("pandas", "frames")],
)
def test_each_library_has_its_home(library: str, home: str) -> None:
    users = {part(module) for module, path in MODULES.items() if library in {n.split(".")[0] for n in imports(path)}}
    assert users <= set(home.split())


def test_only_the_command_line_prints() -> None:
    for module, path in MODULES.items():
        calls = {
            node.func.id
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert module == "batchcal.cli" or not calls & {"print", "exit", "input"}, module


@pytest.mark.parametrize("module", MODULES)
def test_a_module_stays_small_and_hides_no_bug(module: str) -> None:
    text = MODULES[module].read_text(encoding="utf-8")
    assert "except Exception" not in text
    assert not re.search(r"except\s*:", text)
    if module != "batchcal.workbook.layout":  # a table, not code
        assert len(text.splitlines()) <= 480


def test_every_finding_is_used_and_worded() -> None:
    text = "".join(path.read_text(encoding="utf-8") for module, path in MODULES.items() if part(module) != "findings")
    for code, kind in CATALOGUE.items():
        assert f'"{code}"' in text, code
        assert kind.message
        assert kind.remedy
        assert kind.trigger
        assert "{" not in kind.trigger


def test_safety_findings_defer_to_instructions_and_trained_staff() -> None:
    for kind in CATALOGUE.values():
        if kind.severity == "safety":
            assert "instructions" in kind.remedy
            assert "trained" in kind.remedy


def test_every_code_that_is_made_stands_in_the_catalogue() -> None:
    """A code is the first argument of ``findings.make`` or ``.finding``, or, hyphenated, of ``.add``."""
    made = set()
    for path in MODULES.values():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute) or not node.args:
                continue
            name = node.func.attr
            code = node.args[0].value if isinstance(node.args[0], ast.Constant) else None
            hyphenated = isinstance(code, str) and re.fullmatch(r"[a-z]+(-[a-z]+)+", code) is not None
            if (name in {"make", "finding"} and isinstance(code, str)) or (name == "add" and hyphenated):
                made.add(code)
    assert len(made) > 40
    assert made <= set(CATALOGUE), sorted(str(code) for code in made - set(CATALOGUE))


def test_every_package_is_shipped() -> None:
    with (PACKAGE.parent / "pyproject.toml").open("rb") as file:
        listed = set(tomllib.load(file)["tool"]["setuptools"]["packages"])
    there = {".".join(("batchcal", *path.parent.relative_to(PACKAGE).parts)) for path in PACKAGE.rglob("__init__.py")}
    assert listed == there | {"batchcal.templates"}
