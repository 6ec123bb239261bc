"""The report: everything told, nothing fetched, nothing that a title can break."""

import json
import math
import re
from base64 import b64decode
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from itertools import pairwise

import jsonschema
import numpy as np
import pytest
from PIL import Image
from support.some import some

from moldgen.errors import SpecError
from moldgen.export.report.findings_json import SCHEMA_VERSION, findings_json_bytes
from moldgen.export.report.findings_schema import findings_schema
from moldgen.export.report.report import (
    Picture,
    Report,
    cautions,
    problem_places,
    report_html_bytes,
    verdict,
)
from moldgen.export.report.style import STYLE
from moldgen.export.report.table import Table
from moldgen.finding import Finding, Severity, coordinates

EMPTY_ELEMENTS = {"meta", "img", "br", "hr", "link"}


def finding(severity: Severity, **parts) -> Finding:
    told = {"code": "draft-low", "says": "the wall leans too little to release"} | parts
    return Finding(severity=severity, **told)


NOTE = finding(Severity.NOTE, code="shrink", says="shrinkage is not scaled in")
CAUTION = finding(Severity.CAUTION, code="gap", says="the gap is narrow", where_mm=(61.04, 30, 0))
STOP = finding(
    Severity.STOP,
    subject="letter Ø",
    measured=2.134,
    limit=3,
    unit="°",
    where_mm=(102.34, -0.01, 12),
    basis="common practice, no source",
    advice="Give the wall 3°.",
)


def png(width: int = 30, height: int = 20) -> bytes:
    out = BytesIO()
    Image.new("RGB", (width, height), "#12283f").save(out, "PNG")
    return out.getvalue()


def full_report(title: str = "Tide sign", **parts) -> Report:
    told = {
        "subtitle": "for the boat shed",
        "summary": (("Draft", "5°"), ("Vents", "12")),
        "findings": (NOTE, STOP, CAUTION),
        "pictures": (Picture(name="Vent plan", caption="seen from above", png=png()),),
        "tables": (
            Table(
                title="Drill list",
                header=("no.", "drill", "why"),
                rows=(("1", "1.0 mm", "counter"), ("2", "1.2 mm", "rim")),
                note="Drill sizes: common practice, no source.",
            ),
        ),
        "steps": (("heat", "until it sags"), ("trim", "along the line")),
        "cautions": cautions(),
        "job_text": 'text = "TIDE"\n',
        "files": (("mold.stl", "to print"),),
    }
    return Report(title=title, **(told | parts))


class Page(HTMLParser):
    """What a reader finds: elements in order, the text, and any tag left open."""

    def __init__(self, data: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.crossed: list[str] = []
        self.feed(data.decode("utf-8"))
        self.close()

    def handle_starttag(self, tag, attrs):
        """Note an element and its attributes."""
        self.elements.append((tag, dict(attrs)))
        if tag not in EMPTY_ELEMENTS:
            self.open.append(tag)

    def handle_endtag(self, tag):
        """Close the element last opened."""
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)

    def handle_data(self, data):
        """Keep what is shown."""
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        """What is shown, in single spaces."""
        return " ".join(" ".join(self.words).split())

    def all(self, tag: str) -> list[dict[str, str]]:
        """Return the attributes of every element of a kind."""
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.fixture
def page() -> Page:
    return Page(report_html_bytes(full_report()))


def test_every_tag_is_closed_in_order(page):
    """The page is well formed."""
    assert page.open == []
    assert page.crossed == []


def test_nothing_is_fetched_and_nothing_runs(page):
    """No script, no link, no address: the file stands alone, and says so to the browser."""
    names = {name for name, _ in page.elements}
    attributes = [pair for _, found in page.elements for pair in found.items()]

    assert not names & {"script", "link", "iframe", "object", "form", "a", "base"}
    assert not [name for name, _ in attributes if name.startswith("on") or name == "href"]
    assert all(value.startswith("data:") for name, value in attributes if name == "src")
    assert not re.search(r"url\(|@import|https?:", report_html_bytes(full_report()).decode())
    policy = next(meta for meta in page.all("meta") if "http-equiv" in meta)
    rules = set(policy["content"].split("; "))
    assert rules == {"default-src 'none'", "img-src data:", "style-src 'unsafe-inline'"}


