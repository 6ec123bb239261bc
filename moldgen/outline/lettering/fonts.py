"""The fonts of this computer: found by name, opened, and refused when they have no outlines."""

from __future__ import annotations

import errno
import os
import stat
import sys
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now
from moldgen.limits import spoken_size
from moldgen.named_file import told
from moldgen.outline.lettering.web_font import WEB_FONT, WEB_FONT_2, opentype_from_woff
from moldgen.typeface.face import font_file, font_folder, load_faces
from moldgen.wording import fold, nearest, shown

if TYPE_CHECKING:
    import uharfbuzz as hb

DEFAULT_FONT = "DejaVuSans-Bold.ttf"
"""Bold and open enough to form; free license (Bitstream Vera), comes along."""
ENDINGS = (".ttf", ".otf", ".ttc", ".otc", ".woff")
"""Of the files that fonts are in."""
_UPRIGHT = ("regular", "book", "roman", "normal", "medium")
# First four bytes of a font file: TrueType, OpenType with CFF, Apple's TrueType, collection.
# Source: OpenType specification 1.9, "Table directory" and "Font collections".
_SIGNATURES = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf")
_OUTLINE_TABLES = {"glyf", "CFF ", "CFF2"}
_LETTERS = {"Lu", "Ll", "Lt", "Lo"}
_FEWEST_LETTERS = 20  # no alphabet in use is shorter; fonts of mathematical signs have a few
_FAMILY, _STYLE, _FULL, _TYPO_FAMILY, _TYPO_STYLE = 1, 2, 4, 16, 17


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class FontInfo:
    """One font that text can be set in.

    Attributes
    ----------
    family, style, full_name : str
        What the font calls itself, such as ``DejaVu Sans``, ``Bold``, ``DejaVu Sans Bold``.
    path : Path
        Its file.
    index : int
        Its place in the file; more than 0 only in collections.
    """

    family: str
    style: str
    full_name: str
    path: Path
    index: int = 0


def list_fonts(folders: Sequence[Path] | None = None) -> tuple[FontInfo, ...]:
    """Return every font with outlines in the folders, by family and style.

    Parameters
    ----------
    folders : sequence of Path, optional
        Where to look; by default where this computer keeps its fonts.
    """
    return tuple(sorted(fonts_in(folders or font_folders())))


def fonts_in(folders: Sequence[Path]) -> Iterator[FontInfo]:
    """Yield every font with outlines in the folders, as they lie."""
    yield from _fonts_in(_files_in(folders))


def lettering_fonts(fonts: Iterable[FontInfo]) -> tuple[FontInfo, ...]:
    """Return the fonts that have letters or figures, each name once, the first of its name."""
    first: dict[str, FontInfo] = {}
    for font in fonts:
        if font.full_name not in first and _has_letters(font):
            first[font.full_name] = font
    return tuple(first.values())


def _has_letters(font: FontInfo) -> bool:
    known = set(open_face(font.path, font.index).unicodes)
    letters = sum(unicodedata.category(chr(code)) in _LETTERS for code in known)
    return letters >= _FEWEST_LETTERS or known.issuperset(map(ord, "0123456789"))


def find_font(name: str | None = None, folders: Sequence[Path] | None = None) -> FontInfo:
    """Return the font a person means.

    Parameters
    ----------
    name : str, optional
        A file, or the name of a file, a family or a single font, in any case and with or
        without spaces and hyphens; by default the usual one that comes with moldgen. A face
        that comes along is taken before another font of its name. Of a family, the upright
        regular font is taken.
    folders : sequence of Path, optional
        Where to look for names; by default where this computer keeps its fonts.

    Raises
    ------
    SpecError
        If no font has that name; the sentence holds the nearest names.
    FileError
        If a file is given that is missing, no font, or without outlines.
    """
    if name is None:
        return font_in(default_font_path())
    if is_font_file(name):
        return font_in(Path(name).expanduser())
    wanted, files = _key(name), _files_in(folders or font_folders())
    # The heights at which a face forms are measured on the very file that comes along.
    for face in load_faces() if folders is None else ():
        if _key(face.name) == wanted:
            return font_in(face.path)
    for path in files:
        if _key(path.stem) == wanted:
            return font_in(path)
    fonts = list(_fonts_in(files))
    named = [font for font in fonts if _key(font.full_name) == wanted]
    family = [font for font in fonts if _key(font.family) == wanted]
    matches = named[:1] or sorted(family, key=_uprightness)
    if not matches:
        raise _unknown(name, fonts)
    return matches[0]


def default_font_path() -> Path:
    """Return the file of the default font.

    Raises
    ------
    FileError
        If the package is damaged.
    """
    return font_file(DEFAULT_FONT)


def font_folders(
    platform: str = sys.platform,
    environment: Mapping[str, str] = os.environ,
    home: Path | None = None,
) -> tuple[Path, ...]:
    """Return where a computer keeps fonts, the person's own first, those brought along last."""
    home = home or Path.home()
    if platform == "win32":
        local = Path(environment.get("LOCALAPPDATA", home / "AppData/Local"))
        windows = Path(environment.get("WINDIR", "C:/Windows"))
        own = [local / "Microsoft/Windows/Fonts", windows / "Fonts"]
    elif platform == "darwin":
        own = [home / "Library/Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts")]
    else:
        data = Path(environment.get("XDG_DATA_HOME") or home / ".local/share")
        shared = [Path("/usr/local/share/fonts"), Path("/usr/share/fonts")]
        own = [data / "fonts", home / ".fonts", *shared]
    return (*own, font_folder())


