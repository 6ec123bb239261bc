"""The strip laid flat: lengths and lines, what they do not depend on, and what is doubtful."""

from dataclasses import replace

import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box
from support.logbook_stand import strip

from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.layout_rules import heater_findings
from moldgen.bend.strip.part import Bend
from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.stock import load_shop

FEW = settings(max_examples=30, deadline=None)
WIRE = load_shop(user_file=None).strip_heater("wire-600")
HEATER = replace(WIRE, band_mm=18)
"""Three quarters of 18 mm go soft, 13.5 mm: what a wire of 14 mm was taken for before."""
BENDS = st.lists(
    st.builds(
        Bend,
        angle_deg=st.one_of(st.floats(1, 150), st.just(180.0)),
        turn=st.sampled_from(Turn),
        inside_radius_mm=st.one_of(st.none(), st.floats(0, 15)),
    ),
    max_size=6,
)


def _codes(layout):
    return {finding.code for finding in layout.findings}


def test_the_two_bend_strip_is_as_tabled():
    """Length, flats, lines and tangents, to half the last digit."""
    rows = {row.pop("what"): row for row in published("bend_strip")}
    layout = build_layout(strip())
    found = {
        "length_mm": [layout.developed_mm],
        "flats_mm": layout.flats_mm,
        "centres_mm": [line.center_mm for line in layout.lines],
        "starts_mm": [line.start_mm for line in layout.lines],
        "ends_mm": [line.end_mm for line in layout.lines],
    }
    for what, values in found.items():
        printed = [text for text in rows[what].values() if text]
        assert len(printed) == len(values)
        for value, text in zip(values, printed, strict=True):
            assert value == pytest.approx(float(text), abs=1.01 * half_last_digit(text))


@pytest.mark.parametrize(
    "wrong", [{"neutral": 0.33}, {"legs_by": LegsBy.INSIDE}, {"thickness_mm": 3.2}]
)
def test_the_two_bend_strip_needs_its_own_inputs(wrong):
    """A guessed neutral line, inside legs or another gauge give another length."""
    assert build_layout(strip(**wrong)).developed_mm != pytest.approx(242.4733, abs=0.5)


def test_the_channel_of_the_handbook_comes_out_flat():
    """Inches, as printed: flats 0.8, 1.6, 0.8 and a strip of 3.758."""
    inch = 25.4
    bends = (Bend(angle_deg=90, inside_radius_mm=0.16 * inch),) * 2
    channel = strip(
        thickness_mm=0.04 * inch, legs_mm=(inch, 2 * inch, inch), bends=bends,
        neutral=0.0078 / 0.01743,
    )  # fmt: skip
    layout = build_layout(channel)
    assert [flat / inch for flat in layout.flats_mm] == pytest.approx([0.8, 1.6, 0.8])
    assert layout.developed_mm / inch == pytest.approx(3.758, abs=2e-3)


def test_the_workbook_part_has_its_printed_length():
    """Four legs, three bends, 2.973 in."""
    inch = 25.4
    made = strip(
        thickness_mm=0.05 * inch,
        legs_mm=tuple(inch * leg for leg in (0.740, 0.420, 1.050, 1.000)),
        bends=(Bend(angle_deg=90, inside_radius_mm=0.032 * inch),) * 3,
        neutral=0.0078 / 0.01743,
    )
    assert build_layout(made).developed_mm / inch == pytest.approx(2.973, abs=1.5e-3)


def _long(bends, legs_mm=None, **changed):
    return strip(bends=tuple(bends), legs_mm=legs_mm or (150.0,) * (len(bends) + 1), **changed)


