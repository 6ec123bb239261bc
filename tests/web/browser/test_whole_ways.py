"""A student's and a teacher's whole way, in a browser without network, at two sizes."""

from __future__ import annotations

import pytest
from support.browsing import CHROMIUM, SIZES, WHY_NOT, Visit, chromium, served_page

from moldgen.lesson.log.exchange import log_bytes
from moldgen.lesson.log.shot_note import ShotNote

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason=WHY_NOT)


ROSTER = {"name": "class.csv", "mimeType": "text/csv", "buffer": "Name;Group\nÅse Berg;A".encode()}
LOG = log_bytes(
    [
        ShotNote(noted="2026-03-04T10:20", job="OAR", machine="classroom-450x300",
                 plastic="HIPS", thickness_mm=1.5, heated_s=70.0),
    ],
    ending=".csv",
)  # fmt: skip


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """The page, started as a person starts it."""
    with served_page(tmp_path_factory.mktemp("page"), "--workers", "2", "--lan") as running:
        yield running


@pytest.fixture(scope="module")
def browser():
    """The browser."""
    with chromium() as started:
        yield started


@pytest.fixture
def visit(browser, served):
    """Makes visits, which end with the test."""
    made = []

    def visiting(who, size):
        made.append(Visit(browser, served, who, size))
        return made[-1]

    yield visiting
    for one in made:
        one.close()


@pytest.fixture
def teacher(visit, served):
    """Makes teachers, who have opened their link."""

    def made(size):
        one = visit("teacher", size)
        one.go(served.teacher_link)
        return one

    return made


def code_of(teacher):
    """The code of the class, from the teacher's screen."""
    teacher.go("/class")
    return teacher.page.locator(".code.large").inner_text()


def joined(visit, size, code, name):
    """A student who has joined."""
    student = visit("student", size)
    student.go("/")
    student.look("join")
    student.go(f"/?code={code}")  # as the code to photograph has it
    assert student.page.get_by_label("Code of the class").input_value() == code
    student.page.get_by_label("Your name", exact=True).fill(name)
    student.page.get_by_role("button", name="Join").click()
    student.page.wait_for_url("**/begin")
    return student


def begun_word(student, words):
    """Begin a word, type it, and wait for all that is told of it."""
    page = student.page
    page.get_by_role("button", name="A word").click()
    page.wait_for_url("**/designs/*")
    wait_shown(page, 0)
    page.get_by_label("words, a line each").fill(words)
    wait_shown(page, 1)


def wait_shown(page, number):
    """Wait until this version is shown with its findings."""
    page.locator(f"body[data-shown='{number}']").wait_for()


def add_printer(one, name):
    """Add a printer of the shop's own, and find it in the stock."""
    one.go("/stock")
    one.look("stock")
    page = one.page
    page.locator("form[action='/stock/printer'] button").click()
    page.get_by_label("Name", exact=True).fill(name)
    one.look("stock-entry")
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("link", name=name).wait_for()


def set_defaults(one):
    """Set what the class makes: first wrong, which is told at the field with all that was typed."""
    page = one.page
    page.get_by_label("largest size mm").fill("tiny")
    page.get_by_label("stock sheet").fill("1220 x 610")
    page.locator("form[action='/class/usual'] button").click()
    page.get_by_role("alert").filter(has_text="largest must be").wait_for()
    assert page.get_by_label("stock sheet").input_value() == "1220 x 610"
    one.look("class-wrong")
    page.get_by_label("largest size mm").fill("200")
    page.get_by_label("A tray").uncheck()
    page.locator("form[action='/class/usual'] button").click()
    page.wait_for_url("**/class")


def make_all(one, *, is_waited_for):
    """Make all that is approved, and look at what there is of it."""
    page = one.page
    one.go("/queue")
    if not is_waited_for:
        one.go("/workshop")
        one.look("workshop")
        return
    page.get_by_role("button", name="Make sheets, plates, lists and cards").click()
    page.get_by_text("Working").or_(page.locator("#told")).first.wait_for()
    one.look("workshop-making")
    with page.expect_download(timeout=90_000) as whole:
        page.get_by_role("link", name="All of it (ZIP)").click()
    assert whole.value.suggested_filename == "boat-shed.zip"
    one.look("workshop")
    with page.expect_popup() as opened:
        page.get_by_role("link", name="Overview").click()
    opened.value.get_by_text("Who makes what").wait_for()
    assert opened.value.evaluate("getComputedStyle(document.body).margin") == "0px"


