"""Print readiness of every mold: figures, words, tables, findings, and what it may cost."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from support.days import built, job_of, worked
from support.molds import SHOP
from support.printed import BED, body, box, mesh, rod
from support.some import some

from moldgen.finding import Severity
from moldgen.mold.load.bearing import PrintStructure as Sliced
from moldgen.pipeline.mold import print_readiness as ready_module
from moldgen.pipeline.mold.day import with_day_findings
from moldgen.pipeline.mold.make import make
from moldgen.pipeline.mold.print_readiness import readiness_of
from moldgen.pipeline.mold.print_readiness_rows import (
    print_row,
    ready_numbers,
    ready_tables,
    setting_text,
)
from moldgen.pipeline.print_estimate import print_spec
from moldgen.pipeline.print_rows import hanging_text, print_numbers
from moldgen.printing.contours import LevelCutter
from moldgen.printing.estimate import basis_of, estimate, spoken_time
from moldgen.printing.overhang import check_overhangs, measure_overhangs, widest_bridge_mm
from moldgen.printing.print_spec import USUAL
from moldgen.printing.warp import check_warp, measure_first_layer
from moldgen.stock.infill import USUAL_INFILL


@cache
def ready():
    return worked().ready


def with_bodies(*bodies, **more):
    """Return the readiness of other bodies on the same table."""
    _, mold, setting = built()
    setting = replace(setting, **more)
    return readiness_of(replace(mold, bodies=bodies), setting, closely=True)


def codes(findings):
    return [finding.code for finding in findings]


def test_figures_are_those_of_every_piece_as_its_load_counts_on():
    """Mass, filament and time are the estimates of all pieces; volume and first layer are exact."""
    _, mold, setting = built()
    spec = ready().spec

    sliced = [
        estimate(one.mesh, filament=setting.filament, printer=setting.printer, spec=spec)
        for one in mold.bodies
    ]

    taken = ready().all_taken
    assert taken.mass_g == pytest.approx(sum(one.mass_g for one in sliced))
    assert taken.filament_m == pytest.approx(sum(one.filament_m for one in sliced))
    assert taken.time_s == pytest.approx(sum(one.time_s for one in sliced))
    assert taken.volume_mm3 == pytest.approx(sum(one.mesh.volume_mm3 for one in mold.bodies))
    first = [measure_first_layer(one.mesh) for one in mold.bodies]
    assert ready().first_layer_mm2 == pytest.approx(sum(o.area_mm2 for o in first), rel=0.005)
    assert ready().longest_mm == pytest.approx(max(o.longest_mm for o in first), rel=0.005)


def test_a_mold_that_is_measured_is_sliced_as_when_it_was_made():
    """The usual walls, skins and infill of any part are those of a mold on the usual printer."""
    assert print_spec(SHOP.printer("bed-220")) == USUAL


def test_a_print_is_sliced_as_its_load_counts_on():
    """Skin and outlines are never thinner than those that bear, and the infill is theirs."""
    for printer in some(SHOP.printers.entries):
        spec = print_spec(printer)
        assert spec.skins * printer.layer_mm >= Sliced().skin_mm - 1e-9
        assert (spec.skins - 1) * printer.layer_mm < Sliced().skin_mm
        assert spec.walls * 1.1 * printer.nozzle_mm >= Sliced().shell_mm - 1e-9
        assert (spec.walls - 1) * 1.1 * printer.nozzle_mm < Sliced().shell_mm
        assert spec.infill == USUAL_INFILL


def test_several_pieces_are_told_together():
    """Figures add up, the longest piece counts for warp, and every piece has its row."""
    one, two = with_bodies(body(box(40, 30, 10))), with_bodies(body(box(80, 20, 12)))
    both = with_bodies(*one.bodies, *two.bodies)

    assert both.all_taken.mass_g == pytest.approx(one.all_taken.mass_g + two.all_taken.mass_g)
    assert both.first_layer_mm2 == pytest.approx(40 * 30 + 80 * 20)
    assert both.longest_mm == pytest.approx(np.hypot(80, 20))
    assert both.solid_g == pytest.approx((12 + 19.2) * 1.27)
    pieces, _ = ready_tables(both)
    assert [row[0] for row in pieces.rows][-1] == "all"
    assert len(pieces.rows) == 3
    assert len(next(iter(ready_tables(one))).rows) == 1
    assert pieces.note.casefold() == f"{basis_of(both.spec, BED)}.".casefold()


def test_the_row_fits_a_terminal_and_tells_its_basis():
    """Mass, filament, time with basis, first layer: what a teacher asks before printing."""
    taken = ready().all_taken
    row = print_row(ready())

    assert len(row) <= 90
    assert row.startswith(f"{taken.mass_g:.0f} g, {taken.filament_m:.0f} m of filament, about ")
    assert f"about {spoken_time(taken.time_s)} (to about 10 %)" in row
    assert row.endswith(f"first layer {ready().first_layer_mm2 / 100:.0f} cm²")


def test_the_table_tells_all_there_is_to_print_readiness():
    """Way up, overhangs, infill, hollowing, first layer, warp and layer steps, each with a why."""
    _, table = ready_tables(ready())
    rows = {row[0]: row[1:] for row in table.rows}

    assert list(rows)[:6] == ["Way up", "Overhangs and bridges", "Infill", "Solid or hollow",
                              "First layer", "Warp"]  # fmt: skip
    assert all(why for _, why in rows.values())
    bridge = max(hangs.span_mm for hangs in ready().hangs)
    assert f"longest bridge {bridge:.1f} mm" in rows["Overhangs and bridges"][0]
    assert rows["Infill"][0].startswith("20 %, never under ")
    assert rows["Solid or hollow"][0].endswith(f" % of {ready().solid_g:.3g} g")
    assert f"{ready().end_pull_mm:.2f} mm in PETG" in rows["Warp"][0]
    plan = ready().steepest
    steps = rows[f"Layer steps on {plan.name}"]
    assert f"at {plan.wall.draft_deg:g}° and 0.2 mm layers" in steps[0]
    assert steps[1].startswith(f"{ready().steps(plan).rule.value:g}° asked for")


def test_layer_steps_are_told_of_the_wall_that_has_least_to_spare():
    """Of all features the one whose draft is least over its rule; too little is told so."""
    _, mold, setting = built()
    steep = replace(mold.plans[0], wall=replace(mold.plans[0].wall, draft_deg=1.0), name="sill")

    told = readiness_of(replace(mold, plans=(*mold.plans, steep)), setting, closely=True)

    assert told.steepest.name == "sill"
    assert told.coarsest_mm(steep) == 0
    assert "no layer is fine enough" in list(ready_tables(told))[1].rows[-1][2]
    assert ready().coarsest_mm(ready().steepest) >= setting.printer.layer_mm


def test_a_long_foot_in_abs_is_told_to_warp_as_measure_tells_it():
    """The same finding as for a part that somebody brings; in PETG there is none."""
    rail = body(box(180, 20, 10))
    abs_ = SHOP.filament("ABS")

    told = with_bodies(rail, filament=abs_)

    assert told.findings == check_warp(rail.name, measure_first_layer(rail.mesh), abs_)
    assert codes(told.findings) == ["print-warp"]
    assert with_bodies(rail).findings == ()


def test_what_hangs_is_told_as_measure_tells_it_but_never_to_turn_a_mold():
    """The same places and measures; a mold whose face looks up stays as it is."""
    bridge = box(60, 20, 4).translate((0, 0, 10)) + box(10, 20, 10)
    bridge += box(10, 20, 10).translate((50, 0, 0))
    cone = rod(5, 4, 80, 0)
    part = body(bridge + cone)

    told = with_bodies(part)

    asked = check_overhangs(part.name, measure_overhangs(part.mesh), BED)
    assert codes(told.findings) == codes(asked) == ["print-bridge"]
    assert told.findings[0].measured == asked[0].measured == pytest.approx(40, rel=0.01)
    assert told.findings[0].severity is Severity.CAUTION
    assert "another way up" in asked[0].advice
    assert "another way up" not in told.findings[0].advice
    assert setting_text(told).startswith("Underside down, support where the findings say, ")
    assert setting_text(ready()).startswith("Underside down, no supports, 0.2 mm layers")


def test_a_gentle_slope_shows_terraces():
    """Layers that show through the sheet are told of a mold too."""
    from math import radians, tan

    from manifold3d import Manifold

    cone = Manifold.cylinder(3, 40, 40 - 3 / tan(radians(5)), 64).translate((0, 0, 5))
    assert codes(with_bodies(body(rod(40, 5, sides=64) + cone)).findings) == ["print-terraces"]


def test_findings_of_the_print_stand_among_those_of_the_mold():
    """Warp of the mold itself, in a filament that warps, is one of its findings."""
    _, mold, _ = built()
    rail = with_bodies(body(box(180, 20, 10)), filament=SHOP.filament("ABS"))

    told = with_day_findings(mold, replace(worked(), ready=rail)).findings

    assert "print-warp" in codes(told)
    assert "print-warp" not in codes(with_day_findings(mold, worked()).findings)


def test_numbers_are_kept_for_programs():
    """In one group, by the same names as measured parts have, and all of them plain."""
    numbers = ready_numbers(ready())["print"]

    hangs = ready().hangs
    same = print_numbers(ready().all_taken, hangs, ready().bridge_mm)
    assert same.keys() <= numbers.keys()
    assert numbers["mass_g"] == ready().all_taken.mass_g
    assert numbers["first_layer_mm2"] == ready().first_layer_mm2
    assert numbers["first_layer_mm2"] == pytest.approx(same["first_layer_mm2"], rel=1e-6)
    assert numbers["infill"] == USUAL_INFILL
    assert 0 < numbers["least_infill"] <= USUAL_INFILL
    json.dumps(numbers, allow_nan=False)


def test_hanging_words_are_of_all_pieces():
    """Areas add up, the longest bridge counts."""
    slab = box(60, 20, 4).translate((0, 0, 10))
    narrow, wide = (
        measure_overhangs(mesh(slab + box(at, 20, 10) + box(at, 20, 10).translate((60 - at, 0, 0))))
        for at in (20, 10)
    )
    bridge_mm = widest_bridge_mm(BED)

    assert hanging_text([narrow], bridge_mm) == "prints without support, longest bridge 20.0 mm"
    both = hanging_text([narrow, wide], bridge_mm)
    assert both == "8.0 cm² need support, longest bridge 40.0 mm"
    assert hanging_text([], bridge_mm) == "prints without support, no bridges"


@pytest.mark.parametrize(("formats", "asked"), [(["stl", "png"], 0), (["json"], 1), (["html"], 1)])
def test_what_hangs_is_measured_for_a_report_or_findings_only(formats, asked, monkeypatch):
    """Meshes and pictures alone never wait for it; with a report it is measured once."""
    seen = []

    def measure(mesh):
        seen.append(mesh)
        return measure_overhangs(mesh)

    monkeypatch.setattr(ready_module, "measure_overhangs", measure)

    made = make(
        job_of(output={"formats": formats}), folder=Path(), shop=SHOP, progress=lambda stage: None
    )

    assert len(seen) == asked
    assert dict(made.summary)["Print"].endswith("cm²")
    assert (made.numbers["print"]["longest_bridge_mm"] is None) == (not asked)
    if "html" in formats:
        page = made.files["report.html"].decode()
        assert "Ready to print" in page
        assert dict(made.summary)["Print"] in page
    if "json" in formats:
        told = json.loads(made.files["findings.json"])["numbers"]["print"]
        assert told["mass_g"] == made.numbers["print"]["mass_g"]


def test_a_mold_is_cut_at_few_levels(monkeypatch):
    """Of a mold of 70 layers fewer than a fifth are cut: slicing takes longer than finishing it."""
    levels, at = [], LevelCutter.at

    def counted(cutter, z_mm):
        levels.append(z_mm)
        return at(cutter, z_mm)

    monkeypatch.setattr(LevelCutter, "at", counted)
    _, mold, setting = built()

    taken = readiness_of(mold, setting, closely=True).all_taken

    assert taken.mass_g == ready().all_taken.mass_g
    assert 0 < len(levels) < taken.n_layers / 5


def test_our_own_undersides_are_bridged_cleanly():
    """Channels under a mold are no wider, however slanting a line runs, than the printer spans."""
    longest_mm = max(hangs.span_mm for hangs in ready().hangs)

    assert 0.5 * BED.clean_bridge_mm < longest_mm <= BED.clean_bridge_mm
    assert "print-bridge" not in codes(ready().findings)