@FEW
@given(BENDS, st.sampled_from(LegsBy))
def test_the_length_is_the_same_from_the_other_end(bends, legs_by):
    """Read from right to left, or with the marks below, the strip is as long."""
    legs_mm = tuple(150.0 + 10 * i for i in range(len(bends) + 1))
    layout = build_layout(_long(bends, legs_mm, legs_by=legs_by))
    other = [replace(bend, turn=Turn.UP if bend.turn is Turn.DOWN else Turn.DOWN) for bend in bends]
    mirrored = build_layout(_long(other[::-1], legs_mm[::-1], legs_by=legs_by))
    assert mirrored.developed_mm == pytest.approx(layout.developed_mm)
    assert mirrored.flats_mm == pytest.approx(layout.flats_mm[::-1])
    lines = [layout.developed_mm - line.center_mm for line in layout.lines]
    assert [line.center_mm for line in mirrored.lines] == pytest.approx(lines[::-1])


@FEW
@given(BENDS.filter(len), st.randoms(use_true_random=False))
def test_the_length_does_not_depend_on_the_order_of_bends(bends, random):
    """What is lost at a bend is lost wherever along the strip it is."""
    shuffled = list(bends)
    random.shuffle(shuffled)
    first, second = build_layout(_long(bends)), build_layout(_long(shuffled))
    assert second.developed_mm == pytest.approx(first.developed_mm)


@FEW
@given(BENDS, st.floats(0.2, 5))
def test_all_lengths_scale_together(bends, factor):
    """The same part in another unit is the same part."""
    given_mm = [replace(bend, inside_radius_mm=bend.radius_mm(3)) for bend in bends]
    small = build_layout(_long(given_mm))
    large = build_layout(
        _long(
            [replace(b, inside_radius_mm=b.inside_radius_mm * factor) for b in given_mm],
            tuple(150.0 * factor for _ in range(len(bends) + 1)),
            thickness_mm=3 * factor,
        )
    )
    assert large.developed_mm == pytest.approx(small.developed_mm * factor)


@FEW
@given(BENDS, st.sampled_from(LegsBy))
def test_flats_and_allowances_make_the_strip(bends, legs_by):
    """Tangent to tangent without gaps; each line in the middle of its bend; legs less losses."""
    layout = build_layout(_long(bends, legs_by=legs_by))
    at_mm = 0.0
    for flat_mm, line in zip(layout.flats_mm, layout.lines, strict=False):
        assert line.start_mm == pytest.approx(at_mm + flat_mm)
        assert line.center_mm == pytest.approx((line.start_mm + line.end_mm) / 2)
        assert line.end_mm - line.start_mm == pytest.approx(line.allowance_mm)
        at_mm = line.end_mm
    assert at_mm + layout.flats_mm[-1] == pytest.approx(layout.developed_mm)
    if legs_by is LegsBy.OUTSIDE:
        lost_mm = sum(line.deduction_mm for line in layout.lines)
        assert sum(layout.strip.legs_mm) - lost_mm == pytest.approx(layout.developed_mm)
    if legs_by is LegsBy.FLAT:
        assert sum(layout.strip.legs_mm) == pytest.approx(layout.developed_mm)


@FEW
@given(st.floats(1, 170), st.floats(0, 10))
def test_inside_and_outside_legs_describe_one_part(angle_deg, radius_mm):
    """Outside legs longer by the thickness's share of the corner give the same strip."""
    bend = Bend(angle_deg=angle_deg, inside_radius_mm=radius_mm)
    outside = build_layout(_long([bend], (400.0, 400.0)))
    line = outside.lines[0]
    share_mm = line.setback_mm * 3 / (radius_mm + 3)
    inside = build_layout(_long([bend], (400 - share_mm,) * 2, legs_by=LegsBy.INSIDE))
    assert inside.developed_mm == pytest.approx(outside.developed_mm)


def test_a_fold_is_measured_to_its_crest():
    """A leaflet holder's legs, by caliper, reach over the fold; it has no setback."""
    fold = build_layout(_long([Bend(angle_deg=180, gap_mm=2)], (100.0, 60.0)))
    line = fold.lines[0]
    assert line.setback_mm is None
    assert fold.flats_mm == pytest.approx((96, 56))
    assert line.allowance_mm == pytest.approx(3.14159265 * 2.5)
    inside = build_layout(
        _long([Bend(angle_deg=180, gap_mm=2)], (97.0, 57.0), legs_by=LegsBy.INSIDE)
    )
    assert inside.developed_mm == pytest.approx(fold.developed_mm)


