"""The room: the table, printer, sheets and filaments that a person works with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from moldgen.errors import SpecError
from moldgen.job.any_job import spec_lines
from moldgen.job.form import form_of
from moldgen.job.printer_words import RoomPrinter
from moldgen.job.read import read_spec
from moldgen.job.spec import (
    FilamentName,
    Gauge,
    MachineName,
    Paper,
    PlanPaper,
    Plastic,
    PrinterName,
    ReadLanguage,
    ReadUnits,
)
from moldgen.job.strip_spec import StripHeaterName
from moldgen.job.write import toml_value
from moldgen.language.languages import Language
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.toml_file import read_toml
from moldgen.units_text import Units
from moldgen.user_file import ROOM, room_file, user_stock_file
from moldgen.wording import gauge_text

_LARGEST_FILE = 1_000_000
_HEAD = """\
# The room, as moldgen setup wrote it. Commands use it where nothing else is said.
# moldgen setup asks again; moldgen setup --forget removes this file.
"""
Entries = Mapping[str, Mapping[str, Mapping[str, Any]]]
"""Stock entries: kind, name, field."""


def _price(about: str) -> Quantity:
    return Quantity("", about, at_least=0, at_most=1e6)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomSheet(Spec):
    """A sheet in the cupboard."""

    plastic: Plastic = "HIPS"
    gauge_mm: Gauge = 1.5
    price: Annotated[float | None, _price("price of one sheet as it is clamped")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomFilament(Spec):
    """A filament on the shelf."""

    filament: FilamentName = "PETG"
    price_kg: Annotated[float | None, _price("price of a kilogram")] = None


_ANY_SHEET = (RoomSheet(),)
_ANY_FILAMENT = (RoomFilament(),)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRoom(Spec):
    """What there is in the room; of several the first is the usual one."""

    machine: MachineName = "classroom-450x300"
    printer: PrinterName = "medium"
    strip_heater: StripHeaterName = "wire-600"
    paper: PlanPaper = Paper.A4
    units: ReadUnits = Units.MM
    language: ReadLanguage = Language.EN
    currency: Annotated[str, Meaning("currency of the prices, such as EUR")] = ""
    sheet: Annotated[tuple[RoomSheet, ...], Meaning("sheets in the cupboard")] = _ANY_SHEET
    filament: Annotated[tuple[RoomFilament, ...], Meaning("filaments on the shelf")] = _ANY_FILAMENT
    printers: Annotated[
        tuple[RoomPrinter, ...], Meaning("printers that print side by side, if there are several")
    ] = ()

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        for field in ("sheet", "filament"):
            if not getattr(self, field):
                raise SpecError(field, "given at least once", "nothing", "Name the usual one.")
        if len(self.currency) > 8 or not self.currency.isprintable():
            raise SpecError("currency", "at most 8 letters", repr(self.currency[:20]))

    def sheet_price(self, plastic: str, gauge_mm: float) -> float | None:
        """Return what a sheet costs, in the room's currency; None if it has no price."""
        prices = {(one.plastic, one.gauge_mm): one.price for one in reversed(self.sheet)}
        return prices.get((plastic, gauge_mm))

    def print_price(self, filament: str, mass_g: float | None) -> float | None:
        """Return what a print costs, in the room's currency; None if that is not known."""
        prices = {one.filament: one.price_kg for one in reversed(self.filament)}
        price_kg = prices.get(filament)
        return None if price_kg is None or mass_g is None else price_kg * mass_g / 1000

    @property
    def options(self) -> dict[str, Any]:
        """What `moldgen.sign` and its like are told of this room: sheet, machines, paper.

        Gauge and filament stay open, to be chosen, until somebody has said what there is.
        """
        return {
            "plastic": self.sheet[0].plastic,
            "gauge_mm": None if self.sheet == _ANY_SHEET else self.sheet[0].gauge_mm,
            "machine": self.machine,
            "printer": self.printer,
            "filament": "" if self.filament == _ANY_FILAMENT else self.filament[0].filament,
            "paper": self.paper.value,
            "units": self.units.value,
        }

    @property
    def strip_options(self) -> dict[str, Any]:
        """What `moldgen.strip` is told of this room; the sheet that is bent is another."""
        return {
            "strip_heater": self.strip_heater,
            "printer": self.printer,
            "filament": self.filament[0].filament,
            "paper": self.paper.value,
            "units": self.units.value,
        }

    @property
    def sheet_words(self) -> tuple[str, ...]:
        """The sheets in the cupboard, written out; none until somebody has said what there is."""
        if self.sheet == _ANY_SHEET:
            return ()
        return tuple(f"{one.plastic} {gauge_text(one.gauge_mm)}" for one in self.sheet)

    def values(self, spec: type[Spec]) -> dict[str, Any]:
        """Return what this room puts in place of the usual values of a command, by field."""
        lines = {line.field: line for line in form_of(spec)}
        usual = self.options if {"gauge_mm", "sheets"} & set(lines) else {}
        usual = self.strip_options | usual | {
            "sheets": self.sheet_words, "printers": tuple(map(str, self.printers)),
        }  # fmt: skip
        return {
            field: value
            for field, value in usual.items()
            if field in lines and not lines[field].required and value not in (None, "", ())
        }


def load_room(stock_file: Path | None = None) -> OwnRoom:
    """Return the room that ``moldgen setup`` kept; the usual one if it kept none.

    Parameters
    ----------
    stock_file : path, optional
        The person's own stock file, beside which the room is kept.

    Raises
    ------
    FileError
        If the file cannot be read.
    SpecError
        If something in it is wrong.
    """
    path = room_file(stock_file or user_stock_file())
    if not path.exists():
        return OwnRoom()
    return room_from_words(_words(path), path)


def room_entries(stock_file: Path) -> Entries:
    """Return the stock entries in the room's file: the person's own table and printer."""
    path = room_file(stock_file)
    words = _words(path) if path.exists() else {}
    return {kind: entries for kind, entries in words.items() if kind != ROOM}


def room_from_words(words: Mapping[str, Any], path: Path) -> OwnRoom:
    """Return the room that the words of its file describe."""
    try:
        room = read_spec("", words.get(ROOM, {}), OwnRoom)
    except SpecError as problem:
        raise problem.at(f"{path}: {problem.field}") from None
    assert isinstance(room, OwnRoom)
    return room


def room_toml(room: OwnRoom, entries: Entries) -> str:
    """Return the file of a room and of the stock entries that are its own."""
    lines: Iterable[str] = (f"[{ROOM}]", *spec_lines(ROOM, room))
    return _HEAD + "\n".join((*lines, *_entry_lines(entries))) + "\n"


def entries_toml(entries: Entries) -> str:
    """Return a stock file of entries."""
    return "\n".join(("# Stock of one room, for the job beside it.", *_entry_lines(entries))) + "\n"


def _entry_lines(entries: Entries) -> Iterable[str]:
    for kind, named in entries.items():
        for name, fields in named.items():
            yield from ("", f'[{kind}."{name}"]')
            yield from (f"{field} = {toml_value(value)}" for field, value in fields.items())


def _words(path: Path) -> dict[str, Any]:
    return read_toml(path, kind="room's file", most_bytes=_LARGEST_FILE)
