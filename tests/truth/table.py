"""Truth of air, strength, strips and prints."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from math import pi, radians, tan

from conftest import published
from shapely import MultiPolygon, Point
from support.heated_line import referee
from support.logbook_stand import strip
from support.print_jobs import printed
from support.printed import BED, PETG

from moldgen import trust
from moldgen.bend.heat.dwell import Dwell, dwell
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend
from moldgen.mold.build import build_raw_mold
from moldgen.mold.features import Feature, Wall
from moldgen.physics.air.airflow import ATMOSPHERE_kPa, emptying_time_s, orifice_flow_kg_s
from moldgen.physics.air.passage import hole
from moldgen.physics.air.pumping import Receiver, evacuate
from moldgen.physics.bending import allowance_mm
from moldgen.physics.plate import PlateEdge, deflection_coefficient, stress_coefficient
from moldgen.printing.estimate import estimate
from moldgen.printing.print_spec import PrintSpec
from moldgen.solid.mesh import joined
from moldgen.stock import Plastic, load_shop
from moldgen.stock.strip_heater import StripHeater
from moldgen.table.matter import matter_of
from truth.comparison import Comparison

SHOP = load_shop(user_file=None)
ACRYLIC = SHOP.plastic("PMMA cast")
WIRE = SHOP.strip_heater("wire-600")
TUBE = SHOP.strip_heater("tube-900")
OPEN = Bend(angle_deg=90)


def comparisons() -> Iterator[Comparison]:
    """Return the rows."""
    yield _frustum()
    yield from _air()
    yield from _plates()
    yield from _strips()
    yield from _dwells()
    yield from _prints()


def _frustum() -> Comparison:
    foot_mm = 30 + 20 * tan(radians(5))
    exact = pi * 20 / 3 * (30**2 + 30 * foot_mm + foot_mm**2)
    return Comparison(
        trust=trust.SIZES, quantity="volume of a round mold, top 60 mm, 20 mm tall, 5°", unit="mm³",
        program=partial(_volume_mm3, 5.0), wrong=partial(_volume_mm3, 4.5), known=exact,
        within=1e-3, source="the closed form of a frustum",
    )  # fmt: skip


def _volume_mm3(draft_deg: float) -> float:
    wall = Wall(height_mm=20, draft_deg=draft_deg, top_radius_mm=0, base_radius_mm=0)
    disc = MultiPolygon([Point(0, 0).buffer(30, quad_segs=128)])
    return joined(build_raw_mold([Feature(name="disc", region=disc, wall=wall)]).meshes).volume_mm3


def _air() -> Iterator[Comparison]:
    tire = published("air_examples")[0]
    yield Comparison(
        trust=trust.VACUUM, quantity="air out of a flat tire, 4 mm hole", unit="kg/s",
        program=partial(_flow_kg_s, 314), wrong=partial(_flow_kg_s, 220),
        known=float(tire["kg_s"]), within=float(tire["within"]),
        source="Cengel and Cimbala, Fluid Mechanics, Example 12-5",
    )  # fmt: skip
    rows = {row["what"]: float(row["seconds"]) for row in published("air_tire")}
    area_mm2 = pi / 4 * (0.0938 * 25.4) ** 2
    yield Comparison(
        trust=trust.VACUUM, quantity="time constant of a tire of 1 cubic foot", unit="s",
        program=lambda: emptying_time_s(28.3168, area_mm2, temperature_K=294.26),
        wrong=lambda: emptying_time_s(28.3168, 0.8 * area_mm2, temperature_K=294.26),
        known=rows["time constant"], within=0.003,
        source="Balmer, Modern Engineering Thermodynamics, Example 16.8",
    )  # fmt: skip
    (row,) = [
        row for row in published("air_blow_down")
        if (row["tank"], row["pressure_ratio"]) == ("0.2", "0.3")
    ]  # fmt: skip
    yield Comparison(
        trust=trust.VACUUM, quantity="volume emptied to 0.3 into a tank at 0.2",
        unit="time constants",
        program=partial(_emptied, 0.3), wrong=partial(_emptied, 0.31), known=float(row["times"]),
        within=0.001, source="derived: mass balance by quadrature",
    )  # fmt: skip


def _flow_kg_s(upstream_kPa: float) -> float:
    return float(orifice_flow_kg_s(12.56637, upstream_kPa, 94, temperature_K=298.15))


def _emptied(ratio: float) -> float:
    held = Receiver(volume_L=1e9, start_kPa=0.2 * ATMOSPHERE_kPa)
    course = evacuate(hole(1, cd=1), held, swept_L=0, left_L=1, target_kPa=0.25 * ATMOSPHERE_kPa)
    return course.when_s(ratio * ATMOSPHERE_kPa) / emptying_time_s(1, 1)


def _plates() -> Iterator[Comparison]:
    row = published("plate_coefficients")[0]
    for name, ours in (("stress", stress_coefficient), ("deflection", deflection_coefficient)):
        yield Comparison(
            trust=trust.STRENGTH, quantity=f"{name} of a clamped square skin", unit="Roark's",
            program=partial(ours, 1.0, 1.0, PlateEdge.CLAMPED),
            wrong=partial(ours, 1.5, 1.0, PlateEdge.CLAMPED),
            known=float(row["clamped_beta_ritz" if name == "stress" else "clamped_alpha_ritz"]),
            within=0.01, source="a Ritz solution, derived; Roark, Table 11.4, case 8a",
        )  # fmt: skip


def _strips() -> Iterator[Comparison]:
    metal = {row["what"]: row for row in published("bend_metal")}
    row = metal["workbook allowance"]
    own = [float(row[name]) for name in ("angle_deg", "radius_in", "thickness_in")]
    yield Comparison(
        trust=trust.FLAT_LENGTH, quantity="bend allowance of a workbook's part", unit="in",
        program=lambda: allowance_mm(*own, neutral=0.0078 / 0.01743),
        wrong=lambda: allowance_mm(*own, neutral=0.33), known=0.085, within=0.006,
        source="a sheet-metal workbook, 90 degree bends",
    )  # fmt: skip
    (length,) = [row for row in published("bend_strip") if row["what"] == "length_mm"]
    yield Comparison(
        trust=trust.FLAT_LENGTH, quantity="flat length of a strip of two bends", unit="mm",
        program=lambda: build_layout(strip()).developed_mm,
        wrong=lambda: build_layout(strip(thickness_mm=3.2)).developed_mm,
        known=float(length["first"]), within=1e-6,
        source="derived: BA = A (R + K T), K 0.5",
    )  # fmt: skip


def _dwells() -> Iterator[Comparison]:
    yield Comparison(
        trust=trust.DWELL, quantity="3 mm acrylic over a wire, a side, of two", unit="s",
        program=partial(_side_s, WIRE), wrong=partial(_side_s, TUBE),
        known=(120 / 1.35, 120 * 1.35), within=0.001,
        source="common practice, no source: two minutes a side",
    )  # fmt: skip
    yield Comparison(
        trust=trust.DWELL, quantity="mean temperature on the line when told to bend", unit="°C",
        program=partial(_mean_degC, ACRYLIC.name), wrong=partial(_mean_degC, "ABS"),
        known=_followed_degC(), within=0.015,
        source="independent: enthalpy by finite differences in two dimensions",
    )  # fmt: skip


def _found(heater: StripHeater = WIRE, plastic: Plastic = ACRYLIC) -> Dwell:
    made = strip(thickness_mm=3.0, plastic=plastic.name, bends=(OPEN,), legs_mm=(90.0, 90.0))
    return dwell(made, OPEN, heater, plastic)


def _side_s(heater: StripHeater) -> float:
    return _found(heater).side_s


def _mean_degC(plastic: str) -> float:
    return _found(plastic=SHOP.plastic(plastic)).mean_degC


def _followed_degC() -> float:
    found = _found()
    seen = referee(WIRE, matter_of(ACRYLIC), 3.0, [found.side_s] * found.n_sides)
    return float(seen.means_degC[0])


def _prints() -> Iterator[Comparison]:
    rows = published("print_estimates")
    for row in (rows[0], rows[len(rows) // 2]):
        for column, unit in (("seconds", "s"), ("grams", "g")):
            yield Comparison(
                trust=trust.PRINTING, quantity=f"{column} of the print '{row['job']}'", unit=unit,
                program=partial(_print, row, column, 1.0), wrong=partial(_print, row, column, 0.4),
                known=float(row[column]), within=0.10 if unit == "s" else 0.05,
                source="a general slicer with a look-ahead planner", slow=True,
            )  # fmt: skip


def _print(row: dict[str, str], column: str, share: float) -> float:
    bed = replace(
        BED, nozzle_mm=float(row["nozzle_mm"]), layer_mm=float(row["layer_mm"]), least_wall_mm=1.2,
        acceleration_mm_s2=float(row["acceleration_mm_s2"]),
    )  # fmt: skip
    spec = PrintSpec(
        walls=int(row["walls"]), skins=int(row["skins"]), infill=share * float(row["infill"]),
        wall_mm_s=float(row["wall_mm_s"]), bridge_mm_s=float(row["wall_mm_s"]),
        fill_mm_s=float(row["fill_mm_s"]),
    )  # fmt: skip
    one = estimate(printed(row["job"]), filament=PETG, printer=bed, spec=spec)
    return one.time_s if column == "seconds" else one.mass_g
