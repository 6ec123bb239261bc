"""Shop: everything in stock, from the files of moldgen and the person's own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Literal, TypeVar

from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now
from moldgen.named_file import bounded_bytes, told
from moldgen.old_words import each_once
from moldgen.stock.check_entry import checked_entry
from moldgen.stock.drill import Drill, nearest_drill
from moldgen.stock.entry import Entry
from moldgen.stock.experience import NO_NOTES, Experience
from moldgen.stock.filament import Filament
from moldgen.stock.forming_machine import FormingMachine
from moldgen.stock.gauge import Gauge, nearest_gauge
from moldgen.stock.inherit import laid_on
from moldgen.stock.insert import Insert, InsertKind
from moldgen.stock.plastic import Plastic
from moldgen.stock.printer import Printer
from moldgen.stock.shelf import Shelf
from moldgen.stock.stock_file import Row, StockPage, load_page, page_from_bytes
from moldgen.stock.strip_heater import StripHeater
from moldgen.user_file import ROOM, room_file, user_stock_file
from moldgen.wording import did_you_mean, fold, one_of

E = TypeVar("E", bound=Entry)
KINDS = ("plastic", "filament", "machine", "printer", "gauge", "insert", "strip_heater")
"""The kinds of entry, each with a data file of that name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What the shop has, one shelf to a kind.

    Every look-up takes a name, a title or an alias in any capitals and raises `SpecError` with
    the nearest names if there is no such entry.
    """

    plastics: Shelf[Plastic]
    filaments: Shelf[Filament]
    machines: Shelf[FormingMachine]
    printers: Shelf[Printer]
    gauges: Shelf[Gauge]
    inserts: Shelf[Insert]
    strip_heaters: Shelf[StripHeater]
    old_words: tuple[str, ...] = ()
    """Words of version 0.1 that stand in the person's own files."""
    experience: Experience = NO_NOTES
    """What notes of the tables say, for those who want their times corrected by them."""

    def plastic(self, name: str) -> Plastic:
        """Return the sheet plastic of that name."""
        return self.plastics.find(name)

    def filament(self, name: str) -> Filament:
        """Return the filament of that name."""
        return self.filaments.find(name)

    def machine(self, name: str) -> FormingMachine:
        """Return the forming table of that name."""
        return self.machines.find(name)

    def printer(self, name: str) -> Printer:
        """Return the printer of that name."""
        return self.printers.find(name)

    def strip_heater(self, name: str) -> StripHeater:
        """Return the strip heater of that name."""
        return self.strip_heaters.find(name)

    def insert(self, thread: str, kind: InsertKind | str) -> Insert:
        """Return the insert of that kind for a thread, such as ``insert("M4", "nut")``."""
        if kind not in set(InsertKind):
            raise SpecError("kind", one_of(InsertKind), repr(kind), "Choose one of these words.")
        for insert in reversed(self.inserts.entries):
            if insert.kind == kind and fold(insert.thread) == fold(thread):
                return insert
        threads = [entry.thread for entry in self.inserts.entries if entry.kind == kind]
        hint = did_you_mean(thread, threads)
        raise SpecError("thread", f"a thread with a {kind} in stock", repr(thread), hint)

    def names(self, kind: str) -> tuple[str, ...]:
        """Return the names of all entries of a kind, in the order they were written."""
        if kind not in KINDS:
            hint = did_you_mean(kind, KINDS)
            raise SpecError("kind", one_of(KINDS), repr(kind), hint)
        shelf: Shelf[Entry] = getattr(self, f"{kind}s")
        return shelf.names

    def gauges_for(self, plastic: Plastic | str) -> tuple[Gauge, ...]:
        """Return the gauges a plastic, or the one it is based on, is sold in; thinnest first."""
        entry = self.plastic(plastic) if isinstance(plastic, str) else plastic
        family = set(self._family(entry))
        sold = [gauge for gauge in self.gauges.entries if family.intersection(gauge.plastics)]
        return tuple(sorted(sold, key=lambda gauge: gauge.gauge_mm))

    def nearest_gauge_mm(
        self, wanted_mm: float, plastic: Plastic | str, *, at_least: bool
    ) -> float:
        """Return the thickness a plastic is sold in that is closest to the wanted one.

        With ``at_least`` never a thinner one. Raises `SpecError` if none is thick enough.
        """
        return nearest_gauge(self.gauges_for(plastic), wanted_mm, at_least=at_least).gauge_mm

    def nearest_drill(
        self, diameter_mm: float, system: Literal["metric", "inch"] = "metric", *, at_most: bool
    ) -> Drill:
        """Return the standard drill for a hole; see `moldgen.stock.drill.nearest_drill`."""
        return nearest_drill(diameter_mm, system, at_most=at_most)

    def _family(self, plastic: Plastic) -> Iterator[str]:
        # The files were checked for circles, but a Plastic may have been made by hand.
        seen: set[str] = set()
        entry: Plastic | None = plastic
        while entry and entry.name not in seen:
            seen.add(entry.name)
            yield entry.name
            entry = self.plastics.get(entry.based_on) if entry.based_on else None


