"""Ready-made strips: whatever they hold they stand, can be bent, and leave nothing to change."""

from functools import cache
from math import atan2, degrees
from pathlib import Path

import pytest

from moldgen.bend.preset.choices import StripKind
from moldgen.bend.preset.easel import EaselSpec, solve_easel
from moldgen.bend.preset.held import held_thing
from moldgen.bend.preset.preset import LEANING, MARGIN_DEG
from moldgen.bend.stand.rest import rest_text
from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.job import BendCommand, StripJob, job_toml, load_job, strip_job
from moldgen.job.strip_spec import JigKind
from moldgen.pipeline.strip.work import build_work
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
HELD = {
    StripKind.CARD_STAND: (
        "", "business card", "A6", "A5", "DL", "A4", "Letter", "210 x 148", "297 x 210",
    ),
    StripKind.LEAFLET_HOLDER: ("", "A6", "A5", "A4", "Letter", "post card", "99 x 210 x 30"),
    StripKind.PHONE_STAND: ("", "75 x 150 x 9", "phone 82 x 172 x 16", "165 x 78 x 13"),
    StripKind.BOOK_REST: ("", "A4", "A5", "post card", "300 x 220 x 30"),
    StripKind.BOOK_END: ("", "A4", "A5", "130 x 190 x 80", "210 x 297 x 200"),
    StripKind.WALL_HOOK: ("", "rope 60 x 300 x 30", "20 x 100 x 12"),
}  # fmt: skip
ALL = [(kind, words) for kind, every in HELD.items() for words in every]


def job_of(kind, words="", **more) -> StripJob:
    """The job of a ready-made strip."""
    return strip_job(BendCommand(make=kind, holds=words, **more))


@cache
def work(kind, words=""):
    """All that is known of a ready-made strip."""
    return build_work(job_of(kind, words), folder=Path(), shop=SHOP)


def cautions(made):
    """What is more than a note."""
    return [str(one) for one in made.findings if one.severity is not Severity.NOTE]


@pytest.mark.parametrize(("kind", "words"), ALL)
def test_no_ready_made_strip_has_a_caution(kind, words):
    """It can be heated, bent in order, pressed in its jigs, and stands empty and full."""
    made = work(kind, words)

    assert cautions(made) == []
    assert {one.bend for one in made.jigs.printed if one.bend} == set(made.order.numbers)


@pytest.mark.parametrize(("kind", "words"), [(k, w) for k, w in ALL if k in LEANING])
def test_an_easel_stands_as_it_says_and_leans_as_it_should(kind, words):
    """It rests on the end of its prop and the bend of its ledge, the back leaning back."""
    made = work(kind, words)
    back = made.shape.legs[1]

    assert rest_text(made.shape) == made.job.stand.stands_on == "the end of leg 1 and bend 2"
    assert 19.0 <= abs(90.0 - abs(back.heading_deg)) <= 40.0


@pytest.mark.parametrize(("kind", "words"), [(k, w) for k, w in ALL if k in LEANING])
def test_an_easel_keeps_its_margin_empty_and_full(kind, words):
    """Strip and thing, each by itself, lean 15° every way before they would fall."""
    made = work(kind, words)
    low, high = made.standing.contact_mm
    (thing,) = made.standing.loads
    half = made.part.strip.width_mm / 2
    for x, z in (made.standing.strip_middle_mm, (thing.x_mm, thing.height_mm)):
        for arm in (x - low, high - x, half):
            assert degrees(atan2(arm, z)) > MARGIN_DEG - 1.0


def test_a_thing_that_would_tip_it_forward_makes_the_back_lean_further():
    """A thick book is laid back until it is safe; a thin one is not."""
    leans = [
        abs(90.0 - abs(work(StripKind.BOOK_REST, words).shape.legs[1].heading_deg))
        for words in ("150 x 210 x 10", "150 x 210 x 60")
    ]
    assert leans[0] == pytest.approx(25.0, abs=1.0)
    assert leans[1] > 28.0


def test_a_back_that_leans_further_gets_a_longer_foot():
    """What a person sets stays; the prop goes out until the thing is over the feet."""
    feet = []
    for lean in (20.0, 45.0):
        job = job_of(StripKind.CARD_STAND, "A5", lean_deg=lean)
        made = build_work(job, folder=Path(), shop=SHOP)
        low, high = made.standing.contact_mm
        feet.append((high - low) / made.standing.middle_mm[1])
        assert "stand-tips" not in {one.code for one in made.findings}
        assert abs(90.0 - abs(made.shape.legs[1].heading_deg)) == pytest.approx(lean, abs=1.0)
    assert feet[1] > 1.2 * feet[0]