def test_every_picture_is_inside_with_words_for_it(page):
    """Each image carries its bytes, its size and a description."""
    for image in some(page.all("img")):
        assert b64decode(image["src"].partition(",")[2]) == png()
        assert (image["width"], image["height"]) == ("30", "20")
        assert image["alt"] == "Vent plan: seen from above"


def test_headings_go_down_one_step_at_a_time(page):
    """One first heading, and none skips a level."""
    levels = [int(name[1]) for name, _ in page.elements if re.fullmatch("h[1-6]", name)]

    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_sections_are_named_by_headings_that_exist(page):
    """Every label points at an id, and no id is used twice."""
    ids = [found["id"] for _, found in page.elements if "id" in found]
    labels = [found["aria-labelledby"] for _, found in page.elements if "aria-labelledby" in found]

    assert len(ids) == len(set(ids))
    assert labels
    assert set(labels) <= set(ids)


def test_language_and_characters_are_declared(page):
    """A reader's voice and a phone know what to do."""
    assert page.all("html")[0]["lang"] == "en"
    assert {"charset": "utf-8"} in page.all("meta")
    assert any(meta.get("name") == "viewport" for meta in page.all("meta"))


def test_everything_in_the_report_is_on_the_page(page):
    """Facts, tables, steps, cautions, files and job text all appear."""
    expected = [
        "for the boat shed", "Draft 5°", "Drill list", "Drill sizes: common practice, no source.",
        "1.2 mm rim", "Heat. until it sags", "Trim. along the line", *cautions(),
        "mold.stl to print", 'text = "TIDE"',
    ]  # fmt: skip

    for words in expected:
        assert words in page.text


def test_findings_stand_gravest_first_with_all_their_parts(page):
    """Word, fact, measured, limit, place, basis and advice, in order of gravity."""
    assert (
        "1 stop Letter Ø: the wall leans too little to release measured 2.13° limit 3° "
        "where x 102.3, y 0, z 12 mm Give the wall 3°. Basis: common practice, no source"
        in page.text
    )
    words = re.findall(r"\d (stop|caution|note) ", page.text)
    assert words == ["stop", "caution", "note"]


def test_columns_of_numbers_are_set_to_the_right(page):
    """Numbers line up, words do not."""
    cells = [found.get("class") for found in page.all("td")]
    heads = [found.get("class") for found in page.all("th")]

    assert cells == ["number", "number", None] * 2
    assert heads == ["number", "number", None]
    assert all(found["scope"] == "col" for found in page.all("th"))


def test_column_with_one_word_in_it_is_a_column_of_text():
    """A dash among numbers is not set apart from its column."""
    mixed = Table(title="Vents", header=("hole",), rows=(("0.8 mm",), ("to be drilled",)))

    page = Page(report_html_bytes(Report(title="Tag", tables=(mixed,))))

    assert [found.get("class") for found in page.all("td")] == [None, None]


@pytest.mark.parametrize(
    "mischief",
    [
        "<script>alert(1)</script>",
        '"><img src=x onerror=alert(1)>',
        "</style><h1>&amp;</h1>",
        "</title></code></pre>'\"",
        "nul\x00bell\x07",
    ],
)
def test_no_text_can_break_the_page(mischief):
    """Whatever a person types, in every place that takes text, is shown and not obeyed."""
    bad = finding(
        Severity.STOP, says=mischief, subject=mischief, unit=mischief, measured=1, basis=mischief,
        advice=mischief,
    )  # fmt: skip
    report = full_report(
        mischief,
        subtitle=mischief,
        summary=((mischief, mischief),),
        findings=(bad,),
        pictures=(Picture(name=mischief, caption=mischief, png=png()),),
        tables=(Table(title=mischief, header=(mischief,), rows=((mischief,),), note=mischief),),
        steps=((mischief, mischief),),
        cautions=(mischief,),
        job_text=mischief,
        files=((mischief, mischief),),
    )

    page = Page(report_html_bytes(report))

    shown = mischief.replace("\x00", "").replace("\x07", "")
    assert page.open == []
    assert page.crossed == []
    assert len(page.all("h1")) == len(page.all("img")) == len(page.all("style")) == 1
    assert not page.all("script")
    assert not [found for _, found in page.elements if "onerror" in found]
    assert page.text.count(shown) >= 16
    assert "\x00" not in report_html_bytes(report).decode()


