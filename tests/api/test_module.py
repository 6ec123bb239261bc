"""What ``import moldgen`` gives: its names, how soon it is there, and that each is told about."""

import ast
import inspect
import os
import subprocess
import sys

import pytest
from conftest import ROOT

import moldgen as mg

SOURCE = ast.parse((ROOT / "moldgen/__init__.py").read_text(encoding="utf-8"))
NAMES = [name for name in mg.__all__ if name != "__version__"]


def test_every_public_name_is_there_and_listed():
    """Each name of ``__all__`` can be had, and ``dir`` lists it."""
    assert len(NAMES) > 35
    for name in mg.__all__:
        assert getattr(mg, name) is not None
    assert set(mg.__all__) <= set(dir(mg))


def test_a_name_that_is_not_there_is_an_attribute_error():
    """Other names fail the way names of a module do."""
    with pytest.raises(AttributeError, match="has no attribute 'mould'"):
        mg.mould  # noqa: B018


def test_type_checkers_see_what_programs_get():
    """The imports that a type checker reads name the same things, from the same modules."""
    seen = {
        (f"{node.module}", alias.name, alias.asname or alias.name)
        for block in SOURCE.body
        if isinstance(block, ast.If)
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    given = {
        (f"moldgen.{module}", entry.partition(" as ")[0], entry.rpartition(" as ")[2])
        for module, names in mg._HOMES.items()
        for entry in names
    }

    assert {public for _, _, public in given} == set(NAMES)
    assert seen == given


def test_no_public_name_is_a_room_of_the_package():
    """A folder's name would take the place of a function's as soon as it is imported."""
    rooms = {path.stem for path in (ROOT / "moldgen").iterdir()}

    assert "pipeline" in rooms
    assert rooms & set(mg.__all__) == set()


def test_the_import_is_quick_and_brings_no_arrays():
    """Importing the package takes at most 0.05 s, and numpy is not loaded by it."""
    code = (
        "import sys, time; t = time.process_time(); import moldgen; "
        "print(time.process_time() - t, 'numpy' in sys.modules)"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    ).stdout.split()

    assert float(shown[0]) <= 0.05
    assert shown[1] == "False"


def test_a_job_is_made_without_arrays():
    """Jobs, stock and errors cost no geometry either."""
    code = (
        "import sys, moldgen as mg; mg.sign('A'); mg.load_stock(); print('shapely' in sys.modules)"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)

    assert shown.stdout.strip() == "False"


@pytest.mark.parametrize("name", NAMES)
def test_every_public_name_is_told_about(name):
    """Each has a docstring; a function's tells its parameters, if it has any, and its result."""
    thing = getattr(mg, name)
    said = inspect.getdoc(thing) or ""

    assert said.partition("\n")[0].endswith(".")
    if inspect.isfunction(thing):
        assert "Returns\n-------" in said or "Return" in said.partition("\n")[0]
        parameters = inspect.signature(thing).parameters
        if parameters and thing.__module__.startswith("moldgen.api"):
            assert "Parameters\n----------" in said
            told = said.partition("Parameters\n")[2].partition("Returns\n")[0]
            assert [word for word in parameters if word not in told] == []


SOUND = """import moldgen as mg
mold = mg.make(mg.sign("HIGH / TIDE", letter_height_mm=25, gauge="1 mm"))
reveal_type(mold.bodies[0].mesh.points_mm)
paths = mold.write("here", formats=["stl", "3mf"])
print(paths[0].name, mold.findings[0].severity is mg.Severity.STOP)
"""
MISTAKEN = """import moldgen as mg
mg.sign("A", guage=1)
mg.sign("A", forming="of")
mg.mould
mg.make("tide.toml")
"""


@pytest.fixture(scope="module")
def told_by_types(tmp_path_factory):
    """Type-check users' files, strictly, and return what is said of each."""
    folder = tmp_path_factory.mktemp("user")
    (folder / "sound.py").write_text(SOUND, encoding="utf-8")
    (folder / "mistaken.py").write_text(MISTAKEN, encoding="utf-8")
    told = subprocess.run(
        [
            sys.executable,
            "-m",
            "mypy",
            "--strict",
            "--follow-imports=silent",
            "--no-error-summary",
            "sound.py",
            "mistaken.py",
        ],
        cwd=folder,
        env={**os.environ, "MYPYPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    ).stdout.splitlines()
    files = {"sound.py": [], "mistaken.py": []}
    for line in told:
        files[line.partition(":")[0]].append(line)
    return files


def test_a_users_file_is_checked_by_its_types(told_by_types):
    """A sound file passes a strict check, and knows the array behind a mesh."""
    told = "\n".join(told_by_types["sound.py"])

    assert "error" not in told
    assert "float64" in told


def test_a_users_mistakes_are_found_by_types(told_by_types):
    """A wrong argument, a wrong choice and a name that is not there are each refused."""
    lines = [line for line in told_by_types["mistaken.py"] if ": error:" in line]
    assert [line.split(":")[1] for line in lines] == ["2", "3", "4", "5"]
