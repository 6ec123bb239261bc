"""Templates of the sentences that an expression of the source can become."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache

from catalogs.source import Function, Module, Source, assignments, called

_DEPTH = 8
_PASSED_ON = frozenset(
    {
        "join",
        "next",
        "dict",
        "str",
        "min",
        "max",
        "sorted",
        "list",
        "tuple",
        "one_of",
        "format",
        "get",
    }
    | {"partial", "in_words", "as_read", "told_html", "cleandoc", "visible", "one_line"}
)
"""Functions that hand on what they are given."""
_CHANGES = frozenset(
    {"strip", "rstrip", "lstrip", "capitalize", "lower", "replace", "removesuffix"}
)
_SPELLED = re.compile(r"[^\W\d_]{2}")
"""What has no two letters side by side is no words."""


@cache
def _assigned_in(function: Function) -> tuple[tuple[str, ast.expr], ...]:
    return tuple(assignments(function.body))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Follows expressions through the source, and gathers the templates they are made of."""

    source: Source
    found: dict[str, set[str]] = field(default_factory=dict)
    """Templates, each with the files that say it."""
    _seen: dict[int, ast.expr] = field(default_factory=dict)
    """Kept, so that none of them gives its number to another."""

    def follow(self, node: ast.expr | None, module: Module, depth: int = 0) -> None:
        """Gather the templates of one expression and of what it is made of."""
        if node is None or depth > _DEPTH or id(node) in self._seen:
            return
        self._seen[id(node)] = node
        for part in _parts(node):
            self._follow_part(part, module, depth)

    def _follow_part(self, node: ast.expr, module: Module, depth: int) -> None:
        match node:
            case ast.Constant(value=str(words)):
                self._keep(words.replace("{", "{{").replace("}", "}}"), module)
            case ast.JoinedStr():
                self._keep(template(node), module)
                for value in node.values:
                    if isinstance(value, ast.FormattedValue):
                        self.follow(value.value, module, depth + 1)
            case ast.Call():
                self._follow_call(node, module, depth)
            case ast.Name(id=name):
                self._follow_name(name, node, module, depth)
            case ast.Attribute(attr=name):
                self._follow_returns(name, depth, is_property=True)
                self._follow_fields(name, node, depth)

    def _keep(self, words: str, module: Module) -> None:
        words = words.strip()
        if _SPELLED.search(re.sub(r"\{\w+\}", "", words)):
            self.found.setdefault(words, set()).add(module.path.as_posix())

    def _follow_call(self, node: ast.Call, module: Module, depth: int) -> None:
        name = called(node)
        if name == "counted" and len(node.args) == 2:
            self._keep_count(node.args[1], module)
        for one in (*node.args, *(keyword.value for keyword in node.keywords)):
            if name in _PASSED_ON:
                self.follow(one, module, depth + 1)
        if isinstance(node.func, ast.Attribute) and name in _CHANGES | {"format", "join", "get"}:
            self.follow(node.func.value, module, depth + 1)
        self._follow_returns(name, depth)

    def _keep_count(self, noun: ast.expr, module: Module) -> None:
        if isinstance(noun, ast.Constant) and isinstance(noun.value, str):
            self._keep(f"1 {noun.value!s}", module)
            self._keep(f"{{number}} {noun.value!s}s", module)

    def _follow_returns(self, name: str, depth: int, *, is_property: bool = False) -> None:
        places = self.source.functions.get(name, [])
        if not name or name.startswith("__") or len(places) > 3:
            return
        for module, function in places:
            if is_property and not function.decorator_list:
                continue
            if function.returns is None or "str" not in ast.unparse(function.returns):
                continue
            for node in ast.walk(function):
                if isinstance(node, ast.Return | ast.Yield) and module.inside[node] is function:
                    self.follow(node.value, module, depth + 1)

    def _follow_fields(self, name: str, node: ast.Attribute, depth: int) -> None:
        """Follow what is given for a field of that name where something is made."""
        if name not in _FIELDS:
            return
        for module, value in self.source.given.get(name, ()):
            self.follow(value, module, depth + 1)

    def _follow_name(self, name: str, node: ast.expr, module: Module, depth: int) -> None:
        function = module.inside.get(node)
        known = False
        if function is not None:
            for assigned, value in _assigned_in(function):
                if assigned == name:
                    known = True
                    self.follow(value, module, depth + 1)
            if not known and self._follow_parameter(name, function, depth):
                return
        if known:
            return
        for value in module.values.get(name, ()):
            self.follow(value, module, depth + 1)
        if name in module.imports:
            origin, original = module.imports[name]
            other = self.source.modules.get(origin)
            for value in other.values.get(original, ()) if other else ():
                self.follow(value, other, depth + 1)

    def _follow_parameter(self, name: str, function: Function, depth: int) -> bool:
        arguments = [one.arg for one in (*function.args.posonlyargs, *function.args.args)]
        only = [one.arg for one in function.args.kwonlyargs]
        if name not in arguments + only:
            return False
        for module, call in self.source.calls.get(function.name, ()):
            for keyword in call.keywords:
                if keyword.arg == name:
                    self.follow(keyword.value, module, depth + 1)
            if name in arguments and arguments.index(name) < len(call.args):
                self.follow(call.args[arguments.index(name)], module, depth + 1)
        return True


