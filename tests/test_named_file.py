"""Files that somebody names: regular ones, beside the job where strangers ask, told safely."""

from pathlib import Path

import pytest

import moldgen as mg
from moldgen.cli.app import main
from moldgen.errors import FileError, SpecError
from moldgen.execution import run_with
from moldgen.job.read import mold_from_words
from moldgen.limits import PAGE, Limits
from moldgen.named_file import bounded_bytes, is_plain, path_in, told, visible

SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm">'
    '<rect width="60mm" height="60mm"/></svg>'
)


def job_of(**outline):
    """Return a job with this outline."""
    body = {"name": "a", "height": 6, "outline": {"width": 60, **outline}}
    return mold_from_words({"title": "x", "body": [body]})


def test_no_more_is_read_than_may_be(tmp_path):
    """One byte more than the most tells that the file is larger."""
    path = tmp_path / "a"
    path.write_bytes(b"x" * 100)

    assert len(bounded_bytes(path, 100)) == 100
    assert len(bounded_bytes(path, 50)) == 51


def test_only_regular_files_are_read(tmp_path):
    """Devices, which have no end, are not read; a link to a file is."""
    (tmp_path / "file").write_bytes(b"x")
    (tmp_path / "link").symlink_to(tmp_path / "file")

    for path in (Path("/dev/zero"), Path("/dev/null"), tmp_path, tmp_path / "none"):
        with pytest.raises(OSError, match=r"regular|directory"):
            bounded_bytes(path, 10)
    assert bounded_bytes(tmp_path / "link", 10) == b"x"


@pytest.mark.parametrize("ending", ["svg", "dxf", "stl", "3mf", "png", "toml", "ttf"])
def test_every_reader_refuses_an_endless_file(ending, tmp_path, capsys):
    """A link to a device under the name of a drawing, mesh, picture, job or font: exit code 2."""
    path = tmp_path / f"a.{ending}"
    path.symlink_to("/dev/zero")
    words = {
        "svg": ["raise", path, "--height", "6"], "dxf": ["raise", path, "--height", "6"],
        "stl": ["check", path], "3mf": ["check", path], "png": ["adapt", path],
        "toml": ["make", path], "ttf": ["sign", "A", "--font", path],
    }[ending]  # fmt: skip

    assert main([*map(str, words), "--out", str(tmp_path / "out")]) == 2
    assert "ot a regular file" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "name",
    ["/etc/passwd.svg", "../a.svg", "~/a.svg", "a/b.svg", "a\\b.svg", "C:a.svg", "C:\\a.svg",
     ".", "..", ".hidden.svg", "", "\\\\host\\a.svg"],
)  # fmt: skip
def test_what_is_no_plain_name(name):
    """Folders, homes and drives are told on every system."""
    assert not is_plain(name)


def test_what_is_a_plain_name():
    """A name with blanks and letters of any alphabet is plain."""
    assert all(map(is_plain, ["a.svg", "my boat 2.svg", "Möwe.dxf", "ЖЩ.svg"]))


@pytest.mark.parametrize(
    ("outline", "field"),
    [
        ({"svg": "../secret.svg"}, "svg"),
        ({"dxf": "/etc/passwd"}, "dxf"),
        ({"text": "A", "font": "~/secret.ttf"}, "font"),
    ],
)
def test_a_stranger_names_only_files_beside_the_job(outline, field, tmp_path):
    """A path of any kind is refused before it is known whether there is such a file."""
    with run_with(limits=PAGE), pytest.raises(SpecError, match=f"{field} must be the plain name"):
        _ = mg.design(job_of(**outline), folder=tmp_path).features


def test_a_stock_file_of_a_stranger_lies_beside_the_job(tmp_path):
    """The stock that a job names is read by the same rule."""
    body = {"name": "a", "height": 6, "outline": {"text": "A", "height": 20}}
    words = {"title": "x", "stock": "../stock.toml", "body": [body]}

    with run_with(limits=PAGE), pytest.raises(SpecError, match="stock must be the plain name"):
        mg.make(mold_from_words(words), folder=tmp_path)


def test_a_font_of_a_stranger_is_not_looked_for_in_the_working_folder(tmp_path, monkeypatch):
    """A font file is taken from beside the job, and from nowhere else."""
    from moldgen.outline.lettering.fonts import default_font_path

    monkeypatch.chdir(tmp_path)
    (tmp_path / "own.ttf").write_bytes(default_font_path().read_bytes())
    (tmp_path / "job").mkdir()
    job = job_of(text="A", font="own.ttf")

    assert mg.design(job, folder=tmp_path / "job").features.bodies
    with run_with(limits=PAGE), pytest.raises(FileError, match=r"the font own\.ttf: No such"):
        _ = mg.design(job, folder=tmp_path / "job").features
    with run_with(limits=PAGE):
        assert mg.design(job, folder=tmp_path).features.bodies


def test_a_drawing_beside_the_job_is_read_for_a_stranger(tmp_path):
    """What is allowed is allowed."""
    (tmp_path / "a.svg").write_text(SQUARE)

    with run_with(limits=PAGE):
        (body,) = mg.design(job_of(svg="a.svg"), folder=tmp_path).features.bodies

    assert body.region.bounds[2] - body.region.bounds[0] == pytest.approx(60)


@pytest.mark.parametrize("name", ["a.svg", "a.dxf"])
def test_sentences_for_a_stranger_say_no_folder(name, tmp_path):
    """Only the last part of a path is told; on a computer of one's own all of it is."""
    job = job_of(**{name[2:]: name})

    with pytest.raises(FileError) as own:
        _ = mg.design(job, folder=tmp_path).features
    with run_with(limits=PAGE), pytest.raises(FileError) as page:
        _ = mg.design(job, folder=tmp_path).features

    assert str(tmp_path) in str(own.value)
    assert str(page.value).startswith(f"{name} does not exist")


def test_path_in_joins_what_is_allowed(tmp_path):
    """On a computer of one's own any path goes."""
    assert path_in(tmp_path, "../a.svg", field="svg") == tmp_path / "../a.svg"
    with run_with(limits=Limits(own_folder=True)):
        assert path_in(tmp_path, "a.svg", field="svg") == tmp_path / "a.svg"


def test_what_a_terminal_would_obey_is_written_out():
    """Escapes and signs that turn the order of letters are shown; letters stay."""
    assert visible("a\x1b[2Jb\x07\u202ec\nd") == "a\\x1b[2Jb\\x07\\u202ec\\nd"
    assert visible("Möwe ЖЩ\u00a03 mm") == "Möwe ЖЩ\u00a03 mm"
    assert told("x/\x1b[31m.svg") == "x/\\x1b[31m.svg"


def test_escapes_in_file_names_do_not_reach_the_terminal(tmp_path, capsys):
    """Neither an error nor a result obeys what a file is called."""
    from support.hostile import box_triangles, stl

    path = tmp_path / "a\x1b[2J.stl"
    path.write_bytes(stl(box_triangles(60, 40, 10)))

    main(["check", str(tmp_path / "b\x1b[2J.stl")])
    main(["check", str(path), "--formats", "json", "--out", str(tmp_path / "out")])

    told_of = capsys.readouterr()
    assert "\\x1b[2J" in told_of.err
    assert "\\x1b[2J" in told_of.out
    assert "\x1b[2J" not in told_of.err + told_of.out
