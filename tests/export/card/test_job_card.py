"""The job card as a page: what stands where, and that all of it is readable."""

import re
from dataclasses import replace

import pytest
import segno
import shapely
from shapely import MultiPolygon, Point, box
from support.some import some

from moldgen.export.card.job_card import CARD_PAPERS, CardStep, JobCard, job_cards_pdf_bytes
from moldgen.export.card.qr_code import draw_qr_code
from moldgen.export.card.text_block import broken_lines, fitting_size_mm
from moldgen.export.plan.paper import MM_PER_INCH
from moldgen.export.plan.pdf_canvas import PdfCanvas, text_width_mm
from moldgen.export.plan.plan import Hole, build_plan
from moldgen.export.report.cautions import card_cautions
from moldgen.language import Language, speak
from moldgen.units_text import Units, read_in

TEXT = re.compile(
    r"/(?P<font>[RB]) (?P<size>\S+) Tf 1 0 -?0 1 (?P<x>\S+) (?P<y>\S+) Tm <(?P<text>[0-9a-f]*)> Tj"
)
PLAN = build_plan(
    title="Cleat",
    foot=MultiPolygon([box(-40, -20, 40, 20)]),
    vents=[Hole(x_mm=10, y_mm=0, diameter_mm=1.0, note="v1")],
    trim=box(-50, -30, 50, 30),
)
STEPS = (
    CardStep(name="Sheet", value="HIPS 1.5 mm", words="490 x 340 mm, film off."),
    CardStep(name="Heat", value="40 to 80 s", words="Watch from 40 s on. " * 4),
    CardStep(name="Trim", value="knife"),
)
CARD = JobCard(title="Cleat", steps=STEPS, cautions=("Local rules come first.",), plan=PLAN)
CROWDED = replace(
    CARD,
    title="A very long title of a sign for the far end of the pier",
    person="Somebody with a name",
    link="http://192.168.1.20:8000/log/ab3k9",
    steps=tuple(replace(STEPS[1], words=STEPS[1].words * 2, name=f"Step {i}") for i in range(9)),
    foot="A last line.",
)


def written(card, paper="A5"):
    """Return size, x, y [mm] and text of every line on the one page of a card, and its font."""
    stream = job_cards_pdf_bytes([card], paper=CARD_PAPERS[paper], title="Cards").decode("latin1")
    return some(
        (
            *(float(found[key]) for key in ("size", "x", "y")),
            bytes.fromhex(found["text"]).decode("cp1252"),
            found["font"],
        )
        for found in TEXT.finditer(stream)
    )


@pytest.mark.parametrize("paper", CARD_PAPERS)
@pytest.mark.parametrize("card", [CARD, CROWDED], ids=["usual", "crowded"])
def test_every_line_lies_on_the_page_and_is_large_enough_to_read(card, paper):
    """No line leaves the paper's printable part; at least 1.5 mm high, values 3 mm at least."""
    size = CARD_PAPERS[paper]
    for height, x, y, text, font in some(written(card, paper)):
        width = text_width_mm(text, height) * (1.06 if font == "B" else 1.0)
        assert 7.9 <= x <= x + width <= size.width_mm - 7.9, text
        assert 7.9 <= y <= y + height * 0.75 <= size.height_mm - 7.9, text
        assert height >= (3.0 if text in {one.value for one in card.steps} else 1.5), text


@pytest.mark.parametrize("paper", CARD_PAPERS)
@pytest.mark.parametrize("card", [CARD, CROWDED], ids=["usual", "crowded"])
def test_no_line_lies_on_another(card, paper):
    """The boxes of all lines are apart, though steps are many and wordy."""
    boxes = [
        (text, box(x, y, x + text_width_mm(text, height), y + 0.7 * height))
        for height, x, y, text, _ in written(card, paper)
    ]
    tree = shapely.STRtree([one for _, one in boxes])
    pairs = tree.query([one for _, one in boxes], predicate="intersects").T

    assert [(boxes[i][0], boxes[j][0]) for i, j in pairs if i < j] == []


def test_a_card_with_few_steps_has_large_numbers_and_a_wordy_one_smaller():
    """The values shrink together, as far as they must."""
    large, small = (
        {height for height, _, _, text, _ in written(card) if text == "40 to 80 s"}
        for card in (CARD, CROWDED)
    )

    assert max(large) == pytest.approx(6.4)
    assert len(small) == 1
    assert 3.0 <= max(small) < 6.0


def test_a_card_without_a_name_has_a_line_for_it():
    """A name that is known is written; otherwise there are lines for name and date."""
    blank = {text for _, _, _, text, _ in written(CARD)}
    named = {text for _, _, _, text, _ in written(replace(CARD, person="Ada"))}

    assert {"Name", "Date"} <= blank
    assert "Ada" in named
    assert not {"Name", "Date"} & named


def test_the_small_plan_shows_foot_vents_and_trim_line_inside_its_box():
    """The drawing is as large as its box allows; lines keep the width they have at 1:1."""
    stream = job_cards_pdf_bytes([CARD], paper=CARD_PAPERS["A5"], title="").decode("latin1")
    bare = job_cards_pdf_bytes([replace(CARD, plan=None)], paper=CARD_PAPERS["A5"], title="")
    scale = float(re.search(r"\n(0\.\d+) 0 0 \1 \S+ \S+ cm", stream)[1])
    foot_pen = re.findall(r"(\S+) w 0 G", stream)

    assert "Not to scale" in " ".join(text for _, _, _, text, _ in written(CARD))
    assert 100 * scale <= 58.0 + 1e-6
    assert 60 * scale <= 33.0 + 1e-6
    assert 0.75 * min(58.0 / 100, 33.0 / 60) <= scale, "but for the arrow beside it"
    assert f"{0.5 / scale:.4f}".rstrip("0") in foot_pen
    assert len(bare) < len(stream)


