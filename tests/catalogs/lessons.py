"""Where the source says what a class reads: job cards, lists, timetables, arrangements."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from catalogs.places import all_calls, labels, returned
from catalogs.source import Module, Source, assignments, called
from catalogs.templates import value_name
from moldgen.stock import load_shop

_CARD_FIELDS = frozenset({"name", "value", "words", "foot"})
_PAPER_FIELDS = _CARD_FIELDS | {"title", "watch", "power", "lines", "blanks", "seen"}
_REPORT_FIELDS = frozenset({"title", "subtitle", "files", "steps"})
_SAYS = frozenset(
    {
        "make",
        "class_findings",
        "told",
        "overview",
        "shots",
        "timetable",
        "timetable_text",
        "plans",
        "files",
        "papers",
        "prints",
        "plaque_size",
        "roster_notes",
        "mold_lives",
    }
)
"""Modules of a lesson whose functions return sentences."""


_REFUSALS = frozenset({"FileError", "OutlineError", "GeometryError", "WorkerError"})
_BROUGHT = (
    "outline.trace", "outline.photo.lines", "outline.photo.parting", "outline.drawing",
    "outline.nesting", "outline.tangle", "outline.svg.tree", "outline.svg.read",
    "outline.dxf.read", "solid.reading.picture", "sandbox.worker", "web.strip_work",
)  # fmt: skip
"""Modules that refuse what students bring to the page, but for what only broken programs write."""


def of_brought(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    """Yield why a drawing or a picture that was brought cannot be used."""
    for name in _BROUGHT:
        yield from _refusals(source.modules[f"moldgen.{name}"])
    yield from returned(source.modules["moldgen.outline.chains"])
    for module, call in source.calls["Scale"]:
        yield from ((module, k.value) for k in call.keywords if k.arg == "note")


def of_cards(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what stands on a job card: its steps, its foot and the words printed on every one."""
    for module, call in all_calls(source):
        path = module.path.as_posix()
        if called(call) in ("CardStep", "JobCard") and "pipeline/strip/" not in path:
            yield from ((module, k.value) for k in call.keywords if k.arg in _CARD_FIELDS)
        if path.endswith("card/job_card.py") and called(call) in ("in_words", "as_read"):
            yield from ((module, one) for one in call.args)
    yield from returned(source.modules["moldgen.pipeline.mold.card"])
    yield from _choices(source.modules["moldgen.fixture.trim.tool"], "Tool")