def bring_notes(one):
    """Bring notes of another log: first a file with a bad row, then as it was exported."""
    page = one.page
    for data, name, says in (
        (LOG.replace(b",70.0,", b",warm,"), "wrong", "row 2: heated_s must be"),
        (LOG, "kept", "taken over"),
    ):
        file = {"name": "log.csv", "mimeType": "text/csv", "buffer": data}
        page.get_by_label("Take over notes of another log").set_input_files(file)
        page.get_by_role("button", name="Take them over").click()
        page.get_by_text(says).wait_for()
        one.look(f"notes-{name}")
    page.get_by_text("Heating on this table takes").wait_for()


def tap_sheet(page):
    """Tap the formed sheet beside the marks."""
    box = page.locator("#canvas").bounding_box()
    page.locator("#canvas").click(position={"x": 0.3 * box["width"], "y": 0.55 * box["height"]})


def drag_line(page):
    """Drag the line of the section a little."""
    box = page.locator("#cut-handle").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 6, y + 12)
    page.mouse.up()


@pytest.mark.parametrize("size", SIZES)
def test_a_students_whole_way(visit, teacher, size):
    """From the code to the hand-in, the sheet seen on the way, and a fault mended and undone."""
    student = joined(visit, size, code_of(teacher(size)), f"Ida {size}")
    page = student.page
    student.look("begin")

    begun_word(student, "PIER 4")
    assert page.locator("#verdict").inner_text() == "Ready to print."
    student.look("design")

    page.get_by_label("relief").fill("tall")
    page.get_by_role("alert").filter(has_text="must be").wait_for()
    student.look("wrong-value")
    page.get_by_label("relief").fill("9")
    wait_shown(page, 2)
    page.get_by_label("letter height").fill("20")
    wait_shown(page, 3)
    student.look("cautions")
    page.get_by_role("button", name="Make it work").click()
    page.get_by_text("Changed:").wait_for()
    wait_shown(page, 4)
    student.look("mended")
    page.get_by_role("button", name="Undo").click()
    wait_shown(page, 3)
    assert page.get_by_label("relief").input_value() == "9"

    page.get_by_label("The sheet", exact=True).fill("50")
    page.locator("#canvas[data-sheet]").wait_for()
    student.look("rising")
    page.get_by_label("The sheet", exact=True).fill("100")
    page.locator("#legend").wait_for()
    tap_sheet(page)
    page.get_by_text("Here the sheet is about").wait_for()
    student.look("formed")

    page.get_by_label("cut open").check()
    page.get_by_text("Along this line the sheet is").wait_for()
    cut = page.locator("#section line").count()
    before = page.get_by_label("Where it is cut").input_value()
    drag_line(page)
    assert page.get_by_label("Where it is cut").input_value() != before
    assert cut > 20
    student.look("cut-open")
    page.get_by_label("cut open").uncheck()

    page.get_by_role("button", name="Hand in").click()
    page.get_by_text("Handed in.").wait_for()
    page.get_by_role("link", name="Mine").click()
    page.get_by_text("waiting").wait_for()
    student.look("mine")

    student.go("/begin")
    page.get_by_role("button", name="Phone stand").click()
    wait_shown(page, 0)
    page.get_by_label("inches").check()
    page.get_by_text("3.150 in").wait_for()
    student.look("strip")


