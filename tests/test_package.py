"""What is shipped: packages, data, the outline library, commands and needs."""

import ast
import re
import subprocess
import sys
import tomllib
from importlib import import_module

import pytest
from conftest import ROOT
from support.some import some

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SETUPTOOLS = PROJECT["tool"]["setuptools"]
LIBRARY = "moldgen.shapes_library"
SOURCES = sorted((ROOT / "moldgen").rglob("*.py"))
MODULE_OF = {"pillow": "PIL", "fonttools": "fontTools"}


def folder_of(package):
    """Return where the files of a package lie in the repository."""
    return ROOT / SETUPTOOLS["package-dir"].get(package, package.replace(".", "/"))


OF_STARLETTE = {"python_multipart"}
"""What starlette imports for templates and forms, and leaves to whoever uses them."""


def is_shipped(path):
    """Return whether a file goes along as package data."""
    return any(
        path in folder_of(package).glob(pattern)
        for package, patterns in SETUPTOOLS["package-data"].items()
        for pattern in patterns
    )


def imported(paths):
    """Return the top-level names that source files import."""
    names = set()
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names.add(node.module.partition(".")[0])
    return names


def needs(lines):
    """Return the import names of what a list of requirements asks for."""
    names = [re.match(r"[A-Za-z0-9_-]+", line)[0] for line in lines]
    return {MODULE_OF.get(name, name.replace("-", "_")) for name in names}


def test_every_package_is_listed():
    """A folder with sources that is not listed would be missing from the wheel."""
    found = {path.relative_to(ROOT).parent.as_posix().replace("/", ".") for path in SOURCES}

    assert sorted(found | {LIBRARY}) == SETUPTOOLS["packages"]
    assert all((folder_of(name) / "__init__.py").is_file() for name in found)


def test_every_data_file_is_shipped():
    """Whatever lies beside the sources is package data, by some pattern."""
    data = [
        path
        for path in (ROOT / "moldgen").rglob("*")
        if path.is_file() and path.suffix not in {".py", ".pyc", ".nbi", ".nbc"}
    ]

    assert data
    assert [path.name for path in data if not is_shipped(path)] == []


def test_every_pattern_of_data_finds_something():
    """A pattern without a file is a leftover, or a file that went missing."""
    for package, patterns in some(SETUPTOOLS["package-data"].items()):
        for pattern in some(patterns):
            assert list(folder_of(package).glob(pattern)), f"{package}: {pattern}"


def test_the_outline_library_is_shipped_whole():
    """The folder holds drawings and nothing else, and the wheel takes it as a package."""
    drawings = list(folder_of(LIBRARY).iterdir())

    assert folder_of(LIBRARY) == ROOT / "shapes"
    assert len(drawings) >= 24
    assert [path.name for path in drawings if not is_shipped(path)] == []


@pytest.mark.parametrize("command", PROJECT["project"]["scripts"])
def test_the_command_can_be_called(command):
    """The entry point names a function that is there."""
    module, _, name = PROJECT["project"]["scripts"][command].partition(":")

    assert callable(getattr(import_module(module), name))


def test_what_is_imported_is_what_is_needed():
    """No need is left undeclared, and none is declared that is gone from the sources."""
    declared = needs(PROJECT["project"]["dependencies"])
    optional = needs(PROJECT["project"]["optional-dependencies"]["cluster"])

    named = imported(SOURCES) - set(sys.stdlib_module_names) - {"moldgen"}
    assert named == (declared | optional) - OF_STARLETTE
    assert not declared & optional
    assert OF_STARLETTE < declared


def test_what_tests_import_is_what_developers_get():
    """The extra named dev brings everything the tests import beyond moldgen's own needs."""
    tests = list((ROOT / "tests").rglob("*.py"))
    own = {path.stem for path in tests} | {
        "moldgen",
        "benchmarks",
        "support",
        "class_kills",
        "crash",
        "fuzz",
        "mutation",
        "samples",
        "soak",
        "truth",
        "catalogs",
        "wishes",
        "boat_shed_extras",
    }
    declared = needs(
        PROJECT["project"]["dependencies"] + PROJECT["project"]["optional-dependencies"]["dev"]
    )

    assert imported(tests) - set(sys.stdlib_module_names) - own <= declared


def test_the_version_is_told_once():
    """The package, the project file and the changelog agree."""
    from moldgen import __version__

    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")

    assert PROJECT["project"]["version"] == __version__
    assert re.search(r"^## (\S+)", changelog, re.MULTILINE)[1] == __version__


def test_the_license_is_shipped():
    """The wheel carries the text of the license it names."""
    assert PROJECT["project"]["license"] == "MIT"
    assert PROJECT["project"]["license-files"] == ["LICENSE"]
    assert (ROOT / "LICENSE").read_text(encoding="utf-8").startswith("MIT License")


def test_help_imports_nothing_heavy():
    """Help answers at once: no geometry, no arrays, no pictures are loaded for it."""
    heavy = needs(PROJECT["project"]["dependencies"])
    program = (
        "import sys; from moldgen.cli.app import main; main(['--help']); "
        f"print('loaded:', *sorted({heavy!r} & sys.modules.keys()))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )

    assert done.stdout.splitlines()[-1] == "loaded:"


UNNEEDED = {
    "PIL",
    "ezdxf",
    "matplotlib",
    "trimesh",
    "moldgen.export.plan.plan",
    "moldgen.mold.sheet.formed",
    "moldgen.outline.library.shapes",
    "moldgen.physics.membrane.run",
    "moldgen.pipeline.mold.tables",
}
"""What makes pictures, plans, reports, shapes and forming runs."""


def test_a_mesh_alone_loads_only_what_makes_it(tmp_path):
    """A sign written as STL loads nothing that makes pictures, plans, reports or forming runs."""
    words = ["sign", "PIER 4", "--formats", "stl", "--quiet", "--out", str(tmp_path)]
    program = (
        f"import sys; from moldgen.cli.app import main; code = main({words!r}); "
        f"print('made', code, *sorted({UNNEEDED!r} & sys.modules.keys()))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=300
    )

    assert done.stdout.splitlines()[-1] == "made 0"
    assert [path.suffix for path in tmp_path.glob("[!.]*")] == [".stl"]
