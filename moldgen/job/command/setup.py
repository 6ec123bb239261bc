"""What can be typed after the setup command, and the room it stands for."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from moldgen.errors import SpecError
from moldgen.job.printer_words import printers_from
from moldgen.job.room import Entries, OwnRoom, RoomFilament, RoomSheet
from moldgen.job.spec import Paper
from moldgen.language.languages import Language
from moldgen.quantity import Meaning, Quantity, Spec, quantities
from moldgen.stock import FormingMachine, HeaterKind, Printer, Shop
from moldgen.units_text import Units
from moldgen.wording import shown
from moldgen.written_number import measure, parted_size

OWN_MACHINE, OWN_PRINTER = "our-table", "our-printer"
_PAST_OPENING_MM = 50.0
"""A heater is this much longer than the opening of its clamp, as those in stock are. [mm]."""
_BETWEEN = re.compile(r";|,(?=\s*[^\W\d])")
"""Between two things: a comma before a figure is a decimal point."""
_SHEET = re.compile(r"(?P<plastic>\D.*?)\s+(?P<gauge>[\d.,][^=]*?)\s*(?:=\s*(?P<price>.*))?")
_FILAMENT = re.compile(r"(?P<name>[^=]*?)\s*(?:=\s*(?P<price>.*))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupCommand(Spec):
    """What the setup command can say; what is left out stays as it is."""

    machine: Annotated[
        str, Meaning('forming table: a name of moldgen stock machine, or the opening of your own'
                     ' clamp, "450 x 300"')
    ] = ""  # fmt: skip
    table: Annotated[
        str, Meaning('of your own table: the plate, "450 x 300"; as the opening if left out')
    ] = ""
    holes: Annotated[
        str, Meaning('of your own table: holes, from center to center x diameter, "15 x 2"')
    ] = ""
    tallest_mm: Annotated[
        float | None,
        Quantity("mm", "of your own table: greatest mold height", above=0, at_most=5000),
    ] = None
    heater: Annotated[
        HeaterKind | None, Meaning("of your own table: coil, ceramic, quartz or oven")
    ] = None
    printer: Annotated[
        str, Meaning('printer: a name of moldgen stock printer, or what yours builds,'
                     ' "220 x 220 x 250"')
    ] = ""  # fmt: skip
    printers: Annotated[
        str, Meaning('printers that print side by side, if there are several: "2 x medium; large"')
    ] = ""
    currency: Annotated[str, Meaning("currency of prices, such as EUR; none if left out")] = ""
    filaments: Annotated[
        str, Meaning('filaments, the usual one first, with the price of a kg: "PETG = 25; PLA"')
    ] = ""
    sheets: Annotated[
        str, Meaning('sheets in the cupboard, the usual one first, with the price of one:'
                     ' "HIPS 1.5 = 3.20; ABS 2"')
    ] = ""  # fmt: skip
    strip_heater: Annotated[str, Meaning("strip heater: a name of moldgen stock strip-heater")] = ""
    paper: Annotated[Paper | None, Meaning("A4 or Letter, for plans at 1:1")] = None
    units: Annotated[Units | None, Meaning("mm or inch, for what people read")] = None
    language: Annotated[Language | None, Meaning("en, de, es or fr, for what people read")] = None
    show: Annotated[bool, Meaning("show the room and where it is kept")] = False
    forget: Annotated[bool, Meaning("forget the room")] = False


OF_OWN_TABLE = ("table", "holes", "tallest_mm", "heater")
"""Fields that are asked only of a table that is not in stock."""
NOT_ASKED = ("printers",)
"""Fields that few rooms need: typed, never asked."""


def room_from_answers(
    said: SetupCommand, before: OwnRoom, entries: Entries, shop: Shop
) -> tuple[OwnRoom, dict[str, dict[str, Any]]]:
    """Return the room as it is with these answers, and the stock entries that are its own.

    Parameters
    ----------
    said : SetupCommand
        The answers.
    before : OwnRoom
        What holds where nothing is said.
    entries : mapping
        The room's own stock entries until now.
    shop : Shop
        What there is in stock.

    Raises
    ------
    SpecError
        If an answer cannot be read, names nothing in stock, or does not go with another.
    """
    own = {kind: dict(named) for kind, named in entries.items()}
    changes: dict[str, Any] = {}
    opening = parted_size(said.machine, 2)
    if opening:
        own["machine"] = {OWN_MACHINE: _own_machine(said, opening, shop)}
        changes["machine"] = OWN_MACHINE
    else:
        _refuse_of_own(said)
        if said.machine:
            changes["machine"] = shop.machines.find(said.machine).name
    build = parted_size(said.printer, 3)
    if build:
        own["printer"] = {OWN_PRINTER: _own_printer(build, shop)}
        changes["printer"] = OWN_PRINTER
    elif said.printer:
        changes["printer"] = shop.printers.find(said.printer).name
    if said.printers:
        changes["printers"] = tuple(
            replace(one, printer=shop.printers.find(one.printer, field="printers").name)
            for one in printers_from("printers", [said.printers])
        )
    if said.strip_heater:
        changes["strip_heater"] = shop.strip_heaters.find(said.strip_heater).name
    currency = said.currency or before.currency
    lists = {
        "filament": tuple(_filaments(said.filaments, shop, currency)),
        "sheet": tuple(_sheets(said.sheets, shop, currency)),
    }
    changes |= {field: value for field, value in lists.items() if value}
    if said.paper is not None:
        changes["paper"] = said.paper
    if said.units is not None:
        changes["units"] = said.units
    if said.language is not None:
        changes["language"] = said.language
    return replace(before, currency=currency, **changes), own


def _refuse_of_own(said: SetupCommand) -> None:
    for field in OF_OWN_TABLE:
        if getattr(said, field):
            hint = 'Write the opening of your clamp as machine, "450 x 300".'
            raise SpecError(field, "used with a table of your own", said.machine or "none", hint)


def _own_machine(said: SetupCommand, opening: tuple[str, ...], shop: Shop) -> dict[str, Any]:
    """Return the fields of a table that is not in stock; the rest is that of the nearest one."""
    width_mm, depth_mm = _lengths_mm("machine", opening)
    base = min(
        (machine for machine in shop.machines.entries if machine.name != OWN_MACHINE),
        key=lambda one: abs(one.opening_width_mm * one.opening_depth_mm - width_mm * depth_mm),
    )
    table = _size_mm("table", said.table, "450 x 300") if said.table else (width_mm, depth_mm)
    _check_opening(said, (width_mm, depth_mm), table)
    fields: dict[str, Any] = {
        "title": f"Own table, opening {width_mm:g} x {depth_mm:g} mm",
        "table_width_mm": table[0],
        "table_depth_mm": table[1],
        "opening_width_mm": width_mm,
        "opening_depth_mm": depth_mm,
        "sheet_width_mm": width_mm + 2 * base.clamp_margin_mm,
        "sheet_depth_mm": depth_mm + 2 * base.clamp_margin_mm,
        "heater_width_mm": width_mm + _PAST_OPENING_MM,
        "heater_depth_mm": depth_mm + _PAST_OPENING_MM,
    }
    if said.holes:
        pitch_mm, diameter_mm = _size_mm("holes", said.holes, "15 x 2")
        fields |= {"hole_pitch_mm": pitch_mm, "hole_diameter_mm": diameter_mm}
    if said.tallest_mm is not None:
        fields["tallest_mm"] = said.tallest_mm
    if said.heater is not None:
        fields["heater_kind"] = said.heater
    _told_as({"hole": "holes", "table": "table", "tallest": "tallest_mm"}, "machine", base, fields)
    return {"based_on": base.name, **fields}


def _check_opening(
    said: SetupCommand, opening: tuple[float, ...], table: tuple[float, ...]
) -> None:
    if any(free > plate + 1e-9 for free, plate in zip(opening, table, strict=True)):
        rule = f"at least the opening, {opening[0]:g} x {opening[1]:g} mm"
        got = f"{table[0]:g} x {table[1]:g} mm"
        raise SpecError("table", rule, got, "Measure the clear opening of the clamp again.")


def _own_printer(build: tuple[str, ...], shop: Shop) -> dict[str, Any]:
    """Return the fields of a printer that is not in stock; the rest is that of the usual one."""
    base = shop.printer(OwnRoom().printer)
    sides = _lengths_mm("printer", build)
    names = ("bed_width_mm", "bed_depth_mm", "bed_height_mm")
    fields: dict[str, Any] = dict(zip(names, sides, strict=True))
    fields["title"] = f"Own printer, {' x '.join(f'{side:g}' for side in sides)} mm"
    _told_as({}, "printer", base, fields)
    return {"based_on": base.name, **fields}


def _told_as(
    words: Mapping[str, str], otherwise: str, base: FormingMachine | Printer, fields: Any
) -> None:
    """Check an entry with these fields; a failure is told of the answer it comes from."""
    try:
        replace(base, **fields)
    except SpecError as problem:
        answer = words.get(problem.field.partition("_")[0], otherwise)
        raise problem.at(answer) from None


def _size_mm(field: str, words: str, like: str) -> tuple[float, ...]:
    sides = parted_size(words, 2)
    if not sides:
        raise SpecError(field, f'a size like "{like}"', shown(words))
    return _lengths_mm(field, sides)


def _lengths_mm(field: str, words: tuple[str, ...]) -> tuple[float, ...]:
    sides = tuple(measure(field, side, unit="mm") for side in words)
    for side_mm in sides:
        Quantity("mm", "side", above=0, at_most=5000).check(field, side_mm)
    return sides


def _filaments(words: str, shop: Shop, currency: str) -> Iterator[RoomFilament]:
    for part in _parts(words):
        match = _FILAMENT.fullmatch(part)
        if match is None:
            raise SpecError("filaments", 'like "PETG = 25; PLA"', shown(part))
        yield RoomFilament(
            filament=shop.filaments.find(match["name"], field="filaments").name,
            price_kg=_price("filaments", match["price"], RoomFilament, currency),
        )


def _sheets(words: str, shop: Shop, currency: str) -> Iterator[RoomSheet]:
    for part in _parts(words):
        match = _SHEET.fullmatch(part)
        if match is None:
            raise SpecError("sheets", 'like "HIPS 1.5 = 3.20; ABS 2"', shown(part))
        yield RoomSheet(
            plastic=shop.plastics.find(match["plastic"], field="sheets").name,
            gauge_mm=quantities(RoomSheet)["gauge_mm"].read("sheets", match["gauge"]),
            price=_price("sheets", match["price"], RoomSheet, currency),
        )


def _parts(words: str) -> list[str]:
    return [part.strip() for part in _BETWEEN.split(words) if part.strip()]


def _price(field: str, words: str | None, spec: type[Spec], currency: str) -> float | None:
    if words is None:
        return None
    price = measure(field, words, unit=currency or "of the currency")
    next(mark for name, mark in quantities(spec).items() if "price" in name).check(field, price)
    return price
