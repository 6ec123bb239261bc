"""The first use on a machine: what is prepared for a command, and what is shown meanwhile."""

import io

import pytest

from moldgen.cli import first_use
from moldgen.cli.screen import Screen
from moldgen.job import CheckCommand, SignCommand, sign_job
from moldgen.job.command.printing import SplitCommand
from moldgen.job.formats import Format
from moldgen.mold.choices import FormingLook


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Say so."""
        return True


def shown(err: io.StringIO, *, quiet: bool = False) -> str:
    """What is written while a preparation of 40 s goes on."""
    bar = first_use.FirstUseBar(Screen(out=io.StringIO(), err=err, quiet=quiet))
    for share, left_s in ((0.0, 41.0), (0.1, 36.0), (0.4, 24.4), (0.9, 3.6), (1.0, 0.0)):
        bar(share, left_s)
    return err.getvalue()


def test_a_terminal_shows_one_line_that_fills_and_goes():
    """The bar is redrawn in its place, tells what is left, and is gone at the end."""
    lines = shown(Terminal()).split("\r\x1b[K")

    assert lines == [
        "",
        "first use: preparing the program [..........] 0 %, about 40 s left",
        "first use: preparing the program [#.........] 10 %, about 35 s left",
        "first use: preparing the program [####......] 40 %, about 25 s left",
        "first use: preparing the program [#########.] 90 %, about 4 s left",
        "first use: preparing the program [##########] 100 %, ready",
        "",
    ]


def test_elsewhere_a_few_lines_are_enough():
    """Where nothing can be redrawn, each quarter of the way is one line."""
    assert shown(io.StringIO()).splitlines() == [
        "first use: preparing the program [..........] 0 %, about 40 s left",
        "first use: preparing the program [####......] 40 %, about 25 s left",
        "first use: preparing the program [#########.] 90 %, about 4 s left",
        "first use: preparing the program [##########] 100 %, ready",
    ]


@pytest.mark.parametrize("err", [Terminal(), io.StringIO()])
def test_quiet_is_quiet(err):
    """With --quiet nothing is shown."""
    assert shown(err, quiet=True) == ""


@pytest.mark.parametrize(
    ("options", "uses"),
    [
        ({"formats": (Format.STL,)}, {"mold"}),
        ({"formats": (Format.STL, Format.HTML)}, {"mold", "mold-pictures"}),
        ({"formats": (Format.THREE_MF,), "forming": FormingLook.PREVIEW}, {"mold", "forming"}),
    ],
)
def test_a_mold_prepares_what_it_needs(options, uses, monkeypatch):
    """No pictures for a mesh alone, and the forming run only if there is one."""
    heard: list[str] = []
    monkeypatch.setattr(first_use, "prepare_uses", lambda wanted, screen: heard.extend(wanted))
    words = SignCommand(words=("PIER 4",), **options)

    first_use.prepare_job(sign_job(words), Screen(out=io.StringIO(), err=io.StringIO()))

    assert set(heard) == uses


@pytest.mark.parametrize(
    ("words", "uses"),
    [
        (SplitCommand(file="hull.stl"), {"split", "split-pictures"}),
        (CheckCommand(file="hull.stl", formats=(Format.JSON,)), {"check"}),
        (
            CheckCommand(file="hull.stl", formats=(Format.JSON,), forming=FormingLook.FINE),
            {"check", "forming"},
        ),
    ],
)
def test_a_command_prepares_by_its_name(words, uses, monkeypatch):
    """What a command needs is listed under its name."""
    heard: list[str] = []
    monkeypatch.setattr(first_use, "prepare_uses", lambda wanted, screen: heard.extend(wanted))

    first_use.prepare_command(type(words), words, Screen(out=io.StringIO(), err=io.StringIO()))

    assert set(heard) == uses
