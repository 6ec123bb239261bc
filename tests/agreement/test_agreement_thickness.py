"""Whoever tells or decides how thin the formed sheet is tells the same: one mold, every place."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

import moldgen as mg
from moldgen.export.picture.sheet_map import SheetMap, sheet_map_png
from moldgen.mold.sheet.findings import check_formed
from moldgen.pipeline.mold import forming_pictures as maps
from moldgen.pipeline.mold.forming_tables import forming_rows, forming_tables
from moldgen.pipeline.mold.thickness import thickness_ratios
from moldgen.stock import load_shop
from moldgen.table.sheet_choice import choices

WANTED_MM = 1.8


@pytest.fixture(scope="module")
def mold():
    """Return an anchor with a preview of the sheet, thinner than is wanted."""
    job = mg.drawing(
        shape="anchor", width=60, height=8, gauge="2 mm", forming="preview", least=f"{WANTED_MM} mm"
    )
    made = mg.make(job)
    told = made.formed.thinnest
    # Else nobody would see which of them is printed.
    assert round(told.least_mm, 2) < round(told.thin_mm, 2)
    return made


def test_finding_and_numbers_agree(mold, tmp_path):
    """The finding is judged by the thin places of the thinnest feature, as in findings.json."""
    told = mold.formed.thinnest
    mold.write(tmp_path, formats=["json"])
    numbers = json.loads((tmp_path / "findings.json").read_text())["numbers"]

    (finding,) = [one for one in mold.findings if one.code == "formed-thin"]

    assert told.thin_mm == min(one.thin_mm for one in mold.formed.thinned) < WANTED_MM
    assert (finding.measured, finding.limit) == (told.thin_mm, WANTED_MM)
    assert finding.where_mm == told.where_mm
    assert f"± {told.thin_doubt_mm:.2g} mm" in finding.says
    assert numbers["formed_thin_mm"] == pytest.approx(told.thin_mm, rel=1e-5)
    assert numbers["formed_thin_doubt_mm"] == pytest.approx(told.thin_doubt_mm, rel=1e-5)
    assert numbers["formed_least_mm"] == pytest.approx(mold.formed.whole.least_mm, rel=1e-5)
    assert numbers["formed_webs"] == len(mold.formed.folds)


def test_screen_report_and_choice_of_sheet_agree(mold):
    """Summary, both tables and the choice of a gauge tell the same thin places."""
    told, gauges = mold.formed.thinnest, load_shop().gauges_for("HIPS")
    features, gauge_table = forming_tables(mold.formed, gauges, WANTED_MM)
    (_, words), _ = forming_rows(mold.formed)

    assert words.startswith(f"{told.thin_mm:.2f} ± {told.thin_doubt_mm:.2f} mm where it is thin")
    column = features.header.index("Thin")
    thin = [float(row[column].split()[0]) for row in features.rows]
    assert thin == [round(one.thin_mm, 2) for one in mold.formed.thinned]
    same = [one for one in choices(gauges, thin_share=mold.formed.thin_share, wanted_mm=WANTED_MM)
            if one.gauge.gauge_mm == 2.0]  # fmt: skip
    assert same
    assert same[0].thin_mm == pytest.approx(told.thin_mm)
    row = next(row for row in gauge_table.rows if row[0] == same[0].gauge.name)
    assert row[1:] == (f"{told.thin_mm:.2f} mm", "too thin")


def test_picture_and_cooling_agree(mold, monkeypatch):
    """The mark on the map, and what the cooling of the thin places is worked out from."""
    formed, drawn = mold.formed, []

    def draw(shown):
        drawn.append(shown)
        return sheet_map_png(shown)

    monkeypatch.setattr(maps, "sheet_map_png", draw)

    maps.forming_pictures(formed, mold.design.trim_line, "anchor")

    marks = [mark for shown in drawn for mark in shown.marks]
    assert all(isinstance(shown, SheetMap) for shown in drawn)
    assert [one.words for one in marks if one.words.startswith("thin")] == [
        f"thin: {formed.thinnest.thin_mm:.2f} mm"
    ]
    thin, _ = thickness_ratios(mold.design.mold, formed.sheet.gauge_mm)
    assert thin == pytest.approx(formed.thin_share)


def test_a_limit_between_thin_and_least_is_met(mold):
    """The least thickness, which rests on a few triangles, decides nothing."""
    whole = mold.formed.thinnest
    assert whole.least_mm < whole.thin_mm
    between_mm = (whole.least_mm + whole.thin_mm) / 2

    codes = [one.code for one in check_formed(mold.formed, wanted_mm=between_mm)]
    assert "formed-thin" not in codes


def test_the_pace_is_checked_where_that_is_asked_for(mold, tmp_path):
    """The same mold with `check_pace`, made or brought, has a note of what the pace does."""
    checked = mg.make(replace(mold.request, forming=replace(mold.request.forming, check_pace=True)))
    mold.write(tmp_path, formats=["stl"])
    (stl,) = tmp_path.glob("*.stl")
    brought = mg.check(stl, forming="preview", check_pace=True, gauge="2 mm")

    told = checked.formed.thinnest
    (note,) = [one for one in checked.findings if one.code == "forming-pace"]
    assert note.measured == told.pace.thin_mm > 0
    assert told.thin_mm == mold.formed.thinnest.thin_mm
    hasty, usual = (checked.design._stages.get(name) for name in ("hasty_run", "forming_run"))
    assert hasty.spec.pace == pytest.approx(usual.spec.pace / 2)
    assert "forming-pace" in [one.code for one in brought.findings]
    assert "forming-pace" not in [one.code for one in mold.findings]
