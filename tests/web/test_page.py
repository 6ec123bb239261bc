"""The page: who may see what, what is kept, and what is said when something is wrong."""

import re
from html import unescape
from io import BytesIO

import pytest
from support.page import HOST, PROBLEMS, browser, code, room, student, teacher
from support.some import some

from moldgen.errors import SpecError
from moldgen.sandbox.messages import read_message
from moldgen.web.session import COOKIE
from moldgen.web.store import classes, designs
from moldgen.web.wish import Beginning

__all__ = ["browser", "code", "room", "student", "teacher"]  # what tests here stand on


JSON = {"accept": "application/json"}


def begin(client, **form):
    """Begin a design; its address."""
    answer = client.post("/designs", data={"beginning": "word", **form})
    assert answer.url.path.startswith("/designs/"), answer.text
    return answer.url.path


# --- who may see what -----------------------------------------------------------------------


def test_a_student_joins_with_the_code(browser, code):
    """The code and a name let one in; the cookie holds for the next visit."""
    client = browser()
    assert "Code of the class" in client.get("/").text

    answer = client.post("/join", data={"code": code.lower(), "name": "Ida"})

    assert answer.url.path == "/begin"
    assert client.get("/").url.path == "/begin"
    cookie = answer.history[0].headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_a_wrong_code_lets_nobody_in_and_slows_down(browser, code):
    """After a few slips even the right code has to wait."""
    client = browser()
    for _ in range(7):
        answer = client.post("/join", data={"code": "NOPE22", "name": "Ida"})
        assert answer.url.path == "/join"

    late = client.post("/join", data={"code": code, "name": "Ida"})

    assert "Too many wrong codes: wait" in late.text
    assert client.get("/begin").url.path == "/"


def test_a_name_cannot_be_taken_from_another(browser, student, code):
    """Somebody with the same name needs the number that its owner was shown."""
    ida = student("Ida")
    path = begin(ida)

    answer = browser().post("/join", data={"code": code, "name": "Ida", "number": "1"})

    assert answer.url.path == "/join"
    assert "Somebody has this name already" in answer.text
    assert ida.get(path).status_code == 200


def test_no_student_reaches_the_design_of_another(student, teacher):
    """Not to look, not to change; nor is it told that there is one. The teacher may look."""
    path = begin(student("Ida"))
    ole = student("Ole")

    for page in some(["", "/picture", "/findings", "/picture.png"]):
        assert ole.get(path + page).status_code == 404
    for act in some(["/values", "/undo", "/redo", "/mend", "/hand-in"]):
        assert ole.post(path + act, json={}).status_code == 404
    assert ole.get("/designs/no-such-design").status_code == 404
    assert teacher.get(path).status_code == 200


@pytest.mark.parametrize("page", [
    "/queue", "/class", "/queue/x", "/queue/x/files.zip", "/queue/events", "/stock",
    "/stock/printer", "/class/export", "/queue/x/verdict", "/workshop", "/workshop/events",
    "/workshop/class.zip", "/workshop/files/overview.html",
])  # fmt: skip
def test_the_teachers_pages_are_the_teachers(student, browser, page):
    """A student is refused, a stranger sent to the entrance or refused."""
    assert student("Ida").get(page).status_code == 403
    assert browser().get(page).status_code == 403


@pytest.mark.parametrize("act", ["/queue/say", "/class/names", "/queue/x/open", "/class/import",
                                 "/stock/printer", "/stock/printer/remove", "/workshop/make",
                                 "/workshop/stop", "/class/usual"])  # fmt: skip
def test_the_teachers_acts_are_the_teachers(student, act):
    """Nobody approves his own."""
    assert student("Ida").post(act, data={"id": "x", "state": "approved"}).status_code == 403


@pytest.mark.parametrize("key", ["", "wrong", "the-key-of-the-termina"])
def test_only_the_terminals_key_makes_a_teacher(browser, key):
    """Another key is none."""
    client = browser()
    client.get("/teach", params={"key": key})

    assert client.get("/queue").status_code == 403


