"""What the page has computed holds to the limits of a page, and to no others."""

from dataclasses import fields
from io import BytesIO

import pytest
from PIL import Image

from moldgen.bend.preset.choices import StripKind
from moldgen.errors import FileError, SpecError
from moldgen.lesson.class_work.workbook import xlsx_tables
from moldgen.lesson.log.note_text import note_words
from moldgen.lesson.log.shot_note import Outcome, ShotNote
from moldgen.limits import PAGE
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.worker import Worker
from moldgen.web import work


def wish(beginning, **values):
    """The words of an order."""
    return {"wish": {"beginning": beginning, "values": values}}


def silent(words):
    """Hear nothing."""


def test_the_limits_are_those_of_a_page_but_for_photographs():
    """Two sizes of files are larger; all other numbers stand in one place."""
    other = {
        one.name
        for one in fields(PAGE)
        if getattr(work.BROUGHT, one.name) != getattr(PAGE, one.name)
    }

    assert other == {"drawing_bytes", "picture_bytes"}


@pytest.mark.parametrize(
    "ask", [work.picture, work.findings, work.thumbnail, work.files, work.mended]
)
def test_a_mold_larger_than_a_page_makes_is_refused(ask):
    """Whatever is asked of it, and also where the walls are built only later."""
    with pytest.raises(SpecError, match="700 mm"):
        ask(wish("shape", shape="fish", width="900", height="12"), [], silent)


def test_a_drawing_larger_than_may_be_is_refused():
    """Bytes that a class brings are counted before they are read."""
    with pytest.raises(FileError, match="2 MB"):
        work.picture(wish("drawing", width="60"), [b"<svg>" + b" " * 2_000_001], silent)


def test_a_drawing_that_was_brought_can_be_mended():
    """The remedy is looked for on the drawing itself; there is no file of that name."""
    notched = "M0 0H86V40H46V10H40V40H0Z"
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="86mm" height="40mm" viewBox="0 0 86 40">'
        f'<path d="{notched}"/></svg>'
    )

    told = work.mended(wish("drawing", height="12", gauge="1"), [svg.encode()], silent).words

    assert told["changes"] == ["height: 12 mm → 6 mm (gap narrow)"]
    assert told["wish"]["values"]["height"] == "6 mm"
    assert told["left"] == []


def test_a_finding_tells_its_place_by_name():
    """As on the command line, and not by coordinates."""
    order = wish("word", words=["PIER 4"], relief="9", letter_height="20")

    told = work.findings(order, [], silent).words["findings"]

    assert "of the E in PIER" in told[0]["sentence"]
    assert not any(" x " in one["sentence"] for one in told)


def test_lengths_are_told_in_inches_where_they_are_read_so():
    """Findings and what was chosen; the numbers of the mesh stay."""
    order = wish("word", words=["PIER 4"], relief="9", letter_height="20")
    inches = {**order, "units": "inch"}

    found = work.findings(inches, [], silent).words["findings"][0]["sentence"]
    strip = wish("strip", make="book-end")
    seen = [work.picture(one, [], silent) for one in (strip, {**strip, "units": "inch"})]

    assert "limit 0.35 in" in found
    assert "mm" not in found
    assert seen[0].words["size_mm"] == seen[1].words["size_mm"]
    assert "inside radius 0.20 in at bend 1" in str(seen[1].words["chosen"])


def test_a_strip_is_seen_and_judged():
    """The bent strip as it stands, its findings, and all its files; there is no sheet over it."""
    order = wish("strip", make="book-end", width="80")

    wide_mm = work.picture(order, [], silent).words["size_mm"][1]
    files = work.files(order, [], silent).blocks[0]

    assert wide_mm == pytest.approx(80)
    assert all(one["code"] for one in work.findings(order, [], silent).words["findings"])
    assert b"directions.txt" in files
    with pytest.raises(SpecError, match="beginning"):
        work.sheet(order, [], silent)


def test_the_values_of_a_strip_are_checked():
    """As a job of the command line is: one sentence with the field."""
    assert work.checked(wish("strip", make="book-end"), [], silent).words == {}
    with pytest.raises(SpecError, match="width must be"):
        work.checked(wish("strip", make="book-end", width="wide"), [], silent)


def test_a_workbook_is_read_where_no_file_is_reached():
    """What reads it looks for the kinds of files that the system lists, which are no secret."""
    data = xlsx_tables([("Crew", [["name", "word"], ["Åse Berg", "AHOY"]])])
    worker = Worker([work.__name__], ProcessLimits())
    try:
        answer = worker.run(f"{work.__name__}:roster", {}, [data])
    finally:
        worker.kill()

    assert answer.words == {"names": ["Åse Berg"]}