def test_every_option_can_be_said_otherwise():
    """Legs, angles, sizes and radius that are typed are in the job as they are typed."""
    job = job_of(
        StripKind.CARD_STAND, "A5", legs_mm=(150, 160, 40), angles="120 down,95", width_mm=90,
        thickness_mm=4, radius_mm=6, plastic="PETG", title="Menu",
    )  # fmt: skip
    strip = job.strip

    assert strip.legs_mm == (150, 160, 40)
    assert [(bend.angle_deg, bend.turn) for bend in strip.bend] == [(120, "down"), (95, "up")]
    assert (strip.width_mm, strip.thickness_mm, strip.plastic) == (90, 4, "PETG")
    assert {bend.radius_mm for bend in strip.bend} == {6}
    assert job.title == "Menu"


@pytest.mark.parametrize("kind", StripKind)
def test_the_job_file_holds_plain_legs_and_angles(kind, tmp_path):
    """What is saved reads back as the same job, and says nothing of how it came about."""
    job = job_of(kind)
    path = tmp_path / "a.toml"
    path.write_text(job_toml(job), encoding="utf-8")

    assert load_job(path) == job
    assert "legs = [" in path.read_text(encoding="utf-8")
    assert "make =" not in path.read_text(encoding="utf-8")


def test_a_hook_is_as_wide_as_its_load_needs():
    """Twice the mass at the same reach is twice the width, once it is wider than the thing."""
    widths = [job_of(StripKind.WALL_HOOK, mass_g=mass).strip.width_mm for mass in (1000.0, 2000.0)]
    # 6 F a / (b T²) = 5 MPa with a = 34 mm and T = 2 mm, worked by hand: 100.1 mm for a kilogram.
    assert widths == [105.0, 205.0]


@pytest.mark.parametrize(
    ("words", "sizes"),
    [
        ("A5", (148, 210, 20)), ("a5", (148, 210, 20)), ("dl", (99, 210, 20)),
        ("phone", (78, 165, 13)), ("150x210", (150, 210, 20)), ("6 in x 8 in x 1 in", (152.4,
        203.2, 25.4)), ("tide table 120 × 180 × 8", (120, 180, 8)),
    ],
)  # fmt: skip
def test_things_are_named_or_measured(words, sizes):
    """A name that is known, sizes, or a name of one's own with sizes."""
    thing = held_thing(words, StripKind.BOOK_REST)

    assert (thing.wide_mm, thing.tall_mm, thing.thick_mm) == pytest.approx(sizes)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"holds": "phnoe"}, "holds must be a known thing or W x H x T (got 'phnoe'). "
         "Did you mean phone?"),
        ({"holds": "80"}, "holds must be like A5 or 148 x 105 x 1 (got '80'). Give two or three."),
        ({"marks_mm": (3.0,)}, "marks_mm must be left out with make"),
        ({"make": StripKind.BOOK_END, "lean_deg": 20.0}, "lean_deg must be used with card-stand"),
        ({"make": None, "holds": "A5", "angles": "90"}, "holds must be used with make"),
        ({"make": None}, "angles must be given (got nothing)"),
    ],
)  # fmt: skip
def test_wrong_words_are_told_in_one_sentence(more, says):
    """The field, the rule, what was got and what to do."""
    words = {"make": StripKind.CARD_STAND} | more
    with pytest.raises(SpecError) as told:
        strip_job(BendCommand(**words))

    assert says in str(told.value)


def test_a_way_to_stand_that_is_none_is_told_with_those_there_are():
    """The job says what the strip rests on; what it cannot rest on is refused."""
    from dataclasses import replace

    job = job_of(StripKind.CARD_STAND, jigs=(JigKind.BLOCK,))
    job = replace(job, stand=replace(job.stand, stands_on="leg 9"))
    with pytest.raises(
        SpecError, match="stands_on must be a way in which this strip rests"
    ) as told:
        build_work(job, folder=Path(), shop=SHOP)

    assert "the end of leg 1 and bend 2" in str(told.value)


def test_a_prop_goes_out_until_what_stands_high_is_over_the_feet():
    """On a short back that leans far a tall thing gets a flatter prop, and keeps its margin."""
    apexes = {}
    for tall in (150.0, 300.0):
        held = held_thing(f"100 x {tall}", StripKind.CARD_STAND)
        spec = EaselSpec(
            thickness_mm=2.0, back_mm=110.0, ledge_mm=28.0, front_mm=None, lean_deg=45.0,
            fixed_lean=True, margin_deg=MARGIN_DEG, held=held,
        )  # fmt: skip
        frame = solve_easel(spec).frame
        apexes[tall] = frame.angles_deg[0]
        job = job_of(
            StripKind.CARD_STAND, f"100 x {tall}", legs_mm=frame.legs_mm, width_mm=200,
            thickness_mm=2, angles=",".join(f"{angle:g}" for angle in frame.angles_deg),
        )  # fmt: skip
        made = build_work(job, folder=Path(), shop=SHOP)
        (thing,) = made.standing.loads
        behind = thing.x_mm - made.standing.contact_mm[0]
        assert degrees(atan2(behind, thing.height_mm)) > MARGIN_DEG - 1.0

    assert apexes[150.0] < apexes[300.0] - 10.0 < -80.0
