"""SVG drawings made to hurt: they are refused in one sentence, in little time."""

from time import process_time

import pytest
from support.hostile import (
    SQUARE,
    clips_of_clips,
    ended_after,
    points_of,
    scribble,
    svg,
    uses_of_uses,
)

import moldgen as mg
from moldgen.errors import OutlineError
from moldgen.limits import PAGE, Limits
from moldgen.outline.svg.style import INITIAL, style_of, style_sheet
from moldgen.outline.svg.value import finite

BLANKS = " " * 200_000
SLIPS = {
    "points": (f'<polygon points="{"1.5 " * 30}x"/>', "where numbers belong"),
    "points without blanks": (f'<polygon points="{"1.5" * 5000}x"/>', "where numbers belong"),
    "transform": (f'<rect width="9" height="9" transform="scale({"1.5" * 5000}x)"/>', "numbers"),
    "blanks in a transform": (
        f'<rect width="9" height="9" transform="scale(1{BLANKS}x)"/>', "numbers belong"),
    "blanks after a transform": (
        f'<rect width="9" height="9" transform="scale(1){BLANKS}x"/>', "cannot be read"),
    "open brackets": (
        f'<rect width="9" height="9" transform="{"scale(" * 50_000}"/>', "cannot be read"),
    "blanks in a length": (f'<rect width="9{BLANKS}x y" height="9"/>', "not a length"),
    "blanks in a path": (f'<path d="M0 0 L 9 9{BLANKS}x"/>', "cannot be read"),
}  # fmt: skip
SOUND = {
    "blanks in a style": f'<rect width="9" height="9" style="fill:{BLANKS}!{BLANKS}x"/>',
    "blanks between moves": f'<path d="{("M0 0" + " " * 2000) * 100}L9 9 0 9z"/>',
    "long selectors": f"<style>.{'a-' * 100_000}! {{fill:red}}</style>{SQUARE}",
}


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_told_at_once(name):
    """A slip behind many numbers or blanks takes no longer than a sound value, and is short."""
    body, says = SLIPS[name]
    start = process_time()

    with pytest.raises(OutlineError, match=says) as caught:
        mg.outline_from_svg(svg(body))

    assert process_time() - start < 1.0
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize("name", SOUND)
def test_many_blanks_are_read_at_once(name):
    """200 kB of blanks or of a selector take less than a second."""
    mg.outline_from_svg(svg(SQUARE))
    start = process_time()

    drawing = mg.outline_from_svg(svg(SOUND[name]))

    assert process_time() - start < 1.0
    assert drawing.region.area > 0


@pytest.mark.parametrize("leaf", ["", "<text>a</text>", "<title>a</title>"])
def test_uses_of_uses_that_draw_nothing_are_counted(leaf):
    """2^40 visits from two kilobytes end at the limit, though no shape is drawn."""
    limits = Limits(visits=2000)

    with ended_after(20), pytest.raises(OutlineError, match="more than 2,000 times"):
        mg.outline_from_svg(uses_of_uses(leaf), limits=limits)


def test_a_long_element_counts_as_several():
    """A path of 100 kB that is used again and again is as many visits as it is long."""
    body = f'<defs><path id="a" d="M0 0{" " * 100_000}"/></defs>' + '<use href="#a"/>' * 30

    with pytest.raises(OutlineError, match="more than 2,000 times"):
        mg.outline_from_svg(svg(body), limits=Limits(visits=2000))


def test_clips_of_clips_are_counted():
    """A clip that is clipped by clips ends at the limit of visits."""
    with ended_after(20), pytest.raises(OutlineError, match="more than 500 times"):
        mg.outline_from_svg(clips_of_clips(), limits=Limits(visits=500))


def test_corners_are_counted_while_they_are_met():
    """A polygon that is used often is stopped by its corners, long before it is united."""
    polygon = f'<polygon id="a" points="{points_of(scribble(40))}"/>'
    body = f"<defs>{polygon}</defs>" + '<use href="#a"/>' * 50

    with pytest.raises(OutlineError, match="corners, more than 300; simplify"):
        mg.outline_from_svg(svg(body), limits=Limits(points=300))


@pytest.mark.parametrize(
    ("attributes", "options"),
    [
        ("", {}),
        ('fill="none" stroke="black"', {}),
        ('fill="none" stroke="black" stroke-width="1"', {"strokes": "outline"}),
    ],
)
def test_a_scribble_is_refused_before_it_is_cut_at_its_crossings(attributes, options):
    """4000 random corners cross millions of times; that is counted, not computed."""
    body = f'<polygon {attributes} points="{points_of(scribble(4000))}"/>'

    with ended_after(20), pytest.raises(OutlineError, match="crosses itself more than 20,000"):
        mg.outline_from_svg(svg(body), **options)


def test_shapes_that_cross_each_other_too_often_are_refused():
    """Two combs across each other have as many crossings as teeth times teeth."""
    upright = "".join(f'<rect x="{k / 2}" width="0.3" height="99"/>' for k in range(150))
    level = "".join(f'<rect y="{k / 2}" width="99" height="0.3"/>' for k in range(150))

    with ended_after(20), pytest.raises(OutlineError, match="crosses itself more than 20,000"):
        mg.outline_from_svg(svg(upright + level))


