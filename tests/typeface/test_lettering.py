"""The faces that come along: there, licensed, complete, and forming as small as is told."""

import re
from itertools import pairwise
from string import ascii_letters, ascii_uppercase, digits
from unicodedata import category

import pytest
from fontTools.ttLib import TTFont
from support.lettering import (
    CAPITALS,
    SMALLEST_MM,
    complaints,
    findings,
    finest_mm,
    forms,
    walls,
)
from support.some import some

from moldgen.cli.app import main
from moldgen.cli.lists import face_plan
from moldgen.errors import SpecError
from moldgen.export.picture.canvas import _font
from moldgen.export.plan.plan import Note, PlanRegion
from moldgen.outline.lettering.fonts import find_font, lettering_fonts, list_fonts
from moldgen.solid.sound import solid_from_mesh
from moldgen.typeface.face import Face, drawing_font, font_folder, load_faces

FACES = load_faces()
FILES = sorted(font_folder().glob("*.ttf"))
FINEST = "AGMQW1245"
"""Capitals and figures that hold the finest strokes and gaps of these faces."""

each_face = pytest.mark.parametrize("face", FACES, ids=lambda face: face.name)


def letters_of_latin() -> set[int]:
    """Return the letters of Latin-1 and Latin Extended-A that are in use, and Romanian T."""
    out_of_use = set(map(ord, "ŉſĲĳŢţ"))  # the last two by Ț and ț, which come later in Unicode
    found = {code for code in range(0xAA, 0x180) if category(chr(code)) in ("Lu", "Ll")}
    return (found | set(map(ord, "Țț"))) - out_of_use - {0xB5}


def test_there_are_faces_of_every_kind():
    """The usual face and at least five others, each with a look of its own."""
    assert FACES[0].path == find_font().path
    assert len(FACES) >= 6
    assert len({face.look for face in FACES}) == len(FACES)
    for look in ("wide", "rounded", "slab", "block"):
        assert any(look in face.look for face in FACES)


def test_every_font_in_the_folder_is_of_use():
    """What is shipped is a face, or letters the plans."""
    used = {face.path for face in FACES} | {drawing_font(), drawing_font(bold=True)}

    assert set(FILES) == used


def test_the_fonts_weigh_little():
    """Fonts and licenses together stay under 3 MB."""
    assert sum(path.stat().st_size for path in font_folder().iterdir() if path.is_file()) < 3e6


@each_face
def test_the_license_lies_beside_the_face(face):
    """The text of the license is whole and is the one the font itself names."""
    stem = face.file.partition(".")[0].partition("-")[0]
    text = (font_folder() / f"{stem}.license.txt").read_text(encoding="utf-8")
    named = TTFont(face.path)["name"].getDebugName(13)

    assert text.startswith(("Copyright", "Fonts are (c)"))
    if face.license == "OFL-1.1":
        assert "SIL OPEN FONT LICENSE Version 1.1" in text
        assert "DISCLAIMER" in text
        assert "Open Font Licen" in named
    else:
        assert face.license == "Bitstream Vera"
        assert "Bitstream Vera Fonts Copyright" in text


@each_face
def test_the_face_has_all_latin_letters(face):
    """Every letter of two Latin blocks, all figures and the signs of a keyboard."""
    known = set(TTFont(face.path).getBestCmap())

    assert set(map(ord, ascii_letters + digits + "&!?.,:;-+%()/'\"@#")) <= known
    assert letters_of_latin() <= known


@each_face
@pytest.mark.parametrize("spell", [str, str.upper, str.lower, lambda name: name.replace(" ", "-")])
def test_a_face_is_found_by_its_name(face, spell):
    """In any case, with blanks or hyphens, it is the very file that was measured."""
    assert find_font(spell(face.name)).path == face.path


def test_a_face_goes_before_another_font_of_its_name(tmp_path, monkeypatch):
    """What was measured is taken, whatever else the computer calls by that name."""
    (tmp_path / "Bungee.ttf").write_bytes(FACES[0].path.read_bytes())
    monkeypatch.setattr(
        "moldgen.outline.lettering.fonts.font_folders", lambda: (tmp_path, font_folder())
    )

    assert find_font("bungee").path.parent == font_folder()
    assert find_font("bungee", [tmp_path]).path.parent == tmp_path


def test_a_slip_in_the_name_of_a_face_is_told():
    """An unknown name is answered with near ones, and with where to look."""
    with pytest.raises(SpecError, match=r"Did you mean .*Nunito Black.* moldgen fonts lists faces"):
        find_font("Nunitto Blak")


# how small they form ---------------------------------------------------------------------------


@each_face
@pytest.mark.parametrize("letters", [ascii_uppercase[:13], ascii_uppercase[13:]])
def test_every_capital_makes_one_closed_mold(face, letters):
    """At the height that is told, a sign of each capital is one closed piece."""
    for letter in some(letters):
        (mesh,) = walls(letter, face.name, face.capitals_from_mm).meshes
        solid = solid_from_mesh(mesh, doing=f"closing {letter}")

        assert len(solid.decompose()) == 1
        assert solid.volume() == pytest.approx(mesh.volume_mm3, rel=1e-6)
        assert mesh.volume_mm3 > 6 * face.capitals_from_mm**2