def test_a_strip_without_bends_is_its_leg():
    """Nothing is lost, nothing is doubtful."""
    layout = build_layout(_long([], (90.0,)))
    assert (layout.developed_mm, layout.lines, layout.findings) == (90.0, (), ())


def test_distances_run_from_neighbor_to_neighbor():
    """From the left end over every line to the right end."""
    layout = build_layout(strip())
    first, second = layout.lines
    assert first.from_previous_mm == first.center_mm
    assert first.to_next_mm == second.from_previous_mm
    assert first.center_mm + second.from_previous_mm + second.to_next_mm == pytest.approx(
        layout.developed_mm
    )
    assert sum(second.hot_mm) / 2 == pytest.approx(second.center_mm)
    assert second.hot_mm[1] - second.hot_mm[0] == pytest.approx(second.heated_width_mm)


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        (
            {"legs_mm": (80, 20, 60)},
            r"leg 2 must be at least 21\.85 mm, which its bends take \(got 20 mm\)\. Make the leg",
        ),
        ({"legs_mm": (5, 120, 60)}, r"leg 1 must be at least 9\.00 mm"),
        ({"legs_mm": (80, 120, 5)}, r"leg 3 must be at least 12\.85 mm"),
        (
            {"legs_mm": (80, 8, 60), "legs_by": LegsBy.FLAT},
            r"leg 2 must be at least 13\.09 mm, which its bends take",
        ),
        (
            {"legs_mm": (3, 60), "bends": (Bend(angle_deg=180, gap_mm=1),)},
            r"leg 1 must be at least 3\.50 mm, which its bends take",
        ),
        (
            {"outline": MultiPolygon([box(0, 0, 200, 120)])},
            r"outline must be drawn from 0 to the length of the flat strip, 242\.47 mm \(got 0\.00",
        ),
        (
            {"outline": MultiPolygon([box(0.2, 0, 242.47, 120)])},
            r"242\.47 mm \(got 0\.20 to 242\.47 mm\)",
        ),
        (
            {"outline": MultiPolygon([box(0, 0, 242.47, 90)])},
            r"outline must be drawn from 0 to the width of the flat strip, 120\.00 mm",
        ),
    ],
)
def test_overlapping_bends_are_refused(changed, sentence):
    """One sentence with the leg, what it needs and what to do."""
    with pytest.raises(SpecError, match=sentence):
        build_layout(strip(**changed))


def test_a_plain_stand_is_not_doubtful():
    """Two usual bends on long legs: nothing to say, with a heater or without."""
    layout = build_layout(strip())
    assert layout.findings == ()
    tight = build_layout(strip(bends=(Bend(angle_deg=90), Bend(angle_deg=70))))
    assert list(heater_findings(tight, HEATER)) == []


@pytest.mark.parametrize(
    ("changed", "code", "severity"),
    [
        ({"bends": (Bend(angle_deg=90, inside_radius_mm=2.9),)}, "radius-under-limit", "caution"),
        ({"bends": (Bend(angle_deg=90, inside_radius_mm=5.9),)}, "radius-small", "note"),
        ({"bends": (Bend(angle_deg=180, gap_mm=1),)}, "radius-under-limit", "caution"),
        (
            {"bends": (Bend(angle_deg=180, gap_mm=8),), "legs_mm": (18, 80)},
            "fold-leg-short",
            "caution",
        ),
        ({"legs_mm": (10.0, 120, 60)}, "leg-all-soft", "stop"),
        ({"legs_mm": (80, 120, 13.0)}, "leg-all-soft", "stop"),
        ({"legs_mm": (80, 22.0, 60)}, None, ""),
        (
            {"bends": (Bend(angle_deg=20),) * 2, "legs_mm": (80, 6, 60)},
            "soft-strips-meet",
            "caution",
        ),
        ({"holes": ((65.0, 60, 5),)}, "hole-near-bend", "caution"),
        ({"holes": ((60.0, 60, 5),)}, None, ""),
        ({"width_mm": 700.0}, "bend-line-long", "caution"),
    ],
)
def test_doubtful_bends_are_found(changed, code, severity):
    """Each rule finds the part that breaks it, and leaves the one just inside alone."""
    if "bends" in changed and len(changed["bends"]) == 1:
        changed = {"legs_mm": (80.0, 80.0)} | changed
    findings = build_layout(strip(**changed)).findings
    assert [finding.code for finding in findings] == ([code] if code else [])
    assert all(finding.severity == severity and finding.basis for finding in findings)


