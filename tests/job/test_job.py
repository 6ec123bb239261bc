"""The job file: what it can say, how it is read, written and described."""

import math
import tomllib
from dataclasses import replace
from typing import Any

import jsonschema
import pytest
from conftest import ROOT
from hypothesis import given, settings
from support.any_job import JOBS

from moldgen.errors import FileError, SpecError
from moldgen.job import (
    CheckCommand,
    DrawingCommand,
    Grid,
    JobAround,
    JobBorder,
    JobDxf,
    JobGrid,
    JobInset,
    JobPoints,
    JobShape,
    JobSvg,
    JobText,
    LettersAs,
    ReadAt,
    Side,
    SignCommand,
    TrayCommand,
    drawing_job,
    job_from_words,
    job_schema,
    job_toml,
    load_job,
    places,
    sign_job,
    tray_job,
    with_names,
)
from moldgen.job import spec as spec_module
from moldgen.job.form import form_of
from moldgen.job.read import mold_from_words

EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
BODY = {"outline": {"text": "A", "height": 30}, "height": 6}
SCHEMA = job_schema()


def job(**words):
    """Return a small job in words, with some of them changed."""
    return {"title": "Tide sign", "body": [BODY], **words}


def body(**words):
    """Return a job of one body with some words changed."""
    return job(body=[{**BODY, **words}])


def outline(**words):
    """Return a job of one body with that outline."""
    return body(outline=words)


# --- every job that can be said -----------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(JOBS)
def test_a_written_job_reads_back_as_the_same_job(made):
    """Nothing that a job can say is lost or changed by writing and reading it."""
    assert job_from_words(tomllib.loads(job_toml(made))) == made


@settings(max_examples=25, deadline=None)
@given(JOBS)
def test_every_written_job_fits_the_schema(made):
    """The schema allows whatever the writer writes."""
    jsonschema.validate(tomllib.loads(job_toml(made)), SCHEMA)


@settings(max_examples=25, deadline=None)
@given(JOBS)
def test_names_make_every_feature_findable(made):
    """After naming, all names are there and no two are the same."""
    names = [feature.name for _, feature in places(with_names(made))]

    assert all(names)
    assert len(set(names)) == len(names)


# --- the examples -------------------------------------------------------------------------------


def test_there_are_examples():
    """A run without examples would prove nothing."""
    assert len(EXAMPLES) >= 6


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_fit_reader_writer_and_schema(path):
    """Every example reads, fits the schema, and survives writing."""
    words = tomllib.loads(path.read_text(encoding="utf-8"))

    jsonschema.validate(words, SCHEMA)
    assert job_from_words(tomllib.loads(job_toml(load_job(path)))) == load_job(path)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_explain_themselves(path):
    """Every example says on top what it is, and how to make it."""
    lines = path.read_text(encoding="utf-8").splitlines()

    assert lines[0].startswith("# ")
    assert f"#   moldgen make examples/{path.name}" in [
        " ".join(["#  ", *line.split()[-3:]]) for line in lines
    ]


# --- reading ------------------------------------------------------------------------------------


def test_everything_left_out_has_its_usual_value():
    """The smallest job file gets the defaults that the manual promises."""
    made = job_from_words(job())

    assert (made.machine, made.printer) == ("classroom-450x300", "medium")
    assert made.sheet.plastic == "HIPS"
    assert (made.filament, made.sheet.gauge_mm) == ("", None), "left open: they are chosen"
    assert made.side is Side.MALE
    assert made.vents.diameter_mm is None
    assert made.body[0].draft_deg is None
    assert made.underside.insert_wanted == ("heat-set", "M4")
    assert [str(kind) for kind in made.output.formats] == [
        "stl", "3mf", "glb", "svg", "dxf", "pdf", "png", "html", "json",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("written", "mm"),
    [("1/8 in", 3.175), ("3.5in", 88.9), ("6 mm", 6.0), ("1 1/2 in", 38.1), (7, 7.0), (".5 cm", 5)],
)
def test_measures_are_read_with_their_units(written, mm):
    """A number with a unit is the same length everywhere in the file."""
    made = job_from_words(
        job(
            sheet={"gauge": "0.060 in"},
            body=[{**BODY, "height": written, "outline": {"inset": written, "x": written}}],
        )
    )

    assert made.body[0].height_mm == pytest.approx(mm, abs=1e-12)
    assert made.body[0].outline.inset_mm == pytest.approx(mm, abs=1e-12)
    assert made.body[0].outline.x_mm == pytest.approx(mm, abs=1e-12)
    assert made.sheet.gauge_mm == pytest.approx(1.524, abs=1e-12)


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ({"text": "A", "height": 3}, JobText),
        ({"text": "A", "width": 3}, JobText),
        ({"svg": "a.svg"}, JobSvg),
        ({"dxf": "a.dxf", "layers": ["cut"]}, JobDxf),
        ({"shape": "star", "points": 6, "width": 40}, JobShape),
        ({"points": [[0, 0], ["1 in", 0], [0, 9]]}, JobPoints),
        ({"inset": 2}, JobInset),
        ({"border": 3, "inset": 2}, JobBorder),
        ({"grid": "3 x 2", "inset": 2}, JobGrid),
        ({"around": 12, "corner": 4}, JobAround),
    ],
)
def test_one_key_tells_the_kind_of_outline(words, kind):
    """Each kind is known by its key, also where another kind's key is a setting of it."""
    assert type(job_from_words(outline(**words)).body[0].outline) is kind


