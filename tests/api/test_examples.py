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
