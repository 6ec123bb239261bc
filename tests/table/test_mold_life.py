"""Pull after pull: what the trade knows of filaments, balance of heat, pauses that are enough."""

from dataclasses import replace
from functools import cache
from math import inf

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.physics.heat.heating import INSULATED, Matter, stack
from moldgen.physics.heat.march import march
from moldgen.stock import Sheet, load_shop
from moldgen.table.cool import cool, sheet_matter
from moldgen.table.cycle import build_cycles, table_face
from moldgen.table.edges import radius_that_stays_hard_mm
from moldgen.table.life_findings import lasting_print, life_findings
from moldgen.table.mold_life import mold_life, rank_filaments, survives
from moldgen.table.printed_mold import PrintedMold, TOUCH_W_m2K, mold_layers, on_mold
from moldgen.table.run import Run
from moldgen.table.surroundings import free_face
from moldgen.wording import clock_text

SHOP = load_shop(user_file=None)
FEW = settings(max_examples=10, deadline=None)


def run(plastic="HIPS", gauge_mm=0.75, heat_s=30.0, **more):
    """Return a run with a sheet of the stock."""
    sheet = Sheet(plastic=SHOP.plastic(plastic), gauge_mm=gauge_mm)
    return Run(sheet=sheet, heat_s=heat_s, **more)


def mold(filament="PETG", **more):
    """Return a mold of a filament of the stock."""
    return PrintedMold(filament=SHOP.filament(filament), **more)


@cache
def life(filament="PETG", plastic="HIPS", gauge_mm=0.75, n_cycles=30):
    """Return what cycles do to a mold of the stock; a sheet heats 40 s per millimeter."""
    heated = run(plastic, gauge_mm, heat_s=40 * gauge_mm)
    return mold_life(heated, mold(filament), n_cycles=n_cycles)


def test_filaments_last_as_the_trade_knows():
    """Styrene of 1 mm: a PLA top sinks after some cycles, PETG only rounds at edges, PC neither."""
    pla, petg, abs_, pc = (life(name, gauge_mm=1.0) for name in ("PLA", "PETG", "ABS", "PC"))

    assert pla.in_a_row_band == (4, 6)
    assert pla.in_a_row == 5
    assert pla.edges_last == 0
    for gauge_mm in (1.0, 1.5):
        lasting = life("PETG", gauge_mm=gauge_mm)
        assert lasting.in_a_row_band == (None, None)
        assert lasting.pause_s == 0
        assert lasting.spare_K < 0
    assert petg.spare_K < abs_.spare_K < 10 < pc.spare_K
    assert [one.stays_hard for one in (pla, petg, abs_, pc)] == [False, False, False, True]
    assert abs_.in_a_row is None


def test_three_formings_are_lasted_as_published():
    """PLA molds were formed three times with foil; half the skin as the limit denies it."""
    for row in some(published("mold_cycles")):
        cycles, gauge_mm = int(row["cycles"]), float(row["gauge_mm"])
        foil = run("PETG", gauge_mm)
        found = mold_life(foil, mold("PLA"))
        assert cycles <= found.in_a_row_band[1]
        assert cycles <= found.in_a_row + 1
        half = mold_life(replace(foil, allowed_mm=0.6), mold("PLA"))
        assert half.in_a_row_band[1] < cycles - 1
        # More walls were what mattered most.
        assert mold_life(foil, mold("PLA", skin_mm=2.4)).in_a_row > found.in_a_row


def test_counts_tell_filaments_apart():
    """With the glass transitions of PLA and PETG swapped, the trade's order is gone."""
    pla, petg = SHOP.filament("PLA"), SHOP.filament("PETG")
    swapped = [
        mold_life(run(), PrintedMold(filament=replace(one, softens_degC=other.softens_degC)))
        for one, other in ((pla, petg), (petg, pla))
    ]

    assert swapped[0].in_a_row is None
    assert swapped[1].edges_last == 0


def test_one_pull_is_a_march():
    """The first cycle's depths, by the general march through sheet, joint and mold."""
    own, petg = run(), mold()
    matter = sheet_matter(own.sheet, own.arrival_degC)
    body = on_mold(petg, matter, 0.75, TOUCH_W_m2K)
    n = len(body.widths_m) - 8
    start = np.where(np.arange(n + 8) < n, 20.0, own.arrival_degC)
    air, table = free_face(150, 150, hot_up=True), table_face(20.0)
    contact_s = float(life().contact_s[0])
    on = march(body, start, front=table, back=air, duration_s=contact_s, n_steps=60)
    bare = stack(*mold_layers(petg))
    after = march(
        bare, on.profiles_degC[-1, 0, :n], front=table, back=air, duration_s=50, n_steps=40
    )
    peaks = np.maximum(
        on.profiles_degC[:, 0, :n].max(axis=0), after.profiles_degC[:, 0].max(axis=0)
    )

    np.testing.assert_allclose(life().peaks_degC[0, 1:], peaks[::-1], atol=0.6)
    # The same sheet, were its heat the mean throughout; as it is, it is stiff a tenth sooner.
    even = replace(
        own.sheet.plastic,
        specific_heat_J_kgK=matter.heat_J_kgK,
        specific_heat_hot_J_kgK=matter.heat_J_kgK,
    )
    assert contact_s == pytest.approx(
        cool(Sheet(plastic=even, gauge_mm=0.75), petg, from_degC=own.arrival_degC).stiff_s, rel=0.02
    )
    assert contact_s == pytest.approx(
        cool(own.sheet, petg, from_degC=own.arrival_degC).stiff_s, rel=0.12
    )


