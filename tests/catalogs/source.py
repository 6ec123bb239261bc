"""The functions, names and calls of the source, by name."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "moldgen"

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Module:
    """One file: its values by name, and in which function each node stands."""

    path: Path
    tree: ast.Module
    values: dict[str, list[ast.expr]]
    imports: dict[str, tuple[str, str]]
    inside: dict[ast.AST, Function]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Source:
    """All files of the package."""

    modules: dict[str, Module] = field(default_factory=dict)
    functions: dict[str, list[tuple[Module, Function]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    calls: dict[str, list[tuple[Module, ast.Call]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    given: dict[str, list[tuple[Module, ast.expr]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    """What calls give for keywords, by name."""


def read_source(package: Path = PACKAGE) -> Source:
    """Return all files of a package, read."""
    source = Source()
    for path in sorted(package.rglob("*.py")):
        name = ".".join((package.name, *path.relative_to(package).with_suffix("").parts))
        module = _module(path)
        source.modules[name.removesuffix(".__init__")] = module
        for node in ast.walk(module.tree):
            if isinstance(node, Function):
                source.functions[node.name].append((module, node))
            elif isinstance(node, ast.Call):
                source.calls[called(node)].append((module, node))
                for keyword in node.keywords:
                    source.given[keyword.arg or ""].append((module, keyword.value))
    return source


def called(call: ast.Call) -> str:
    """Return the bare name of what is called."""
    function = call.func
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def _module(path: Path) -> Module:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    imports, inside = {}, {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            imports |= {one.asname or one.name: (node.module or "", one.name) for one in node.names}
        if isinstance(node, Function):  # inner functions come later, and win
            inside |= dict.fromkeys(ast.walk(node), node)
    values = _assigned(tree.body)
    return Module(path=path, tree=tree, values=values, imports=imports, inside=inside)


def _assigned(body: list[ast.stmt]) -> dict[str, list[ast.expr]]:
    found: dict[str, list[ast.expr]] = defaultdict(list)
    for name, value in assignments(body):
        found[name].append(value)
    return found


def assignments(body: list[ast.stmt]) -> Iterator[tuple[str, ast.expr]]:
    """Yield what is assigned to names in statements, in order."""
    for statement in body:
        for node in ast.walk(statement):
            yield from _assignment(node)


def _assignment(node: ast.AST) -> Iterator[tuple[str, ast.expr]]:
    if isinstance(node, ast.Assign):
        targets, value = node.targets, node.value
    elif isinstance(node, ast.AnnAssign | ast.AugAssign | ast.NamedExpr):
        targets, value = [node.target], node.value
    elif isinstance(node, ast.For | ast.comprehension):
        targets, value = [node.target], node.iter
    elif isinstance(node, ast.Call) and called(node) in ("append", "extend", "insert"):
        targets, value = [getattr(node.func, "value", node.func)], node.args[-1]
    else:
        return
    for target in targets:
        if isinstance(target, ast.Name) and value is not None:
            yield target.id, value
        elif isinstance(target, ast.Tuple):
            yield from _unpacked(target, value)


def _unpacked(target: ast.Tuple, value: ast.expr | None) -> Iterator[tuple[str, ast.expr]]:
    names = [one.id if isinstance(one, ast.Name) else "" for one in target.elts]
    parts = value.elts if isinstance(value, ast.Tuple) and len(value.elts) == len(names) else None
    for number, name in enumerate(names):
        if name and value is not None:
            yield name, parts[number] if parts else value
