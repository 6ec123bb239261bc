"""What a compiled loop is called with, as a line of text and as the compiler's types."""

from __future__ import annotations

import ast
from importlib import import_module
from typing import Any

from numba import types as numba_types

types: Any = numba_types


def signature_text(signature: tuple[Any, ...]) -> str:
    """Return the types of a call in one line; `signature_types` reads it.

    Raises
    ------
    ValueError
        If a type is none of numbers, arrays of numbers, fixed numbers, and tuples of those.
    """
    return ", ".join(_text(kind) for kind in signature)


def _text(kind: Any) -> str:
    if isinstance(kind, types.Array):
        plain = kind.aligned and isinstance(kind.dtype, types.Number | types.Boolean)
        if plain and type(kind) is types.Array:
            name = "array" if kind.mutable else "readonly"
            return f"{name}({_text(kind.dtype)}, {kind.ndim}, {kind.layout})"
    if isinstance(kind, types.BaseNamedTuple):
        home = kind.instance_class
        return f'named("{home.__module__}:{home.__qualname__}", {signature_text(kind.types)})'
    if isinstance(kind, types.BaseTuple):
        return f"row({signature_text(kind.types)})"
    if isinstance(kind, types.IntegerLiteral):
        return str(kind.literal_value)
    if isinstance(kind, types.Number | types.Boolean) and hasattr(types, str(kind)):
        return str(kind)
    raise ValueError(f"a compiled loop is called with {kind}")


def signature_types(text: str) -> tuple[Any, ...]:
    """Return the types that a line of `signature_text` tells.

    Raises
    ------
    ValueError
        If the line is not one of those.
    """
    call = ast.parse(f"row({text})", mode="eval").body
    assert isinstance(call, ast.Call)
    return tuple(_type(part) for part in call.args)


def _type(part: ast.expr) -> Any:
    if isinstance(part, ast.Name):
        kind = getattr(types, "boolean" if part.id == "bool" else part.id, None)
        if isinstance(kind, types.Number | types.Boolean):
            return kind
    elif isinstance(part, ast.Constant | ast.UnaryOp):
        return types.literal(ast.literal_eval(part))
    elif isinstance(part, ast.Call) and isinstance(part.func, ast.Name):
        name, parts = part.func.id, part.args
        if name in ("array", "readonly"):
            return _array(parts, writable=name == "array")
        if name == "row":
            return types.Tuple([_type(each) for each in parts])
        if name == "named":
            return types.NamedTuple([_type(each) for each in parts[1:]], _class(parts[0]))
    raise ValueError(f"no type of a compiled loop: {ast.unparse(part)}")


def _array(parts: list[ast.expr], *, writable: bool) -> Any:
    dtype, n_axes, layout = parts
    n, order = ast.literal_eval(n_axes), ast.unparse(layout)
    return types.Array(_type(dtype), n, order, readonly=not writable)


def _class(part: ast.expr) -> Any:
    module, _, name = str(ast.literal_eval(part)).partition(":")
    return getattr(import_module(module), name)
