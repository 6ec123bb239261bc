"""The job file of a bent strip: what it can say, how it is read, written and described."""

import tomllib
from dataclasses import replace

import jsonschema
import pytest
from conftest import ROOT
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.errors import SpecError
from moldgen.job import (
    BendCommand,
    JobBend,
    JobLoad,
    JobStand,
    JobStrip,
    StripJob,
    job_from_words,
    job_schema,
    job_toml,
    load_job,
    strip_job,
)
from moldgen.job.spec import JobOutput
from moldgen.job.strip_spec import JigKind, JobHole, JobJigs, JobTestStrip

FOLDER = ROOT / "examples"
EXAMPLES = [FOLDER / f"{name}.toml" for name in ("logbook-stand", "leaflet-holder", "tool-hook")]
SCHEMA = job_schema()
BEND = {"angle": 90}
STRIP = {"width": 60, "legs": [80, 120], "bend": [BEND]}


def job(**words):
    """Return a small strip job in words, with some of them changed."""
    return {"title": "Tide table rest", "strip": STRIP, **words}


def strip(**words):
    """Return a strip job with some words of the strip changed; None leaves one out."""
    changed = {**STRIP, **words}
    return job(strip={word: value for word, value in changed.items() if value is not None})


# --- every job that can be said -----------------------------------------------------------------

LENGTHS = st.floats(1, 900)
BENDS = st.builds(
    JobBend,
    angle_deg=st.floats(1, 180),
    turn=st.sampled_from(Turn),
    radius_mm=st.none() | st.floats(0, 50),
    gap_mm=st.none() | st.floats(0, 50),
)
HOLES = st.builds(JobHole, along_mm=LENGTHS, across_mm=LENGTHS, diameter_mm=st.floats(1, 50))


@st.composite
def strips(draw):
    """Any strip, by legs or by marks."""
    bends = draw(st.lists(BENDS, min_size=1, max_size=4).map(tuple))
    n = len(bends)
    rest = {
        "bend": bends,
        "width_mm": draw(LENGTHS),
        "hole": draw(st.lists(HOLES, max_size=2).map(tuple)),
        "neutral": draw(st.none() | st.floats(0.1, 1)),
        "overbend_deg": draw(st.none() | st.floats(0, 30)),
    }
    if draw(st.booleans()):
        marks = draw(st.lists(LENGTHS, min_size=n, max_size=n).map(tuple))
        return JobStrip(marks_mm=marks, length_mm=draw(LENGTHS), **rest)
    legs = draw(st.lists(LENGTHS, min_size=n + 1, max_size=n + 1).map(tuple))
    return JobStrip(legs_mm=legs, legs_by=draw(st.sampled_from(LegsBy)), **rest)


LOADS = st.builds(
    JobLoad,
    name=st.sampled_from(["phone", "logbook"]),
    leg=st.integers(1, 13).map(float),
    marks=st.booleans(),
    mass_g=st.none() | st.floats(1, 900),
    height_mm=st.none() | LENGTHS,
)
STANDS = st.builds(
    JobStand,
    lying=st.none() | st.integers(1, 13).map(float),
    read=st.none() | st.integers(1, 13).map(float),
    load=st.lists(LOADS, max_size=2).map(tuple),
)
TESTS = st.builds(
    JobTestStrip, flat_mm=LENGTHS, legs_mm=st.tuples(LENGTHS, LENGTHS), radius_mm=st.floats(0, 9),
    side_s=st.none() | st.floats(1, 900),
)  # fmt: skip
JOBS = st.builds(
    StripJob,
    title=st.sampled_from(["Rest", 'Harbor "B"']),
    strip=strips(),
    jigs=st.builds(
        JobJigs,
        make=st.lists(st.sampled_from(JigKind), max_size=2, unique=True).map(tuple),
        facing_mm=st.floats(0, 6),
    ),
    stand=st.none() | STANDS,
    test_strip=st.just(JobTestStrip()) | TESTS,
)


@settings(max_examples=40, deadline=None)
@given(JOBS)
def test_a_written_job_reads_back_and_fits_the_schema(made):
    """Nothing that a strip job can say is lost by writing it, and the schema allows it."""
    words = tomllib.loads(job_toml(made))

    assert job_from_words(words) == made
    jsonschema.validate(words, SCHEMA)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_read_and_fit_the_schema(path):
    """Every strip example is a strip job, fits the schema and survives writing."""
    words = tomllib.loads(path.read_text(encoding="utf-8"))

    jsonschema.validate(words, SCHEMA)
    assert isinstance(load_job(path), StripJob)
    assert job_from_words(tomllib.loads(job_toml(load_job(path)))) == load_job(path)