_FIELDS = frozenset({"says", "advice", "basis", "reason", "why", "place", "hint", "doing"})


def _parts(node: ast.expr) -> Iterator[ast.expr]:
    """Yield what an expression may be, its choices and sums taken apart."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        joined = _sum(node)
        inner = [node.left, node.right] if joined is None else []
        yield from [joined] if joined is not None else []
    else:
        inner = _inner(node)
        if not inner:
            yield node
    for one in inner:
        yield from _parts(one)


def _inner(node: ast.expr) -> list[ast.expr]:
    """Return what an expression is one of, or is made of; nothing if it is read as it is."""
    match node:
        case ast.IfExp(body=first, orelse=second):
            return [first, second]
        case ast.BinOp(left=one) | ast.Subscript(value=one) | ast.Starred(value=one):
            return [one]
        case ast.GeneratorExp(elt=one) | ast.ListComp(elt=one):
            return [one]
        case ast.BoolOp(values=values) | ast.Tuple(elts=values) | ast.List(elts=values):
            return values
        case ast.Dict(values=values):
            return [one for one in values if one is not None]
        case _:
            return []


def _sum(node: ast.BinOp) -> ast.JoinedStr | None:
    """Return two literals that are added as one; none if one of them is no literal."""
    values: list[ast.expr] = []
    for side in (node.left, node.right):
        if isinstance(side, ast.BinOp) and isinstance(side.op, ast.Add):
            inner = _sum(side)
            values += inner.values if inner else [ast.FormattedValue(value=side, conversion=-1)]
        elif isinstance(side, ast.JoinedStr):
            values += side.values
        elif isinstance(side, ast.Constant):
            values.append(side)
        else:
            values.append(ast.FormattedValue(value=side, conversion=-1))
    said = [one.value for one in values if isinstance(one, ast.Constant)]
    return ast.JoinedStr(values=values) if any(map(str.strip, map(str, said))) else None


def template(node: ast.JoinedStr) -> str:
    """Return the template of a formatted string: its words, and a name for each value."""
    words, used = "", []
    for value in node.values:
        if isinstance(value, ast.Constant):
            words += str(value.value).replace("{", "{{").replace("}", "}}")
        elif isinstance(value, ast.FormattedValue):
            name = value_name(value.value)
            used.append(name)
            number = used.count(name)
            words += f"{{{name if number == 1 else f'{name}{number}'}}}"
    return words


def value_name(node: ast.expr) -> str:
    """Return what a value in a template is called: the last name it is made of."""
    names = list(_names(node))
    name = names[0] if names else "value"
    return re.sub(r"\W", "", name).strip("_") or "value"


def _names(node: ast.expr) -> Iterator[str]:
    match node:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            yield name
        case ast.Call(func=func, args=args):
            if (
                isinstance(func, ast.Name)
                and func.id
                in {"round", "abs", "float", "int", "max", "min", "len", "clock_text", "str"}
                and args
            ):
                yield from _names(args[0])
            elif isinstance(func, ast.Attribute) and func.attr == "join":
                yield from _names(args[0])
            else:
                yield from _names(func)
        case _:
            for child in ast.iter_child_nodes(node):
                if isinstance(child, ast.expr):
                    yield from _names(child)


def keyword_values(
    source: Source, words: Iterable[str], calls: Iterable[str] = ()
) -> Iterator[tuple[Module, ast.expr]]:
    """Yield what calls give for keywords of these names; calls of any name if none is named."""
    words, calls = frozenset(words), frozenset(calls)
    for name, places in source.calls.items():
        if calls and name not in calls:
            continue
        for module, call in places:
            for keyword in call.keywords:
                if keyword.arg in words:
                    yield module, keyword.value