def test_an_almost_empty_report_has_no_empty_sections():
    """A title alone gives a verdict and the findings, and nothing else."""
    page = Page(report_html_bytes(Report(title="Tag")))

    assert [found["id"] for found in page.all("h2")] == ["verdict", "findings"]
    assert "Nothing to report." in page.text


def test_same_report_gives_the_same_bytes():
    """Writing twice changes nothing."""
    assert report_html_bytes(full_report()) == report_html_bytes(full_report())


@pytest.mark.parametrize(
    ("findings", "sentence", "kind"),
    [
        ((), "Ready to print: every check passed.", "verdict good"),
        ((NOTE,), "Ready to print: every check passed.", "verdict good"),
        ((NOTE, CAUTION), "It can be printed; read 1 caution first.", "verdict caution"),
        ((CAUTION, CAUTION), "It can be printed; read 2 cautions first.", "verdict caution"),
        ((CAUTION, STOP), "Do not print this yet: 1 finding says stop.", "verdict stop"),
        ((STOP, NOTE, STOP), "Do not print this yet: 2 findings say stop.", "verdict stop"),
    ],
)
def test_verdict_is_that_of_the_gravest_finding(findings, sentence, kind):
    """One sentence says whether to print, and its color agrees."""
    report = full_report(findings=findings)
    page = Page(report_html_bytes(report))

    assert verdict(findings) == report.verdict == sentence
    assert sentence in page.text
    assert page.all("section")[0]["class"] == kind


def test_problem_places_carry_the_numbers_of_the_report():
    """The ring on the plan and the finding in the report have one number; notes have none."""
    noted = finding(Severity.NOTE, where_mm=(1, 2, 3), place="the top of the plaque")
    stop, caution = (replace(one, place="the counter of the A") for one in (STOP, CAUTION))
    nowhere = replace(CAUTION, where_mm=None)

    assert problem_places((noted, nowhere, caution, NOTE, stop)) == {
        "1": (102.34, -0.01),
        "3": (61.04, 30),
    }


def test_a_place_is_told_in_words_with_its_ring_and_its_coordinates():
    """The report gives the name, the number of the ring and, for whoever measures, the place."""
    told = replace(CAUTION, place="the counter of the A in HARBOR")
    page = Page(report_html_bytes(Report(title="HARBOR", findings=(told, NOTE))))

    assert "the counter of the A in HARBOR (ring 1)" in page.text
    assert coordinates(told.where_mm) in page.text


def test_picture_must_be_a_png():
    """Other bytes are refused where they are given, not on the page."""
    with pytest.raises(
        SpecError, match=r"^png must be the bytes of a PNG picture \(got b'GIF89a'\)"
    ):
        Picture(name="Plan", caption="", png=b"GIF89a")


def test_table_rows_must_fit_the_header():
    """A row with a missing cell is refused."""
    with pytest.raises(
        SpecError, match=r"^rows must be 2 cells wide, as the header \(got 1 cells\)"
    ):
        Table(title="Vents", header=("x", "y"), rows=(("1",),))


# --- readable ---------------------------------------------------------------------------------


def luminance(color: str) -> float:
    """Return the relative luminance of WCAG 2.1."""
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    bright, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("ink", ["ink", "soft"])
@pytest.mark.parametrize("ground", ["paper", "sand", "stop-bg", "caution-bg", "note-bg", "good-bg"])
def test_text_stands_out_from_its_ground(ink, ground):
    """Every pair of text and ground reaches 4.5 to 1, WCAG 2.1, success criterion 1.4.3."""
    colors = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", STYLE))

    assert contrast(colors[ink], colors[ground]) >= 4.5