def test_the_written_job_is_commented_once():
    """Essentials are written with what they mean; what was said above is cut down."""
    text = job_toml(strip_job(BendCommand(legs_mm=(80, 120, 60), angles="90,110 down")))

    assert 'strip_heater = "wire-600"' in text
    assert "thickness = 3" in text
    assert text.count("rotation from flat") == 1
    assert "[stand]" not in text


def test_inches_are_read_everywhere():
    """A measure in inches is the same measure in millimeters."""
    read = job_from_words(
        strip(
            width='2 1/2"',
            thickness="1/8 in",
            legs=["3.5in", "2 in"],
            bend=[{"angle": "90 deg", "radius": "1/4 in"}],
        )
    ).strip

    assert read.width_mm == pytest.approx(63.5, abs=1e-9)
    assert read.thickness_mm == pytest.approx(3.175, abs=1e-9)
    assert read.legs_mm == pytest.approx((88.9, 50.8), abs=1e-9)
    assert read.bend[0].radius_mm == pytest.approx(6.35, abs=1e-9)


def test_legs_of_equal_length_are_all_kept():
    """A list of numbers may hold the same one twice."""
    assert job_from_words(strip(legs=[50, 50])).strip.legs_mm == (50, 50)


def test_an_empty_stand_stands():
    """A job that says [stand] is checked for standing; one that does not is not."""
    assert job_from_words(job(stand={})).stand == JobStand()
    assert job_from_words(job()).stand is None


def test_what_is_written_is_the_same_for_molds_and_strips():
    """A strip's job asks for the files that a mold's job asks for."""
    assert JobOutput() == StripJob(title="A", strip=job_from_words(job()).strip).output


# --- the short command --------------------------------------------------------------------------


@pytest.mark.parametrize(
    "typed", ["90,-110", "90 up,110 down", " 90 , 110 DOWN", "90 up, -110", "90deg,110 ° down"]
)
def test_a_turn_is_a_sign_or_a_word(typed):
    """Down is a minus sign or the word."""
    bends = strip_job(BendCommand(legs_mm=(80, 120, 60), angles=typed)).strip.bend

    assert [(bend.angle_deg, bend.turn) for bend in bends] == [(90, Turn.UP), (110, Turn.DOWN)]


def test_a_gap_goes_to_folds_and_a_radius_to_bends():
    """Gap and radius are given once for all bends they belong to."""
    made = strip_job(BendCommand(legs_mm=(80, 120, 60), angles="90,180", radius_mm=5, gap_mm=3))

    assert [(b.radius_mm, b.gap_mm) for b in made.strip.bend] == [(5, None), (None, 3)]


BAD_ANGLES = {
    "0,90": "angles 1 must be like 90, -90 or 90 down",
    "-90 down": "angles 1 must be like 90, -90 or 90 down",
    "190": "angles 1 must be at least -180 ° and at most 180 °",
    "90,,90": "angles 2 must be a number",
    "up": "angles 1 must be a number",
    "90 sideways": "angles 1 must be a number",
}


@pytest.mark.parametrize(("typed", "says"), BAD_ANGLES.items(), ids=BAD_ANGLES)
def test_wrong_angles_are_told_by_number(typed, says):
    """The sentence says which angle is wrong."""
    with pytest.raises(SpecError, match=says):
        strip_job(BendCommand(legs_mm=(80, 120), angles=typed))


# --- what is wrong ------------------------------------------------------------------------------

