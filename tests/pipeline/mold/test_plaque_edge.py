"""A plaque's border, hanging holes and letter spacing: in their place, formable, and told."""

import tomllib
from functools import cache

import numpy as np
import pytest
import shapely

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.job.any_job import job_from_words
from moldgen.job.outline import JobText
from moldgen.mold.build import flat_region
from moldgen.mold.width_rule import least_gap_mm, least_stroke_mm
from moldgen.printing.bed_fit import usable_bed_mm
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)


@cache
def features(**said):
    """Return the plaque of a sign, and what stands on it by name."""
    (plaque,) = mg.design(mg.sign("SLIP 3", **said)).features.bodies
    return plaque, {child.name: child for child in plaque.children}


@pytest.mark.parametrize("gauge_mm", [0.5, 1.0, 2.0, 3.0])
def test_a_border_forms_in_any_sheet(gauge_mm):
    """A ring on the plaque's flat, as wide as the sheet asks, and as far from the words."""
    plaque, on = features(border=True, gauge_mm=gauge_mm)
    (ring,) = on["border"].region.geoms
    inside = shapely.Polygon(ring.interiors[0])
    x0, y0, x1, y1 = on["letters"].region.bounds
    width = (ring.bounds[2] - ring.bounds[0] - inside.bounds[2] + inside.bounds[0]) / 2

    assert flat_region(plaque).covers(ring)
    assert width >= least_stroke_mm(gauge_mm, on["border"].wall.height_mm) - 0.01
    assert shapely.box(x0, y0, x1, y1).distance(ring) >= least_gap_mm(gauge_mm, 4.0)


def test_a_plaque_without_a_border_is_as_it_was():
    """Twelve millimeters round the words, and nothing on it but these."""
    plaque, on = features()
    (x0, y0, x1, y1), (a, b, c, d) = plaque.region.bounds, on["letters"].region.bounds

    assert list(on) == ["letters"]
    assert (a - x0, b - y0, x1 - c, y1 - d) == pytest.approx((12, 12, 12, 12), abs=0.3)


@pytest.mark.parametrize("border", [False, True])
def test_one_hole_is_marked_in_the_middle_above_the_words(border):
    """A cone as wide as the hole, with sheet left round it, and room above the words."""
    plaque, on = features(border=border, hanging_hole="one")
    (disc,) = on["hanging hole"].region.geoms
    left, _, right, top = plaque.region.bounds
    across = disc.bounds[2] - disc.bounds[0]

    assert across == pytest.approx(5.0, abs=0.05)
    assert disc.centroid.x == pytest.approx((left + right) / 2, abs=1e-3)
    assert disc.bounds[1] >= on["letters"].region.bounds[3] + 3.9
    assert disc.bounds[3] <= top - 5.0
    assert on["hanging hole"].wall.draft_deg == 45
    apart = on["border"].region.distance(disc) if border else 9.0
    assert apart >= 4.0


def test_two_holes_stand_left_and_right():
    """In mirror symmetry, as far from either side as from the top."""
    plaque, on = features(hanging_hole="two")
    left, right = sorted(on["hanging hole"].region.geoms, key=lambda disc: disc.centroid.x)
    x0, _, x1, y1 = flat_region(plaque).bounds

    assert left.centroid.x - x0 == pytest.approx(x1 - right.centroid.x, abs=1e-6)
    assert left.centroid.x - x0 == pytest.approx(y1 - left.centroid.y, abs=0.01)
    assert left.centroid.y == pytest.approx(right.centroid.y)


def test_hanging_holes_are_told_and_drawn():
    """Diameter and count in the summary; drilled in the formed part, with help; on the plan."""
    result = mg.make(mg.sign("SLIP 3", border=True, hanging_hole="two"), SHOP)
    summary, files = dict(result.summary), result.files(["svg", "html"])
    plan = next(text for name, text in files.items() if name.endswith(".svg")).decode()
    report = next(text for name, text in files.items() if name.endswith(".html")).decode()

    assert summary["Hanging holes"] == "2 of 5 mm (#9), drilled in the formed part"
    assert "Drill the formed part, never the mold: 2 of 5 mm" in report
    assert "somebody who knows the drill stands by" in report
    assert "drill in the formed part" in plan or 'id="hang"' in plan
    assert [f for f in result.findings if f.severity is not Severity.NOTE] == []


def test_a_sign_without_holes_says_nothing_of_them():
    """No row in the summary."""
    assert "Hanging holes" not in dict(mg.make(mg.sign("OAR", letter_height_mm=20), SHOP).summary)


def test_letter_spacing_is_a_length_or_a_share_of_the_height():
    """Ten per cent of 30 mm are 3 mm, added between six letters five times."""
    plain, length, share = (
        np.ptp(features(letter_height_mm=30, **said)[1]["letters"].region.bounds[::2])
        for said in ({}, {"letter_spacing": "3 mm"}, {"letter_spacing": "10 %"})
    )

    assert length - plain == pytest.approx(15, abs=0.01)
    assert share == pytest.approx(length, abs=1e-6)


def test_spaced_letters_are_chosen_as_large_as_they_fit():
    """Ten millimeters between letters stay ten, however large these are."""

    def design(**said):
        return mg.design(mg.sign("HARBORMASTER", letter_spacing="8 mm", **said))

    made = design()
    height = next(one.value for one in made.choices if one.what == "letters")
    wider = design(letter_height_mm=float(height.split()[0]) + 1.5)

    room_mm = usable_bed_mm(made.setting.printer)[0]

    assert np.ptp(made.raw.mesh.bounds_mm[:, 0]) <= room_mm
    assert np.ptp(wider.raw.mesh.bounds_mm[:, 0]) > room_mm


def test_a_job_file_holds_edge_and_spacing():
    """Written and read again, it is the same job."""
    job = mg.sign("SLIP 3", border=True, hanging_hole="two", letter_spacing="10 %")
    again = job_from_words(tomllib.loads(mg.job_toml(job)))
    words = job.body[0].raised[0].outline

    assert again == job
    assert isinstance(words, JobText)
    assert words.tracking == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"border": True}, "border must be left out where letters stand without a plaque"),
        ({"hanging_hole": "one"}, "hanging_hole must be left out where letters stand without"),
    ],
)
def test_letters_without_a_plaque_have_no_edge(said, sentence):
    """Border and holes belong to a plaque."""
    with pytest.raises(SpecError, match=sentence):
        mg.sign("SLIP 3", as_="word", **said)


def test_a_spacing_that_is_none_is_refused():
    """One sentence with the option's name."""
    with pytest.raises(SpecError, match="letter_spacing must be"):
        mg.sign("SLIP 3", letter_spacing="3 kg")
