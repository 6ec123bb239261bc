"""An own entry of the stock as a form, and as a table in the text of the stock file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import MISSING
from typing import Any

from moldgen.errors import FileError, SpecError
from moldgen.job.form import FormField, form_of, unit_of
from moldgen.job.write import toml_value
from moldgen.language import in_words
from moldgen.quantity import Spec
from moldgen.stock import Filament, FormingMachine, Plastic, Printer, Shop, StripHeater
from moldgen.wording import one_of

KINDS: Mapping[str, tuple[type[Spec], str]] = {
    "plastic": (Plastic, "Sheets"),
    "filament": (Filament, "Filaments"),
    "machine": (FormingMachine, "Forming tables"),
    "printer": (Printer, "Printers"),
    "strip_heater": (StripHeater, "Strip heaters"),
}
"""What the page changes: the specification of each kind, and what many of it are called."""
_BESIDE = ("name", "based_on", "aliases")
_MOST_LETTERS = 200

Table = dict[str, Any]


def kind_of(word: str) -> str:
    """Return a kind that the page changes.

    Raises
    ------
    SpecError
        If it is none.
    """
    if word not in KINDS:
        raise SpecError("kind", one_of(list(KINDS)), word[:40])
    return word


def own_entries(text: str) -> dict[str, dict[str, Table]]:
    """Return the entries of a stock file that the page can change, by kind and name."""
    words = _tables(text)
    return {kind: dict(words.get(kind, {})) for kind in KINDS}


def entry_fields(kind: str, entry: Mapping[str, Any], base: Spec | None) -> list[dict[str, Any]]:
    """Return the fields of an entry, ready for a template.

    Parameters
    ----------
    kind : str
        What it is.
    entry : mapping of str
        What is written of it.
    base : Spec or None
        What it takes the rest from.
    """
    return [_field(line, entry, base) for line in _lines(kind)]


def entry_from_form(kind: str, form: Mapping[str, Any]) -> tuple[str, Table]:
    """Return name and content of the entry that a form tells of; what is empty is left out.

    Raises
    ------
    SpecError
        If it has no name.
    """
    name = " ".join(str(form.get("name", "")).split())[:60]
    if not name:
        raise SpecError("name", "a name", "nothing", "Type one.")
    entry: Table = {}
    for field in ("based_on", *(line.field for line in _lines(kind))):
        text = str(form.get(field, "")).strip()[:_MOST_LETTERS]
        if text:
            entry[field] = _value(text)
    return name, entry


def with_entry(text: str, kind: str, name: str, entry: Mapping[str, Any] | None) -> str:
    """Return the text of a stock file with an entry in it, in place of what it had of that name.

    Whatever else stands in the file stays as it is, comments too.

    Parameters
    ----------
    text : str
        The file.
    kind, name : str
        Of the entry.
    entry : mapping or None
        What is written of it; None to leave it out.

    Raises
    ------
    FileError
        If the file is written in a way that the page cannot change.
    """
    wanted = _tables(text)
    named = {key: one for key, one in wanted.get(kind, {}).items() if key != name}
    wanted[kind] = named if entry is None else {**named, name: dict(entry)}
    kept = _without(text, kind, name).rstrip()
    lines = [] if entry is None else _block(kind, name, entry)
    made = "\n".join((*([kept, ""] if kept else []), *lines)).rstrip() + "\n"
    if _content(_tables(made)) != _content(wanted):
        raise FileError(f"The page cannot change {name} where it stands: change the file by hand.")
    return made


def base_of(shop: Shop, kind: str, name: str) -> Spec | None:
    """Return the entry of a name, which others are based on; None if there is none."""
    shelf: Any = getattr(shop, f"{kind}s")
    found: Spec | None = shelf.get(name) if name else None
    return found


def _lines(kind: str) -> tuple[FormField, ...]:
    spec, _ = KINDS[kind]
    return tuple(line for line in form_of(spec) if line.field not in _BESIDE)


def _field(line: FormField, entry: Mapping[str, Any], base: Spec | None) -> dict[str, Any]:
    written = entry.get(line.field, "")
    usual = getattr(base, line.field, None) if base is not None else None
    if usual is None and line.default is not MISSING:
        usual = line.default
    about = in_words(line.mark.about)
    return {
        "field": line.field,
        "name": line.word.replace("_", " "),
        "unit": unit_of(line.mark),
        "about": about[:1].upper() + about[1:],
        "value": written.get("value", "") if isinstance(written, dict) else written,
        "usual": "" if usual is None or line.field == "title" else str(usual),
    }


def _value(text: str) -> float | str:
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return text
    return number if number == number and abs(number) < 1e12 else text


def _block(kind: str, name: str, entry: Mapping[str, Any]) -> list[str]:
    head = f"[{kind}.{toml_value(name)}]"
    return [head, *(f"{field} = {toml_value(value)}" for field, value in entry.items())]


def _without(text: str, kind: str, name: str) -> str:
    """Return the text without the tables of one entry."""
    forms = {name, toml_value(name), f"'{name}'"}
    heads = "|".join(re.escape(form) for form in forms)
    own = re.compile(rf"\s*\[\s*{kind}\s*\.\s*(?:{heads})\s*(?:\.[^\]]*)?\]\s*(?:#.*)?")
    kept, inside = [], False
    for line in text.splitlines():
        if line.lstrip().startswith("["):
            inside = own.fullmatch(line) is not None
        if not inside:
            kept.append(line)
    return "\n".join(kept)


def _tables(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError):
        raise FileError("The stock file is not TOML: correct it by hand.") from None


def _content(words: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a file says, whether or not it has sections without entries."""
    return {kind: entries for kind, entries in words.items() if entries}
