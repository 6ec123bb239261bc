"""What the print bears under the vacuum, and what it may."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon
from support.molds import (
    MACHINE,
    PRINTER,
    SHOP,
    at,
    disc,
    plain,
    plate,
    screw_tray,
    sunk,
    tide_sign,
    whole,
)
from support.some import some

from moldgen.errors import SpecError
from moldgen.finding import Severity, sentence
from moldgen.mold.load.bearing import (
    MOST_BEND_MM,
    BearingPart,
    LoadCase,
    PrintStructure,
    ceilings_of,
    infill_spacing_mm,
    pads_of,
    ribs_of,
    shell_share,
    skin_of,
    walls_of,
)
from moldgen.mold.load.load import check_load, measure_load
from moldgen.mold.load.strength import DEFLECTION_MODULUS_MPa, allowed_at
from moldgen.physics.plate import strip, upright
from moldgen.printing.skin import infill_advice
from moldgen.stock.infill import USUAL_INFILL

FEW = settings(max_examples=25, deadline=None)
PLA = SHOP.filament("PLA")
COLD = allowed_at(PLA, 23)


@cache
def made(name):
    """Return a whole mold."""
    fin = plain(plate(60, 10), 60, top_radius_mm=2)
    return whole({"sign": tide_sign, "tray": screw_tray, "fin": lambda: fin}[name]())


def _load(name, filament=PLA, **spec):
    mold = made(name)
    return measure_load(
        mold.raw.plans, [mold.underside], mold.vents.vents, mold.relief,
        machine=MACHINE, printer=PRINTER, filament=filament, spec=PrintStructure(**spec),
    )  # fmt: skip


def _of(load, part):
    return next(one for one in load.borne if one.part is part)


def test_cold_a_third_of_the_strength_is_allowed():
    """And the full modulus; across the layers a third of what is told across them."""
    assert COLD.along_MPa == pytest.approx(PLA.strength_MPa / 3)
    assert COLD.across_MPa == pytest.approx(12.2 / 3)
    assert COLD.modulus_MPa == PLA.modulus_MPa
    assert allowed_at(PLA, -10) == replace(COLD, mold_degC=-10)


def test_warm_a_fifth_and_hot_nothing():
    """At the service limit, and from the heat deflection temperature on."""
    warm, hot = allowed_at(PLA, PLA.service_degC), allowed_at(PLA, PLA.deflection_degC)
    assert warm.across_MPa == pytest.approx(12.2 / 5)
    assert (hot.along_MPa, hot.across_MPa) == (0, 0)
    assert hot.modulus_MPa == pytest.approx(DEFLECTION_MODULUS_MPa)


def test_the_modulus_at_the_deflection_temperature_is_its_definition():
    """0.455 MPa at the strain of a bar 12.7 high, on 100 mm, bent by 0.25 mm: 6 d y / l^2."""
    strain = 6 * 12.7 * 0.25 / 100**2
    assert pytest.approx(0.455 / strain, rel=0.01) == DEFLECTION_MODULUS_MPa
    # At the higher of the two standard stresses it would be four times as much.
    assert 1.82 / strain > 3 * DEFLECTION_MODULUS_MPa


@FEW
@given(st.sampled_from(list(SHOP.filaments.names)), st.floats(0, 150), st.floats(0.5, 30))
def test_warmer_never_bears_more(name, mold_degC, warmer):
    """For every filament of the stock, stress and modulus fall."""
    filament = SHOP.filament(name)
    one, two = allowed_at(filament, mold_degC), allowed_at(filament, mold_degC + warmer)
    assert two.along_MPa <= one.along_MPa
    assert two.across_MPa <= one.across_MPa
    assert two.modulus_MPa <= one.modulus_MPa
    assert two.modulus_MPa > 0


def test_a_stroke_and_its_shells():
    """Solid up to twice the shells; five shells thick it has 78 % of a solid wall's stiffness."""
    assert shell_share(2.0, 1.2) == 1
    assert shell_share(2.4, 1.2) == 1
    assert shell_share(6.0, 1.2) == pytest.approx(1 - 0.6**3)


def test_infill_of_two_directions():
    """15 % of 0.4 mm lines: one every 5.33 mm each way, which fills 7.5 % twice."""
    assert infill_spacing_mm(0.15, 0.4) == pytest.approx(5.3333, abs=1e-4)
    assert 2 * 0.4 / infill_spacing_mm(0.3, 0.4) == pytest.approx(0.3)


def test_the_skin_is_a_clamped_strip_over_the_infill():
    """Against the plate formula with its span and thickness."""
    load = _load("sign", infill=0.1, skin_mm=0.8)
    skin = _of(load, BearingPart.SKIN)
    bent = strip(8.0, 0.8, pressure_kPa=MACHINE.vacuum_kPa, modulus_MPa=load.allowed.modulus_MPa)
    assert skin.stress_MPa == pytest.approx(bent.stress_MPa)
    assert skin.bend_mm == pytest.approx(bent.deflection_mm)
    assert skin.most_bend_mm == pytest.approx(0.04)
    assert load.infill_mm == pytest.approx(8.0)