def test_transforms_that_multiply_are_refused():
    """Forty groups that each stretch by a thousand million are told, whatever comes of them."""
    body = '<g transform="scale(1e9)">' * 40 + SQUARE + "</g>" * 40

    with pytest.raises(OutlineError, match="beyond all bounds"):
        mg.outline_from_svg(svg(body))


def test_a_number_at_the_limit_is_read_and_one_beyond_is_not():
    """The largest number of a drawing holds in both directions."""
    assert finite("1e12", "x") == 1e12
    with pytest.raises(OutlineError, match=r"x has the number -1\.1e12, larger than any drawing"):
        finite("-1.1e12", "x")


def test_a_use_of_another_file_is_not_taken_for_the_drawing_itself():
    """The sentence names the file, without what a terminal would obey, and does not read it."""
    with pytest.raises(OutlineError, match=r"points to another file, other\.svg, which is not"):
        mg.outline_from_svg(svg('<use href="other.svg#a"/>'))
    with pytest.raises(OutlineError, match=r"points to another file, \\x9b31m, which is not read"):
        mg.outline_from_svg(svg('<use href="&#x9b;31m"/>'))
    with pytest.raises(OutlineError, match="points to something that is not in the drawing"):
        mg.outline_from_svg(svg("<use/>"))


def test_many_rules_and_many_shapes_take_no_longer_than_their_sum():
    """Each shape looks only at rules that may be its own, and obeys the last of them."""
    sheet = style_sheet([f".a{k}{{fill:none}} .a{k}{{fill:red}}" for k in range(5000)])
    from xml.etree.ElementTree import Element

    start = process_time()
    styles = [style_of(Element("rect", {"class": f"a{k}"}), {}, sheet) for k in range(300)]

    assert process_time() - start < 1.0
    assert len(styles) == 300
    assert style_of(Element("rect", {"class": "a7"}), {"fill": "black"}, sheet)["fill"] == "red"
    assert style_of(Element("rect", {"class": "b"}), {"fill": "black"}, sheet)["fill"] == "black"


def test_many_rules_for_descendants_take_no_longer_either():
    """Of a rule for what stands in something, the last compound says whose it may be."""
    from xml.etree.ElementTree import Element, SubElement

    root = Element("svg")
    group = SubElement(root, "g", {"class": "pier"})
    shapes = [SubElement(group, "rect", {"class": f"a{k}", "id": "last"}) for k in range(300)]
    rules = [f".pier .a{k}{{fill:none}} svg > g.pier > rect.a{k}{{fill:red}}" for k in range(5000)]
    sheet = style_sheet([*rules, "g > #last {stroke: blue} .pier * {opacity: 0.5}"], root)

    start = process_time()
    styles = [style_of(shape, INITIAL, sheet) for shape in shapes]

    assert process_time() - start < 1.0
    assert {(one["fill"], one["stroke"], one["opacity"]) for one in styles} == {
        ("red", "blue", "0.5")
    }


def test_white_that_crosses_too_much_is_refused_before_it_is_cut_out():
    """A thousand shapes under a thousand white ones are not cut one by one."""
    black = "".join(
        f'<rect x="{k % 40}" y="{k // 40}" width="60" height="60"/>' for k in range(1000)
    )
    white = black.replace("<rect", '<rect fill="white"').replace('"60"', '"0.4"')
    start = process_time()

    with pytest.raises(OutlineError, match="crosses itself more than 20,000"):
        mg.outline_from_svg(svg(black + white))

    assert process_time() - start < 8.0


def test_corners_of_white_that_is_cut_out_are_counted_before_it_is():
    """Thirty frames within each other, each with thirty white spots, have thousands of corners."""
    black = "".join(f'<rect x="{k}" y="{k}" width="{99 - 2 * k}" height="{99 - 2 * k}"/>'
                    for k in range(30))  # fmt: skip
    white = "".join(f'<rect fill="white" x="{35 + k}" y="45" width="0.5" height="9"/>'
                    for k in range(30))  # fmt: skip

    mg.outline_from_svg(svg(black + white), limits=Limits(points=30 * 31 * 5))
    with pytest.raises(OutlineError, match="has 4,650 corners where white is cut out"):
        mg.outline_from_svg(svg(black + white), limits=Limits(points=30 * 31 * 5 - 1))


def test_a_name_of_a_thousand_letters_is_compared_with_two_thousand_others_at_once():
    """Names too long to be mistyped are not compared letter by letter."""
    shapes = "".join(
        f'<rect id="{"ab" * 500}{k}" x="{k % 90}" width="1" height="1"/>' for k in range(500)
    )
    start = process_time()

    with pytest.raises(OutlineError, match="is not in the drawing") as caught:
        mg.outline_from_svg(svg(shapes), part="ab" * 480 + "x")

    assert process_time() - start < 6.0
    assert len(str(caught.value)) < 600


def test_a_page_reads_less():
    """What a person may bring on a computer of their own is refused on a page."""
    drawing = svg("".join(f'<rect x="{k % 90}" width="1" height="1"/>' for k in range(30)))
    assert mg.outline_from_svg(drawing).region.area > 0

    with mg.run_with(limits=Limits(shapes=20)), pytest.raises(OutlineError, match="20 shapes"):
        mg.outline_from_svg(drawing)
    with mg.run_with(limits=PAGE):
        assert mg.outline_from_svg(drawing).region.area > 0
