"""Truth of heating, cooling, and how long a mold lasts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np
from conftest import published
from support.edge_conduction import COLD, HOT, flat_and_edge_degC
from support.heated_sheet import heated_sheet_s

from moldgen import trust
from moldgen.physics.heat.conduction import contact_degC
from moldgen.physics.heat.edge import edge_degC, edge_exponent
from moldgen.physics.heat.heating import INSULATED, Matter, SheetFace, stack
from moldgen.physics.heat.march import march
from moldgen.physics.heat.radiation import facing_view_factor
from moldgen.stock import Sheet, load_shop
from moldgen.table.cool import cool
from moldgen.table.heat_up import heat_up
from moldgen.table.mold_life import mold_life
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run
from moldgen.table.trial import Conditions
from truth.comparison import Comparison

SHOP = load_shop(user_file=None)
THIRD = 1.35
"""How far the trade's "about" reaches: a third either way."""
TRADE = {row["what"]: (float(row["low"]), float(row["high"])) for row in published("trade_heating")}


def comparisons() -> Iterator[Comparison]:
    """Return the rows."""
    yield from _conduction()
    yield from _table()
    yield from _on_the_mold()
    yield _life()


def _conduction() -> Iterator[Comparison]:
    rows = {row["what"]: float(row["printed"]) for row in published("lumped_plate")}
    yield Comparison(
        trust=trust.HEATING, quantity="coated plate to 150 °C by radiation and air", unit="s",
        program=partial(_plate_s, 0.8), wrong=partial(_plate_s, 0.7), known=rows["heated_s"],
        within=0.01, source="Incropera, Example 5.3",
    )  # fmt: skip
    flux = next(row for row in published("constant_flux") if row["fourier"] == "0.1")
    yield Comparison(
        trust=trust.HEATING, quantity="heated face under a steady flux, Fo 0.1", unit="q L/k",
        program=partial(_flux_rise, 0.1), wrong=partial(_flux_rise, 0.12),
        known=float(flux["heated_face"]), within=0.01,
        source="Carslaw and Jaeger, section 3.8, form from memory",
    )  # fmt: skip
    (view,) = [row for row in published("view_factors") if row["side_over_gap"] == "2"]
    yield Comparison(
        trust=trust.HEATING, quantity="view of a square by a heater as large, half a side away",
        unit="", program=partial(_view, 2.0), wrong=partial(_view, 1.8),
        known=float(view["factor"]), within=0.002, source="Incropera, Table 13.2",
    )  # fmt: skip


def _plate_s(emissivity: float) -> float:
    aluminum = Matter(conductivity_W_mK=177, density_kg_m3=2770, heat_J_kgK=875)
    hot = SheetFace(air_degC=175, film_W_m2K=40, glows=((175, emissivity),))
    course = march(
        stack((aluminum, 0.0015, 2)), 25.0, front=hot, back=INSULATED, duration_s=600, n_steps=600
    )
    return float(np.interp(150, course.fronts_degC[:, 0], course.times_s[:, 0]))


def _flux_rise(fourier: float) -> float:
    thick_m, own = 0.003, Matter(conductivity_W_mK=0.2, density_kg_m3=1000, heat_J_kgK=1000)
    course = march(
        stack((own, thick_m, 24)), 0.0, front=SheetFace(flux_W_m2=1.0), back=INSULATED,
        duration_s=fourier * thick_m**2 / 2e-7, n_steps=120,
    )  # fmt: skip
    return float(course.fronts_degC[-1, 0] * 0.2 / thick_m)


def _view(side_over_gap: float) -> float:
    return facing_view_factor((side_over_gap,) * 2, (side_over_gap,) * 2, 1.0)


def _table() -> Iterator[Comparison]:
    plain = {
        "thickness_mm": 1.5, "conductivity_W_mK": 0.15, "density_kg_m3": 1050.0,
        "heat_J_kgK": 1700.0, "heater_degC": 400.0, "share": 0.6, "room_share": 0.2,
        "back_film_W_m2K": 5.0, "back_degC": 127.0,
    }  # fmt: skip
    yield Comparison(
        trust=trust.HEATING, quantity="1.5 mm sheet until its back is at 127 °C", unit="s",
        program=partial(_marched_s, plain), wrong=partial(_marched_s, plain | {"share": 0.57}),
        known=heated_sheet_s(**plain), within=0.01,
        source="independent: explicit finite differences of the same faces",
    )  # fmt: skip
    for gauge_mm in (0.75, 1.5):
        low_s, high_s = TRADE[f"HIPS {gauge_mm:g} mm s"]
        yield Comparison(
            trust=trust.HEATING, quantity=f"{gauge_mm:g} mm styrene on the classroom table",
            unit="s", program=partial(_forming_s, gauge_mm),
            wrong=partial(_forming_s, 2 * gauge_mm), known=(low_s / THIRD, high_s * THIRD),
            within=0.001, source=f"common practice, no source: about {low_s:g} s",
        )  # fmt: skip
    low_s, high_s = TRADE["stiff s"]
    yield Comparison(
        trust=trust.COOLING, quantity="0.75 mm styrene stiff on a printed mold", unit="s",
        program=partial(_stiff_s, 20.0), wrong=partial(_stiff_s, 75.0), known=(low_s, high_s),
        within=0.001, source="common practice, no source: within seconds",
    )  # fmt: skip