def test_the_least_skin_bears_and_a_layer_less_does_not():
    """In whole layers."""
    for infill in (0.03, 0.05, 0.15):
        load = _load("sign", infill=infill)
        layers = load.least_skin_mm / PRINTER.layer_mm
        assert layers == pytest.approx(round(layers))
        assert (
            _of(_load("sign", infill=infill, skin_mm=load.least_skin_mm), BearingPart.SKIN).used
            <= 1
        )
        if layers > 1.5:
            thinner = load.least_skin_mm - PRINTER.layer_mm
            assert _of(_load("sign", infill=infill, skin_mm=thinner), BearingPart.SKIN).used > 1


def test_the_force_is_the_vacuum_on_the_foot():
    """A plate of 110 x 44 with its draft under 50.8 kPa."""
    mold = made("sign")
    assert _load("sign").force_N == pytest.approx(50.795835e-3 * mold.root.outer.area)


def test_pads_bear_what_the_channels_do_not():
    """Pressure times foot over what is left of it."""
    mold = made("tray")
    case = LoadCase(80.0, COLD, PrintStructure())
    pads = pads_of(mold.root, mold.underside, case)
    cut = shapely.intersection(mold.underside.airways, mold.root.outer).area
    left = mold.root.outer.area - cut
    assert pads.stress_MPa * left == pytest.approx(0.08 * mold.root.outer.area)
    assert pads.allowed_MPa == COLD.across_MPa


def test_the_ceiling_is_as_wide_as_it_measures():
    """The widest place of a channel; never thicker than the mold there, nor than two skins."""
    mold = made("sign")
    case = LoadCase(80.0, COLD, PrintStructure())
    found = list(ceilings_of(mold.root, mold.underside, mold.vents.vents, mold.relief, case))
    assert found
    for one in found:
        x, y, z = one.where_mm
        assert z == mold.underside.spec.depth_mm
        assert shapely.intersects_xy(mold.underside.channels, x, y)
        assert one.span_mm <= mold.underside.spec.bridge_mm + 0.2
        row, column = mold.relief.cells(np.array([[x, y]]))[0]
        over = mold.relief.on_table_mm[row, column] - z
        assert one.thickness_mm <= min(over, 2.4) + 1e-9
    thick = LoadCase(80.0, COLD, PrintStructure(skin_mm=10))
    solid = next(ceilings_of(mold.root, mold.underside, mold.vents.vents, mold.relief, thick))
    assert solid.thickness_mm == pytest.approx(6 - 1.2, abs=1e-6)


def test_a_straight_fin_is_its_formula():
    """60 mm tall, its foot 10 mm and the draft of both walls: across the layers."""
    plan = made("fin").root
    foot = 10 + 2 * 60 * np.tan(np.radians(4))
    case = LoadCase(80.0, COLD, PrintStructure(shell_mm=20))
    (fin,) = walls_of(plan, case)
    assert fin.thickness_mm == pytest.approx(foot, abs=0.05)
    bent = upright(60, fin.thickness_mm, pressure_kPa=80, modulus_MPa=COLD.modulus_MPa)
    assert fin.stress_MPa == pytest.approx(bent.stress_MPa)
    assert fin.allowed_MPa == COLD.across_MPa
    middle = fin.thickness_mm - 60 * np.tan(np.radians(4))
    slimmer = upright(60, middle, pressure_kPa=80, modulus_MPa=COLD.modulus_MPa)
    assert fin.bend_mm == pytest.approx(slimmer.deflection_mm)
    hollow = next(walls_of(plan, LoadCase(80.0, COLD, PrintStructure(shell_mm=1.2))))
    share = shell_share(fin.thickness_mm, 1.2)
    assert hollow.stress_MPa * share == pytest.approx(fin.stress_MPa)


def test_ribs_stand_between_recesses():
    """As thick as the floors are apart, as high as the deeper recess; a disc alone has none."""
    apart = plain(plate(80, 50), 40, top_radius_mm=3)
    tray = replace(
        apart,
        children=(
            sunk("a", at(plate(30, 40, 2), -18, 0), 37),
            sunk("b", at(plate(30, 40, 2), 18, 0), 30),
        ),
    )
    plans = whole(tray).raw.plans
    case = LoadCase(80.0, COLD, PrintStructure())
    (rib,) = ribs_of(plans, case)
    assert rib.span_mm == pytest.approx(37)
    between = plans[1].flat.distance(plans[2].flat)
    assert rib.thickness_mm == pytest.approx(between, abs=0.1)
    assert abs(rib.where_mm[0]) < 1.5
    alone = whole(replace(apart, children=(sunk("a", disc(15), 30),))).raw.plans
    assert list(ribs_of(alone, case)) == []


def test_usual_molds_bear_the_vacuum():
    """Sign and tray: nothing to say, the worst of each kind told, the most used first."""
    for name in ("sign", "tray"):
        load = _load(name)
        assert check_load(load) == ()
        assert [one.used for one in load.borne] == sorted(
            (one.used for one in load.borne), reverse=True
        )
        assert {one.part for one in load.borne} == set(BearingPart)