def test_the_face_lies_between_sheet_and_mold():
    """It is hotter than the skin below it and colder than the sheet."""
    peaks = life("PLA").peaks_degC
    assert (peaks[:, 0] > peaks[:, 1]).all()
    assert (peaks < 147).all()


def test_all_heat_is_kept_when_nothing_leaves(monkeypatch):
    """With no air at the sheet, what the sheet gives the mold has, at every step of a pull."""
    monkeypatch.setattr("moldgen.table.cycle.free_face", lambda *_, **__: INSULATED)
    monkeypatch.setattr("moldgen.table.cycle.table_face", lambda _: INSULATED)
    pull = run()
    made = build_cycles(pull, [mold()])
    n, body = made.n_mold, on_mold(
        mold(), sheet_matter(pull.sheet, pull.arrival_degC), pull.sheet.gauge_mm, TOUCH_W_m2K
    )  # fmt: skip
    start = np.full(len(body.widths_m), 20.0)
    start[n:] = pull.arrival_degC
    (heats,) = body.masses(start[None], start[None])
    gains = heats * (made.contact.profiles_degC(start)[0] - start)

    np.testing.assert_allclose(gains[:, :n].sum(axis=1), -gains[:, n:].sum(axis=1), rtol=1e-6)
    assert (np.diff(gains[:, :n].sum(axis=1)) > 0).all()
    assert gains[-1, :n].sum() > 0.3 * heats[n:].sum() * (pull.arrival_degC - 20)


def test_a_mold_as_warm_as_the_room_stays_so():
    """Mold, sheet and room at one temperature exchange nothing, on the mold and between cycles."""
    made = build_cycles(run(), [mold()])
    n = made.n_mold
    even = np.full(made.contact.n_cells, 20.0)
    assert len(even) == n + 8
    np.testing.assert_allclose(made.contact.profiles_degC(even)[0, -1], 20.0, atol=1e-6)
    np.testing.assert_allclose(made.pause.profiles_degC(even[:n])[0, -1], 20.0, atol=1e-6)


def test_a_mold_warms_up_until_it_does_not():
    """Each pull leaves it hotter, by less and less, and later parts stay on longer."""
    found = life("PETG", n_cycles=100)
    faces = found.peaks_degC[:, 0]

    assert (np.diff(faces) > -0.02).all()
    assert faces[-1] - faces[-2] < 0.1 < faces[1] - faces[0]
    assert found.contact_s[-1] > 2 * found.contact_s[0]
    assert (np.diff(found.softened_mm) > -0.01).all()


def test_in_a_row_is_where_the_depth_is_passed():
    """The pull after those in a row is the first that goes too deep, at both ends as well."""
    found = life("PLA", gauge_mm=1.0)
    own = (found.allowed.low_mm, found.allowed.middle_mm, found.allowed.high_mm)

    assert own == pytest.approx((2.43, 2.94, 3.66), abs=0.02)
    low, high = found.in_a_row_band
    for cycles, allowed_mm in some(zip((low, found.in_a_row, high), own, strict=True)):
        assert found.softened_mm[cycles - 1] <= allowed_mm
        assert found.softened_mm[cycles] > allowed_mm


@pytest.mark.parametrize("gauge_mm", [0.75, 1.0])
def test_the_pause_is_enough_and_hardly_more(gauge_mm):
    """Waiting so much longer the depth is never passed; 15 s less and it is."""
    found = life("PLA", gauge_mm=gauge_mm)
    assert found.pause_s is not None
    enough, short = (
        mold_life(
            run(gauge_mm=gauge_mm, heat_s=40 * gauge_mm + found.pause_s - less),
            mold("PLA"),
            n_cycles=200,
        )
        for less in (0, 15)
    )

    assert enough.in_a_row is None
    assert enough.softened_mm.max() <= found.allowed.middle_mm
    assert short.in_a_row is not None