BROKEN = {
    "both kinds": (
        job(body=[{"outline": {"text": "A", "height": 30}, "height": 6}]),
        "the job must be a mold or a bent strip (got both [[body]] and [strip]). Leave one out, or "
        "make two jobs of it.",
    ),
    "neither kind": (
        {"title": "A"},
        "the job must be a mold with a [[body]], or a bent strip with a [strip] (got neither). "
        "Write one of the two.",
    ),
    "no title": (
        {"strip": STRIP},
        "title must be given (got nothing). It is: what the job is called.",
    ),
    "no width": (
        strip(width=None),
        "strip: width must be given (got nothing). It is: mm, width of the strip.",
    ),
    "no bends": (
        strip(bend=None),
        "strip: bend must be given (got nothing). It is: the bends, left to right.",
    ),
    "empty bends": (
        strip(bend=[]),
        "strip: bend must be given 1 to 12 times (got 0). Write a [[strip.bend]] for each.",
    ),
    "thirteen bends": (
        strip(bend=[BEND] * 13, legs=[50] * 14),
        "strip: bend must be given 1 to 12 times (got 13). Join two strips.",
    ),
    "unknown word": (
        strip(widht=3),
        "strip: key must be one that belongs here (got 'widht'). Did you mean width?",
    ),
    "unknown bend word": (
        strip(bend=[{"angel": 90}]),
        "strip, bend 1: key must be one that belongs here (got 'angel'). Did you mean angle?",
    ),
    "legs too few": (
        strip(legs=[80]),
        "strip: legs must be one more than the bends, 2 (got 1). Give a leg on each side of every "
        "bend.",
    ),
    "legs and marks": (
        strip(marks=[40]),
        "strip: legs must be given, or else marks (got both). Write one of the two.",
    ),
    "neither legs nor marks": (
        strip(legs=None),
        "strip: legs must be given, or else marks (got neither). Write one of the two.",
    ),
    "marks without length": (
        strip(legs=None, marks=[40]),
        "strip: length must be given with marks (got nothing). Measure the flat strip.",
    ),
    "length with legs": (
        strip(length=200),
        "strip: length must be left out with legs (got 200 mm). The length of the flat strip "
        "follows from the legs.",
    ),
    "a leg of nothing": (
        strip(legs=[0, 120]),
        "strip: legs 1 must be more than 0 mm and at most 3000 mm (got 0 mm).",
    ),
    "a leg in words": (
        strip(legs=["long", 120]),
        "strip: legs 1 must be a number in mm, cm, m, in, ft or thou (got 'long'). Write it like "
        "6.5 or 1/8.",
    ),
    "legs not a list": (
        strip(legs=80),
        "strip: legs must be a list of numbers (got 80). Write it like [80, 120, 60].",
    ),
    "angle beyond a fold": (
        strip(bend=[{"angle": 200}]),
        "strip, bend 1: angle must be more than 0 ° and at most 180 ° (got 200 °).",
    ),
    "turn sideways": (
        strip(bend=[{"angle": 90, "turn": "sideways"}]),
        "strip, bend 1: turn must be up or down (got 'sideways').",
    ),
    "hole without diameter": (
        strip(hole=[{"along": 10, "across": 10}]),
        "strip, hole 1: diameter must be given (got nothing). It is: mm, its diameter.",
    ),
    "unknown jig": (
        job(jigs={"make": ["hammer"]}),
        "jigs: make must be block, press, marking-gauge or angle-gauge (got 'hammer').",
    ),
    "half a leg": (
        job(stand={"lying": 1.5}),
        "stand: lying must be a whole number (got 1.5). Legs count from the left end, 1.",
    ),
    "half a test strip": (
        job(test_strip={"flat": 100}),
        "test_strip: flat must be given together with legs and radius (got some of them). Add the "
        "others, or leave all out.",
    ),
    "three legs of a test strip": (
        job(test_strip={"flat": 100, "legs": [1, 2, 3], "radius": 6}),
        "test_strip: legs must be two (got 3). A test strip has one bend.",
    ),
    "mold word": (
        job(machine="classroom-450x300"),
        "key must be one that belongs here (got 'machine').",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("words", "says"), BROKEN.values(), ids=BROKEN)
def test_what_is_wrong_is_told_with_its_place(words, says):
    """The sentence names place, rule, value and what to do."""
    with pytest.raises(SpecError) as caught:
        job_from_words(words)

    assert str(caught.value).startswith(says)


SLIPS = (
    "both kinds", "neither kind", "no title", "no width", "no bends", "unknown word",
    "unknown bend word", "a leg of nothing", "legs not a list", "angle beyond a fold",
    "turn sideways", "hole without diameter", "unknown jig", "mold word",
)  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS)
def test_the_schema_sees_the_slips_an_editor_can_see(slip):
    """What the reader refuses by form, the schema refuses too."""
    with pytest.raises(jsonschema.ValidationError, match=r"."):
        jsonschema.validate(BROKEN[slip][0], SCHEMA)


def test_a_title_is_one_line():
    """Titles go into file names and drawings."""
    with pytest.raises(SpecError, match="title must be one line"):
        replace(job_from_words(job()), title="two\nlines")
