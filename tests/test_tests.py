"""The tests themselves: none asserts only in a loop that may go over nothing."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest
from conftest import ROOT
from support.some import some

TESTS = sorted(path for path in (ROOT / "tests").rglob("test_*.py"))
SURE = {"some", "published", "range", "linspace", "arange"}
"""Calls that give something: `some` and `published` refuse to give nothing."""
PASSED_ON = {"enumerate", "zip", "sorted", "reversed", "list", "tuple", "product"}
"""Calls that give something if their first argument does."""
VIEWS = {"items", "keys", "values"}


def functions_of(module: ast.Module) -> Iterator[ast.FunctionDef]:
    """Yield the test functions of a module."""
    for node in ast.walk(module):
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            yield node


def called(call: ast.Call) -> str:
    """Return the last name of what is called."""
    return getattr(call.func, "attr", getattr(call.func, "id", ""))


def asserts(node: ast.AST) -> bool:
    """Tell whether a statement can fail a test by itself."""
    if isinstance(node, ast.With):
        calls = [item.context_expr for item in node.items]
        return any(isinstance(call, ast.Call) and called(call) == "raises" for call in calls)
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        return called(node.value).startswith(("assert_", "check_", "expect_"))
    return isinstance(node, ast.Assert)


def asserted(node: ast.AST, loops: tuple[ast.For, ...] = ()) -> Iterator[tuple[ast.For, ...]]:
    """Yield the loops around each assertion of a function, the outermost first."""
    for inner in ast.iter_child_nodes(node):
        if isinstance(inner, (ast.FunctionDef, ast.Lambda)):
            continue
        if asserts(inner):
            yield loops
        yield from asserted(inner, (*loops, inner) if isinstance(inner, ast.For) else loops)


def bindings(*scopes: ast.AST) -> dict[str, ast.expr]:
    """Return what each name of a module or a function is bound to, where that is one thing."""
    bound: dict[str, ast.expr] = {}
    for scope in scopes:
        for node in ast.iter_child_nodes(scope):
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                bound[node.targets[0].id] = node.value
    return bound


def sure(thing: ast.expr, bound: dict[str, ast.expr]) -> bool:
    """Tell whether it is seen at a glance that a loop over this goes over something."""
    if isinstance(thing, ast.Name):
        value = bound.get(thing.id)
        return value is not None and sure(value, {})
    if isinstance(thing, (ast.Tuple, ast.List, ast.Set)):
        return bool(thing.elts)
    if isinstance(thing, ast.Dict):
        return bool(thing.keys)
    if isinstance(thing, ast.Constant):
        return bool(thing.value)
    if isinstance(thing, ast.Call) and isinstance(thing.func, ast.Attribute) and not thing.args:
        return thing.func.attr in VIEWS and sure(thing.func.value, bound)
    if isinstance(thing, ast.Call) and called(thing) in PASSED_ON and thing.args:
        return sure(thing.args[0], bound)
    return isinstance(thing, ast.Call) and called(thing) in SURE


def may_assert_nothing(test: ast.FunctionDef, module: ast.Module) -> bool:
    """Tell whether every assertion of a test stands in a loop that may go over nothing."""
    bound = bindings(module, test)
    around = list(asserted(test))
    return bool(around) and not any(
        all(sure(loop.iter, bound) for loop in loops) for loops in around
    )


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.stem)
def test_no_test_asserts_only_in_a_loop_over_what_may_be_nothing(path):
    """What a test loops over is written out, parametrized, or goes through `some`."""
    module = ast.parse(path.read_text(encoding="utf-8"))
    assert not [test.name for test in functions_of(module) if may_assert_nothing(test, module)]


@pytest.mark.parametrize(
    ("body", "empty"),
    [
        ("for vent in plan.vents:\n  assert vent", True),
        ("for vent in some(plan.vents):\n  assert vent", False),
        ("for k, vent in enumerate(plan.vents):\n  assert vent", True),
        ("for size in (1, 2):\n  assert size", False),
        ("for size in ():\n  assert size", True),
        ("for size in (1, 2):\n  for vent in sizes:\n    assert vent", True),
        ("sizes = [1, 2]\nfor size in sizes:\n  assert size", False),
        ("assert plan\nfor vent in plan.vents:\n  assert vent", False),
        ("for vent in plan.vents:\n  with pytest.raises(SpecError, match='x'):\n    vent()", True),
        ("for vent in plan.vents:\n  assert_allclose(vent, 1)", True),
        ("plan.check()", False),
    ],
)
def test_a_loop_over_what_may_be_nothing_is_seen(body, empty):
    """A loop over an attribute or an empty tuple is found, one over what is written out is not."""
    module = ast.parse("def test_it():\n" + "\n".join(f"  {line}" for line in body.splitlines()))
    (test,) = some(functions_of(module))
    assert may_assert_nothing(test, module) is empty


def test_nothing_is_refused():
    """A loop over an empty collection fails the test it stands in."""
    with pytest.raises(AssertionError, match="over nothing"):
        some([])
