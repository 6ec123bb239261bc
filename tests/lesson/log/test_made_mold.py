"""The mold of a note: numbers and findings from what make wrote, or nothing, or one sentence."""

import json
from dataclasses import replace

import pytest

from moldgen.errors import FileError
from moldgen.finding import Finding, Severity
from moldgen.lesson.log.learn import experience_of
from moldgen.lesson.log.made_mold import trouble_case
from moldgen.lesson.log.shot_note import Outcome, ShotNote
from moldgen.lesson.log.trouble import likely_causes
from moldgen.stock import load_shop
from moldgen.wording import clock_text

SHOP = load_shop(user_file=None)
NOTE = ShotNote(
    noted="2026-03-04T10:20", job="Boat shed", machine="classroom-450x300", plastic="HIPS",
    thickness_mm=1.5, seen=(Outcome.WEB,),
)  # fmt: skip
WEB = Finding(
    code="formed-web", severity=Severity.CAUTION, says="the sheet folds", measured=3.0, unit="mm",
    advice="Lower it.",
)  # fmt: skip


def made(tmp_path, **changed):
    """Write the record of a mold as make does; return its folder."""
    folder = tmp_path / "boat-shed"
    folder.mkdir()
    words = {"title": "Boat shed", "numbers": {"height_mm": 12.5}, "findings": [WEB.as_dict()]}
    (folder / "findings.json").write_text(json.dumps(words | changed))
    return folder


def case(tmp_path, file=""):
    """Return the case of a note."""
    return trouble_case(NOTE, str(file), shop=SHOP, outputs=tmp_path)


def test_the_folder_of_the_jobs_name_is_looked_into(tmp_path):
    """Without a file the record of the last make is taken, with figures and findings."""
    made(tmp_path)
    found = case(tmp_path)

    assert found.number("height_mm") == 12.5
    assert found.found("formed-web") == WEB
    assert found.job_file == "boat-shed.toml"


@pytest.mark.parametrize("name", ["", "findings.json"])
def test_a_folder_that_is_named_is_read(tmp_path, name):
    """The folder, or the record in it."""
    folder = made(tmp_path)

    assert case(tmp_path / "elsewhere", folder / name).number("height_mm") == 12.5


def test_a_mold_nobody_made_here_leaves_the_note_alone(tmp_path):
    """Without a record nothing is known beside the note, and that is no error."""
    found = case(tmp_path)

    assert (dict(found.numbers), found.findings) == ({}, ())


def test_a_record_that_is_named_must_be_there(tmp_path):
    """A folder without a record is refused in one sentence."""
    with pytest.raises(FileError, match=r"cannot be read: no such file.*Name the folder"):
        case(tmp_path, tmp_path)


@pytest.mark.parametrize(
    "changed",
    [
        {"findings": [{"code": "x"}]},
        {"findings": [WEB.as_dict() | {"severity": "loud"}]},
        {"findings": [WEB.as_dict() | {"says": 7}]},
        {"findings": [WEB.as_dict() | {"measured": "3"}]},
        {"findings": 3},
        {"numbers": 7},
    ],
)
def test_a_record_that_is_none_is_refused(tmp_path, changed):
    """Whatever is not as make writes it gets one sentence."""
    made(tmp_path, **changed)

    with pytest.raises(FileError, match="is not the record of a mold that this version made"):
        case(tmp_path)


def test_without_a_card_a_time_is_held_against_the_table(tmp_path):
    """Against what the other notes say, where there are some; unknown stock is no error."""
    others = [replace(NOTE, heated_s=80.0 + n, seen=(Outcome.GOOD,), cycle=n) for n in range(1, 6)]
    taught = replace(SHOP, experience=experience_of(others, SHOP))
    plain = case(tmp_path).table_heat_s
    known = trouble_case(NOTE, "", shop=taught, outputs=tmp_path).table_heat_s
    elsewhere = replace(NOTE, machine="a raft")
    web = replace(NOTE, heated_s=140.0)
    (first, *_) = likely_causes(trouble_case(web, "", shop=taught, outputs=tmp_path))

    assert plain is not None
    assert known is not None
    assert plain < 60 < 65 < known < 85
    assert trouble_case(elsewhere, "", shop=SHOP, outputs=tmp_path).table_heat_s is None
    assert first.because == f"it was heated 2 min 20 s, this table takes {clock_text(known)}"
