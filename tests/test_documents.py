"""What the documents say is true: commands run, links lead somewhere, folders are there."""

import io
import re
import shlex
import tomllib
from pathlib import Path

import pytest
from conftest import ROOT
from support.some import some

from moldgen.cli.app import main
from moldgen.cli.commands import COMMANDS
from moldgen.fixture.letters.foot import BLANK
from moldgen.job.command.letters import LettersCommand, letter_counts
from moldgen.job.spec import Format
from moldgen.pipeline.fixture.make import bench_of
from moldgen.pipeline.letters.mold import rule_of_set
from moldgen.pipeline.letters.storage import formed_trays
from moldgen.pipeline.mold.stages import STAGES
from moldgen.stock import load_shop

README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
FENCE = re.compile(r"^```(\w+)\n(.*?)^```", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\(([^)#]+)\)")
ROW = re.compile(r"^\| `(moldgen/[^|]*) \|", re.MULTILINE)
BLOCKS = FENCE.findall(README)
LINES = [line for kind, block in BLOCKS if kind == "sh" for line in block.splitlines()]
COMMAND_LINES = [line for line in LINES if line.startswith("moldgen ")]


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Return a folder that looks like the repository to somebody who follows the README."""
    folder = tmp_path_factory.mktemp("desk")
    (folder / "examples").symlink_to(ROOT / "examples")
    return folder


def test_the_readme_shows_every_command():
    """Whoever reads it meets each command once."""
    assert {line.split()[1] for line in COMMAND_LINES} == set(COMMANDS)


SHORTER = {"A-Z a-z 0-9 ÄÖÜäöüéñ .,:;!?-&%": "A-C i-j 0-1 Öé .!"}
"""What is shown with many letters is run with some of each kind, each letter being a mold."""


def test_commands_of_the_readme_run(desk, monkeypatch, capsys):
    """Each line does what it says, in the order of the page, since one builds on another."""
    monkeypatch.chdir(desk)
    monkeypatch.setenv("MOLDGEN_HOME", str(desk / "home"))
    for line in some(COMMAND_LINES):
        words = [SHORTER.get(word, word) for word in shlex.split(line)[1:]]
        # They serve until somebody ends them; tests of their own start them.
        if words[0] in ("page", "worker") or (words[0] == "scheduler" and "--host" in words):
            continue
        if "--cluster" in words:
            continue
        monkeypatch.setattr("sys.stdin", io.StringIO("sign\nPIER 2\n\n\noutputs/new.toml\n"))
        if COMMANDS[words[0]].makes and "--save-job" not in words:
            # What is only looked at has no mesh to write.
            looked_at = words[0] in ("check", "measure", "heat", "chart", "compare", "arrange")
            words += ["--formats", "json" if looked_at else "stl"]

        code = main(words)

        shown = capsys.readouterr()
        assert code in (0, 1 if words[0] == "check" else 0), f"{line}: {shown.out}"
        assert shown.err == "" or words[0] == "new", line


def test_the_large_letter_set_of_the_readme_can_be_drawn():
    """Each of its characters has an outline on a foot of the set, and a place in a tray."""
    ((characters, shorter),) = SHORTER.items()
    assert sum(f'letters --characters "{characters}"' in line for line in COMMAND_LINES) == 1
    command = LettersCommand(characters=characters)
    counts = letter_counts(command)
    rule = rule_of_set(counts, command)
    trays = formed_trays(counts, rule, command, bench_of(command, load_shop(user_file=None)))

    assert len(counts) == 80
    assert set(letter_counts(LettersCommand(characters=shorter))) < set(counts)
    assert [rule.drawn(one).is_empty for one in counts if one != BLANK] == [False] * 79
    places = [len(tomllib.loads(text.decode())["body"][0]["sunk"]) for text in trays.values()]
    assert sum(places) == sum(counts.values())


def test_the_own_entries_of_the_readme_are_read(tmp_path):
    """The example of a stock file is one."""
    example = next(block for kind, block in BLOCKS if kind == "toml")
    assert tomllib.loads(example)
    path = tmp_path / "shed.toml"
    path.write_text(example, encoding="utf-8")

    shop = load_shop([path], user_file=None)

    assert shop.machine("Shed table").hole_pitch_mm == pytest.approx(12.7)
    assert shop.plastic("Red styrene").forming_degC == pytest.approx(148.89, abs=0.01)


@pytest.mark.parametrize("ending", [f".{word.value}" for word in Format if word.value != "png"])
def test_the_readme_names_every_file(ending):
    """What is written is in the table."""
    table = README.partition("## What you get")[2].partition("\n## ")[0]

    assert ending in table


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_links_lead_somewhere(text):
    """No link to a file that is gone."""
    assert [link for link in LINK.findall(text) if not (ROOT / link).exists()] == []


def test_the_layout_is_that_of_the_package():
    """Every folder and every module of the top folder has its row, and no row is left over."""
    patterns = [
        name for row in ROW.findall(DEVELOPERS) for name in re.findall(r"moldgen/[^`]*", row)
    ]
    rows = {path.relative_to(ROOT) for name in patterns for path in ROOT.glob(name)}
    folders = {path.parent.relative_to(ROOT) for path in (ROOT / "moldgen").rglob("*.py")}
    modules = {path.relative_to(ROOT) for path in (ROOT / "moldgen").glob("*.py")}

    assert rows == folders - {Path("moldgen")} | modules
    assert all(list(ROOT.glob(name)) for name in patterns)


def test_the_picture_is_small():
    """A page that loads slowly is not read."""
    pictures = [link for link in LINK.findall(README) if link.endswith(".png")]

    assert pictures
    assert all((ROOT / link).stat().st_size <= 200_000 for link in pictures)


def test_the_stages_of_a_mold_stand_in_the_guide():
    """Each with what it needs, as the graph has it; who is told of progress is no input."""
    rows = re.findall(r"^\| `(\w+)` \| (.*) \|$", DEVELOPERS, re.MULTILINE)
    told = {name: {word for word in re.split(r"[,;] ", needs)} for name, needs in rows}

    for name, inputs in some(STAGES.inputs.items()):
        assert set(inputs) - STAGES.without_effect <= told[name], name
        assert told[name] - set(inputs) <= {"read anew each time", "since they may come from files"}