def test_a_shape_takes_its_own_proportions():
    """What a library shape can vary is kept by name."""
    made = job_from_words(outline(shape="star", width=40, points=6, depth=0.4))

    assert made.body[0].outline.proportions == (("depth", 0.4), ("points", 6.0))


@pytest.mark.parametrize(
    ("key", "word"), [("height_mm", "height"), ("width_mm", "width"), ("turn_deg", "turn")]
)
def test_a_size_of_a_shape_is_no_proportion_by_its_name_in_code(key, word):
    """A field's name in code in place of its word is refused with the word, not kept."""
    with pytest.raises(SpecError) as refused:
        job_from_words(outline(shape="star", width=40, **{key: 30}))

    assert refused.value.field == "body 1, outline: key"
    assert (refused.value.got, refused.value.hint) == (repr(key), f"Did you mean {word}?")


def test_a_shape_made_in_code_keeps_sizes_out_of_its_proportions():
    """A proportion that bears the name of a field is refused."""
    with pytest.raises(SpecError, match=r"proportions .* 'height_mm'.* Give height_mm by itself"):
        JobShape(shape="star", width_mm=40, proportions=(("height_mm", 30.0),))


def test_points_may_carry_units():
    """Corners are measures like any other."""
    made = job_from_words(outline(points=[["1 in", 0], [5, "2 cm"], [0, 0]]))

    assert made.body[0].outline.points == ((25.4, 0.0), (5.0, 20.0), (0.0, 0.0))


def test_sunk_features_may_say_depth():
    """Depth of a sunk feature is what height is for a raised one."""
    made = job_from_words(body(sunk=[{"outline": {"inset": 4}, "depth": 3}]))

    assert made.body[0].sunk[0].height_mm == 3


def test_raised_features_may_not_say_depth():
    """Depth where something is raised is a slip, and is told as one."""
    with pytest.raises(SpecError, match=r"body 1, raised 1: key must be .* \(got 'depth'\)"):
        job_from_words(body(raised=[{"outline": {"inset": 4}, "depth": 3}]))


def test_the_order_of_features_is_kept():
    """Raised and sunk features come in the order of the file."""
    made = mold_from_words(
        body(
            raised=[{**BODY, "name": "b"}, {**BODY, "name": "a"}],
            sunk=[{**BODY, "name": "d"}, {**BODY, "name": "c"}],
        )
    )

    assert [feature.name for _, feature in places(made)] == ["", "b", "a", "d", "c"]
    assert [place for place, _ in places(made)][1::2] == ["body 1, raised 1", "body 1, sunk 1"]


def test_a_date_needs_no_quotes():
    """A date as TOML writes it is taken as its text."""
    assert job_from_words(
        tomllib.loads('title="A"\ndate=2031-05-07\n') | {"body": [BODY]}
    ).date == ("2031-05-07")


