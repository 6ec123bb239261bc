"""How an SVG element is painted: attributes, style sheets and what is inherited."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from xml.etree.ElementTree import Element

INITIAL: dict[str, str] = {
    "fill": "black", "fill-rule": "nonzero", "fill-opacity": "1", "clip-rule": "nonzero",
    "stroke": "none", "stroke-width": "1", "stroke-linecap": "butt",
    "stroke-linejoin": "miter", "stroke-miterlimit": "4", "stroke-opacity": "1",
    "stroke-dasharray": "none", "visibility": "visible", "marker-start": "none",
    "marker-mid": "none", "marker-end": "none",
}  # fmt: skip
"""What is inherited, and what holds at the root (SVG 2, property index)."""

_OWN = {
    "display": "inline", "opacity": "1", "clip-path": "none", "mask": "none", "filter": "none",
    "overflow": "", "transform": "",
}  # fmt: skip

Style = Mapping[str, str]

_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_SIMPLE = re.compile(r"(?P<tag>\*|[A-Za-z][\w-]*)?(?P<marks>(?:[.#][\w-]+)*)\Z")
_MARK = re.compile(r"[.#][\w-]+")


@dataclass(frozen=True, slots=True)
class Rule:
    """One simple selector and what it sets."""

    tag: str
    marks: tuple[str, ...]
    settings: tuple[tuple[str, str], ...]

    @property
    def weight(self) -> tuple[int, int, int]:
        """Specificity: ids, classes, tags (Selectors Level 3, section 9)."""
        ids = sum(mark.startswith("#") for mark in self.marks)
        return ids, len(self.marks) - ids, int(self.tag not in {"", "*"})

    def matches(self, tag: str, marks: set[str]) -> bool:
        """Tell whether an element with these classes and this id is meant."""
        return self.tag in {"", "*", tag} and marks.issuperset(self.marks)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The style rules of a drawing, weakest first, and the selectors left out."""

    rules: tuple[Rule, ...]
    skipped: tuple[str, ...]


def style_sheet(texts: list[str]) -> Sheet:
    """Return the simple rules of the ``<style>`` elements.

    Only tag, class and id selectors and their compounds are followed; others, and blocks
    that begin with @, are listed as skipped.
    """
    rules: list[Rule] = []
    skipped: list[str] = []
    for head, body in _blocks(_COMMENT.sub("", "\n".join(texts))):
        settings = tuple(declarations(body).items())
        for selector in (part.strip() for part in head.split(",")):
            match = _SIMPLE.match(selector)
            if match is None or not selector:
                skipped.append(selector)
            else:
                marks = tuple(_MARK.findall(match["marks"]))
                rules.append(Rule(match["tag"] or "", marks, settings))
    return Sheet(tuple(sorted(rules, key=lambda rule: rule.weight)), tuple(skipped))


def _blocks(text: str) -> list[tuple[str, str]]:
    """Return head and body of each block; one with blocks inside keeps an @ head only."""
    blocks, depth, head, start = [], 0, "", 0
    for at, letter in enumerate(text):
        if letter == ";" and depth == 0:
            start = at + 1
        elif letter == "{":
            head, start = (text[start:at].strip(), at + 1) if depth == 0 else (head, start)
            depth += 1
        elif letter == "}" and depth > 0:
            depth -= 1
            if depth == 0:
                blocks.append((head, text[start:at]))
                start = at + 1
    return blocks


def declarations(text: str) -> dict[str, str]:
    """Return property and value of each ``name: value;`` in a block or style attribute."""
    pairs = (line.partition(":") for line in _COMMENT.sub("", text).split(";") if ":" in line)
    return {name.strip().lower(): value.strip() for name, _, value in pairs}


def style_of(element: Element, inherited: Style, sheet: Sheet) -> dict[str, str]:
    """Return every property of an element after attributes, sheet and inline style."""
    own = {name: element.get(name, "") for name in (*INITIAL, *_OWN) if element.get(name)}
    tag = element.tag.rpartition("}")[2]
    marks = {f".{name}" for name in element.get("class", "").split()}
    marks.add(f"#{element.get('id', '')}")
    chosen = [rule.settings for rule in sheet.rules if rule.matches(tag, marks)]
    layers = [own, *map(dict, chosen), declarations(element.get("style", ""))]
    settings = {name: value for layer in layers for name, value in layer.items()}
    settings |= _important(layers)
    style = {**_OWN, **inherited}
    for name, value in settings.items():
        if name in style and value != "inherit":
            style[name] = value
    return style


def _important(layers: list[dict[str, str]]) -> dict[str, str]:
    """Return the values marked as important, which win over later ones."""
    pattern = re.compile(r"\s*!\s*important\Z")
    strong: dict[str, str] = {}
    for layer in layers:
        for name, value in layer.items():
            layer[name] = pattern.sub("", value)
            if layer[name] != value:
                strong[name] = layer[name]
    return strong


def inherited_by_children(style: Style) -> dict[str, str]:
    """Return the part of a style that children take over."""
    return {name: style[name] for name in INITIAL}


def number_or(text: str, default: float) -> float:
    """Return a plain number or percentage, or the default when it is neither."""
    try:
        return float(text.rstrip("%")) / (100 if text.endswith("%") else 1)
    except ValueError:
        return default


def is_filled(style: Style) -> bool:
    """Tell whether the inside of a shape is painted."""
    return _paints(style["fill"]) and number_or(style["fill-opacity"], 1.0) > 0


def is_stroked(style: Style) -> bool:
    """Tell whether the line of a shape is painted."""
    return _paints(style["stroke"]) and number_or(style["stroke-opacity"], 1.0) > 0


def _paints(paint: str) -> bool:
    return paint.strip().lower() not in {"none", "transparent", "rgba(0,0,0,0)"}


def is_white(paint: str) -> bool:
    """Tell whether a fill looks like paper, as people cover things up with it."""
    words = re.sub(r"\s", "", paint.lower())
    return words in {"white", "#fff", "#ffffff", "rgb(255,255,255)", "rgb(100%,100%,100%)"}


def hidden_reason(style: Style) -> str:
    """Return why an element and all in it are not shown; empty if they are."""
    if style["display"] == "none":
        return "not displayed"
    return "fully transparent" if number_or(style["opacity"], 1.0) <= 0 else ""
