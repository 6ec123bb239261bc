"""What mending gives back: the choices that still hold, and a search that is soon over."""

from pathlib import Path

import pytest

import moldgen as mg
from moldgen.finding import Remedy, Severity
from moldgen.memo import Memo
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.mold import mend as mending
from moldgen.pipeline.mold.judge import Depth, OwnJudge
from moldgen.pipeline.mold.mended import JobChange, still_chosen
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)


@pytest.mark.parametrize(
    ("field", "feature", "gone"),
    [
        (Remedy.HEIGHT, "letters", "height of letters"),
        (Remedy.HEIGHT, "plaque", ""),
        (Remedy.GAUGE, "", "sheet"),
        (Remedy.FILAMENT, "", "filament"),
        (Remedy.SIZE, "letters", "letters"),
        (Remedy.PRINTER, "", ""),
    ],
)
def test_a_change_takes_the_place_of_a_choice(field, feature, gone):
    """The choice of the very value that was changed is left out, all others stay."""
    every = [
        ChosenValue(what=what, value="1")
        for what in ("sheet", "filament", "letters", "height of letters")
    ]
    change = JobChange(field=field, feature=feature, before="1", after="2", because="it")

    left = [one.what for one in still_chosen(every, [change])]

    assert left == [one.what for one in every if one.what != gone]


def test_the_search_builds_walls_alone(monkeypatch):
    """Of a relief too deep only the job as it was and the one found are built with vents."""
    built = []
    findings = OwnJudge.findings

    def watched(self, job, depth):
        built.append(depth)
        return findings(self, job, depth)

    monkeypatch.setattr(OwnJudge, "findings", watched)
    job = mg.sign("SLIPWAY", letter_height_mm=20, relief_mm=9, gauge_mm=1.0)
    found = mending.mend(job, folder=Path(), shop=SHOP, memo=Memo(2**26))

    assert found.is_clear
    assert found.changes
    assert built.count(Depth.WHOLE) == 2
    assert 2 <= built.count(Depth.WALLS) <= built.count(Depth.OUTLOOK)
    assert found.job.vents.place
    assert found.job.underside == job.underside


def test_what_only_vents_tell_is_looked_for_with_vents(monkeypatch):
    """A caution of a vent is none of the walls: the whole mold is built for every try."""
    built = []
    findings = OwnJudge.findings

    def watched(self, job, depth):
        built.append(depth)
        return findings(self, job, depth)

    monkeypatch.setattr(OwnJudge, "findings", watched)
    job = mg.tray(100, 80, 60, forming="preview", least_mm=0.6, gauge_mm=1.5, filament="PETG")
    found = mending.mend(job, folder=Path(), shop=SHOP, memo=Memo(2**27))
    grave = {one.code for one in found.before if one.severity is not Severity.NOTE}

    assert "vent-left-out" in grave
    assert built.count(Depth.WALLS) == 1
    assert built[0] is Depth.WHOLE