@pytest.mark.parametrize("word", ["stop", "caution", "note"])
def test_severity_words_stand_out(word):
    """White on each severity's color reaches 4.5 to 1."""
    colors = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", STYLE))

    assert contrast("#ffffff", colors[word]) >= 4.5


def test_contrast_is_that_of_the_guideline():
    """Black on white is 21 to 1, and a gray known to just pass does: WCAG 2.1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_report_prints_and_fits_a_phone():
    """The style has its own rules for paper and for narrow screens."""
    assert "@media print" in STYLE
    assert "@media (max-width" in STYLE
    assert STYLE.count("{") == STYLE.count("}")


# --- cautions ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "word",
    [
        "Local rules", "edition in force", "heat-resistant gloves", "no gloves at rotating",
        "smokes", "PVC", "Never leave", "Eyes", "Knives", "Snips", "Sanders", "Fumes", "Supervise",
        "BS 4163",
        "ISO 13732-1", "Z87.1", "ISO 16321-1",
    ],
)  # fmt: skip
def test_cautions_cover_the_trade(word):
    """Nothing that hurts people at a forming table is left out."""
    assert any(word in caution for caution in cautions())


def test_cautions_state_no_burn_threshold():
    """Contact temperatures from memory are never printed as limits."""
    assert not [caution for caution in cautions() if re.search(r"\d\s*°", caution)]


# --- findings as data -------------------------------------------------------------------------

SCHEMA = findings_schema()


def test_findings_file_keeps_its_promise():
    """The file follows its schema, and says the gravest and the counts."""
    data = findings_json_bytes(
        (NOTE, STOP, CAUTION),
        title="Tide",
        summary=(("Size", "12 mm"), ("Air", "out"), ("Air", "in")),
        numbers={"height_mm": 12.0, "vents": 3},
    )
    record = json.loads(data)

    jsonschema.validate(record, SCHEMA)
    assert record["schema_version"] == SCHEMA_VERSION
    assert record["numbers"] == {"height_mm": 12.0, "vents": 3}
    assert list(record["summary"].items()) == [("Size", "12 mm"), ("Air", "out; in")]
    assert record["worst"] == "stop"
    assert record["counts"] == {"stop": 1, "caution": 1, "note": 1}
    assert [told["severity"] for told in record["findings"]] == ["stop", "caution", "note"]
    assert record["findings"][0]["where_mm"] == [102.34, -0.01, 12]
    assert record["findings"][0]["subject"] == "letter Ø"


def test_no_findings_is_a_file_too():
    """Nothing found is told as such."""
    record = json.loads(findings_json_bytes((), title="Tide", summary=(), numbers={}))

    jsonschema.validate(record, SCHEMA)
    assert record["worst"] is None
    assert record["findings"] == []


def test_findings_file_takes_numbers_of_any_library():
    """Array numbers and infinities become plain JSON."""
    odd = finding(
        Severity.NOTE,
        measured=np.float32(0.5),
        limit=math.inf,
        where_mm=tuple(np.array([1.0, 2.0, 3.0])),
    )
    text = findings_json_bytes(
        (odd,), title="Tide", summary=(), numbers={"n": np.int64(3), "ok": True}
    ).decode()
    record = json.loads(text, parse_constant=lambda word: pytest.fail(word))

    assert record["findings"][0]["measured"] == 0.5
    assert record["findings"][0]["limit"] is None
    assert record["findings"][0]["where_mm"] == [1.0, 2.0, 3.0]
    assert record["numbers"] == {"n": 3, "ok": True}
    assert record["numbers"]["ok"] is True


def test_findings_file_is_sorted_readable_and_the_same_again():
    """Keys are in order, letters are letters, and order of the numbers does not matter."""
    first = findings_json_bytes((STOP,), title="Ø", summary=(), numbers={"b": 1, "a": 2})
    second = findings_json_bytes((STOP,), title="Ø", summary=(), numbers={"a": 2, "b": 1})

    assert first == second
    assert "Ø".encode() in first
    assert first.endswith(b"}\n")
    keys = re.findall(r'^  "(\w+)":', first.decode(), re.M)
    assert keys == sorted(keys)
