"""What the page has computed holds to the limits of a page, and to no others."""

from dataclasses import fields

import pytest

from moldgen.errors import FileError, SpecError
from moldgen.limits import PAGE
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
