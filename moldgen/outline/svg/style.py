"""How an SVG element is painted: attributes, style sheets and what is inherited."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple
from xml.etree.ElementTree import Element

import tinycss2
from tinycss2.color4 import Color, parse_color

from moldgen.errors import OutlineError
from moldgen.outline.svg.selector import Parents, Selector, selector_of
from moldgen.outline.svg.tree import local_name

INITIAL: dict[str, str] = {
    "fill": "black", "fill-rule": "nonzero", "fill-opacity": "1", "clip-rule": "nonzero",
    "stroke": "none", "stroke-width": "1", "stroke-linecap": "butt",
    "stroke-linejoin": "miter", "stroke-miterlimit": "4", "stroke-opacity": "1",
    "stroke-dasharray": "none", "stroke-dashoffset": "0", "visibility": "visible",
    "marker-start": "none", "marker-mid": "none", "marker-end": "none",
}  # fmt: skip
"""What is inherited, and what holds at the root (SVG 2, property index)."""

_OWN = {
    "display": "inline", "opacity": "1", "clip-path": "none", "mask": "none", "filter": "none",
    "overflow": "", "transform": "",
}  # fmt: skip

Style = Mapping[str, str]

_OF_SCREENS = {"srgb", "hsl", "hwb"}
"""Color spaces that drawings use; whatever is in another one does not count as white."""

_WHITE = 1 - 0.5 / 255
"""Share of full red, green and blue from which eight bits say white."""


class Declaration(NamedTuple):
    """A property, its value, and whether it is marked as important."""

    name: str
    value: str
    important: bool = False


@dataclass(frozen=True, slots=True)
class StyleRule:
    """One selector and what it sets."""

    selector: Selector
    settings: tuple[Declaration, ...]


@dataclass(frozen=True, slots=True)
class StyleSheet:
    """The style rules of a drawing, weakest first, and the selectors left out.

    Attributes
    ----------
    rules : tuple of StyleRule
        Weakest first.
    skipped : tuple of str
        Selectors and blocks that are not followed.
    parents : mapping
        What each element of the drawing stands in.
    hides : bool
        Whether one of those left out sets how shapes are painted.
    """

    rules: tuple[StyleRule, ...]
    skipped: tuple[str, ...]
    parents: Parents
    hides: bool = False
    _by_key: dict[str, list[int]] = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        for at, rule in enumerate(self.rules):
            self._by_key.setdefault(rule.selector.key, []).append(at)

    def of(self, element: Element) -> list[StyleRule]:
        """Return the rules for an element, weakest first."""
        # A rule is looked at only where its last compound's id, class or tag is the element's own.
        marks = {f".{name}" for name in element.get("class", "").split()}
        keys = ("*", element.tag.rpartition("}")[2], f"#{element.get('id', '')}", *marks)
        likely = sorted({at for key in keys for at in self._by_key.get(key, ())})
        rules = (self.rules[at] for at in likely)
        return [rule for rule in rules if rule.selector.matches(element, self.parents)]


def sheet_of(root: Element) -> StyleSheet:
    """Return the rules that a drawing brings in its ``<style>`` elements."""
    styles = (element for element in root.iter() if local_name(element) == "style")
    return style_sheet(["".join(element.itertext()) for element in styles], root)


def style_sheet(texts: list[str], root: Element | None = None) -> StyleSheet:
    """Return the rules of the ``<style>`` elements that can be followed.

    Tag, class and id selectors, their compounds, descendants and children are; others, and
    blocks that begin with @, are listed as skipped.

    Raises
    ------
    OutlineError
        If brackets stand within brackets, hundreds of them.
    """
    rules: list[StyleRule] = []
    skipped: list[str] = []
    hides = False
    for block in tinycss2.parse_stylesheet("\n".join(texts)):
        if block.type == "at-rule" and block.content is not None:
            skipped.append(f"@{block.at_keyword}{_written(block.prelude, ends=False)}")
        elif block.type == "qualified-rule":
            settings = declarations(block.content)
            for text in _selectors(block.prelude):
                selector = selector_of(text)
                if selector is None:
                    skipped.append(text)
                    hides |= ":" not in text and any(one.name in _PAINT for one in settings)
                else:
                    rules.append(StyleRule(selector, settings))
    parents = {child: one for one in root.iter() for child in one} if root is not None else {}
    ordered = tuple(sorted(rules, key=lambda rule: rule.selector.weight))
    return StyleSheet(ordered, tuple(skipped), parents, hides)


_PAINT = {"display", "visibility", "opacity", "fill", "fill-opacity", "stroke", "clip-path", "mask"}
"""Properties that decide whether a shape is seen."""


def _selectors(prelude: Iterable[Any]) -> list[str]:
    return [part.strip() for part in _written(prelude).split(",")]


def _written(tokens: Iterable[Any], *, ends: bool = True) -> str:
    """Return tokens as text without comments, and by default without blank ends."""
    try:
        text = str(tinycss2.serialize([token for token in tokens if token.type != "comment"]))
    except RecursionError:
        raise OutlineError(
            "A style of the drawing has hundreds of brackets within each other; export it again."
        ) from None
    return text.strip() if ends else text.rstrip()


def declarations(block: str | Iterable[Any]) -> tuple[Declaration, ...]:
    """Return what each ``name: value;`` in a block or style attribute sets, in order."""
    return tuple(
        Declaration(part.lower_name, _written(part.value), part.important)
        for part in tinycss2.parse_blocks_contents(block)
        if part.type == "declaration"
    )


def style_of(element: Element, inherited: Style, sheet: StyleSheet) -> dict[str, str]:
    """Return every property of an element after attributes, sheet and inline style."""
    own = (
        Declaration(name, element.get(name, "")) for name in (*INITIAL, *_OWN) if element.get(name)
    )
    chosen = (rule.settings for rule in sheet.of(element))
    layers = [*own, *(one for settings in chosen for one in settings)]
    layers += declarations(element.get("style", ""))
    style = {**_OWN, **inherited}
    for name, value, _ in _weakest_first(layers):
        if name in style and value != "inherit":
            style[name] = value
    return style


def states(root: Element, sheet: StyleSheet, name: str) -> bool:
    """Tell whether a drawing sets a property anywhere, rather than to leave it to the standard."""
    by_rule = any(one.name == name for rule in sheet.rules for one in rule.settings)
    return by_rule or any(e.get(name) or name in e.get("style", "") for e in root.iter())


def _weakest_first(settings: list[Declaration]) -> Iterator[Declaration]:
    """Yield what is marked as important after all that is not."""
    yield from (one for one in settings if not one.important)
    yield from (one for one in settings if one.important)


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
    color = parse_color(paint)
    if isinstance(color, Color):
        return bool(color.alpha)
    return paint.strip().lower() != "none"


def is_white(paint: str) -> bool:
    """Tell whether a fill looks like paper, as people cover things up with it."""
    color = parse_color(paint)
    if not isinstance(color, Color) or color.alpha != 1 or color.space not in _OF_SCREENS:
        return False
    return all(share is not None and share >= _WHITE for share in color.to("srgb").coordinates)


def paints_of(style: Style) -> tuple[str, ...]:
    """Return what the inside and the line of a shape are painted with, as far as they are."""
    there = (("fill", is_filled(style)), ("stroke", is_stroked(style)))
    return tuple(style[kind] for kind, is_painted in there if is_painted)


def opacity_of(style: Style) -> float:
    """Return how much of what is below is covered where a shape covers most, its group aside."""
    there = (("fill", is_filled(style)), ("stroke", is_stroked(style)))
    shares = [number_or(style[f"{kind}-opacity"], 1.0) for kind, is_painted in there if is_painted]
    return max(shares, default=1.0)


def is_paper(style: Style) -> bool:
    """Tell whether what is painted of a shape is white, fill and line alike."""
    paints = paints_of(style)
    clear = any(number_or(style[name], 1.0) < 1 for name in ("opacity", "fill-opacity"))
    return bool(paints) and not clear and all(map(is_white, paints))


def hidden_reason(style: Style) -> str:
    """Return why an element and all in it are not shown; empty if they are."""
    if style["display"] == "none":
        return "not displayed"
    return "fully transparent" if number_or(style["opacity"], 1.0) <= 0 else ""
