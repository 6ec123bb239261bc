"""Every sentence of the source that a person reads, found in the syntax of the source."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from catalogs.lessons import (
    of_brought,
    of_cards,
    of_lessons,
    of_papers,
    of_plans,
    of_steps,
    stock_signs,
)
from catalogs.places import all_calls, labels, returned
from catalogs.source import PACKAGE, Module, Source, called, read_source
from catalogs.templates import Reading
from moldgen.bend.preset.choices import StripKind
from moldgen.job.form import form_of
from moldgen.outline.library.shapes import list_shapes
from moldgen.stock import load_shop
from moldgen.web.controls import _ABOUT, _STOCK, controls_of, lesson_controls, usual_controls
from moldgen.web.routes.workshop import LISTS, TO_PRINT
from moldgen.web.spoken import texts_of, words_of_scripts
from moldgen.web.stock_entry import _BESIDE, KINDS
from moldgen.web.store.hand_ins import HandInState
from moldgen.web.wish import Beginning
from moldgen.web.workshop.runs import STOPPED

_OF_FINDING = frozenset({"says", "advice", "basis", "subject", "place", "reason", "because"})
_MARKS = frozenset({"Quantity", "Meaning", "Each", "_price"})
_READ = frozenset({"in_words", "as_read", "told_html", "translated", "phrase"})

_OPTIONS = ("moldgen/job/", "moldgen/lesson/log/command", "moldgen/lesson/log/shot_note")
"""Where what can be typed is told."""

JOINS = {
    "{first}, {second}",
    "{first}; {second}",
    "{first} and {second}",
    "{first} or {second}",
    "{first} ({second})",
    "{first}: {second}",
    "{first} to {second}",
}
"""How clauses are joined that are told in one sentence."""

IN_FULL = {
    "places to trim",
    "strip heaters",
    "places to drill",
    "places to draw",
    "strip heater",
    "drilling",
    "block",
    "border",
    "drawing",
    "compartment {number}",
    "nest {number}",
    "pocket at {vent}",
    "the usual",
    "{number} pieces",
    "{number} pieces, {size} mm",
    "{width} mm {place}",
    "{width} mm {place}, {line}",
    "a rectangle with round corners",
    "a rectangle",
    "straight across hollows",
    "edges round a little",
    "{share} % after {time}",
    "vacuum {shares} ({bottleneck})",
    "the tank",
    "the pump",
    "the vents",
    "the table's holes",
    "bare hands manage {force}",
    "bare hands",
    "none",
    "one piece",
    "{number} people",
    "{hours} h {minutes} min",
    "{center} corner of {which}",
    "options",
    "positional arguments",
    "{deep}° for a wall over {wall_mm} mm",
    "and never under {least_mm} mm on a wall over {wall_mm} mm",
    "Will not form as it stands",
    "Worth knowing",
    "1 file",
    "{number} files",
    "gauge",
    "insert",
    "plastic",
    "outside the foot",
    'bare numbers are millimeters or degrees; "1/8 in" will do as well',
    "moldgen makes molds for vacuum forming, checked and vented, and jigs to bend strips.",
    "Lengths in STL, 3MF and drawings stay in millimeters, true to size.",
    "Print at 100 %, no scaling: with a ruler, this bar measures 100 mm and 4 in.",
    "Look at this before printing",
    "Look at this before building",
    "Do not print this yet: {counted} {says} stop.",
    "Do not build this yet: {counted} {says} stop.",
    "It can be printed; read {counted} first.",
    "It can be built; read {counted} first.",
    "Ready to print: every check passed.",
    "Ready to build: every check passed.",
    "stop",
    "caution",
    "note",
    "1 stop",
    "{number} stops",
    "at",
    "ring",
    "limit",
    "{says} ({measured}, limit {limit})",
    "{field} must be {rule} (got {got}). {hint}",
    "{field} must be {rule} (got {got}).",
    "more than {limit}",
    "at least {limit}",
    "less than {limit}",
    "at most {limit}",
    "Did you mean {names}?",
    "Choose {names}.",
    "Write it like 6.5.",
    "Not made: {missing}. {rest}",
    "The rest is ready to print.",
    "There is nothing to print.",
    "{verdict} Not made: {missing}.",
    "Heater at {power_share} of its power.",
    "noted as number {number}: {job}, cycle {cycle}{how}; {seen}",
    ", the first of this mold",
    ", the one after the last that was noted",
}
"""Sentences whose verbs and counts other languages write another way, each of them in full."""
_BLIND = {
    "Look at this before {{}}", "{making}ing", "{{}}",
    "Do not {making} this yet: {counted} {says} stop.",
    "It can be {MADE}; read {counted} first.",
    "Ready to {making}: every check passed.",
}  # fmt: skip
"""What stands in the source in place of those."""


def sentences(
    kinds: tuple[str, ...] = (
        "findings",
        "options",
        "page",
        "reports",
        "cards",
        "plans",
        "steps",
        "lessons",
        "brought",
        "papers",
    ),
) -> dict[str, list[str]]:
    """Return every template, with the files that say it."""
    source = read_source()
    reading = Reading(source=source)
    for kind in kinds:
        for module, node in _KINDS[kind](source):
            reading.follow(node, module)
    found = {
        words: sorted(_short(path) for path in paths) for words, paths in reading.found.items()
    }
    found |= {words: ["moldgen/language/translate.py"] for words in JOINS}
    found |= {words: ["moldgen/finding.py"] for words in IN_FULL}
    if "cards" in kinds:
        found |= stock_signs()
    if "page" in kinds:
        for path, words in page_words():
            found.setdefault(words, []).append(_short(path))
    return {
        words: places
        for words, places in found.items()
        if words in JOINS | IN_FULL or _is_told(words)
    }


def page_words() -> Iterator[tuple[str, str]]:
    """Yield what the page shows: file and words."""
    web = PACKAGE / "web"
    for path in sorted((web / "templates").glob("*.html")):
        yield from ((path.as_posix(), words) for words in texts_of(path.read_text("utf-8")))
    scripts = (web / "static" / "words.js").as_posix()
    yield from ((scripts, words) for words in words_of_scripts())
    controls = (web / "controls.py").as_posix()
    yield from ((controls, words) for words in _control_words())
    stock = (web / "stock_entry.py").as_posix()
    yield from ((stock, title) for _, title in KINDS.values())
    for spec, _ in KINDS.values():
        for line in form_of(spec):
            if line.field in _BESIDE:
                continue
            yield stock, line.mark.about
    workshop = (web / "routes" / "workshop.py").as_posix()
    yield from ((workshop, title) for _, title in (*TO_PRINT, *LISTS))
    yield workshop, STOPPED
    shapes = (web / "routes" / "designs.py").as_posix()
    yield from ((shapes, shape.title) for shape in list_shapes())
    yield from ((shapes, kind.replace("-", " ").capitalize()) for kind in StripKind)


def _control_words() -> Iterator[str]:
    shop = load_shop()
    for beginning in Beginning:
        controls = controls_of(beginning, shop)
        kept = (
            (*usual_controls(shop), *lesson_controls(shop)) if beginning is Beginning.WORD else ()
        )
        for one in (*controls["first"], *controls["more"], *kept):
            yield one["name"]
            if one["kind"] == "choice" and one["word"] not in (*_STOCK, "font", "shape"):
                yield from one["choices"]
    yield from _ABOUT.values()
    yield from (state.value for state in HandInState)


def _is_told(words: str) -> bool:
    """Return whether words are told, and are no name of a field, a file or a unit."""
    if words in _BLIND or re.search(r"<[/\w]|\w=\"\{|class=", words):
        return False
    if re.fullmatch(r"[a-z0-9]+([_-][a-z0-9]+)+|[A-Z_]{4,}|--?[\w-]+|[\w-]*\.[a-z0-9]+", words):
        return False
    if re.fullmatch(r"#[0-9a-f]+|[a-z]+(-\{\w+\})+", words):
        return False
    bare = re.sub(r"\{\w+\}|[\w-]+\.(?:csv|xlsx|pdf)", "", words)
    return any(word not in _SYMBOLS for word in re.findall(r"[^\W\d_]{2,}", bare))


_SYMBOLS = frozenset(
    "mm cm km µm kg ms min GB MB kB BMP PNG moldgen MPa kPa Pa GPa kN Nm kW Wh kWh bar cm³ mm² mm³ "
    "cm² dpi xyz".split()
)


def _short(path: str) -> str:
    return Path(path).relative_to(PACKAGE.parent).as_posix()


def _of_findings(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    for module, call in all_calls(source):
        for keyword in call.keywords:
            if keyword.arg in _OF_FINDING and (
                keyword.arg not in ("subject", "place") or called(call) in ("Finding", "replace")
            ):
                yield module, keyword.value
            if keyword.arg == "unit" and called(call) in ("Finding", "replace"):
                for node in ast.walk(keyword.value):
                    if isinstance(node, ast.Constant) and isinstance(node.value, str):
                        yield module, _joined("{number} ", node)
            if called(call) == "ChosenValue" and keyword.arg in ("what", "value"):
                yield module, keyword.value
    for module in source.modules.values():
        if "mold/place" in module.path.as_posix():
            yield from returned(module)


def _joined(words: str, node: ast.Constant) -> ast.JoinedStr:
    name = ast.FormattedValue(value=ast.Name(id="number"), conversion=-1)
    return ast.JoinedStr(values=[name, ast.Constant(value=f" {node.value!s}")])


def _of_options(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    for module, call in all_calls(source):
        path = module.path.as_posix()
        if any(home in path for home in _OPTIONS) and called(call) in _MARKS:
            yield from ((module, one) for one in call.args)
            yield from ((module, k.value) for k in call.keywords if k.arg == "about")
        if called(call) == "UsageError":
            yield from ((module, one) for one in call.args)
        if "moldgen/cli/" in path:
            wanted = ("about",) if called(call) == "Command" else ("help",)
            yield from ((module, k.value) for k in call.keywords if k.arg in wanted)
            if called(call) in ("in_words", "as_read"):
                yield from ((module, one) for one in call.args)


def _of_page(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    for module, call in all_calls(source):
        if "moldgen/web/" not in module.path.as_posix():
            continue
        if called(call) in (*_READ, "_", "_told", "HTTPException", "FileError"):
            yield from ((module, one) for one in call.args)
        if called(call) == "SpecError":
            yield from ((module, one) for one in call.args[1:])


def _of_reports(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    for module, call in all_calls(source):
        path = module.path.as_posix()
        if "moldgen/export/report/" in path:
            if called(call) in ("_section", *_READ):
                yield from ((module, one) for one in call.args)
        if called(call) in ("Table", "Picture"):
            yield from ((module, k.value) for k in call.keywords if k.arg not in ("png", "rows"))
        if called(call) == "Trust":
            yield from ((module, k.value) for k in call.keywords)
    for module in source.modules.values():
        path = module.path.as_posix()
        if path.endswith(("report/cautions.py", "mold/cautions.py")) or "day" in module.path.stem:
            yield from returned(module)
        if any(word in module.path.stem for word in ("rows", "day", "tables", "summary")):
            yield from labels(module)
    report = source.modules.get("moldgen.export.report.report")
    if report:
        yield from returned(report)


_KINDS = {
    "findings": _of_findings,
    "options": _of_options,
    "page": _of_page,
    "reports": _of_reports,
    "cards": of_cards,
    "plans": of_plans,
    "steps": of_steps,
    "lessons": of_lessons,
    "brought": of_brought,
    "papers": of_papers,
}