def _marched_s(plain: dict[str, float]) -> float:
    """Return the same by the program's march, whose faces are put together here."""
    own = Matter(
        conductivity_W_mK=plain["conductivity_W_mK"], density_kg_m3=plain["density_kg_m3"],
        heat_J_kgK=plain["heat_J_kgK"],
    )  # fmt: skip
    front = SheetFace(glows=((plain["heater_degC"], plain["share"]), (20.0, plain["room_share"])))
    back = SheetFace(air_degC=20.0, film_W_m2K=plain["back_film_W_m2K"], glows=((20.0, 0.9),))
    course = march(
        stack((own, plain["thickness_mm"] / 1000, 12)), 20.0, front=front, back=back,
        duration_s=120.0, n_steps=200,
    )  # fmt: skip
    return float(np.interp(plain["back_degC"], course.backs_degC[:, 0], course.times_s[:, 0]))


def _forming_s(gauge_mm: float) -> float:
    sheet = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=gauge_mm)
    machine = SHOP.machine("classroom-450x300")
    return heat_up(sheet, machine, day=Conditions(fan=True)).forming_s


def _stiff_s(mold_degC: float) -> float:
    sheet = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=0.75)
    return cool(sheet, PrintedMold(filament=SHOP.filament("PETG")), mold_degC=mold_degC).stiff_s


def _on_the_mold() -> Iterator[Comparison]:
    own = {row["material"]: float(row["effusivity"]) for row in published("effusivity")}
    (met,) = [row for row in published("contact") if (row["sheet"], row["body"]) == ("HIPS", "PLA")]
    yield Comparison(
        trust=trust.COOLING, quantity="styrene of 150 °C meets PLA of 25 °C", unit="°C",
        program=lambda: contact_degC(150, own["HIPS"], 25, own["PLA"]),
        wrong=lambda: contact_degC(150, own["ABS"], 25, own["PLA"]),
        known=float(met["contact_degC"]), within=0.005,
        source="Carslaw and Jaeger, form from memory; data of Crawford's Table 1.8",
    )  # fmt: skip
    flat, edge = flat_and_edge_degC(1.5, 1.0, 9)
    yield Comparison(
        trust=trust.COOLING, quantity="edge rounded 1.5 mm under 1 mm styrene for 9 s", unit="°C",
        program=partial(_edge_degC, flat, 1.5), wrong=partial(_edge_degC, flat, 0.0),
        known=edge, within=0.04,
        source="independent: finite differences in two dimensions",
    )  # fmt: skip


def _edge_degC(flat_degC: float, radius_mm: float) -> float:
    (told,) = edge_degC(
        np.array([flat_degC]), np.array([COLD]), HOT, exponent=edge_exponent(radius_mm, 1.0)
    )
    return float(told)


def _life() -> Comparison:
    cycles = max(int(row["cycles"]) for row in published("mold_cycles"))
    return Comparison(
        trust=trust.MOLD_LIFE, quantity="formings of 1 mm foil that a PLA mold stands, at most",
        unit="", program=partial(_cycles, None), wrong=partial(_cycles, 0.6),
        known=(float(cycles), 10.0), within=0.001,
        source="Materials 2023, 16(13), 4835: three formings without harm",
    )  # fmt: skip


def _cycles(allowed_mm: float | None) -> float:
    sheet = Sheet(plastic=SHOP.plastic("PETG"), gauge_mm=1.0)
    run = Run(sheet=sheet, heat_s=40.0)
    run = run if allowed_mm is None else replace(run, allowed_mm=allowed_mm)
    most = mold_life(run, PrintedMold(filament=SHOP.filament("PLA"))).in_a_row_band[1]
    return float("inf") if most is None else float(most)