@pytest.mark.parametrize("forge", [
    lambda cookie: cookie[:-4] + "AAA=",
    lambda cookie: cookie.replace(".", ".A", 1),
    lambda cookie: "eyJjbGFzc19pZCI6MSwicGVyc29uX2lkIjpudWxsLCJpc190ZWFjaGVyIjp0cnVlfQ==." +
    cookie.partition(".")[2],
    lambda cookie: "x" * 5000,
    lambda cookie: "é.é",
])  # fmt: skip
def test_a_forged_cookie_is_none(browser, student, forge):
    """Only what this page signed counts."""
    cookie = student("Ida").cookies[COOKIE]
    assert browser(cookie=f"{COOKIE}={cookie}").get("/begin").url.path == "/begin"

    forged = browser(cookie=f"{COOKIE}={forge(cookie)}".encode("latin-1", "replace"))

    assert forged.get("/begin").url.path == "/"
    assert forged.get("/queue").status_code == 403


@pytest.mark.parametrize(
    "origin", ["http://elsewhere.test", "null", "http://shed.test.elsewhere.test"]
)
def test_another_site_cannot_act(student, origin):
    """What another site makes a browser send is refused."""
    client = student("Ida")

    answer = client.post("/designs", data={"beginning": "word"}, headers={"origin": origin})

    assert answer.status_code == 403


def test_what_does_not_say_where_it_comes_from_is_refused(student):
    """Neither origin nor fetch site: no browser of today."""
    client = student("Ida")
    del client.headers["origin"]

    assert client.post("/designs", data={"beginning": "word"}).status_code == 403


@pytest.mark.parametrize(
    ("site", "is_refused"),
    [("cross-site", True), ("same-site", True), ("same-origin", False), ("none", False)],
)
def test_a_browser_that_tells_no_origin_tells_the_site(student, site, is_refused):
    """What another site of the same browser sends is refused by that as well."""
    client = student("Ida")
    del client.headers["origin"]
    headers = {"sec-fetch-site": site}

    answer = client.post("/designs", data={"beginning": "word"}, headers=headers)

    assert (answer.status_code == 403) == is_refused


def test_every_answer_has_a_strict_policy(student, browser):
    """No script but the page's own, no frame, no other address, whatever is answered."""
    client = student("Ida")
    for page in some(["/begin", "/nothing", "/static/page.css", begin(client)]):
        headers = client.get(page).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("path", ["/static/../app.py", "/static/%2e%2e/app.py",
                                  "/static/..%2fapp.py", "/static//etc/passwd"])  # fmt: skip
def test_files_beside_the_static_ones_are_out_of_reach(browser, path):
    """No way leads out of the folder."""
    assert browser().get(path).status_code == 404


# --- what is kept -----------------------------------------------------------------------------


@pytest.mark.parametrize("beginning", [one for one in Beginning if one not in ("drawing", "photo")])
def test_every_beginning_begins_with_something_real(student, room, beginning):
    """Nobody begins with an empty screen: what is begun is a whole job."""
    client = student("Ida")
    form = {"shape": "gull"} if beginning is Beginning.SHAPE else {}

    path = begin(client, beginning=beginning, **form)

    design = designs.find_design(room.database, path.rpartition("/")[2])
    assert design.wish.beginning is beginning
    job = design.wish.job()
    assert job.strip.bend if beginning is Beginning.STRIP else job.body
    assert client.get(f"{path}/picture").status_code == 200


def test_a_drawing_that_is_brought_goes_to_the_work(student, room):
    """Its bytes arrive where it is read, and nowhere else; without a file nothing begins."""
    client = student("Ida")
    assert client.post("/designs", data={"beginning": "drawing"}).status_code == 422

    answer = client.post(
        "/designs", data={"beginning": "drawing"}, files={"file": ("../../x.svg", b"<svg/>")}
    )
    client.get(f"{answer.url.path}/picture")

    assert room.queue.asked[-1][2] == [b"<svg/>"]


