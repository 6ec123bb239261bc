"""What the shop has, as small data files with a source per value."""

from moldgen.stock.drill import Drill, load_drills, nearest_drill
from moldgen.stock.entry import Structure
from moldgen.stock.filament import Filament
from moldgen.stock.forming_machine import FormingMachine, HeaterKind
from moldgen.stock.gauge import Gauge
from moldgen.stock.insert import Insert, InsertKind
from moldgen.stock.plastic import Plastic, Sheet
from moldgen.stock.printer import Printer
from moldgen.stock.shop import Shop, load_shop, shop_from_texts
from moldgen.stock.strip_heater import ElementKind, StripHeater
from moldgen.user_file import user_stock_file

__all__ = [
    "Drill",
    "ElementKind",
    "Filament",
    "FormingMachine",
    "Gauge",
    "HeaterKind",
    "Insert",
    "InsertKind",
    "Plastic",
    "Printer",
    "Sheet",
    "Shop",
    "StripHeater",
    "Structure",
    "load_drills",
    "load_shop",
    "nearest_drill",
    "shop_from_texts",
    "user_stock_file",
]