BROKEN = {
    "word": (
        job(mashine="x"),
        "key must be one that belongs here (got 'mashine'). Did you mean machine or shrinkage?",
    ),
    "deep word": (
        body(raised=[{**BODY, "hieght": 3}]),
        "body 1, raised 1: key must be one that belongs here (got 'hieght'). Did you mean height?",
    ),
    "outline word": (
        outline(text="A", height=3, letterspacing=1),
        "body 1, outline: key must be one that belongs here (got 'letterspacing'). "
        "Did you mean letter_spacing, line_spacing or tracking?",
    ),
    "table word": (
        job(vents={"dia": 2}),
        "vents: key must be one that belongs here (got 'dia'). "
        "It can say: place, kind, diameter, spacing, ball, least_air.",
    ),
    "wrong type": (
        body(height=[1]),
        "body 1: height must be a number, at least 0.05 mm and at most 1000 mm (got a list). "
        "Write it like 6.5.",
    ),
    "switch as number": (
        body(height=True),
        "body 1: height must be a number, at least 0.05 mm and at most 1000 mm (got true). "
        "Write it like 6.5.",
    ),
    "negative": (
        body(height=-3),
        "body 1: height must be at least 0.05 mm and at most 1000 mm (got -3 mm).",
    ),
    "wrong unit": (
        job(body=[{**BODY, "draft": "3 mm"}]),
        "body 1: draft must be a number in ° or deg (got '3 mm'). Correct the unit.",
    ),
    "choice": (
        job(side="mail"),
        "side must be male or female (got 'mail'). Did you mean male?",
    ),
    "choice in a list": (
        job(output={"formats": ["stl", "3fm"]}),
        "output: formats must be stl, 3mf, glb, svg, dxf, pdf, png, html or json (got '3fm'). "
        "Did you mean 3mf?",
    ),
    "text as number": (job(title=7), "title must be a text in quotes (got 7). Put it in quotes."),
    "switch as text": (
        job(shrinkage="yes"),
        "shrinkage must be true or false (got 'yes'). Write it without quotes.",
    ),
    "two kinds": (
        outline(text="A", svg="a.svg"),
        "body 1, outline must be of one kind (got text and svg). Leave all but one of them out.",
    ),
    "no kind": (
        outline(height=3),
        "body 1, outline must be told by text, svg, dxf, picture, shape, points, border, grid, "
        "around, hanging or inset (got 'height'). Write for example { text = \"A\", height = 30 }.",
    ),
    "no body": (
        {"title": "A"},
        "the job must be a mold with a [[body]], or a bent strip with a [strip] (got neither). "
        "Write one of the two.",
    ),
    "empty body": (
        {"title": "A", "body": []},
        "body must be given at least once (got nothing). Write a [[body]].",
    ),
    "body is a table": (
        {"title": "A", "body": BODY},
        "body must be a list (got a table). Write it in [ ].",
    ),
    "height and depth": (
        body(sunk=[{**BODY, "depth": 3}]),
        "body 1, sunk 1: key must be one that belongs here (got 'depth'). "
        "It can say: name, outline, height, draft, top_radius, base_radius, plan_radius, "
        "read_at, even, raised, sunk.",
    ),
    "text with two sizes": (
        outline(text="A", height=3, width=4),
        "body 1, outline: height must be given, or else width (got both). Write one of the two.",
    ),
    "point": (
        outline(points=[[0, 0], [1, 2, 3], [0, 1]]),
        "body 1, outline: points 2 must be a pair [x, y] (got a list). Write it like [60, 0].",
    ),
    "grid": (
        outline(grid="3 by 2"),
        "body 1, outline: grid must be columns x rows (got '3 by 2'). Write it like \"3 x 2\".",
    ),
    "huge grid": (
        outline(grid="99 x 99"),
        "body 1, outline: grid must be 1 to 400 compartments (got 99 x 99). "
        "Write fewer columns or rows.",
    ),
    "beyond floats": (
        body(height=10**400),
        "body 1: height must be at least 0.05 mm and at most 1000 mm "
        "(got a number beyond all bounds).",
    ),
    "insert": (
        job(underside={"insert": "glue"}),
        "underside: insert must be like heat-set M4, nut M4 or none (got 'glue').",
    ),
    "two lines of title": (
        job(title="A\nB"),
        "title must be one line of plain text (got 'A\\nB'). Leave the others out.",
    ),
    "twin names": (
        job(body=[{**BODY, "name": "a"}, {**BODY, "name": "a"}]),
        "body 2: name must be another than that of body 1 (got 'a'). Findings need it.",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("words", "says"), BROKEN.values(), ids=BROKEN)
def test_what_is_wrong_is_told_with_its_place(words, says):
    """The whole sentence names place, rule, value and what to do."""
    with pytest.raises(SpecError) as caught:
        job_from_words(words)

    assert str(caught.value) == says


def test_a_name_may_not_be_the_place_of_another():
    """Findings call nameless features by their place, so no name may look like that place."""
    with pytest.raises(SpecError, match="body 2: name must be another than that of body 1"):
        job_from_words(job(body=[BODY, {**BODY, "name": "body 1"}]))


def test_a_thousand_features_are_enough():
    """Absurd counts are refused before anything is built."""
    with pytest.raises(SpecError, match="at most 2000 features"):
        job_from_words(job(body=[BODY] * 2001))
    assert len(job_from_words(job(body=[BODY] * 2000)).body) == 2000


def tower(floors):
    """Return a job of features that stand on each other."""
    top = BODY
    for _ in range(floors - 1):
        top = {**BODY, "raised": [top]}
    return job(body=[top])


@pytest.mark.parametrize("floors", [41, 3000])
def test_nesting_has_an_end(floors):
    """A tower of features beyond any mold is refused in one sentence."""
    with pytest.raises(SpecError, match="nested at most 40 features deep"):
        job_from_words(tower(floors))
    assert len(list(places(mold_from_words(tower(40))))) == 40


@pytest.mark.parametrize("letter", ["\0", "\ud800"])
def test_letters_that_no_file_can_hold_are_refused(letter):
    """What cannot be written again is not read either."""
    with pytest.raises(SpecError, match="body 1, outline: text must be plain text"):
        job_from_words(outline(text=f"A{letter}", height=9))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"title = 'A'\nside = male", r"is not TOML: .*line 2, column 8"),
        (b"\xff\xfe\x00", "is not text in UTF-8"),
        (b"x = " + b"[" * 3000, "nested too deeply"),
        (b"x = " + b"9" * 5000, "longer than any of a job file"),
        (b"#" * 5_000_001, "too large for a job file"),
    ],
    ids=["empty", "broken", "binary", "nested", "digits", "huge"],
)
def test_a_file_that_is_no_job_is_refused(tmp_path, content, says):
    """Whatever the file holds, one sentence tells what is wrong with it."""
    path = tmp_path / "job.toml"
    path.write_bytes(content)

    with pytest.raises(FileError, match=says):
        load_job(path)


