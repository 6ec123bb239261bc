"""The order to build a mold has all that it needs with it."""

from pathlib import Path

import pytest

from moldgen.errors import FileError
from moldgen.job import Job
from moldgen.job.formats import Format
from moldgen.job.outline import JobSvg, JobText
from moldgen.job.packed import pack_job
from moldgen.job.spec import JobBody
from moldgen.lesson.class_work.build import built_of, order_for
from moldgen.pool.piece import answer_of, carry_out
from moldgen.stock import load_shop
from moldgen.stock.shop import own_stock_texts, shop_from_texts
from moldgen.typeface.face import load_faces

FONT = next(face.path for face in load_faces())


def square(folder, name, side):
    """Write a drawing of a square."""
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    svg = f'<svg xmlns="http://www.w3.org/2000/svg"><rect width="{side}" height="{side}"/></svg>'
    path.write_text(svg)
    return path


def job(*outlines):
    """A job with a body of each outline."""
    return Job(
        title="Cleat", body=tuple(JobBody(outline=outline, height_mm=6) for outline in outlines)
    )


def nowhere(name):
    """Find no font."""
    return


def packed_order(folder, *outlines, stock=None):
    """The order to build them."""
    return order_for(job(*outlines), folder=folder, stock=stock or {}, formats=[Format.STL]).piece()


def test_files_go_with_the_job_and_lose_their_folders(tmp_path):
    """Two of one name are told apart, one that is named twice goes once; own fonts go too."""
    square(tmp_path / "a", "cleat.svg", 40)
    square(tmp_path / "b", "cleat.svg", 50)
    own = tmp_path / "own.ttf"
    own.write_bytes(FONT.read_bytes())
    wanted = job(
        JobSvg(svg="a/cleat.svg"), JobSvg(svg=str(tmp_path / "b" / "cleat.svg"), x_mm=80),
        JobSvg(svg="a/cleat.svg", x_mm=160), JobText(text="8", height_mm=20, font="own.ttf"),
        JobText(text="8", height_mm=20, font="Lexend"),
    )  # fmt: skip

    packed = pack_job(wanted, folder=tmp_path, font_path=nowhere)

    assert list(packed.files) == ["cleat.svg", "cleat-2.svg", "own.ttf"]
    assert b'width="50"' in packed.files["cleat-2.svg"]
    names = [getattr(body.outline, "svg", "") for body in packed.job.body]
    assert names == ["cleat.svg", "cleat-2.svg", "cleat.svg", "", ""]
    assert [getattr(body.outline, "font", "") for body in packed.job.body[3:]] == [
        "own.ttf",
        "Lexend",
    ]


def test_a_font_of_this_computer_goes_with_the_job(tmp_path):
    """Another computer need not have it."""
    packed = pack_job(
        job(JobText(text="8", font="Harbor Sans")), folder=tmp_path, font_path=lambda name: FONT
    )

    assert packed.files == {FONT.name: FONT.read_bytes()}
    assert packed.job.body[0].outline == JobText(text="8", font=FONT.name)


def test_a_drawing_that_changed_is_another_order(tmp_path):
    """Its content counts, not its name alone."""
    before = packed_order(tmp_path, JobSvg(svg=square(tmp_path, "a.svg", 40).name))
    square(tmp_path, "a.svg", 41)

    assert packed_order(tmp_path, JobSvg(svg="a.svg")) != before


def test_an_order_is_built_without_the_folder_it_came_from(tmp_path):
    """What it needs went with it, the shop's own stock too."""
    path = square(tmp_path, "a.svg", 40)
    stock = tmp_path / "stock.toml"
    stock.write_text('[machine.shed]\nbased_on = "classroom-450x300"\ntitle = "Shed"\n')
    texts = own_stock_texts([stock])
    piece = packed_order(tmp_path, JobSvg(svg="a.svg"), stock=texts)
    path.unlink()
    stock.unlink()

    assert built_of(answer_of(carry_out(piece))).files[".stl"]
    assert shop_from_texts(texts).machine("shed").title == "Shed"


def test_own_stock_goes_in_its_order(tmp_path, monkeypatch):
    """The room, the person's own, then what is named; the same stock comes out of it."""
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path))
    entry = '[machine.shed]\nbased_on = "classroom-450x300"\ntitle = "{}"\n'
    (tmp_path / "room.toml").write_text(entry.format("Room"))
    (tmp_path / "stock.toml").write_text(entry.format("Own"))
    more = tmp_path / "more" / "stock.toml"
    more.parent.mkdir()
    more.write_text(entry.format("More"))

    assert list(own_stock_texts([more])) == ["room.toml", "stock.toml", "stock-2.toml"]
    for files in ([], [more]):
        texts = own_stock_texts(files)
        assert (
            shop_from_texts(texts).machine("shed").title == load_shop(files).machine("shed").title
        )


def test_a_file_that_is_not_there_is_told(tmp_path):
    """Before anybody begins to build."""
    with pytest.raises(FileError, match=r"away\.svg cannot be read"):
        packed_order(tmp_path, JobSvg(svg="away.svg"))
    with pytest.raises(FileError, match="cannot be read"):
        own_stock_texts([Path(tmp_path / "away.toml")])
