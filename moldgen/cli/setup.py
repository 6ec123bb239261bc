"""The setup command: ask for the room, check it, keep it, show it, forget it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from moldgen.cli.ask import ask
from moldgen.cli.options import as_option, name_of, spec_from_options
from moldgen.cli.screen import Screen, show_table
from moldgen.errors import FileError, SpecError
from moldgen.export.atomic import write_atomic
from moldgen.job.command.setup import NOT_ASKED, OF_OWN_TABLE, SetupCommand, room_from_answers
from moldgen.job.form import FormField, form_of
from moldgen.job.room import Entries, OwnRoom, load_room, room_entries, room_toml
from moldgen.stock import load_shop, user_stock_file
from moldgen.user_file import room_file
from moldgen.written_number import parted_size

_SWITCHES = ("show", "forget")


def do_setup(given: Mapping[str, Any], screen: Screen) -> int:
    """Keep the room that was typed, or answered; or show it, or forget it."""
    answers = {line.field: given[line.field] for line in _questions() if line.field in given}
    if given.get("show") or given.get("forget"):
        _refuse_more(given, answers)
        return _show(screen) if given.get("show") else _forget(screen)
    stock_file = user_stock_file()
    before, entries = load_room(stock_file), room_entries(stock_file)
    if not answers:
        answers = _asked(before, entries, screen)
    room, own = _room(answers, before, entries)
    path = room_file(stock_file)
    write_atomic(path, room_toml(room, own).encode())
    screen.say(f"kept in {path}")
    return _show(screen)


def _questions() -> Iterator[FormField]:
    return (line for line in form_of(SetupCommand) if line.field not in _SWITCHES)


def _refuse_more(given: Mapping[str, Any], answers: Mapping[str, Any]) -> None:
    if answers or (given.get("show") and given.get("forget")):
        switch = "--show" if given.get("show") else "--forget"
        raise SpecError(switch, "used alone", "more", f"Leave out {switch}, or the others.")


def _room(
    answers: Mapping[str, Any], before: OwnRoom, entries: Entries
) -> tuple[OwnRoom, dict[str, dict[str, Any]]]:
    said = spec_from_options(SetupCommand, answers)
    try:
        return room_from_answers(said, before, entries, load_shop())
    except SpecError as problem:
        raise as_option(problem, SetupCommand) from None


def _asked(before: OwnRoom, entries: Entries, screen: Screen) -> dict[str, str]:
    """Return the answers of whoever sits here, by field; what stays as it is left out."""
    screen.err.write("Your room. Enter keeps what stands in brackets.\n")
    answers: dict[str, str] = {}
    usual = _usual(before)
    for line in _questions():
        if line.field in NOT_ASKED:
            continue
        if line.field in OF_OWN_TABLE and not parted_size(answers.get("machine", ""), 2):
            continue

        def check(answer: str, line: FormField = line) -> None:
            if answer != usual.get(line.field, ""):
                _room({**answers, line.field: answer}, before, entries)

        answer = ask(_question(line), usual.get(line.field, ""), screen, check=check)
        if answer != usual.get(line.field, ""):
            answers[line.field] = answer
    return answers


def _question(line: FormField) -> str:
    about = line.about.removeprefix("of your own table: ").replace("; none if left out", "")
    return f"{about[0].upper()}{about[1:]} ({name_of(line)})"


def _usual(room: OwnRoom) -> dict[str, str]:
    """Return what an empty answer stands for, by field."""
    return {
        "machine": room.machine,
        "printer": room.printer,
        "printers": "; ".join(map(str, room.printers)),
        "currency": room.currency,
        "filaments": "; ".join(_priced(one.filament, one.price_kg) for one in room.filament),
        "sheets": "; ".join(
            _priced(f"{one.plastic} {one.gauge_mm:g}", one.price) for one in room.sheet
        ),
        "strip_heater": room.strip_heater,
        "paper": room.paper.value,
        "units": room.units.value,
        "language": room.language.value,
    }


def _priced(name: str, price: float | None) -> str:
    return name if price is None else f"{name} = {price:g}"


def _show(screen: Screen) -> int:
    stock_file = user_stock_file()
    room, shop = load_room(stock_file), load_shop()
    titles = {
        "machine": shop.machine(room.machine).title,
        "printer": shop.printer(room.printer).title,
        "strip_heater": shop.strip_heater(room.strip_heater).title,
    }
    rows = [
        (field.replace("_", " "), f"{value} ({titles[field]})" if field in titles else value)
        for field, value in _usual(room).items()
        if value
    ]
    show_table(rows, screen)
    path = room_file(stock_file)
    where = f"kept in {path}" if path.exists() else f"nothing is kept: these are usual ({path})"
    screen.say("", where)
    return 0


def _forget(screen: Screen) -> int:
    path = room_file(user_stock_file())
    try:
        path.unlink(missing_ok=True)
    except OSError as problem:
        reason = (problem.strerror or "the system refused").lower()
        raise FileError(f"{path} cannot be removed: {reason}.") from None
    screen.say("the room is forgotten: commands use what is usual")
    return 0