def test_no_pause_helps_when_the_first_pull_is_too_much():
    """Very thick sheet on a mold that softens early."""
    found = life("PLA", "HIPS", 4.0)

    assert found.in_a_row == 0
    assert found.pause_s is None
    assert found.softened_mm[0] > found.allowed.middle_mm


@pytest.mark.parametrize("gauge_mm", [0.5, 0.75])
def test_the_print_that_is_advised_lasts_and_a_step_less_does_not(gauge_mm):
    """Infill and skin of the advice last as many cycles as wanted at the low end of the band."""
    found, own = life("PLA", gauge_mm=gauge_mm), run(gauge_mm=gauge_mm, heat_s=40 * gauge_mm)
    advised = lasting_print(found)
    assert found.in_a_row_band[0] < 30
    for name, share in some({"infill": 0.75, "skin_mm": 0.8}.items()):
        value = getattr(advised, name)
        assert value is not None
        enough, less = (mold("PLA", **{name: value * part}) for part in (1.0, share))
        lasted = mold_life(own, enough).in_a_row_band[0]
        assert lasted is None or lasted >= 30
        assert survives(own, enough, 30)
        assert not survives(own, less, 30)


def test_the_rounding_that_is_advised_keeps_edges_hard_at_first():
    """At that radius the edge just reaches softening; where the face softens none is advised."""
    thick, petg = run(gauge_mm=1.5, heat_s=60.0), mold()
    flat = mold_life(thick, petg)
    radius_mm = radius_that_stays_hard_mm(thick, petg, flat.first_face_degC)
    rounded = mold_life(thick, replace(petg, edge_radius_mm=radius_mm))

    assert 1.5 < radius_mm < 6
    assert rounded.edges_degC[0] == pytest.approx(rounded.softens_degC, abs=1e-6)
    assert flat.edges_degC[0] > rounded.softens_degC
    assert "Rounded " in life_findings(flat)[0].advice
    assert radius_that_stays_hard_mm(thick, mold("PLA"), 70.0) == inf
    assert "Rounded " not in life_findings(life("PLA"))[0].advice


def test_where_the_rubbery_modulus_is_not_known_only_the_skin_counts():
    """The low end is the skin alone and the high end open, so nothing is promised."""
    unknown = replace(SHOP.filament("PLA"), rubbery_MPa=None)
    found = mold_life(run(gauge_mm=1.0), PrintedMold(filament=unknown))

    assert found.allowed.low_mm == found.allowed.middle_mm == 1.2
    assert found.in_a_row_band == (found.in_a_row, None)
    (sinks,) = (one for one in life_findings(found) if one.code == "mold-warms-up")
    assert f"{found.in_a_row} cycles in a row or more" in sinks.says


@FEW
@given(st.sampled_from(["PLA", "PETG", "ABS", "PA12"]), st.floats(0.3, 1.5))
def test_thicker_sheet_heats_deeper(filament, gauge_mm):
    """More sheet brings more heat; a stated depth allows more or fewer cycles."""
    # Sheet that was drawn thinner is carried at full gauge: without that they are alike.
    at_once = {"transfer_s": 0.0}
    thin = mold_life(run(gauge_mm=gauge_mm, **at_once), mold(filament), n_cycles=5)
    thick = mold_life(run(gauge_mm=gauge_mm * 1.4, **at_once), mold(filament), n_cycles=5)

    assert (thick.softened_mm >= thin.softened_mm - 1e-9).all()
    assert thick.first_face_degC > thin.first_face_degC
    drawn = mold_life(
        run(gauge_mm=gauge_mm * 1.4, thickness_ratio=1 / 1.4, **at_once), mold(filament), n_cycles=5
    )
    np.testing.assert_allclose(drawn.peaks_degC, thin.peaks_degC, rtol=1e-9)


def test_deeper_allowance_means_more_pulls():
    """Half a millimeter against two, and a fan helps."""
    shallow, deep = (mold_life(run(allowed_mm=depth), mold()) for depth in (0.5, 1.5))
    assert shallow.in_a_row < deep.in_a_row
    blown = mold_life(run(fan=True), mold("PLA"))
    assert blown.pause_s < life("PLA").pause_s


def test_crystalline_filament_keeps_its_shape_above_its_glass():
    """Printed nylon is judged by deflection, PLA by glass transition."""
    assert SHOP.filament("PA12").stands_degC == SHOP.filament("PA12").deflection_degC
    assert SHOP.filament("PLA").stands_degC == SHOP.filament("PLA").softens_degC


def test_the_best_filament_comes_first():
    """Those that stay hard, then those with most cycles; PLA last for styrene."""
    ranked = rank_filaments(run(), mold(), SHOP.filaments.entries)
    names = [one.mold.filament.name for one in ranked]
    hard = [one.stays_hard for one in ranked]

    assert sorted(names) == sorted(SHOP.filaments.names)
    assert hard == sorted(hard, reverse=True)
    assert names[-2:] == ["PETG", "PLA"]
    assert "PC" in names[: sum(hard)]
    assert "ABS" not in names[: sum(hard)]