def test_a_change_is_kept_and_can_be_undone(student):
    """The values come back with their number, undo and redo tell whether there is more."""
    client = student("Ida")
    path = begin(client)

    changed = client.post(
        f"{path}/values", json={"values": {"words": ["PIER"]}, "number": 0}, headers=JSON
    ).json()
    undone = client.post(f"{path}/undo", json={}, headers=JSON).json()
    again = client.post(f"{path}/redo", json={}, headers=JSON).json()

    assert (changed["values"], changed["number"]) == ({"words": ["PIER"]}, 1)
    assert (changed["can_undo"], changed["can_redo"]) == (True, False)
    assert (undone["number"], undone["can_undo"], undone["can_redo"]) == (0, False, True)
    assert again == changed


def test_the_picture_is_of_what_is_kept(student, room):
    """The work gets the values of the version that is seen, and its answer arrives whole."""
    client = student("Ida")
    path = begin(client)
    client.post(f"{path}/values", json={"values": {"words": ["PIER"]}, "number": 0}, headers=JSON)

    answer = client.get(f"{path}/picture")

    frame = read_message(BytesIO(answer.content))
    assert frame.words["size_mm"] == [1.0, 2.0, 3.0]
    assert room.queue.asked[-1][1]["wish"]["values"] == {"words": ["PIER"]}


def test_the_whole_way_of_a_hand_in(student, teacher):
    """Handed in, sent back with words, approved, printed, formed: the student sees each."""
    client = student("Ida")
    path = begin(client)
    once = "abcdefghijkl"
    for _ in range(2):
        assert client.post(f"{path}/hand-in", json={"once": once}).json()["handed_in"]

    queue = teacher.get("/queue").text
    assert queue.count(f'value="{once}"') == 1
    assert "Ida" in queue
    for state, words in some([("sent back", "Larger letters"), ("approved", ""), ("printed", ""),
                              ("formed", "")]):  # fmt: skip
        said = {"id": once, "state": state, "words": words}
        assert teacher.post("/queue/say", data=said).status_code == 200
        mine = client.get("/mine").text
        assert f'<span class="state">{state}</span>' in mine
        assert words in mine


def test_several_are_approved_at_once(student, teacher):
    """All that are chosen, in one act."""
    for name in "AB":
        client = student(f"Person {name}")
        client.post(f"{begin(client)}/hand-in", json={"once": f"hand-in-of-{name}"})

    teacher.post("/queue/say", data={"id": ["hand-in-of-A", "hand-in-of-B"], "state": "approved"})

    assert teacher.get("/queue").text.count("/picture.png") == 2
    assert "Waiting" not in teacher.get("/queue").text


def test_the_teacher_opens_a_copy(student, teacher, room):
    """What is changed then is the teacher's; what was handed in stays."""
    client = student("Ida")
    client.post(f"{begin(client)}/hand-in", json={"once": "hand-in-of-ida"})

    path = teacher.post("/queue/hand-in-of-ida/open").url.path

    copy = designs.find_design(room.database, path.rpartition("/")[2])
    assert copy.person_id is None
    assert copy.wish.values == {"words": ["AHOY"]}
    assert teacher.get("/queue/hand-in-of-ida/files.zip").content == b"PK"


def test_the_class_page_shows_code_address_and_names(teacher, code):
    """Names are added a line each."""
    page = teacher.post("/class/names", data={"names": "Ida\nOle; Åse\n\n"}).text

    assert code in page
    assert f"http://192.0.2.7:8470/?code={code}" in page
    assert [page.count(f"<li>{name}</li>") for name in ("Ida", "Ole", "Åse")] == [1, 1, 1]