def test_a_tall_fin_is_told():
    """It gives too far; the sentence has place, measure, limit and cure."""
    (one,) = check_load(_load("fin"))
    assert one.code == "load-wall"
    assert one.severity is Severity.CAUTION
    assert one.unit == "mm"
    assert one.limit == MOST_BEND_MM
    assert one.measured > one.limit
    assert "gives too much" in sentence(one) or "thin for its height" in sentence(one)
    assert "Roark" in one.basis


def test_a_thin_skin_is_told_with_the_one_it_takes():
    """Two layers over 2 % infill."""
    load = _load("sign", infill=0.02, skin_mm=0.4)
    one = next(one for one in check_load(load) if one.code == "load-skin")
    assert f"{load.least_skin_mm:.3g} mm of skin" in one.advice
    assert one.severity is Severity.STOP


def test_three_times_too_much_is_a_stop():
    """Twice is a caution, in stress or in bend, whichever is further over."""
    load = _load("sign")
    skin = _of(load, BearingPart.SKIN)
    for times, severity in ((2.0, Severity.CAUTION), (4.0, Severity.STOP)):
        stressed = replace(skin, stress_MPa=times * skin.allowed_MPa)
        bent = replace(skin, bend_mm=times * skin.most_bend_mm)
        for one, unit in ((stressed, "MPa"), (bent, "mm")):
            (told,) = check_load(replace(load, borne=(one,)))
            assert told.severity is severity
            assert told.unit == unit
            assert told.measured == pytest.approx(times * told.limit)
            assert ("bears too much" if unit == "MPa" else "gives too much") in told.says


def test_a_mold_at_its_deflection_temperature_bears_nothing():
    """Everything is too much, and no skin is enough."""
    load = _load("sign", mold_degC=60)
    assert {one.severity for one in check_load(load)} == {Severity.STOP}
    assert len(check_load(load)) == len(load.borne)
    assert np.isinf(load.least_skin_mm)
    abs_ = _load("sign", filament=SHOP.filament("ABS"), mold_degC=60)
    assert check_load(abs_) == ()


@FEW
@given(st.floats(10, 100), st.floats(0.05, 0.5), st.floats(0.4, 3))
def test_more_vacuum_is_never_easier(vacuum, infill, skin):
    """And denser infill or thicker skin never worse."""
    spec = PrintStructure(infill=infill, skin_mm=skin)
    spacing = infill_spacing_mm(infill, 0.4)
    one = skin_of(spacing, LoadCase(vacuum, COLD, spec))
    more = skin_of(spacing, LoadCase(1.2 * vacuum, COLD, spec))
    thicker = skin_of(spacing, LoadCase(vacuum, COLD, replace(spec, skin_mm=1.2 * skin)))
    denser = skin_of(spacing / 1.2, LoadCase(vacuum, COLD, spec))
    assert more.used > one.used
    assert thicker.used < one.used
    assert denser.used < one.used


def test_a_region_without_facing_walls_has_no_wall():
    """A wide disc is no wall at all."""
    plan = whole(plain(disc(40), 10)).root
    assert list(walls_of(plan, LoadCase(80.0, COLD, PrintStructure()))) == []
    assert isinstance(plan.outer, MultiPolygon)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: PrintStructure(infill=0), r"infill must be more than 0 and at most 1"),
        (lambda: PrintStructure(skin_mm=-1), r"skin_mm must be more than 0 mm"),
        (
            lambda: PrintStructure(mold_degC=500),
            r"mold_degC must be at least 0 °C and at most 200 °C",
        ),
    ],
)
def test_bad_numbers_are_refused(call, words):
    """One sentence with field, rule and value."""
    with pytest.raises(SpecError, match=words):
        call()


def test_one_infill_is_taken_for_load_heat_and_estimate():
    """What nobody chooses is the same share everywhere, for commands as well."""
    from moldgen.job.command.heat import HeatCommand
    from moldgen.job.command.printing import MeasureCommand, SplitCommand
    from moldgen.printing.print_spec import PrintSpec
    from moldgen.table.printed_mold import PrintedMold

    mold = PrintedMold(filament=PLA)
    words = (HeatCommand(plastic="HIPS"), MeasureCommand(file="a.stl"), SplitCommand(file="a.stl"))
    assert {one.infill for one in (PrintStructure(), PrintSpec(), mold, *words)} == {USUAL_INFILL}


def test_the_usual_infill_is_bridged_and_its_skin_bears():
    """On every printer and with every filament in stock, as the usual share says of itself."""
    skin_mm = PrintStructure().skin_mm
    for printer in some(SHOP.printers.entries):
        spacing = infill_spacing_mm(USUAL_INFILL, printer.nozzle_mm)
        assert spacing <= printer.clean_bridge_mm
        assert spacing == pytest.approx(4 * printer.nozzle_mm / 0.4)
        for filament in some(SHOP.filaments.entries):
            advice = infill_advice(filament, printer, skin_mm=skin_mm)
            assert advice.enough
            assert advice.infill <= USUAL_INFILL