def of_papers(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what stands on the other papers: cards of strips, wall chart, risk form, labels."""
    for module, call in all_calls(source):
        path, name = module.path.as_posix(), called(call)
        if name in ("CardStep", "JobCard", "WallChart", "ChartRow", "ChartCell", "NameLabel"):
            yield from ((module, k.value) for k in call.keywords if k.arg in _PAPER_FIELDS)
        if name == "PrintedJig":
            yield from ((module, k.value) for k in call.keywords if k.arg == "title")
        if name == "_blank" and "pipeline/heat/" in path:
            yield from ((module, one) for one in call.args[1:])
        if "moldgen/export/card/" in path and name in ("in_words", "as_read"):
            yield from ((module, one) for one in call.args)
    for name in ("strip.card", "risks", "heat.chart_files"):
        yield from returned(source.modules[f"moldgen.pipeline.{name}"])
    for name in ("mold.risks", "strip.risks"):
        yield from labels(source.modules[f"moldgen.pipeline.{name}"])
    yield from _choices(source.modules["moldgen.export.report.cautions"], "Hazard")
    for name, values in (
        ("pipeline.risks", "_WHO"),
        ("export.card.risk_form", "_HEAD"),
        ("export.card.risk_form", "_SIGNATURES"),
        ("export.card.job_card", "FORMING_BLANKS"),
        ("export.card.job_card", "FORMING_SEEN"),
    ):
        module = source.modules[f"moldgen.{name}"]
        yield from ((module, one) for one in module.values[values])


def of_steps(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what is done on the day itself, as the report of a mold has it."""
    for name in ("moldgen.pipeline.mold.steps", "moldgen.pipeline.heat.files"):
        yield from labels(source.modules[name])
        yield from returned(source.modules[name])
    for name in ("rows", "life_rows", "experience_rows"):
        yield from returned(source.modules[f"moldgen.pipeline.heat.{name}"])
    tool = source.modules["moldgen.fixture.trim.tool"]
    for name in ("_CUTS", "SAND", "_NO_SNIPS", "_CRACKS", "_BURR", "_DEBURR"):
        yield from ((tool, one) for one in tool.values.get(name, ()))
    yield from source.given["also"]
    yield from returned(tool)


def of_plans(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what stands on plans: kinds of lines, notes, and words round the drawing."""
    for module, call in all_calls(source):
        if called(call) in ("LayerStyle", "Note", "LayoutArea"):
            yield from (
                (module, k.value) for k in call.keywords if k.arg in ("title", "text", "name")
            )
        if "moldgen/export/plan/" in module.path.as_posix() and called(call) == "in_words":
            yield from ((module, one) for one in call.args)
    for name in ("plan", "paper"):
        yield from returned(source.modules[f"moldgen.export.plan.{name}"])


def _choices(module: Module, name: str) -> Iterator[tuple[Module, ast.expr]]:
    """Yield the words of an enumeration."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ClassDef) and node.name == name:
            yield from ((module, one.value) for one in node.body if isinstance(one, ast.Assign))


def stock_signs() -> dict[str, list[str]]:
    """Return the signs of the stock's plastics, and their cautions sentence by sentence."""
    plastics = load_shop().plastics.entries
    signs = [words for one in plastics for words in (one.ready, one.too_hot)]
    signs += [words for one in plastics for words in re.split(r"(?<=\.) ", one.caution)]
    return {words: ["moldgen/stock/plastic.toml"] for words in signs if words}


def of_lessons(source: Source) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what is told of a class and of an arrangement."""
    for module in source.modules.values():
        path = module.path.as_posix()
        if "moldgen/lesson/" not in path:
            continue
        if "/roster/" in path or "/log/" in path:
            yield from _refusals(module)
        if "/log/" in path:
            yield from _of_log(module)
        named = assignments(module.tree.body)
        yield from ((module, one) for name, one in named if name in ("changes", "way"))
        for name in ("_HEAD", "HEAT_HEAD"):
            yield from ((module, one) for one in module.values.get(name, ()))
        if module.path.stem in _SAYS:
            yield from returned(module)
            yield from labels(module)
            yield from _fields(module)
        yield from _stages(module)
    yield from _choices(source.modules["moldgen.job.lesson_spec"], "Station")
    yield from _choices(source.modules["moldgen.lesson.log.shot_note"], "Outcome")


def _of_log(module: Module) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what the log shows, and why it takes something not; the page tells both."""
    yield from ((module, one) for one in module.values.get("HEAD", ()))
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and called(node) == "in_words":
            yield from ((module, one) for one in node.args)
        if isinstance(node, ast.Call) and called(node) == "SpecError":
            yield from ((module, _alone(one)) for one in node.args[1:])


def _refusals(module: Module) -> Iterator[tuple[Module, ast.expr]]:
    """Yield why a file cannot be read, without where its values come from."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and called(node) in _REFUSALS:
            yield from ((module, _alone(one)) for one in node.args)


def _alone(node: ast.expr) -> ast.expr:
    """Return an expression whose values but those of the module itself lead nowhere."""
    if not isinstance(node, ast.JoinedStr):
        return node
    parts = [_value_alone(one) for one in node.values]
    return ast.JoinedStr(values=parts)


def _value_alone(part: ast.expr) -> ast.expr:
    if not isinstance(part, ast.FormattedValue):
        return part
    if isinstance(part.value, ast.Name) and part.value.id.startswith("_"):
        return part
    return ast.FormattedValue(value=ast.Name(id=value_name(part.value)), conversion=-1)


def _stages(module: Module) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what is told while a class is made."""
    for call in (node for node in ast.walk(module.tree) if isinstance(node, ast.Call)):
        if called(call) == "Stage":
            yield from ((module, one) for one in call.args[2:])
        if called(call) == "tell":
            yield from ((module, one) for one in call.args)


def _fields(module: Module) -> Iterator[tuple[Module, ast.expr]]:
    for call in (node for node in ast.walk(module.tree) if isinstance(node, ast.Call)):
        if called(call) == "Report":
            for keyword in call.keywords:
                if keyword.arg in _REPORT_FIELDS:
                    yield module, keyword.value
        if called(call) in ("Note", "Plan", "shot_plan", "plate_plan", "cut_plan"):
            wanted = ("text", "about", "title")
            yield from ((module, k.value) for k in call.keywords if k.arg in wanted)
        if called(call) in ("in_words", "_shot_work"):
            yield from ((module, one) for one in call.args)