def test_a_qr_code_has_every_module_where_the_standard_puts_it():
    """What is filled covers the dark modules of the code and none of the light ones."""
    link, side_mm = "http://192.168.1.20:8000/log/ab3k9", 24.0
    page = PdfCanvas()
    draw_qr_code(page, link, left_mm=10.0, top_mm=90.0, size_mm=side_mm)
    path = page.content.decode().split("f*")[0].split("d\n", 1)[1]
    rings = [
        [tuple(map(float, pair)) for pair in re.findall(r"(\S+) (\S+) [ml]", ring)]
        for ring in path.split("h")
    ]
    dark = shapely.union_all([shapely.Polygon(ring) for ring in rings if ring])
    matrix = segno.make(link, micro=False).matrix
    module = side_mm / (len(matrix) + 8)
    seen = [
        [dark.contains(Point(10 + (j + 4.5) * module, 90 - (i + 4.5) * module)) for j in range(n)]
        for i, n in enumerate([len(matrix)] * len(matrix))
    ]

    assert seen == [[bool(one) for one in row] for row in matrix]
    assert 0.5 < dark.area / sum(map(sum, seen)) / module**2 < 1.0001


def test_cards_of_a_class_are_one_document_and_always_the_same_bytes():
    """A page a card, in order."""
    cards = [CARD, replace(CARD, title="Oar")]
    made = job_cards_pdf_bytes(cards, paper=CARD_PAPERS["A5"], title="Class")

    assert made == job_cards_pdf_bytes(cards, paper=CARD_PAPERS["A5"], title="Class")
    assert made.count(b"/Type /Page ") == 2
    assert made.index(b"Cleat".hex().encode()) < made.index(b"Oar".hex().encode())


def test_cards_are_read_in_inches_where_a_person_wishes_so():
    """Values and words are turned, as those of every page."""
    with read_in(Units.INCH):
        texts = {text for _, _, _, text, _ in written(CARD)}

    assert "HIPS 0.059 in" in texts
    assert not [text for text in texts if " mm" in text]


def test_half_letter_is_half_of_letter():
    """ANSI A is 8.5 by 11 in; cut in two it is 5.5 by 8.5 in. A5 is half of A4 (ISO 216)."""
    half, a5 = CARD_PAPERS["Half Letter"], CARD_PAPERS["A5"]

    assert (half.width_mm / MM_PER_INCH, half.height_mm / MM_PER_INCH) == pytest.approx((5.5, 8.5))
    assert (a5.height_mm, a5.width_mm * 2) == pytest.approx((210, 297), abs=1)


def test_lines_are_broken_between_words():
    """Every line fits, none has room for the next word, and no word is lost."""
    words = "Ready when it ripples, draws level again, then sags evenly, and a dent springs back."
    lines = broken_lines(words, size_mm=3.0, width_mm=40.0)

    assert " ".join(lines) == words
    for line, following in zip(some(lines[:-1]), lines[1:], strict=True):
        assert text_width_mm(line, 3.0) <= 40.0
        assert text_width_mm(f"{line} {following.split()[0]}", 3.0) > 40.0


def test_one_long_word_stands_on_a_line_of_its_own():
    """It is not lost, and what follows begins anew."""
    assert broken_lines("Donaudampfschiff an", size_mm=3.0, width_mm=10.0)[0] == "Donaudampfschiff"
    assert broken_lines("", size_mm=3.0, width_mm=10.0) == []


def test_bold_letters_shrink_to_the_width_and_never_grow():
    """A short line keeps the height that was asked for."""
    assert fitting_size_mm("knife", most_mm=6.0, width_mm=100.0) == 6.0
    small = fitting_size_mm("knife " * 20, most_mm=6.0, width_mm=100.0)
    assert 1.06 * text_width_mm("knife " * 20, small) == pytest.approx(100.0)
    assert fitting_size_mm("", most_mm=6.0, width_mm=100.0) == 6.0


@pytest.mark.parametrize("language", [one for one in Language if one is not Language.EN])
def test_a_card_is_told_in_the_language_of_its_readers(language):
    """Labels, values, words, cautions, foot and what is filled in are all turned, and they fit."""
    steps = (
        CardStep(
            name="Vents",
            value="drill 2 x 1 mm",
            words="From below: mold clamped, glasses, no gloves. Clear 3 holes: with a pin.",
        ),
        CardStep(
            name="Release",
            value="ease off all round",
            words="The mold is hot: gloves. After 4 cycles in a row let it rest 1 min 30 s.",
        ),
    )
    foot = "Times by computation, with their doubt; the report tells more."
    card = replace(CARD, steps=steps, cautions=card_cautions(), foot=foot)
    with speak(language):
        lines = written(card)
    left = {text for *_, text, _ in lines} & {text for *_, text, _ in written(card)}

    assert left <= {"Cleat", "Date", "Cycle no.", "Name"}
    page_mm = CARD_PAPERS["A5"].width_mm
    assert all(x + text_width_mm(text, size) <= page_mm - 6.0 for size, x, _, text, _ in lines)