def test_an_opening_of_the_outline_is_a_hole():
    """A slot near a bend line is found like a drilled hole; far from it, it is not."""
    length_mm = build_layout(strip()).developed_mm
    near = box(0, 0, length_mm, 120).difference(Point(85, 60).buffer(4))
    far = box(0, 0, length_mm, 120).difference(Point(130, 60).buffer(4))
    assert _codes(build_layout(strip(outline=MultiPolygon([near])))) == {"hole-near-bend"}
    assert _codes(build_layout(strip(outline=MultiPolygon([far])))) == set()


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"width_mm": 610.0}, {"bend-line-beyond-bed": Severity.STOP}),
        ({"legs_mm": (18.0, 120, 60)}, {"leg-short-for-heater": Severity.STOP}),
        ({"legs_mm": (80, 120, 20.0)}, {"leg-short-for-heater": Severity.STOP}),
        ({"legs_mm": (80, 32.0, 60)}, {"leg-short-for-heater": Severity.CAUTION}),
        ({"legs_mm": (80, 40.0, 60)}, {}),
        ({"bends": (Bend(angle_deg=90), Bend(angle_deg=120))}, {"band-narrow": Severity.CAUTION}),
    ],
)
def test_what_the_heater_cannot_do_is_found(changed, expected):
    """Bed too short, leg too short at an end or between bends, band too narrow."""
    changed = {"bends": (Bend(angle_deg=90), Bend(angle_deg=95))} | changed
    found = heater_findings(build_layout(strip(**changed)), HEATER)
    assert {finding.code: finding.severity for finding in found} == expected


def test_the_stock_wire_is_too_narrow_for_the_usual_bend():
    """3 mm, square, R 6 takes 11.78 mm and 10.5 go soft: said with its band, and what would do.

    All of the heated band, 14 mm, would be enough; R 5 is.
    """
    usual = build_layout(strip(bends=(Bend(angle_deg=90),), legs_mm=(80.0, 80.0)))
    (found,) = heater_findings(usual, WIRE)
    assert found.code == "band-narrow"
    assert (found.measured, found.limit) == pytest.approx((10.5, 11.781), abs=1e-3)
    assert found.limit < WIRE.band_mm
    assert "about 10 mm (9 to 12)" in found.says
    assert found.advice.endswith("or take an inside radius of 5 mm.")
    rounder = Bend(angle_deg=90, inside_radius_mm=5)
    fits = build_layout(strip(bends=(rounder,), legs_mm=(80.0, 80.0)))
    assert list(heater_findings(fits, WIRE)) == []


def test_a_thick_strip_needs_a_wider_band_whatever_its_radius():
    """5 mm must be soft over three thicknesses: no radius helps, and none is told."""
    thick = build_layout(strip(thickness_mm=5.0, bends=(Bend(angle_deg=60),), legs_mm=(90.0, 90.0)))
    (found,) = heater_findings(thick, WIRE)
    assert found.advice.endswith("or take a heater with a wider band.")


def test_a_middle_leg_is_measured_to_its_neighbor_when_that_is_bent():
    """Both lines of a short middle leg are too near the other's tangent line."""
    short = build_layout(strip(legs_mm=(80, 32.0, 60), bends=(Bend(angle_deg=90),) * 2))
    rooms = [finding.measured for finding in heater_findings(short, HEATER)]
    line = short.lines[0]
    wanted = short.flats_mm[1] + line.allowance_mm / 2
    assert rooms == pytest.approx([wanted, wanted])
