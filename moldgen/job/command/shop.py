"""What commands share: materials and machines, the draw direction, units of a mesh."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from moldgen.job.spec import (
    FilamentName,
    Gauge,
    MachineName,
    Plastic,
    PrinterName,
    ReadUnits,
    StockFile,
)
from moldgen.quantity import Spec
from moldgen.units_text import Units


class DrawDirection(StrEnum):
    """Which way the part comes off a mesh."""

    Z = "z"
    MINUS_Z = "-z"
    X = "x"
    MINUS_X = "-x"
    Y = "y"
    MINUS_Y = "-y"


class MeshUnit(StrEnum):
    """What one unit of a mesh file is."""

    MICRON = "micron"
    MM = "mm"
    CM = "cm"
    M = "m"
    IN = "in"
    FT = "ft"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopOptions(Spec):
    """Sheet and machines: what every command with a sheet can say."""

    plastic: Plastic = "HIPS"
    gauge_mm: Gauge = 1.5
    machine: MachineName = "classroom-450x300"
    printer: PrinterName = "medium"
    filament: FilamentName = "PETG"
    units: ReadUnits = Units.MM
    stock: StockFile = ""