def test_a_missing_file_is_named():
    """The sentence names the file that was asked for."""
    with pytest.raises(FileError, match=r"nowhere\.toml cannot be read: no such file"):
        load_job("nowhere.toml")


def test_what_a_file_says_wrong_is_told_with_the_file(tmp_path):
    """With several job files at hand, the sentence names the one."""
    path = tmp_path / "sign.toml"
    path.write_text('\ufefftitle = "A"\nside = "x"\nbody = []', encoding="utf-8")

    with pytest.raises(SpecError, match=r"^sign\.toml: side must be male or female \(got 'x'\)"):
        load_job(path)


# --- writing ------------------------------------------------------------------------------------


def test_the_written_job_says_the_essentials_with_comments():
    """A written job shows what one would change first, each with its meaning."""
    text = job_toml(job_from_words(job(filament="PETG", sheet={"gauge": 1.5})))

    assert '[sheet]\nplastic = "HIPS"' in text
    assert 'filament = "PETG"' in text
    assert "gauge = 1.5                              # mm, thickness of the sheet" in text
    assert "[vents]" not in text
    assert "draft" not in text


def test_what_is_left_open_is_not_written():
    """A job without a gauge and a filament is written without, and reads back as open."""
    text = job_toml(job_from_words(job()))

    assert "gauge" not in text
    assert "filament" not in text


def test_comments_are_told_once():
    """What was explained above is not explained again; its unit stays."""
    text = job_toml(job_from_words(job(body=[BODY, BODY])))

    assert text.count("height of the wall") == 1
    assert text.count("height = 6") == text.count("height = 6" + " " * 31 + "# mm") == 2


# --- schema -------------------------------------------------------------------------------------