@each_face
def test_capitals_form_from_the_height_told(face):
    """The finest capitals and figures form without a doubt at that height, and not 1 mm below.

    Nothing smaller than 20 mm is looked for.
    """
    height_mm = face.capitals_from_mm

    assert [letter for letter in FINEST if not forms(letter, face.name, height_mm)] == []
    if height_mm > SMALLEST_MM:
        assert not all(forms(letter, face.name, height_mm - 1) for letter in CAPITALS)


@each_face
def test_strokes_and_gaps_are_as_the_table_says(face):
    """The finest stroke and gap of all capitals and figures of 30 mm, to the last digit told."""
    stroke_mm, gap_mm = finest_mm(CAPITALS, face.name)

    assert (round(stroke_mm, 1), round(gap_mm, 1)) == (face.stroke_mm, face.gap_mm)
    assert face.source.startswith("measured by moldgen")


def test_letters_too_small_for_the_sheet_are_doubtful():
    """The measure has teeth: at half the height the arms of an E are too near each other."""
    usual = FACES[0]
    half_mm = usual.capitals_from_mm / 2

    assert complaints(findings("E", usual.name, half_mm))


# the command -----------------------------------------------------------------------------------


def test_the_list_begins_with_faces_that_form(capsys):
    """Every face in a line: name, look, and from which height; then how to see all fonts."""
    assert main(["fonts"]) == 0

    lines = capsys.readouterr().out.splitlines()
    for line, face in zip(lines, FACES, strict=False):
        assert line.startswith(face.name)
        assert face.look in line
        assert f"from {face.capitals_from_mm:g} mm" in line
    assert "moldgen fonts --all" in lines[-1]


def test_all_fonts_are_listed_once(capsys):
    """The long list begins with the usual one, and holds no name twice."""
    assert main(["fonts", "--all"]) == 0

    names = [re.split(r"  +", line)[0] for line in capsys.readouterr().out.splitlines()]
    assert names[0] == "DejaVu Sans Bold (usual)"
    assert len(names) == len(set(names)) >= len(FACES)


def test_fonts_without_letters_are_left_out(tmp_path):
    """A font of signs alone is no lettering, nor is a second font of a name; figures will do."""
    for number, text in enumerate((ascii_letters, ascii_letters, "+-*/=<>∑∫", digits)):
        font = TTFont(FACES[0].path)
        for table in font["cmap"].tables:
            table.cmap = {ord(sign): "A" for sign in text}
        font["name"].setName("Same" if number < 2 else f"Other {number}", 4, 3, 1, 0x409)
        font["name"].setName("Same" if number < 2 else f"Other {number}", 4, 1, 0, 0)
        font.save(tmp_path / f"{number}.ttf")

    fonts = list_fonts([tmp_path])

    assert len(fonts) == 4
    assert [font.path.stem for font in lettering_fonts(fonts)] == ["3", "0"]


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<?xml"), ("png", b"\x89PNG")])
def test_a_picture_of_the_faces(tmp_path, ending, begins):
    """One command draws a line of every face with its name below."""
    path = tmp_path / f"faces.{ending}"
    assert main(["fonts", "--sheet", str(path)]) == 0

    assert path.read_bytes().startswith(begins)
    if ending == "svg":
        assert all(f">{face.name}: {face.look}" in path.read_text("utf-8") for face in FACES)


def test_the_lines_of_the_picture_stand_apart():
    """Every face has a band of its own, with its name between its letters and the next."""
    items = face_plan().items
    names = sorted((item.y_mm for item in items if isinstance(item, Note)), reverse=True)
    rings = [item.rings[0] for item in items if isinstance(item, PlanRegion)]
    bands = [sum(ring[:, 1].min() > y_mm + 2 for ring in rings) for y_mm in names]

    assert len(names) == len(FACES)
    assert bands[-1] == len(rings)
    assert all(above < below for above, below in pairwise([0, *bands]))
    for y_mm in names:
        assert all(ring[:, 1].max() < y_mm - 2 or ring[:, 1].min() > y_mm + 2 for ring in rings)


@pytest.mark.parametrize(("bold", "style"), [(False, "Book"), (True, "Bold")])
def test_plans_and_pictures_are_lettered_in_the_fonts_that_come_along(bold, style):
    """Plain letters are plain and bold ones bold, in DejaVu Sans."""
    assert _font(20, bold).getname() == ("DejaVu Sans", style)


def test_a_row_that_makes_no_sense_is_refused():
    """A face is checked like any other entry of a data file."""
    with pytest.raises(SpecError, match="stroke_mm must be more than 0 mm"):
        Face(
            name="A", file="a.ttf", look="thin", license="OFL-1.1", stroke_mm=0, gap_mm=1, lost="",
            capitals_from_mm=30, small_from_mm=30, source="none",
        )  # fmt: skip
