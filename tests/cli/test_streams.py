"""Closed and full streams, and a system that asks to end: right codes, nothing lost."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from moldgen.export.run_folder import LIST_NAME

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a shell of another kind there")

FULL = pytest.mark.skipif(not Path("/dev/full").exists(), reason="a system without /dev/full")
HEAT = "heat HIPS --formats json --out out"
FLAT = "solid a\n" + "facet normal 0 0 0\nouter loop\n{}endloop\nendfacet\n" * 2 + "endsolid a\n"
CORNERS = [(0, 0), (40, 0), (0, 30)]
IN_THE_SWAP = """
import os, signal, sys
from moldgen.cli.app import main
plain, renames = os.replace, []
def replace(source, target):
    renames.append(target)
    if len(renames) == 2:
        os.kill(os.getpid(), signal.SIGTERM)
    plain(source, target)
os.replace = replace
raise SystemExit(main(sys.argv[1:]))
"""


def run(words, folder, *, code="", stderr=subprocess.PIPE, **changes):
    """Run moldgen through a shell, in a folder, with a buffer as usual or without one."""
    program = f"{sys.executable} -m moldgen" if not code else f"{sys.executable} -c '{code}'"
    environment = {key: os.environ[key] for key in os.environ if key != "PYTHONUNBUFFERED"}
    return subprocess.run(
        f"{program} {words}",
        shell=True,
        executable="/bin/bash",
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=stderr,
        text=True,
        env=environment | changes,
        timeout=120,
        check=False,
    )


def written(folder):
    """The files of a run that are there."""
    out = folder / "out"
    return sorted(path.name for path in out.iterdir()) if out.is_dir() else []


MADE = [LIST_NAME, "findings.json"]


@pytest.mark.parametrize("closed", [">&-", ">&- 2>&- <&-"])
def test_a_closed_stream_is_no_failure(tmp_path, closed):
    """Who closes a stream wants to see nothing: the files are made."""
    ran = run(f"{HEAT} {closed}", tmp_path)

    assert (ran.returncode, written(tmp_path)) == (0, MADE)
    assert "Traceback" not in ran.stdout + ran.stderr


@FULL
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_output_is_a_failure_that_is_told(tmp_path, unbuffered):
    """The files are there, the answer is not: code 3 and one sentence."""
    ran = run("--version > /dev/full", tmp_path, PYTHONUNBUFFERED=unbuffered)

    assert ran.returncode == 3
    assert ran.stderr == (
        "moldgen: Standard output cannot be written: no space left on device. "
        "Files that were made are where they were to go.\n"
    )


@FULL
@pytest.mark.parametrize(
    ("words", "code"), [("heat NOPE", 2), ("heat HIPS -v", 3), ("frobnicate", 2)]
)
def test_a_full_error_stream_never_reads_as_made(tmp_path, words, code):
    """Bad input stays bad input, and work that cannot tell its stages has failed."""
    ran = run(f"{words} 2> /dev/full", tmp_path)

    assert (ran.returncode, written(tmp_path)) == (code, [])


@pytest.mark.parametrize(
    ("words", "code"),
    [("check flat.stl --formats json --out out", 1), (f"{HEAT} -v 2>&1", 0)],
)
def test_a_reader_that_goes_ends_nothing(tmp_path, words, code):
    """With nobody reading any more the work is finished, and the code is that of the work."""
    flat = "".join(f"vertex {x} {y} 0\n" for x, y in CORNERS)
    back = "".join(f"vertex {x} {y} 0\n" for x, y in reversed(CORNERS))
    (tmp_path / "flat.stl").write_text(FLAT.format(flat, back))

    ran = run(f"{words} | true; exit ${{PIPESTATUS[0]}}", tmp_path, PYTHONUNBUFFERED="1")

    assert (ran.returncode, written(tmp_path), ran.stderr) == (code, MADE, "")


def test_a_long_list_may_be_read_in_part(tmp_path):
    """The first line of a list arrives, without a word about the rest."""
    ran = run("stock | head -1; exit ${PIPESTATUS[0]}", tmp_path)

    assert (ran.returncode, ran.stdout.count("\n"), ran.stderr) == (0, 1, "")


def test_the_system_may_end_a_run_in_the_middle_of_its_files(tmp_path):
    """SIGTERM between two renames: the earlier set is there, whole, and the code is 143."""
    run(HEAT, tmp_path)
    before = {name: (tmp_path / "out" / name).read_bytes() for name in MADE}

    ran = run(HEAT.replace("HIPS", "ABS"), tmp_path, code=IN_THE_SWAP)

    assert (ran.returncode, ran.stdout) == (143, "")
    assert ran.stderr == "moldgen: ended by the system.\n"
    assert {name: (tmp_path / "out" / name).read_bytes() for name in written(tmp_path)} == before


def test_the_system_may_end_a_run_at_its_work(tmp_path):
    """SIGTERM while a mold is built: nothing is written, and the code is 143."""
    words = [sys.executable, "-u", "-m", "moldgen", "sign", "PIER", "-v", "--out", "out"]
    with subprocess.Popen(words, cwd=tmp_path, stderr=subprocess.PIPE, text=True) as moldgen:
        lines = iter(moldgen.stderr.readline, "")
        assert any(line.startswith("2/") for line in lines)
        moldgen.send_signal(signal.SIGTERM)
        told = moldgen.stderr.read()

    assert (moldgen.returncode, told.splitlines()[-1]) == (143, "moldgen: ended by the system.")
    assert list(tmp_path.iterdir()) == []
