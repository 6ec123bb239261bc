"""Expressions of the source by where they stand: calls, what is returned, labels of rows."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from catalogs.source import Module, Source


def all_calls(source: Source) -> Iterator[tuple[Module, ast.Call]]:
    """Yield every call."""
    for calls in source.calls.values():
        yield from calls


def returned(module: Module) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what functions return that are annotated to return words."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Return | ast.Yield) and node.value is not None:
            function = module.inside.get(node)
            if function is not None and function.returns is not None:
                if "str" in ast.unparse(function.returns):
                    yield module, node.value


def labels(module: Module) -> Iterator[tuple[Module, ast.expr]]:
    """Yield the labels of rows: pairs whose first is a literal."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Tuple) and len(node.elts) in (2, 3, 4):
            label = node.elts[0]
            if isinstance(label, ast.Constant) and isinstance(label.value, str):
                yield from ((module, one) for one in node.elts)
