"""The examples in Python run as they stand."""

import runpy

import pytest
from conftest import ROOT

EXAMPLES = sorted((ROOT / "examples/python").glob("*.py"))


def test_there_are_ten_examples():
    """Ten at least, each with a sentence at its head."""
    assert len(EXAMPLES) >= 10
    assert all(path.read_text(encoding="utf-8").startswith('"""') for path in EXAMPLES)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_runs(path, tmp_path, monkeypatch, capsys):
    """It ends well, and leaves a file or says something."""
    monkeypatch.chdir(tmp_path)
    runpy.run_path(str(path))

    assert capsys.readouterr().out or list(tmp_path.rglob("*.*"))


def test_the_program_of_the_readme_runs(tmp_path, monkeypatch, capsys):
    """It prints what it made and writes the two files it names."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    program = readme.partition("```python\n")[2].partition("```")[0]
    monkeypatch.chdir(tmp_path)
    exec(compile(program, "README.md", "exec"), {})

    assert "3)" in capsys.readouterr().out
    written = sorted(path.name for path in (tmp_path / "outputs/high-tide").iterdir())
    assert written == ["high-tide.3mf", "high-tide.stl"]
