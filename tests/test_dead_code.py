"""No code that nothing calls: whatever moldgen defines, moldgen uses, or a reason stands here."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache

from conftest import ROOT

import moldgen

LATE = re.compile(r"[\w.]+:(\w+)")
"""What is imported only when it is called: ``module:function``."""
BY_HAND = "a published formula for reckoning by hand; the docstring of its module names it"
PROTOCOL = "called by a library, by this name"
OFFERED = "called by programs, on an object that moldgen hands them"
BY_NAME = "asked of a worker by its name, as text"
KEPT = {
    "computed": OFFERED,
    "orifice_flow_kg_s": BY_HAND,
    "emptying_time_s": BY_HAND,
    "pump_down_s": BY_HAND,
    "deduction_mm": BY_HAND,
    "cold_radius_mm": BY_HAND,
    "cold_strain": BY_HAND,
    "annealing_h": BY_HAND,
    "cooling_rate_K_h": BY_HAND,
    "male_areal_ratio": BY_HAND,
    "start_gauge_mm": BY_HAND,
    "method_by_height_to_width": BY_HAND,
    "cooling_s": BY_HAND,
    "radiation_heating_s": BY_HAND,
    "disc": BY_HAND,
    "thin_enough": BY_HAND,
    "load_run": "reads what `keep` stores, for programs; the README names it",
    "nearest_gauge_mm": "asked of a shop from Python, as its nearest drill is",
    "mass_kg_m2": "asked of a sheet from Python",
    "load_overload": PROTOCOL,
    "save_overload": PROTOCOL,
    "serve": "begun in another process by its name, as text",
    "shape_outlines": BY_NAME,
    "shot_facts": BY_NAME,
    "causes_alone": BY_NAME,
    "learned": BY_NAME,
    "log_tables": BY_NAME,
    "small_photo": BY_NAME,
    "add_usage": PROTOCOL,
    "preprocess": PROTOCOL,
    "texts_of": "what the test of the catalogs demands a translation of",
    "moveTo": PROTOCOL,
    "lineTo": PROTOCOL,
    "qCurveTo": PROTOCOL,
    "curveTo": PROTOCOL,
    "closePath": PROTOCOL,
    "doctype": PROTOCOL,
    "_missing_": PROTOCOL,
    "_repr_html_": PROTOCOL,
}


@cache
def modules() -> tuple[ast.Module, ...]:
    """Return what is written in every module."""
    return tuple(
        ast.parse(path.read_text(encoding="utf-8")) for path in (ROOT / "moldgen").rglob("*.py")
    )


def named(node: ast.AST) -> Iterator[str]:
    """Yield every name that a piece of code uses, imported by another name included."""
    for inner in ast.walk(node):
        if isinstance(inner, ast.Name) and isinstance(inner.ctx, ast.Load):
            yield inner.id
        elif isinstance(inner, ast.Attribute):
            yield inner.attr
        elif isinstance(inner, ast.alias) and inner.asname:
            yield inner.name
        elif isinstance(inner, ast.Constant) and isinstance(inner.value, str):
            if match := LATE.fullmatch(inner.value):
                yield match[1]


def bound(node: ast.stmt) -> list[str]:
    """Return the names that a statement of a module or a class defines."""
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        return [node.name]
    if isinstance(node, ast.Assign):
        return [target.id for target in node.targets if isinstance(target, ast.Name)]
    if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        return [node.target.id]
    return []


def defined(module: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Yield functions, classes and constants of a module, and methods of its classes."""
    for node in module.body:
        yield from ((name, node) for name in bound(node))
        if isinstance(node, ast.ClassDef):
            methods = [part for part in node.body if isinstance(part, ast.FunctionDef)]
            yield from ((method.name, method) for method in methods)


def unused() -> set[str]:
    """Return the names of definitions that are used in moldgen only by themselves, if at all.

    What `import moldgen` offers is used by programs.
    """
    used = Counter(name for module in modules() for name in named(module))
    return {
        name
        for module in modules()
        for name, node in defined(module)
        if not (name.startswith("__") or name == "_" or name in moldgen.__all__)
        and used[name] == Counter(named(node))[name]
    }


def test_whatever_is_defined_is_used():
    """Each function, class, constant and method is used in moldgen, or is kept for a reason."""
    assert sorted(unused() - KEPT.keys()) == []


def test_reasons_are_for_what_is_there():
    """Every reason to keep something is about a definition that nothing in moldgen uses."""
    assert sorted(KEPT.keys() - unused()) == []


def test_formulas_for_reckoning_by_hand_are_named_in_their_modules():
    """A formula that is kept for whoever reckons by hand stands in the docstring of its module."""
    kept = {name for name, reason in KEPT.items() if reason == BY_HAND}
    homes = [
        (name, ast.get_docstring(module) or "")
        for module in modules()
        for name, _ in defined(module)
        if name in kept
    ]

    assert {name for name, _ in homes} == kept
    assert [name for name, text in homes if f"`{name}`" not in text] == []


def test_a_class_has_a_name_of_its_own():
    """A search for the name of a class finds one."""
    classes = Counter(
        node.name for module in modules() for node in module.body if isinstance(node, ast.ClassDef)
    )

    assert len(classes) > 200
    assert [name for name, count in classes.items() if count > 1] == []