def test_a_verdict_is_told_at_a_glance():
    """The worst finding in a sentence, how many more, how long it prints, and on which sheet."""
    fine = work.verdict(wish("word", words=["PIER 4"]), [], silent).words
    narrow = wish("word", words=["PIER 4"], relief="9", letter_height="20")
    amiss = work.verdict({**narrow, "language": "de"}, [], silent).words
    strip = work.verdict(wish("strip", make="book-end"), [], silent).words

    assert fine == {
        "severity": "none", "sentence": "", "n_more": 0, "print_time": "2 h 30 min",
        "sheet": "HIPS 1.5 mm",
    }  # fmt: skip
    assert (amiss["severity"], amiss["n_more"], amiss["sheet"]) == ("caution", 1, "HIPS 1,5 mm")
    assert "Lücken" in amiss["sentence"]
    assert (strip["print_time"], strip["sheet"]) == ("", "PMMA cast 3 mm")


def test_ready_made_strips_have_pictures():
    """One for each, from the side, and no two alike."""
    strips = work.shape_outlines({}, [], silent).words["strips"]

    assert set(strips) == set(StripKind)
    assert len(set(strips.values())) == len(StripKind)
    assert all(path.startswith("M") and path.endswith("Z") for path in strips.values())


def test_the_log_takes_its_facts_from_the_mold():
    """Names, sheet and computed times of a wish; a strip has none."""
    facts = work.shot_facts(wish("word", words=["A"], letter_height="12"), [], silent).words

    assert (facts["job"], facts["plastic"], facts["thickness_mm"]) == ("A", "HIPS", 1.5)
    assert 20 < facts["told_heat_s"] < 200
    assert 5 < facts["told_cool_s"] < 200
    assert 0.1 < facts["told_print_h"] < 5
    with pytest.raises(SpecError, match="one of a mold"):
        work.shot_facts(wish("strip", make="phone-stand"), [], silent)


def test_a_photo_for_the_log_is_written_anew():
    """Whatever it was, it is a small JPEG then, with nothing of the camera in it; or refused."""
    stream = BytesIO()
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Camera of Ida"  # held upright
    Image.new("RGBA", (300, 200), "#1d5a8080").save(stream, "PNG", exif=exif)

    small = work.small_photo({}, [stream.getvalue()], silent).blocks[0]

    with Image.open(BytesIO(small)) as seen:
        assert (seen.format, seen.mode, seen.size) == ("JPEG", "RGB", (200, 300))
        assert not seen.getexif()
    for data in (b"", b"<svg/>", b"%!PS-Adobe", stream.getvalue()[:60]):
        with pytest.raises(FileError, match="The picture"):
            work.small_photo({}, [data], silent)


def test_the_card_of_a_hand_in_carries_its_link(monkeypatch):
    """What the page asks for is what the code holds."""
    drawn = []
    monkeypatch.setattr(
        "moldgen.export.card.job_card.draw_qr_code", lambda page, link, **_: drawn.append(link)
    )
    words = wish("word", words=["A"], letter_height="12")

    work.files({**words, "link": "http://192.0.2.7:8470/log/a"}, [], silent)

    assert drawn == ["http://192.0.2.7:8470/log/a"]


def test_causes_are_read_off_the_mold_of_the_note():
    """Its own numbers speak: what its card says, and what was found of it; the likeliest first."""
    order = wish("word", words=["PIER 4"], relief="9", letter_height="20")
    seen = ShotNote(
        noted="2026-03-04", job="PIER 4", machine="classroom-450x300", plastic="HIPS",
        thickness_mm=1.5, heated_s=120.0, seen=(Outcome.WEB, Outcome.STUCK),
    )  # fmt: skip
    told = work.causes({**order, "note": note_words(seen), "notes": []}, [], silent).words["rows"]
    german = work.causes(
        {**order, "note": note_words(seen), "notes": [], "language": "de"}, [], silent
    ).words["rows"]

    assert [row[0] for row in told] == sorted((row[0] for row in told), key="web stuck".index)
    (hot,) = [row for row in told if "too hot" in row[1]]
    assert "heated 2 min" in hot[2]
    assert hot[3].startswith("Heat the next sheet ")
    assert all(all(row) for row in told)
    assert german[0] != told[0]
