"""How long parts stay on a mold: from how hot the sheet is in the middle of its window."""

from dataclasses import replace

import pytest

from moldgen.stock import Sheet, load_shop
from moldgen.table.cool import TOUCH_BAND_W_m2K, cool
from moldgen.table.heat_up import heat_up
from moldgen.table.mold_life import mold_life
from moldgen.table.printed_mold import PrintedMold, printed_mold
from moldgen.table.stay import part_cooling, soft_s, usual_run, warm_s
from moldgen.table.transfer import arrival_degC

SHOP = load_shop(user_file=None)
CLASS = SHOP.machine("classroom-450x300")
SHEET = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.5)
PETG = PrintedMold(filament=SHOP.filament("PETG"))


def test_the_sheet_leaves_the_heater_as_the_window_leaves_it():
    """Mean temperature in the middle of the window, less what it loses on its way."""
    heated = heat_up(SHEET, CLASS)
    run = usual_run(SHEET, CLASS, heated)

    assert run.heat_s == heated.forming_s
    assert run.leaves_degC == heated.mean_degC > SHEET.plastic.forming_degC
    assert run.arrival_degC == arrival_degC(
        SHEET, leaves_degC=heated.mean_degC, transfer_s=run.transfer_s, room_degC=run.room_degC
    )
    assert run.arrival_degC > replace(run, leaves_degC=None).arrival_degC + 2
    hotter = part_cooling(replace(run, leaves_degC=170.0), PETG)
    assert hotter.stiff_s > 1.05 * part_cooling(run, PETG).stiff_s


def test_a_machine_that_cannot_heat_leaves_what_is_usual():
    """The longest time, the usual temperature."""
    run = usual_run(SHEET, CLASS, None, thickness_ratio=0.8)

    assert run.heat_s == 3600
    assert run.arrival_degC == arrival_degC(SHEET, transfer_s=3.0, room_degC=20.0)
    assert run.thickness_ratio == 0.8


def test_a_sheet_that_needs_less_heat_counts_with_that():
    """4 mm styrene: cycles are as long as the lower setting takes."""
    thick = Sheet(plastic=SHEET.plastic, gauge_mm=4.0)
    heated = heat_up(thick, CLASS)
    run = usual_run(thick, CLASS, heated)

    assert run.heat_s == heated.lower.forming_s > heated.clock.opens_s
    assert run.leaves_degC == heated.lower.mean_degC


def test_a_part_cools_where_it_is_asked():
    """The run's own thickness, or another; the time until stiff is the thin place's."""
    run = usual_run(SHEET, CLASS, heat_up(SHEET, CLASS), thickness_ratio=0.9)

    assert part_cooling(run, PETG) == part_cooling(run, PETG, thickness_ratio=0.9)
    thin = part_cooling(run, PETG, thickness_ratio=0.5)
    assert thin.thickness_mm == pytest.approx(0.75)
    assert soft_s(SHEET, CLASS, PETG, thickness_ratio=0.5) == thin.stiff_s
    cold = replace(CLASS, heater_degC=100.0, bands={})
    usual = usual_run(SHEET, cold, None)
    assert soft_s(SHEET, cold, PETG, thickness_ratio=0.5) == pytest.approx(
        cool(SHEET, PETG, thickness_ratio=0.5, from_degC=usual.arrival_degC).stiff_s
    )
    assert part_cooling(run, PETG, fan=True).stiff_s < part_cooling(run, PETG).stiff_s


def test_a_sheet_that_never_gets_stiff_is_soft_for_ever():
    """A plastic that is stiff below the room's temperature only."""
    warm = replace(SHEET.plastic, set_degC=19.0)

    assert soft_s(replace(SHEET, plastic=warm), CLASS, PETG, thickness_ratio=1.0) is None


def test_a_warm_mold_takes_as_much_longer_as_its_cycles_say():
    """The ratio of the last cycle to the first, on the time that is told for the cold mold."""
    run = usual_run(SHEET, CLASS, heat_up(SHEET, CLASS))
    cooled, life = part_cooling(run, PETG), mold_life(run, PETG)

    assert cooled.stiff_s == pytest.approx(life.contact_s[0], rel=0.06)
    assert warm_s(cooled, life) / cooled.stiff_s == life.contact_s[-1] / life.contact_s[0]
    assert warm_s(cooled, life) > 1.5 * cooled.stiff_s


def test_the_band_of_cooling_comes_from_joint_sheet_and_mold():
    """Each is among the doubts; without the bands of the stock only the joint is left."""
    run = usual_run(SHEET, CLASS, heat_up(SHEET, CLASS))
    cooled = part_cooling(run, PETG)
    bare = part_cooling(
        replace(run, sheet=replace(SHEET, plastic=replace(SHEET.plastic, bands={}))),
        replace(PETG, filament=replace(PETG.filament, bands={})),
    )
    words = [one.what for one in cooled.doubts]

    assert [one.what for one in bare.doubts] == [words[0]]
    assert "joint" in words[0]
    assert any(what.startswith("sheet: ") for what in words)
    assert any(what.startswith("mold: ") for what in words)
    assert cooled.band_s[0] < bare.band_s[0] < cooled.stiff_s < bare.band_s[1] < cooled.band_s[1]
    # The joint at its ends, marched with all steps.
    good = replace(bare.laid, touch_W_m2K=TOUCH_BAND_W_m2K[1])
    assert bare.band_s[0] == pytest.approx(_marched_s(good), rel=0.01)


def _marched_s(laid):
    from moldgen.table.cool import _stiff_s

    return _stiff_s([laid])[0]


@pytest.mark.parametrize(("height_mm", "reckoned_mm"), [(0.2, 1.0), (12.0, 12.0), (900.0, 500.0)])
def test_a_mold_is_reckoned_within_limits(height_mm, reckoned_mm):
    """Very low and very high ones count as the lowest and highest there is."""
    assert printed_mold(PETG.filament, height_mm).height_mm == reckoned_mm
