"""An SVG file as a tree that is safe to walk."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from xml.etree.ElementTree import Element, ParseError, fromstring
from xml.parsers import expat

from moldgen.errors import FileError
from moldgen.named_file import visible

NAMESPACE = "http://www.w3.org/2000/svg"
_LABEL = 200
"""Characters of a title that tell shapes apart."""
_WORDS = 20
_SWELLS_TO = 100_000
"""Characters that all entities of a file together may stand for."""
_WORD = re.compile(r"\S++")


def svg_tree(path: Path, data: bytes) -> Element:
    """Return the root element of the content of an SVG file.

    Raises
    ------
    FileError
        If it is not well-formed, is not SVG, or defines entities that stand for more than a few
        words (which can make a small file swell without end, or pull in others).
    """
    if data.startswith(b"\x1f\x8b"):
        raise FileError(f"{path} is a compressed SVG; save it as plain SVG.")
    _check_entities(path, data)
    try:
        root = fromstring(data)
    except (ParseError, ValueError, LookupError) as error:
        raise _broken(path, str(error)) from error
    if local_name(root) != "svg":
        raise FileError(
            f"{path} is XML, but its first element is {str(root.tag).rpartition('}')[2]}, "
            "not svg; export the drawing as SVG."
        )
    return root


def _check_entities(path: Path, data: bytes) -> None:
    """Refuse entities that are more than short names of a few words, as drawing programs write."""
    n_used = data.count(b"&")

    def check(name: str, is_parameter: int, value: str | None, *_: object) -> None:
        # A value of None lies in another file, one with an ampersand or a percent sign grows.
        plain = not is_parameter and value is not None and not set("&%<") & set(value)
        if not plain or n_used * len(value or "") > _SWELLS_TO:
            raise FileError(
                f"{path} defines the XML entity {visible(name[:60])}, which is not read for "
                "safety; save it as plain SVG."
            )

    parser = expat.ParserCreate()
    parser.EntityDeclHandler = check
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, ValueError, LookupError) as error:
        raise _broken(path, str(error)) from error


def _broken(path: Path, reason: str) -> FileError:
    return FileError(
        f"{path} is not a complete SVG file ({reason}); save or export the drawing again."
    )


def local_name(element: Element) -> str:
    """Return the name of an SVG element; empty for elements of other languages."""
    space, _, name = str(element.tag).rpartition("}")
    return name if space in {"", "{" + NAMESPACE} else ""


def attribute(element: Element, name: str) -> str:
    """Return an attribute by its local name, whatever its namespace; empty if missing."""
    values = (value for key, value in element.items() if key.rpartition("}")[2] == name)
    return element.get(name) or next(values, "")


def label_of(element: Element) -> str:
    """Return the readable name of an element: its label, its given name or its title."""
    title = next((child for child in element if local_name(child) == "title"), None)
    words = (title.text or "")[:_LABEL].strip() if title is not None else ""
    return attribute(element, "label") or element.get("data-name", "") or words


def text_in(element: Element) -> str:
    """Return the first words of the text in an element, on one line."""
    words: list[str] = []
    for run in element.itertext():
        words += islice((word[0] for word in _WORD.finditer(run)), _WORDS)
        if len(words) >= _WORDS:
            break
    return " ".join(words)[:_LABEL]


def target_id(element: Element) -> str:
    """Return the id that an ``href`` in the same file points to; empty for other places."""
    href = attribute(element, "href").strip()
    return href[1:] if href.startswith("#") else ""


def other_file(element: Element) -> str:
    """Return the place outside of the drawing that an ``href`` points to; empty if none."""
    href = attribute(element, "href").strip()
    return "" if href.startswith("#") else visible(href.partition("#")[0][:60])


def named_in(element: Element) -> Iterator[str]:
    """Yield every id and label of an element and what is inside it."""
    for inner in element.iter():
        yield from filter(None, (inner.get("id", ""), label_of(inner)))


def spoken(element: Element) -> str:
    """Return what a sentence calls an element."""
    name = visible((element.get("id") or label_of(element))[:60])
    tag = visible(str(element.tag).rpartition("}")[2][:60])
    return f'{tag} "{name}"' if name else f"a {tag} without an id"
