"""What another package adds by its entry points is found and used; what is broken is left out."""

import os
import subprocess
import sys

import pytest
from conftest import ROOT

PACKAGE = ROOT / "tests/support/example_package"


def told(code: str, *, with_package: bool = True) -> tuple[str, str]:
    """Run a program, with the example package on the path, and return what it says."""
    paths = [str(ROOT), *([str(PACKAGE)] if with_package else [])]
    done = subprocess.run(
        [sys.executable, "-c", f"import moldgen as mg\n{code}"],
        env=os.environ | {"PYTHONPATH": os.pathsep.join(paths), "PYTHONUTF8": "1"},
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return done.stdout, done.stderr


def test_a_shape_is_added_and_a_torn_one_is_left_out():
    """The shape has its place in the library and is drawn; the broken one is one sentence."""
    code = (
        "print('spar-buoy' in mg.shape_names(), 'torn-sail' in mg.shape_names())\n"
        "from moldgen.outline.library.shapes import outline_from_shape\n"
        "print(outline_from_shape('spar-buoy', width_mm=60).area)"
    )
    out, err = told(code)

    assert out.split() == ["True", "False", "4000.0"]
    assert err.count("the shape 'torn-sail' of another package is left out (") == 1


def test_a_check_is_asked_and_a_failing_one_is_left_out():
    """Its finding stands among the others, and the failure is told once."""
    code = (
        "mold = mg.make(mg.drawing(shape='square', width=30, height=6))\n"
        "print([str(one) for one in mold.findings if one.code.startswith('shed-')])"
    )
    out, err = told(code.replace("square", "anchor"))

    assert out.strip() == "['1 to go on the shelf.']"
    assert "the check 'leaky' of another package is left out (ZeroDivisionError" in err


def test_a_fixture_is_added_with_its_own_sizes():
    """It is made by name, its sizes are arguments, and one that is not there is left out."""
    code = (
        "wedge = mg.make_fixture('wedge', rise='10 mm')\n"
        "print(round(wedge.mesh.volume_mm3), list(wedge.files('stl')))"
    )
    out, err = told(code)

    assert out.strip() == "6000 ['wedge.stl']"
    assert "the fixture 'sunk' of another package is left out (AttributeError" in err


def test_a_format_is_added():
    """It is asked for like any other, alone or beside others."""
    code = (
        "plug = mg.make_fixture('plug')\n"
        "print(list(plug.files('corners')), sorted(plug.files('3mf, corners')))\n"
        "print(plug.files(['corners'])['blanking-plugs.corners'].decode().splitlines()[0])"
    )
    out, _ = told(code)

    assert out.splitlines() == [
        "['blanking-plugs.corners'] ['blanking-plugs.corners', 'plug.3mf']",
        "Blanking plugs",
    ]


@pytest.mark.parametrize(
    "code", ["mg.make_fixture('wedge')", "mg.make_fixture('plug').files('corners')"]
)
def test_nothing_is_there_without_the_package(code):
    """Without it on the path its names are refused, with one sentence."""
    out, _ = told(f"try: {code}\nexcept mg.SpecError as told: print(told)", with_package=False)

    assert " must be " in out