def test_a_roster_is_read_by_a_worker(teacher, room):
    """The bytes go there; names come back and are text, whatever they look like."""
    file = {"file": ("class.xlsx", b"PK...")}

    page = teacher.post("/class/names", data={"names": "Åse"}, files=file).text

    assert room.queue.asked[-1] == ("roster", {}, [b"PK..."])
    assert [page.count(f"<li>{name}</li>") for name in ("Ida Meyer", "=1+1", "Åse")] == [1, 1, 1]


def test_a_class_is_saved_deleted_and_brought_back(teacher, student, code):
    """With its names; the new code is another one."""
    student("Ida")
    saved = teacher.get("/class/export")
    assert "attachment" in saved.headers["content-disposition"]
    teacher.post("/class/delete", data={"name": "Boat shed"})

    page = teacher.post("/class/import", files={"file": ("class.json", saved.content)}).text

    assert "<li>Ida</li>" in page
    assert "<h1>Boat shed</h1>" in page
    assert code not in page


def test_stock_is_added_changed_and_left_out(teacher, room):
    """It is offered to designs at once, and stands in the file that the command line reads."""
    entry = {"name": "Corner", "based_on": "large", "bed_width_mm": "310,5", "seen": ""}
    assert 'placeholder="300' in teacher.get("/stock/printer?based_on=large").text

    added = teacher.post("/stock/printer", data=entry).text
    read = room.stock.file.read_text()

    assert "/stock/printer?name=Corner" in added
    assert '[printer."Corner"]' in read
    assert 'value="310.5"' in teacher.get("/stock/printer?name=Corner").text
    assert """<option value="Corner">Corner</option>""" in teacher.get(begin(teacher)).text
    teacher.post("/stock/printer/remove", data={"name": "Corner", "seen": read})
    assert "Corner" not in teacher.get("/stock").text


def test_a_wrong_entry_of_the_stock_is_one_sentence(teacher, room):
    """And nothing is written."""
    entry = {"name": "Corner", "based_on": "large", "bed_width_mm": "-3", "seen": ""}

    answer = teacher.post("/stock/printer", data=entry)

    assert answer.status_code == 422
    assert "bed_width_mm must be" in answer.text
    assert not room.stock.file.exists()


@pytest.mark.parametrize("path", ["/stock/kraken", "/stock/printer?based_on=kraken",
                                  "/stock/printer?name=kraken"])  # fmt: skip
def test_there_is_no_stock_of_that_name(teacher, path):
    """Whatever is asked for."""
    assert teacher.get(path).status_code in (404, 422)


def test_inches_are_asked_of_the_work(student, room):
    """What is told comes in them; other words are none."""
    client = student("Ida")
    path = begin(client)

    for units in some(["inch", "furlong"]):
        client.get(f"{path}/picture?units={units}")

    asked = [words.get("units") for work, words, _ in room.queue.asked if work == "picture"]
    assert asked == ["inch", None]


def test_a_ready_made_strip_begins(student, room):
    """By its kind; what the class has for molds is not asked of a strip."""
    classes.set_usual(room.database, 1, {"plastic": "HIPS", "gauge": "1", "printer": "large"})
    client = student("Ida")

    path = begin(client, beginning="strip", make="book-end")

    values = designs.find_design(room.database, path.rpartition("/")[2]).wish.values
    assert values == {"make": "book-end", "printer": "large"}
    page = client.get(path).text
    assert 'id="sheet"' not in page
    assert 'id="mend"' not in page


def test_the_values_of_a_strip_are_checked_by_a_worker(student, room):
    """What it refuses is told at its field, and is not kept."""
    client = student("Ida")
    path = begin(client, beginning="strip", make="book-end")
    wrong = {"values": {"make": "book-end", "width": "wide"}, "number": 0}
    room.queue.answers["checked"] = SpecError("width", "a length", "'wide'")

    answer = client.post(f"{path}/values", json=wrong, headers=JSON)

    assert (answer.status_code, answer.json()["field"]) == (422, "width")
    assert room.queue.asked[-1][1]["wish"]["values"]["width"] == "wide"
    assert designs.find_design(room.database, path.rpartition("/")[2]).number == 0


