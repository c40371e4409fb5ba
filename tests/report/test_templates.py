"""Templates are compiled once and kept; a kept one is never taken for another text."""

from pathlib import Path

import jinja2
import pytest

from batchcal.report.environment import environment, kept_templates

TEXT = "{% for one in many %}{{ one }};{% endfor %}"


def _environment(folder: Path, compiler: str, text: str) -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FunctionLoader(lambda _: text), bytecode_cache=kept_templates(folder, compiler)
    )


def test_second_environment_takes_what_the_first_compiled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert _environment(tmp_path, "a", TEXT).get_template("page").render(many=[1, 2]) == "1;2;"
    assert len(list(tmp_path.iterdir())) == 1

    def refuse(*_: object, **__: object) -> str:
        raise AssertionError("compiled again")

    monkeypatch.setattr(jinja2.Environment, "_compile", refuse)
    assert _environment(tmp_path, "a", TEXT).get_template("page").render(many=[3]) == "3;"
    with pytest.raises(AssertionError, match="compiled again"):
        _environment(tmp_path, "another compiler", TEXT).get_template("page")
    with pytest.raises(AssertionError, match="compiled again"):
        _environment(tmp_path, "a", TEXT + "!").get_template("page")


def test_changed_text_replaces_the_kept_one(tmp_path: Path) -> None:
    for text, rendered in ((TEXT, "1;"), (TEXT + "!", "1;!"), (TEXT, "1;")):
        assert _environment(tmp_path, "a", text).get_template("page").render(many=[1]) == rendered
    assert len(list(tmp_path.iterdir())) == 1


def test_nothing_is_kept_where_no_folder_is(tmp_path: Path) -> None:
    absent = tmp_path / "absent"
    assert _environment(absent, "a", TEXT).get_template("page").render(many=[1]) == "1;"
    assert not absent.exists()


def test_damaged_one_is_compiled_again(tmp_path: Path) -> None:
    _environment(tmp_path, "a", TEXT).get_template("page")
    (kept,) = tmp_path.iterdir()
    whole = kept.read_bytes()
    for size in (0, 5, len(whole) // 2, len(whole) - 3):
        kept.write_bytes(whole[:size])
        assert _environment(tmp_path, "a", TEXT).get_template("page").render(many=[4]) == "4;"


def test_pages_have_it() -> None:
    assert environment().bytecode_cache is not None
