"""Several files in one: the same bytes whenever and wherever they are packed."""

import sys
import time
from io import BytesIO
from zipfile import ZipFile

import pytest

from moldgen.zip_file import zip_bytes, zip_with

FILES = {"pier/mold.stl": b"solid " * 100, "pier/plan.svg": b"<svg/>"}


def test_what_goes_in_comes_out():
    """Names, order and content, readable by everybody, with the first date there is."""
    with ZipFile(BytesIO(zip_bytes(FILES.items()))) as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == FILES
        assert archive.namelist() == list(FILES)
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {entry.external_attr >> 16 for entry in archive.infolist()} == {0o644}


@pytest.mark.parametrize("system", ["win32", "linux"])
def test_neither_clock_nor_system_shows(monkeypatch, system):
    """Another day on another system: the same bytes."""
    packed = zip_bytes(FILES.items())
    monkeypatch.setattr(time, "time", lambda: 2e9)
    monkeypatch.setattr(sys, "platform", system)

    assert zip_bytes(FILES.items()) == packed


def test_a_higher_level_packs_tighter():
    """The level reaches the packer."""
    words = {"words": b" ".join(str(n * n).encode() for n in range(5000))}

    assert len(zip_bytes(words.items(), level=9)) < len(zip_bytes(words.items(), level=1))


def test_more_goes_into_a_file_that_is_packed():
    """What it has stays; the same bytes each time."""
    whole = zip_with(zip_bytes(FILES.items()), [("strips/ole.pdf", b"%PDF")])

    with ZipFile(BytesIO(whole)) as archive:
        packed = {name: archive.read(name) for name in archive.namelist()}
    assert packed == {**FILES, "strips/ole.pdf": b"%PDF"}
    assert whole == zip_with(zip_bytes(FILES.items()), [("strips/ole.pdf", b"%PDF")])