def test_only_what_the_class_offers_can_be_begun(student, teacher):
    """By students; the teacher begins with anything."""
    kept = teacher.post("/class/usual", data={"offered": ["word", "tray"]})
    client = student("Ida")

    page = client.get("/begin").text

    assert kept.url.path == "/class"
    assert re.findall(r'name="beginning" value="(\w+)"', page) == ["word", "tray"]
    refused = client.post("/designs", data={"beginning": "shape", "shape": "gull"})
    assert refused.status_code == 422
    assert begin(client, beginning="tray")
    assert begin(teacher, beginning="shape", shape="gull")


def test_a_class_says_how_large_its_molds_are(student, teacher, room):
    """What is begun is within it, and the work is told; the teacher's own is as large as may be."""
    teacher.post("/class/usual", data={"largest": "10 cm", "offered": "shape"})
    classes.set_usual(room.database, 1, {"largest": "10 cm"}).result()
    client = student("Ida")

    path = begin(client, beginning="shape", shape="fish")
    client.get(f"{path}/picture")
    own = begin(teacher, beginning="shape", shape="fish")
    teacher.get(f"{own}/picture")
    teacher.get(f"{path}/picture")

    asked = [words for work, words, _ in room.queue.asked if work == "picture"]
    assert [words.get("largest_mm") for words in asked] == [100.0, None, 100.0]
    assert asked[0]["wish"]["values"]["width"] == "98"
    assert "width" not in asked[1]["wish"]["values"]


def test_what_is_too_large_cannot_be_handed_in(student, teacher, room):
    """Even by one who never looked at it."""
    teacher.post("/class/usual", data={"largest": "100", "offered": "word"})
    client = student("Ida")
    path = begin(client)
    room.queue.answers["picture"] = SpecError("letter_height", "smaller", "150 mm")

    answer = client.post(f"{path}/hand-in", json={"once": "hand-in-of-ida"}, headers=JSON)

    assert (answer.status_code, answer.json()["field"]) == (422, "letter_height")
    assert "Ida" not in teacher.get("/queue").text


@pytest.mark.parametrize(("typed", "field"), [
    ({"largest": "tiny", "gauge": "1", "offered": "word"}, "largest"),
    ({"stock_sheet": "wide", "gauge": "1", "offered": "word"}, "stock_sheet"),
    ({"gauge": "99", "offered": "word"}, "gauge"),
    ({"gauge": "1"}, "offered"),
])  # fmt: skip
def test_a_wrong_default_is_told_at_its_field(teacher, room, typed, field):
    """What else was typed stays on the page, and nothing is kept."""
    answer = teacher.post("/class/usual", data=typed)

    assert answer.status_code == 422
    assert f"{field} must be" in unescape(answer.text)
    assert f'value="{typed["gauge"]}"' in answer.text
    assert classes.find_class(room.database, 1).usual == {}


# --- what is said when something is wrong -------------------------------------------------------


@pytest.mark.parametrize(("values", "field"), [
    ({"words": ["AHOY"], "letter_height": "tall"}, "letter_height"),
    ({"words": ["AHOY"], "gauge": "99"}, "gauge"),
    ({"words": []}, "words"),
    ({"words": ["AHOY"], "plastic": "slate", "as": "boat"}, "as"),
    ({"words": ["AHOY"], "font": "/etc/passwd"}, "font"),
    ({"words": ["AHOY"], "stock": "/etc/passwd"}, "stock"),
    ({"words": ["AHOY"], "file": "/etc/passwd"}, "argument"),
    ({"words": ["AHOY"], "nonsense": "1"}, "argument"),
    ({"words": ["x" * 1000]}, "words"),
    ({"words": {"a": "b"}}, "words"),
    ({str(n): "1" for n in range(100)}, "values"),
    ("nothing", "values"),
])  # fmt: skip
def test_a_wrong_value_is_one_sentence_at_its_field(student, values, field):
    """Nothing is kept of it, and the design is as it was."""
    client = student("Ida")
    path = begin(client)

    answer = client.post(f"{path}/values", json={"values": values, "number": 0}, headers=JSON)

    assert answer.status_code == 422
    told = answer.json()
    assert told["field"] == field
    assert "must be" in told["sentence"]
    assert "AHOY" in client.get("/mine").text