def test_the_schema_is_a_schema():
    """The schema obeys the standard it names."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


SLIPS = {name: BROKEN[name][0] for name in sorted(BROKEN.keys() - {
    "text with two sizes", "twin names", "huge grid", "wrong unit",
    "two lines of title",
})}  # fmt: skip


@pytest.mark.parametrize("words", SLIPS.values(), ids=SLIPS)
def test_the_schema_sees_the_slips_an_editor_can_see(words):
    """What the reader refuses by form, the schema refuses too."""
    with pytest.raises(jsonschema.ValidationError, match=r"."):
        jsonschema.validate(words, SCHEMA)


def test_choices_agree_with_the_floors_below():
    """A choice in the job file is one that the plan and the reader of meshes know."""
    from moldgen.export.plan.paper import PAPERS
    from moldgen.solid.reading.mesh_file import UNITS_MM

    assert set(spec_module.Paper) <= set(PAPERS)
    units = next(line for line in form_of(CheckCommand) if line.word == "unit").kind
    assert set(units) == set(UNITS_MM)


def test_defaults_agree_with_the_floors_below():
    """What the job file leaves out is what the mold takes when nothing is said."""
    from moldgen.mold.underside.underside import UndersideSpec
    from moldgen.mold.vents.vent import VentSpec

    vents, below = spec_module.JobVents(), VentSpec(diameter_mm=1)

    assert (vents.spacing_mm, vents.ball_mm, vents.least_air_mm3) == (
        below.spacing_mm, below.ball_mm, below.least_air_mm3,
    )  # fmt: skip
    assert spec_module.JobUnderside().depth_mm == UndersideSpec().depth_mm


# --- the short commands -------------------------------------------------------------------------


def test_a_sign_is_a_plaque_with_raised_letters():
    """The sign command stands for letters raised on a plaque round them."""
    made = sign_job(SignCommand(words=("HIGH TIDE",), margin_mm=15, corner_mm=7, draft_deg=6))
    [plaque] = made.body
    [letters] = plaque.raised

    assert made.title == "HIGH TIDE"
    assert plaque.outline == JobAround(around_mm=15, corner_mm=7)
    assert (plaque.height_mm, letters.height_mm) == (6, None)
    assert letters.outline == JobText(text="HIGH TIDE")
    assert (plaque.draft_deg, letters.draft_deg) == (6, 6)


@pytest.mark.parametrize("words", [("HIGH / TIDE",), ("HIGH", "TIDE")])
def test_a_slash_or_a_new_word_begins_a_line(words):
    """Both ways to break a line give the same sign."""
    lettering: Any = sign_job(SignCommand(words=words)).body[0].raised[0].outline
    assert lettering.text == "HIGH\nTIDE"


def test_a_slash_within_a_word_stays():
    """24/7 is one word."""
    lettering: Any = sign_job(SignCommand(words=("24/7",))).body[0].raised[0].outline
    assert lettering.text == "24/7"


@pytest.mark.parametrize(("how", "each"), [("word", False), ("letters", True)])
def test_letters_may_stand_on_the_table(how, each):
    """Without a plaque the letters are the bodies, as high as told or chosen later."""
    [letters] = sign_job(SignCommand(words=("GULL",), as_=LettersAs(how))).body

    assert (letters.height_mm, letters.each, letters.raised) == (None, each, ())
    [low] = sign_job(SignCommand(words=("GULL",), as_=LettersAs(how), relief_mm=3)).body
    assert low.height_mm == 3


def test_compartments_fill_the_tray_exactly():
    """Compartments and gaps together are the inside of the tray, in rows and columns."""
    made = tray_job(
        TrayCommand(length_mm=120, width_mm=80, depth_mm=25, compartments=Grid(3, 2), gap_mm=9)
    )
    [block] = made.body
    boxes: list[Any] = [feature.outline for feature in block.sunk]

    assert made.side is Side.FEMALE
    assert [feature.name for feature in block.sunk] == [f"compartment {n}" for n in range(1, 7)]
    assert {(box.width_mm, box.height_mm) for box in boxes} == {(34.0, 35.5)}
    assert min(box.x_mm - box.width_mm / 2 for box in boxes) == pytest.approx(-60, abs=1e-9)
    assert max(box.x_mm + box.width_mm / 2 for box in boxes) == pytest.approx(60, abs=1e-9)
    assert max(box.y_mm + box.height_mm / 2 for box in boxes) == pytest.approx(40, abs=1e-9)
    assert boxes[1].x_mm - boxes[0].x_mm == pytest.approx(34 + 9, abs=1e-9)
    assert boxes[3].y_mm - boxes[0].y_mm == pytest.approx(35.5 + 9, abs=1e-9)
    assert {feature.read_at for feature in block.sunk} == {ReadAt.PART_INSIDE}
    assert {feature.height_mm for feature in block.sunk} == {25}
    assert block.height_mm > 25


def test_a_male_tray_is_one_block():
    """Over a block, the inside of the part is the block itself."""
    made = tray_job(TrayCommand(length_mm=120, width_mm=80, depth_mm=25, side=Side.MALE))
    [block] = made.body
    plan: Any = block.outline

    assert made.side is Side.MALE
    assert (plan.width_mm, plan.height_mm, block.height_mm) == (120, 80, 25)
    assert (block.read_at, block.plan_radius_mm, block.sunk) == (ReadAt.PART_INSIDE, 6, ())


@pytest.mark.parametrize(
    ("words", "outline"),
    [
        (DrawingCommand(file="a/gull.svg", part="wing", width_mm=80),
         JobSvg(svg="a/gull.svg", part="wing", width_mm=80)),
        (DrawingCommand(file="gull.DXF", layer=("cut",), unit="inch"),
         JobDxf(dxf="gull.DXF", layers=("cut",), unit="inch")),
        (DrawingCommand(shape="anchor"), JobShape(shape="anchor", width_mm=120)),
    ],
)  # fmt: skip
def test_a_drawing_or_a_shape_is_raised(words, outline):
    """The raise command stands for one body with that outline."""
    made = drawing_job(replace(words, height_mm=9))

    assert made.body[0].outline == outline
    assert made.body[0].height_mm == 9
    assert made.title in ("gull", "anchor")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (DrawingCommand(), "shape must be given, or else a file (got neither)"),
        (DrawingCommand(file="a.svg", shape="anchor"), r"\(got both\)"),
        (DrawingCommand(file="a.stl"), "ends in .svg or .dxf"),
        (DrawingCommand(file="a.svg", layer=("x",)), "layer must be left out with an SVG"),
        (DrawingCommand(file="a.dxf", part="x"), "part must be left out with a DXF"),
        (DrawingCommand(shape="anchor", unit="mm"), "unit must be left out with --shape"),
    ],
)
def test_options_of_another_kind_of_drawing_are_refused(words, says):
    """An option that would do nothing is an error, not ignored."""
    with pytest.raises(SpecError, match=says.replace("(got neither)", r"\(got neither\)")):
        drawing_job(words)


def test_compartments_need_room():
    """More gaps than tray is told with what would be left."""
    words = TrayCommand(length_mm=20, width_mm=20, depth_mm=5, compartments=Grid(4, 1), gap_mm=6)
    with pytest.raises(SpecError, match=r"at least 1 mm wide each \(got 0.5 x 20 mm\)"):
        tray_job(words)


def test_corner_of_a_tray_is_judged_by_its_compartments():
    """The corner that was given is named with the room it has, not that of the block round it."""
    words = TrayCommand(length_mm=20, width_mm=10, depth_mm=5)
    with pytest.raises(SpecError, match=r"compartment, 5 mm \(got 6 mm\)"):
        tray_job(replace(words, corner_mm=6.0))
    assert tray_job(words).body[0].sunk[0].plan_radius_mm == 4.0
    assert tray_job(replace(words, corner_mm=4.9)).body[0].sunk[0].plan_radius_mm == 4.9


@pytest.mark.parametrize("depth_mm", [15, 40, 80])
def test_corners_of_a_deep_tray_are_round_at_its_floor(depth_mm):
    """What the lean of the walls takes from a corner leaves a twentieth of the depth, or 6 mm."""
    made = tray_job(TrayCommand(length_mm=200, width_mm=140, depth_mm=depth_mm, gauge_mm=1.0))
    corner_mm = made.body[0].sunk[0].plan_radius_mm

    assert corner_mm is not None
    assert corner_mm >= 6
    assert corner_mm - depth_mm * math.tan(math.radians(4.5)) >= 0.05 * depth_mm


@pytest.mark.parametrize("gauge_mm", [0.75, 1.5, 3.0])
def test_compartments_left_open_leave_a_rib_that_lasts(gauge_mm):
    """Between two compartments stand two gauges and 2 mm, less the sheet on either side."""
    words = TrayCommand(
        length_mm=200, width_mm=90, depth_mm=20, compartments=Grid(2, 1), gauge_mm=gauge_mm
    )
    boxes: list[Any] = [feature.outline for feature in tray_job(words).body[0].sunk]
    left, right = boxes
    gap_mm = (right.x_mm - right.width_mm / 2) - (left.x_mm + left.width_mm / 2)

    assert gap_mm - 2 * 0.8 * gauge_mm >= 2 * gauge_mm + 2 - 1e-9


def test_a_male_tray_has_no_compartments():
    """Compartments over one block make no sense, and the sentence says what does."""
    words = TrayCommand(
        length_mm=90, width_mm=60, depth_mm=20, side=Side.MALE, compartments=Grid(2, 1)
    )
    with pytest.raises(SpecError, match="left out with --side male"):
        tray_job(words)
