"""The reference files: complete, traceable, and refused where they are not."""

import inspect
import re
from importlib import import_module
from pkgutil import iter_modules

import pytest

from batchcal import formulas, reference
from batchcal.reference import Constant, Figure, Mark
from batchcal.terms import METHOD_KEYS

FUNCTIONS = {
    f"{module.name}.{name}": function
    for module in iter_modules(formulas.__path__, "batchcal.formulas.")
    for name, function in inspect.getmembers(import_module(module.name), inspect.isfunction)
    if function.__module__ == module.name and not name.startswith("_")
}
ENTRIES: dict[str, Constant | Figure] = {
    **{entry.key: entry for entry in reference.constants()},
    **{f"{m.key}: {name}": figure for m in reference.methods() for name, figure in m.figures.items()},
}


def test_every_method_has_its_file_and_no_other_is_there() -> None:
    assert sorted(METHOD_KEYS) == [method.key for method in reference.methods()]
    assert reference.method("lab").figures == {}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_formula_cites_sources_that_are_known(name: str) -> None:
    docstring = inspect.getdoc(FUNCTIONS[name]) or ""
    _, heading, references = docstring.partition("References\n----------\n")
    keys = re.findall(r"\[([^\]]+)\]", references)
    assert heading
    assert keys
    for key in keys:
        assert reference.source(key)


def test_every_source_is_used_and_every_mark_explained() -> None:
    cited = {entry.source for entry in ENTRIES.values()}
    texts = [inspect.getdoc(function) or "" for function in FUNCTIONS.values()]
    texts += [entry.note for entry in ENTRIES.values()] + [method.note for method in reference.methods()]
    for text in texts:
        cited |= set(re.findall(r"\[([a-z0-9-]+)\]", text))
    assert cited <= set(reference.sources())
    assert set(reference.sources()) - cited == {"entered"}
    assert list(reference.marks()) == list(Mark)


@pytest.mark.parametrize("name", ENTRIES)
def test_memory_is_never_dressed_as_a_citation(name: str) -> None:
    entry = ENTRIES[name]
    assert (entry.mark is Mark.MEMORY) == (entry.source == "recalled")
    assert (entry.mark is Mark.COMMON_PRACTICE) == (entry.source == "no-source")
    assert entry.mark is not Mark.ENTERED
    if entry.mark in (Mark.MEMORY, Mark.COMMON_PRACTICE, Mark.CONFLICT, Mark.DERIVED):
        assert entry.note


def test_a_conflict_names_another_figure() -> None:
    for entry in ENTRIES.values():
        if entry.mark is Mark.CONFLICT:
            others = {float(number) for number in re.findall(r"\d+\.\d+", entry.note)}
            assert others - {entry.value}


def test_limits_of_plausibility_come_in_pairs_the_right_way_round() -> None:
    lowest = [entry.key for entry in reference.constants() if entry.key.endswith("-lowest")]
    assert lowest
    for key in lowest:
        assert reference.constant(key).value < reference.constant(key.replace("-lowest", "-highest")).value


def test_no_class_of_coal_is_chosen_for_the_laboratory() -> None:
    """ASTM D5865 limits hold for a class of coal, so there is no single figure to confirm with `method`."""
    assert "repeatability" not in reference.method("astm-d5865").figures


GOOD = {"name": "x", "value": 1, "unit": "", "mark": "derived", "source": "known", "note": ""}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"mark": "certain"}, "'certain' is no mark"),
        ({"source": "hearsay"}, "'hearsay' is no key of sources.toml"),
        ({"value": "1"}, "'1' is no number"),
        ({"value": True}, "True is no number"),
        ({"colour": "red"}, "the entries are"),
    ],
)
def test_a_faulty_entry_is_refused_by_name(change: dict[str, object], message: str) -> None:
    sources = {"known": "A book."}
    assert reference.parse_constants({"thing": GOOD}, sources)["thing"].value == 1.0
    with pytest.raises(ValueError, match=f"constant thing: .*{re.escape(message)}"):
        reference.parse_constants({"thing": {**GOOD, **change}}, sources)
    table = {"title": "", "edition": "", "note": "", "figures": {"limit": {**GOOD, **change}}}
    with pytest.raises(ValueError, match=f"method m, limit: .*{re.escape(message)}"):
        reference.parse_method("m", table, sources)


def test_a_method_without_a_title_is_refused() -> None:
    with pytest.raises(ValueError, match="method m: title"):
        reference.parse_method("m", {"edition": "", "note": ""}, {})


def test_an_unknown_key_is_a_key_error() -> None:
    for look_up in (reference.constant, reference.method, reference.source):
        with pytest.raises(KeyError):
            look_up("no such key")