def font_in(path: Path) -> FontInfo:
    """Return the font in a file.

    Raises
    ------
    FileError
        If the file is missing, no font, damaged, or has pictures instead of outlines.
    """
    return _info(open_face(path), path, 0)


def open_face(path: Path, index: int = 0) -> hb.Face:
    """Return an open font for shaping and reading outlines.

    A variable font is opened at its default instance.

    Raises
    ------
    FileError
        If the file is missing, no font, damaged, or has pictures instead of outlines.
    """
    import uharfbuzz as hb

    try:
        signature = _signature(path)
        blob = hb.Blob.from_file_path(str(path)) if signature in _SIGNATURES else None
        if signature == WEB_FONT:
            blob = _unpacked(path)
        if signature == WEB_FONT_2:
            raise FileError(
                f"{told(path)} is a web font of the second kind (WOFF2), which is not read; give "
                "the same font as .ttf, .otf or .woff."
            )
    except FileError:
        raise
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise FileError(
            f"cannot read the font {told(path)}: {reason}; correct the path."
        ) from error
    except hb.HarfBuzzError:
        blob = None
    if blob is None:
        name = told(path)
        raise FileError(
            f"{name} is not a TrueType or OpenType font; give a .ttf, .otf, .ttc or .woff."
        )
    face = hb.Face(blob, index)
    try:
        _check_outlines(face, path)
    except UnicodeDecodeError:
        raise _damaged(path) from None
    return face


def _unpacked(path: Path) -> hb.Blob:
    """Return the font in a web font."""
    import uharfbuzz as hb

    most = limits_now().font_bytes
    font = opentype_from_woff(path.read_bytes(), most_bytes=most)
    if font is None:
        raise _damaged(path)
    return hb.Blob(font)


def _signature(path: Path) -> bytes:
    status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        raise IsADirectoryError(errno.EISDIR, "Is a directory")
    if not stat.S_ISREG(status.st_mode):
        raise OSError(errno.EINVAL, "Not a regular file")
    most = limits_now().font_bytes
    if status.st_size > most:
        raise OSError(errno.EFBIG, f"Larger than {spoken_size(most)}")
    with path.open("rb") as file:
        return file.read(4)


def _damaged(path: Path) -> FileError:
    return FileError(f"the font {told(path)} is damaged or has no letters; install it again.")


def _check_outlines(face: hb.Face, path: Path) -> None:
    tables = set(face.table_tags)
    if tables and not tables & _OUTLINE_TABLES:
        raise FileError(
            f"the font {told(path)} has pictures of its letters but no outlines; "
            "choose another font."
        )
    if not face.glyph_count or not face.unicodes:
        raise _damaged(path)


def _files_in(folders: Iterable[Path]) -> list[Path]:
    return [
        path
        for folder in folders
        for path in sorted(folder.rglob("*"))
        if path.suffix.lower() in ENDINGS
    ]


def _fonts_in(files: Iterable[Path]) -> Iterator[FontInfo]:
    """Yield the usable fonts; a list of fonts is no place to fail over a damaged one."""
    for path in files:
        index, count = 0, 1
        while index < count:
            try:
                face = open_face(path, index)
            except FileError:
                break
            yield _info(face, path, index)
            index, count = index + 1, _faces_in(path)


def _faces_in(path: Path) -> int:
    # A collection counts its fonts in bytes 8 to 11: OpenType 1.9, "Font collections".
    with path.open("rb") as file:
        head = file.read(12)
    return int.from_bytes(head[8:12], "big") if head[:4] == b"ttcf" else 1


def _info(face: hb.Face, path: Path, index: int) -> FontInfo:
    family = _named(face, _TYPO_FAMILY) or _named(face, _FAMILY) or path.stem
    style = _named(face, _TYPO_STYLE) or _named(face, _STYLE) or "Regular"
    full_name = _named(face, _FULL) or f"{family} {style}"
    return FontInfo(family=family, style=style, full_name=full_name, path=path, index=index)


def _named(face: hb.Face, number: int) -> str:
    """Return a name of a font; empty if it has none that can be read."""
    try:
        return face.get_name(number) or ""
    except UnicodeDecodeError:
        return ""


def is_font_file(name: str) -> bool:
    """Tell whether a font is named by its file."""
    return name.lower().endswith(ENDINGS) or os.sep in name or "/" in name


def _key(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def _uprightness(font: FontInfo) -> tuple[int, FontInfo]:
    style = font.style.casefold()
    return (_UPRIGHT.index(style) if style in _UPRIGHT else len(_UPRIGHT), font)


def _unknown(name: str, fonts: Sequence[FontInfo]) -> SpecError:
    names = {fold(known): known for font in fonts for known in (font.full_name, font.family)}
    hint = nearest(name, names) or "Give the font's file instead."
    hint += " moldgen fonts lists faces that form well; with --all, every font of this computer."
    return SpecError("font", "an installed font or a font file", shown(name), hint)