@pytest.mark.parametrize("body", [b"", b"nothing", b"[1]", b"[" * 100_000, b'{"values": NaN}'])
def test_what_the_page_would_not_send_is_refused(student, body):
    """One sentence, and no fault."""
    client = student("Ida")

    answer = client.post(f"{begin(client)}/values", content=body, headers=JSON)

    assert answer.status_code == 422


@pytest.mark.parametrize(("kind", "status"), [("refused", 422), ("died", 503), ("superseded", 409)])
def test_what_goes_wrong_in_the_work_is_told(student, room, kind, status):
    """A refusal in its own sentence, a dead process as something to try again."""
    client = student("Ida")
    path = begin(client)
    room.queue.answers["picture"] = PROBLEMS[kind]

    answer = client.get(f"{path}/picture", headers=JSON)

    assert answer.status_code == status
    if kind != "superseded":
        assert answer.json()["sentence"] == str(PROBLEMS[kind])


def test_a_name_is_text_and_never_script(browser, student, teacher, code):
    """What looks like HTML is shown as it was typed, to the student and to the teacher."""
    name = "<script>alert(1)</script>"
    client = student(name)
    path = begin(client)
    client.post(f"{path}/values", json={"values": {"words": ['"><img src=x>']}, "number": 0})
    client.post(f"{path}/hand-in", json={"once": "hand-in-of-html"})

    seen = [client.get("/mine").text, client.get(path).text]
    seen += [teacher.get("/queue").text, teacher.get("/queue/hand-in-of-html").text]
    for page in some(seen):
        assert "<script>alert" not in page
        assert "<img src=x>" not in page


def test_too_much_is_refused_before_it_is_read(student):
    """A length beyond the limit, or none at all."""
    client = student("Ida")

    large = client.post("/designs", content=b"x", headers={"content-length": str(22 * 2**20)})
    unknown = client.post("/designs", content=iter([b"x"]))

    assert (large.status_code, unknown.status_code) == (413, 411)


def test_a_page_that_is_not_there_is_told_as_a_page(browser):
    """With a way back for a person, and as JSON for a script."""
    assert "Back to the beginning" in browser().get("/nothing").text
    assert browser().get("/nothing", headers=JSON).json()["sentence"]


def test_nobody_is_told_what_failed_inside(student, room):
    """A fault is a sentence without a word of what is inside."""
    client = student("Ida")
    path = begin(client)
    room.queue.answers["picture"] = ZeroDivisionError("secret of the house")

    answer = client.get(f"{path}/picture", headers=JSON)

    assert answer.status_code == 500
    assert "secret" not in answer.text


def test_a_deleted_class_is_left(student, room):
    """Who was in it stands at the entrance again."""
    client = student("Ida")
    classes.delete_class(room.database, 1).result()

    assert client.get("/begin").url.path == "/"


def test_the_page_names_no_other_address(browser, student, teacher):
    """Whatever it shows works without internet."""
    client = student("Ida")
    pages = [client.get(page).text for page in ("/begin", "/mine", begin(client))]
    pages += [teacher.get("/queue").text, browser().get("/").text]
    for page in some(pages):
        outside = page.replace(HOST, "").replace("http://www.w3.org/2000/svg", "")
        assert "http" not in outside