def test_filaments_followed_at_once_last_as_they_do_alone():
    """Counts and pauses are the same; temperatures to rounding."""
    # The other way round those that need a pause are not the first.
    ranked = rank_filaments(run(), mold(), SHOP.filaments.entries[::-1])
    for one in some(ranked):
        alone = life(one.mold.filament.name)
        assert (one.in_a_row, one.pause_s) == (alone.in_a_row, alone.pause_s)
        np.testing.assert_allclose(one.peaks_degC, alone.peaks_degC, rtol=1e-9)
        np.testing.assert_allclose(one.contact_s, alone.contact_s, rtol=1e-8)
    assert rank_filaments(run(), mold(), ()) == ()


def test_the_same_run_on_the_same_mold_is_worked_out_once():
    """An equal question has the same answer in hand; any other is asked anew."""
    assert mold_life(run(), mold()) is mold_life(run(), mold())
    assert not mold_life(run(), mold()).peaks_degC.flags.writeable
    assert mold_life(run(), mold()) is not mold_life(run(heat_s=31.0), mold())
    assert mold_life(run(), mold()) is not mold_life(run(), mold(height_mm=21.0))


def test_looking_at_the_first_steps_of_contact_is_enough():
    """However few are asked for, a part stays on as long as when all are looked at."""
    made = build_cycles(run(), [mold("PLA"), mold("PETG")])
    warm = np.full((2, made.n_mold), 45.0)
    every = made.form(warm, first=made.contact.n_steps)

    for first in (2, 60):
        for few, full in zip(made.form(warm, first=first), every, strict=True):
            np.testing.assert_allclose(few, full, rtol=1e-12)
    assert (every[2] > 2 * made.contact.times_s[:, 0]).all()


def test_findings_tell_what_pulls_do():
    """Edges and top apart; a top that sinks at once stops, a short pause is no more than a note."""
    told = {
        name: [f.code for f in life_findings(life(name, gauge_mm=1.0))]
        for name in ("PLA", "PETG", "PC")
    }
    assert told == {"PLA": ["edges-round", "mold-warms-up"], "PETG": ["edges-round"], "PC": []}
    edges, sinks = life_findings(life("PLA", gauge_mm=1.0))
    assert (edges.severity, sinks.severity) == (Severity.NOTE, Severity.NOTE)
    assert life("PLA", gauge_mm=1.0).pause_s < 180
    assert "lasts about 4 to 6 cycles in a row" in sinks.says
    wait = clock_text(life("PLA", gauge_mm=1.0).pause_s)
    assert f"Wait about {wait} more" in sinks.advice
    assert lasting_print(life("PLA", gauge_mm=1.0)).words in sinks.advice
    thick = life_findings(life("PLA", "HIPS", 4.0))
    assert [f.code for f in thick] == ["edges-round", "mold-softens"]
    assert thick[1].severity is Severity.STOP


def test_a_metal_mold_hardly_warms_at_its_face():
    """The same cycles on a mold that conducts like aluminum stay cold."""
    metal = replace(SHOP.filament("PC"), conductivity_W_mK=20.0, density_kg_m3=2700)
    found = mold_life(run(), PrintedMold(filament=metal, infill=1.0), n_cycles=3)

    assert found.first_face_degC < 40
    assert isinstance(sheet_matter(run().sheet, 147), Matter)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (
            lambda: mold_life(run(), mold(), n_cycles=0),
            "n_cycles must be at least 1 and at most 200",
        ),
        (lambda: run(heat_s=-1), "heat_s must be at least 0 s"),
        (lambda: run(allowed_mm=0), "allowed_mm must be more than 0 mm"),
        (lambda: run(thickness_ratio=2), "thickness_ratio must be more than 0 and at most 1.5"),
    ],
)
def test_impossible_runs_are_refused(call, says):
    """One sentence that names the number and its rule."""
    with pytest.raises(SpecError, match=says):
        call()


def test_of_two_that_last_as_long_the_shorter_pause_comes_first(monkeypatch):
    """And a mold that no pause helps comes after one that a long pause helps."""
    softer = replace(life("PLA", gauge_mm=1.0), in_a_row=5)
    lives = tuple(replace(softer, pause_s=pause_s) for pause_s in (None, 600.0, 60.0))
    monkeypatch.setattr("moldgen.table.mold_life._lives", lambda *given: lives)

    ranked = rank_filaments(run(), mold(), [SHOP.filament("PLA")])

    assert [one.pause_s for one in ranked] == [60.0, 600.0, None]
