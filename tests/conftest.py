"""Shared by every test: the loader of published tables, and how far properties are searched."""

import csv
import os
from pathlib import Path

import pytest
from hypothesis import settings

# The same examples in every run, so that a change that fails, fails for everybody. To search
# further: pytest --hypothesis-profile=search.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None, max_examples=400)
settings.load_profile("steady")

ROOT = Path(__file__).parents[1]
PUBLISHED = ROOT / "tests" / "published"
FIRST = (ROOT / "tests" / "wishes", ROOT / "tests" / "test_documents.py")


def pytest_collection_modifyitems(items):
    """Put first what takes long or shares much work: it stays where it is on several processors.

    Whoever of several is done sooner takes over what the others would have done last.
    """
    items.sort(key=lambda item: not any(item.path.is_relative_to(one) for one in FIRST))


@pytest.fixture(autouse=True)
def no_first_use(monkeypatch):
    """Commands of tests compile what they call, and nothing ahead of it in other processes."""
    monkeypatch.setattr("moldgen.cli.first_use.prepare_uses", lambda uses, screen: None)


@pytest.fixture(autouse=True)
def no_waiting_for_disks(monkeypatch):
    """Files of tests need not outlast a power cut; `test_swap` looks at what is forced when."""
    monkeypatch.setattr(os, "fsync", lambda handle: None)


@pytest.fixture(autouse=True)
def no_own_room(monkeypatch, tmp_path_factory):
    """Tests see no room and no stock of whoever runs them."""
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path_factory.getbasetemp() / "no-room" / "moldgen"))


def published(name: str) -> list[dict[str, str]]:
    """Rows of a published table, digits still as text."""
    lines = (PUBLISHED / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    assert any(line.startswith("# source:") for line in lines), f"{name}: no source"
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert rows, f"{name}: no rows"
    return rows


def half_last_digit(printed: str) -> float:
    """Half a unit in the last printed place: all a table of this kind can promise."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])