@pytest.mark.parametrize("size", SIZES)
def test_a_teachers_whole_way(visit, teacher, size):
    """From the link to the files: the class made, a hand-in sent back, approved and fetched."""
    one = teacher(size)
    page = one.page
    one.look("queue-empty")
    code = code_of(one)
    page.get_by_label("Or drop a list here: CSV or XLSX").set_input_files(ROSTER)
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_text("Åse Berg").wait_for()
    set_defaults(one)
    one.look("class")
    add_printer(one, f"Corner {size}")

    student = joined(visit, size, code, f"Ole {size}")
    begun_word(student, "PIER 4")
    student.page.get_by_role("button", name="Hand in").click()
    student.page.get_by_text("Handed in.").wait_for()

    one.go("/queue")
    page.get_by_role("link", name=f"Ole {size}").wait_for()
    page.get_by_text("to print; sheet HIPS").first.wait_for()
    one.look("queue")
    page.get_by_role("link", name=f"Ole {size}").click()
    page.get_by_role("heading", name=f"Ole {size}: PIER 4").wait_for()
    one.look("hand-in")
    page.get_by_label("Words").fill("Larger letters, please")
    page.get_by_role("button", name="Send back").click()
    student.go("/mine")
    student.page.get_by_text("Larger letters, please").wait_for()

    page.get_by_role("checkbox", name=f"choose Ole {size}").check()
    page.get_by_role("button", name="Approve", exact=True).click()
    page.get_by_role("heading", name="Approved").wait_for()
    page.get_by_role("link", name=f"Ole {size}").click()
    with page.expect_download(timeout=60_000) as files:
        page.get_by_role("link", name="All files").click()
    assert files.value.suggested_filename == "pier-4.zip"


@pytest.mark.parametrize("size", SIZES)
def test_a_shot_is_noted_at_the_table(visit, teacher, size):
    """From the card's link through the entrance to the note, which the teacher sees and removes."""
    one = teacher(size)
    code = code_of(one)
    maker = joined(visit, size, code, f"Mia {size}")
    begun_word(maker, f"BOW {len(size)}")
    maker.page.get_by_role("button", name="Hand in").click()
    maker.page.get_by_text("Handed in.").wait_for()
    maker.page.get_by_role("link", name="Log", exact=True).click()
    maker.look("log")
    link = maker.page.get_by_role("link", name=f"Mia {size}").get_attribute("href")

    phone = visit("table", size)
    page = phone.page
    phone.go(link)
    page.get_by_label("Code of the class").fill(code)
    page.get_by_label("Your name", exact=True).fill(f"Per {size}")
    page.get_by_role("button", name="Join").click()
    page.get_by_text("On the card:").first.wait_for()
    phone.look("note-empty")
    watch = page.get_by_role("group", name="Heated")
    watch.get_by_role("button", name="Start").click()
    page.wait_for_timeout(700)
    watch.get_by_role("button", name="Stop").click()
    assert 0.5 < float(watch.get_by_label("Seconds").input_value()) < 10
    page.get_by_role("checkbox", name="Good").check()
    page.get_by_role("checkbox", name="Web").check()
    page.get_by_role("checkbox", name="Thin").check()
    assert not page.get_by_role("checkbox", name="Good").is_checked()
    page.get_by_label("Where").fill("rim")
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("alert").filter(has_text="thickness must be given for a place").wait_for()
    phone.look("note-wrong")
    page.get_by_label("Thickness (mm)", exact=True).fill("0.62")
    page.get_by_role("button", name="Another place").click()
    page.get_by_label("Where").last.fill("thinnest")
    page.get_by_label("Thickness (mm)", exact=True).last.fill("0.4")
    phone.look("note-places")
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Kept: cycle 1.").wait_for()
    phone.look("note-kept")
    page.get_by_role("link", name="Likely causes").click()
    page.get_by_role("heading", name="Web: ").first.wait_for()
    phone.look("causes")

    one.go("/log")
    note = one.page.get_by_role("listitem").filter(has_text=f"Per {size}")
    note.get_by_text("web, thin").wait_for()
    note.get_by_text("rim 0.62 mm; thinnest 0.4 mm").wait_for()
    bring_notes(one)
    one.look("notes")
    note.get_by_text("Remove this note").click()
    note.get_by_role("button", name="Remove for good").click()
    note.wait_for(state="detached")
    make_all(one, is_waited_for=size == "desktop")
