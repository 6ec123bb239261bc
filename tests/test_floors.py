"""The floors of the house: imports run down only, and nowhere in a circle."""

import ast
from collections import defaultdict
from functools import cache
from pathlib import Path

import networkx
import pytest
from conftest import ROOT

FLOORS = (
    ("__init__", "__main__"),
    ("cli",),
    ("web",),
    ("lesson",),
    ("api",),
    ("pipeline",),
    ("job",),
    ("fixture",),
    ("mold", "bend"),
    ("printing", "table"),
    ("export", "outline", "physics"),
    ("solid", "stock", "typeface"),
    ("file_value", "finding", "toml_file"),
    ("named_file", "sandbox"),
    ("execution",),
    ("limits",),
    ("quantity",),
    ("old_words", "written_number", "units_text"),
    ("language",),
    (
        "errors",
        "user_file",
        "extensions",
        "wording",
        "version",
        "arrays",
        "memo",
        "trust",
        "compiling",
        "dxf_library",
        "zip_file",
        "sqlite_file",
    ),
)
"""From the faces down to the ground; rooms of one floor do not know each other."""
LEVEL = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
PACKAGE = ROOT / "moldgen"
FOLDERS = sorted({path.parent for path in PACKAGE.rglob("*.py")})


@cache
def imports() -> tuple[tuple[str, str], ...]:
    """All pairs of modules of which the first imports the second, inside functions as well."""
    modules = {dotted(path) for path in PACKAGE.rglob("*.py")}
    return tuple(
        sorted(
            (dotted(path), target)
            for path in PACKAGE.rglob("*.py")
            for target in imported_by(path, modules)
            if target != dotted(path)
        )
    )


def dotted(path: Path) -> str:
    """The dotted name of a module's file."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported_by(path: Path, modules: set[str]) -> set[str]:
    """What of the package a file imports, wherever in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names if alias.name in modules}
        elif isinstance(node, ast.ImportFrom) and node.module in modules:
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                found.add(whole if whole in modules else node.module)
    return found


def room(module: str) -> str:
    """The room at the top of the house that a module belongs to."""
    return module.split(".")[1] if "." in module else "__init__"


def test_every_room_has_a_floor():
    """No folder or module at the top is left out of the list, and the list names none twice."""
    rooms = {room(dotted(path)) for path in PACKAGE.rglob("*.py")}

    assert len(rooms) > 10
    assert rooms <= set(LEVEL)
    assert len(LEVEL) == sum(len(floor) for floor in FLOORS)


def test_no_import_runs_up():
    """A file imports from its own room or from floors below."""
    across = [(a, b) for a, b in imports() if room(a) != room(b)]

    assert len(across) > 100
    assert [(a, b) for a, b in across if LEVEL[room(a)] >= LEVEL[room(b)]] == []


@pytest.mark.parametrize("folder", FOLDERS, ids=dotted)
def test_no_circle_inside_a_folder(folder):
    """The modules and subfolders of one folder can be put in an order."""
    graph = networkx.DiGraph(sorted(inside(dotted(folder))))

    circles = list(networkx.simple_cycles(graph, length_bound=6))
    assert circles == []


def inside(folder: str) -> set[tuple[str, str]]:
    """Which children of a folder import which."""
    depth = folder.count(".") + 1
    pairs = set()
    for a, b in imports():
        if a.startswith(f"{folder}.") and b.startswith(f"{folder}."):
            first, second = a.split(".")[depth], b.split(".")[depth]
            if first != second:
                pairs.add((first, second))
    return pairs


def test_a_circle_would_be_found():
    """The search for circles finds one that is planted."""
    planted = defaultdict(set, {"a": {"b"}, "b": {"c"}, "c": {"a"}})
    graph = networkx.DiGraph([(a, b) for a, targets in planted.items() for b in targets])

    assert len(list(networkx.simple_cycles(graph, length_bound=6))) == 1