def load_shop(
    extra_files: Sequence[Path] = (),
    *,
    user_file: Callable[[], Path] | Path | None = user_stock_file,
) -> Shop:
    """Read what the shop has.

    A later file goes before an earlier one: moldgen's own, then the person's, then the extra
    ones in the order given. An entry with a known name changes that entry; ``based_on`` takes
    what is not written from another.

    Parameters
    ----------
    extra_files : sequence of Path
        Stock files beside the job; each must be there.
    user_file : function, Path or None
        Where the person's own entries are. A function may name a file that is not there, and the
        room's file beside it is read before; a path given outright must be there; None reads no
        such file.

    Raises
    ------
    FileError
        If a file cannot be read or is not TOML.
    SpecError
        If an entry is wrong; the sentence names file, entry and field.
    """
    return _shop_of(_own_pages(extra_files, user_file))


def own_stock_texts(extra_files: Sequence[Path] = ()) -> dict[str, str]:
    """Return the own stock files that `load_shop` would lay on moldgen's, by name, in order.

    `shop_from_texts` makes the same stock of them in another place.

    Raises
    ------
    FileError
        If a file cannot be read.
    """
    own = user_stock_file()
    there = [path for path in (room_file(own), own) if path.exists()]
    texts: dict[str, str] = {}
    for path in (*there, *extra_files):
        name, number = path.name, 1
        while name in texts:
            number += 1
            name = f"{path.stem}-{number}{path.suffix}"
        texts[name] = _text_of(path)
    return texts


def _text_of(path: Path) -> str:
    try:
        return bounded_bytes(path, limits_now().stock_bytes).decode("utf-8-sig")
    except OSError as error:
        raise FileError(f"{told(path)} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise FileError(f"{told(path)} is not UTF-8. Save it as UTF-8.") from None


def shop_from_texts(texts: Mapping[str, str]) -> Shop:
    """Return what the shop has, with own stock files that are in hand, by name.

    They are laid on moldgen's own in their order, as `load_shop` does with files.

    Raises
    ------
    FileError
        If one is not TOML.
    SpecError
        If an entry is wrong; the sentence names file, entry and field.
    """
    return _shop_of(
        page_from_bytes(text.encode(), KINDS, file=name, origin=f"own entry in {name}", beside=ROOM)
        for name, text in texts.items()
    )


def _shop_of(own: Iterable[StockPage]) -> Shop:
    rows: dict[str, Shelf[Row]] = {kind: Shelf(kind) for kind in KINDS}
    pages = (*_shipped_pages(), *own)
    for page in pages:
        for kind, written in page.rows.items():
            rows[kind] = Shelf(kind, laid_on(rows[kind], written))
    plastics = _shelf(rows["plastic"], Plastic)
    return Shop(
        plastics=plastics,
        filaments=_shelf(rows["filament"], Filament),
        machines=_shelf(rows["machine"], FormingMachine),
        printers=_shelf(rows["printer"], Printer),
        gauges=_known_plastics(_shelf(rows["gauge"], Gauge), rows["gauge"], plastics),
        inserts=_shelf(rows["insert"], Insert),
        strip_heaters=_shelf(rows["strip_heater"], StripHeater),
        old_words=each_once(word for page in pages for word in page.old_words),
    )


@cache
def _shipped_pages() -> tuple[StockPage, ...]:
    """Return moldgen's own stock files, read once: they come with the program."""
    folder = files("moldgen.stock")
    return tuple(
        page_from_bytes(folder.joinpath(name).read_bytes(), KINDS, file=name, origin="")
        for name in (f"{kind}.toml" for kind in KINDS)
    )


def _own_pages(
    extra_files: Sequence[Path], user_file: Callable[[], Path] | Path | None
) -> Iterator[StockPage]:
    own = user_file() if callable(user_file) else user_file
    may_be_missing = callable(user_file)
    if own is not None and may_be_missing and room_file(own).exists():
        yield load_page(room_file(own), KINDS, beside=ROOM)
    if own is not None and not (may_be_missing and not own.exists()):
        yield load_page(own, KINDS)
    for path in extra_files:
        yield load_page(path, KINDS)


def _shelf(rows: Shelf[Row], spec: type[E]) -> Shelf[E]:
    return Shelf(rows.kind, tuple(checked_entry(row, spec) for row in rows.entries))


def _known_plastics(
    gauges: Shelf[Gauge], rows: Shelf[Row], plastics: Shelf[Plastic]
) -> Shelf[Gauge]:
    """Return the gauges with each plastic under its own name, not one of its aliases."""
    known = []
    for gauge, row in zip(gauges.entries, rows.entries, strict=True):
        place = row.place("plastics", file=row.cells["plastics"].file)
        names = [plastics.find(name, field=place).name for name in gauge.plastics]
        known.append(replace(gauge, plastics=tuple(dict.fromkeys(names))))
    return Shelf(gauges.kind, tuple(known))
