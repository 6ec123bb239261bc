"""What there is to choose from: shapes, stock and fonts."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.old_options import tell_old_words
from moldgen.cli.options import spec_from_options
from moldgen.cli.screen import Screen, show_table
from moldgen.errors import SpecError
from moldgen.job.cluster_words import WorkerWords
from moldgen.named_file import place_to_write
from moldgen.old_words import new_word
from moldgen.quantity import Quantity, marks

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from moldgen.export.plan.plan import Plan
    from moldgen.export.plan.plan import PlanRegion as Ring
    from moldgen.stock import Printer
    from moldgen.typeface.face import Face

_COLUMNS = 6
_CELL_MM = 84.0
_SPECIMEN = "HARBOUR 24 Åse & Øya"
_SPECIMEN_MM, _LINE_MM = 20.0, 46.0


def do_shapes(given: Mapping[str, Any], screen: Screen) -> int:
    """List the outline library, or draw all of it on a picture sheet."""
    workers = spec_from_options(WorkerWords, given)
    if "sheet" in given:
        return _write_sheet(given["sheet"], partial(shape_plan, workers), screen)
    if workers.is_said:
        raise SpecError(
            "--workers and --cluster", "used with --sheet", "no --sheet", "Name a picture."
        )
    from moldgen.outline.library.shapes import list_shapes

    for shape in list_shapes():
        own = ", ".join(f"{p.name} {p.default:g} ({p.quantity.about})" for p in shape.parameters)
        words = f"{shape.title}. {shape.description}" + (f" Proportions: {own}." if own else "")
        show_table([(f"{shape.name:<16}", words)], screen)
    screen.say("", "moldgen raise --shape NAME --width 120 makes one of them.")
    return 0


def do_stock(given: Mapping[str, Any], screen: Screen) -> int:
    """List what is in stock: every name, or one kind with its values and sources."""
    from moldgen.stock import load_shop, user_stock_file

    if given.get("user_file"):
        screen.say(str(user_stock_file()))
        return 0
    own = [Path(given["stock"])] if "stock" in given else []
    shop = load_shop(own)
    tell_old_words(shop.old_words, screen)
    kind = given.get("kind")
    if kind is None:
        show_table([(word, ", ".join(_names(shop, word))) for word in _KINDS], screen)
        screen.say("", "moldgen stock sheet (or another kind) shows values and sources.")
        return 0
    known = new_word(kind, _KINDS)
    tell_old_words([kind] if known != kind else [], screen)
    _show_kind(shop, _kind(known), screen)
    return 0


def do_fonts(given: Mapping[str, Any], screen: Screen) -> int:
    """List the faces that form well, or every font of this computer, or draw the faces."""
    if "sheet" in given:
        return _write_sheet(given["sheet"], face_plan, screen)
    if given.get("all"):
        return _show_every_font(screen)
    from moldgen.typeface.face import load_faces

    usual, *others = load_faces()
    rows = [(f"{usual.name} (usual)", usual), *((face.name, face) for face in others)]
    show_table([(name, face.look, _forms_from(face)) for name, face in rows], screen)
    screen.say(
        "",
        "Letter heights from which capitals, figures and small letters form on the usual sheet.",
        "moldgen fonts --all lists every font of this computer; --sheet FILE draws these.",
    )
    return 0


def _forms_from(face: Face) -> str:
    return f"from {face.capitals_from_mm:g} mm, small letters {face.small_from_mm:g} mm"


def _show_every_font(screen: Screen) -> int:
    from moldgen.outline.lettering.fonts import find_font, lettering_fonts, list_fonts

    usual = find_font()
    fonts = [font for font in lettering_fonts(list_fonts()) if font.full_name != usual.full_name]
    rows = [(f"{usual.full_name} (usual)", usual), *((font.full_name, font) for font in fonts)]
    show_table([(name, str(font.path)) for name, font in rows], screen)
    return 0


def do_schema(given: Mapping[str, Any], screen: Screen) -> int:
    """Show the schema of job files, or of what a run says to other programs."""
    kind = given.get("kind", "job")
    if kind == "findings":
        from moldgen.export.report.findings_schema import findings_schema as schema
    elif kind == "job":
        from moldgen.job import job_schema as schema
    else:
        from moldgen.wording import nearest, one_of

        hint = nearest(kind, list(SCHEMAS)) or "Leave it out for job files."
        raise SpecError("kind", one_of(list(SCHEMAS)), repr(kind), hint)
    screen.say(json.dumps(schema(), indent=2, ensure_ascii=False))
    return 0


SCHEMAS = ("job", "findings")
"""What there is a schema of."""


_KINDS = {
    "sheet": "plastic",
    "filament": "filament",
    "machine": "machine",
    "printer": "printer",
    "gauge": "gauge",
    "insert": "insert",
    "strip-heater": "strip_heater",
    "drill": "drill",
    "dowel": "dowel",
}
"""What a person calls a kind, and what the stock calls it."""


def _kind(word: str) -> str:
    from moldgen.wording import did_you_mean, one_of

    kinds = _KINDS | {"plastic": "plastic"}
    for known in kinds:
        if word.casefold().removesuffix("s") in (known, known.removesuffix("s")):
            return known
    hint = did_you_mean(word, kinds.keys(), otherwise=_KINDS)
    raise SpecError("kind", one_of(_KINDS), repr(word), hint)


def _names(shop: Any, word: str) -> tuple[str, ...]:
    if word == "dowel":
        return tuple(name for name, *_ in _dowel_rows())
    if word == "printer":
        return tuple(f"{one.name} ({_bed(one)})" for one in shop.printers.entries)
    if word == "gauge":
        return _range([gauge.gauge_mm for gauge in shop.gauges.entries])
    if word != "drill":
        return tuple(shop.names(_KINDS[word]))
    from moldgen.stock import load_drills

    return _range([drill.diameter_mm for drill in load_drills()])


def _range(sizes_mm: list[float]) -> tuple[str]:
    return (f"{len(sizes_mm)} sizes, {min(sizes_mm):.3g} to {max(sizes_mm):.3g} mm",)


def _bed(printer: Printer) -> str:
    sides = (printer.bed_width_mm, printer.bed_depth_mm, printer.bed_height_mm)
    return " x ".join(f"{side_mm:g}" for side_mm in sides)


def _show_kind(shop: Any, word: str, screen: Screen) -> None:
    rows = {"drill": _drill_rows, "dowel": _dowel_rows}.get(word)
    if rows is not None:
        show_table(rows(), screen)
        return
    for entry in getattr(shop, f"{_KINDS.get(word, word)}s").entries:
        more = [name for name in entry.aliases if name.casefold() not in entry.title.casefold()]
        also = f" (also {', '.join(more)})" if more else ""
        title = entry.title.removeprefix(entry.name).strip()
        screen.say(f"{screen.painted(entry.name, '1')}  {title}{also}".rstrip())
        show_table(list(_facts(entry)), screen)
        screen.say("")


def _drill_rows() -> list[tuple[str, str, str]]:
    from moldgen.stock import load_drills

    return [(d.name, f"{d.diameter_mm:g} mm", d.source) for d in load_drills()]


def _dowel_rows() -> list[tuple[str, str, str]]:
    from moldgen.stock.dowel import load_dowels

    return [
        (d.name, f"{d.diameter_mm:g} mm", f"{_lengths(d.lengths_mm)} mm long  <- {d.source}")
        for d in load_dowels()
    ]


def _lengths(lengths_mm: tuple[float, ...]) -> str:
    return ", ".join(f"{length:g}" for length in lengths_mm)


def _facts(entry: Any) -> Iterator[tuple[str, str]]:
    meanings = marks(type(entry))
    for field in fields(entry):
        value = getattr(entry, field.name)
        if field.name in _HEADINGS or field.name not in meanings or value in (None, ()):
            continue
        mark = meanings[field.name]
        unit = mark.unit if isinstance(mark, Quantity) else ""
        words = ", ".join(value) if isinstance(value, tuple) else _written(value)
        if field.name in entry.bands:
            words += " ({:g} to {:g})".format(*entry.bands[field.name])
        source = entry.sources.get(field.name, "")
        yield f"    {mark.about}", f"{words} {unit}".strip() + (f"  <- {source}" if source else "")


_HEADINGS = {"name", "title", "aliases", "based_on", "sources"}


def _written(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float | int) else str(value)


def _write_sheet(name: str, plan: Callable[[], Plan], screen: Screen) -> int:
    from moldgen.export.atomic import write_atomic

    path = place_to_write(name, field="--sheet")
    ending = path.suffix.lower()
    if ending == ".svg":
        from moldgen.export.plan.svg import svg_bytes as drawn
    elif ending == ".png":
        from moldgen.export.plan.png import plan_png_bytes as drawn
    else:
        raise SpecError("--sheet", "a file that ends in .png or .svg", repr(str(path)))
    write_atomic(path, drawn(plan()))
    screen.say(f"picture sheet: {path}")
    return 0


def shape_plan(words: WorkerWords = WorkerWords()) -> Plan:  # noqa: B008 -- it never changes
    """Return a drawing of every shape of the library with its name below.

    Parameters
    ----------
    words : WorkerWords
        Who draws them; this process if nothing is said, which is sooner than others can start.
    """
    from moldgen.export.plan.plan import Layer, Note, Plan
    from moldgen.outline.library.sheet import shape_sheet
    from moldgen.pool.workers import chosen_workers

    with chosen_workers(words) as pool:
        shapes = shape_sheet(pool)
    items: list[Any] = []
    for number, (info, region) in enumerate(shapes):
        row, column = divmod(number, _COLUMNS)
        x, y = column * _CELL_MM, -row * _CELL_MM
        items += _drawn_at(region, (x, y))
        items.append(Note(x_mm=x, y_mm=y - 38.0, text=info.name, height_mm=3.0, layer=Layer.MARK))
    return Plan(title="Outline library", items=tuple(items))


def face_plan() -> Plan:
    """Return a drawing of a line of letters in every face, with its name and heights below."""
    from moldgen.export.plan.plan import Note, Plan
    from moldgen.outline.lettering.text import TextSpec, outline_from_text
    from moldgen.typeface.face import load_faces

    items: list[Any] = []
    for row, face in enumerate(load_faces()):
        spec = TextSpec(text=_SPECIMEN, height_mm=_SPECIMEN_MM, font=face.name)
        y = -row * _LINE_MM
        items += _drawn_at(outline_from_text(spec).region, (0.0, y))
        caption = f"{face.name}: {face.look}, {_forms_from(face)}"
        items.append(Note(x_mm=0.0, y_mm=y - 12.0, text=caption, height_mm=4.0, align=0.0))
    return Plan(title="Faces that form well", items=tuple(items))


def _drawn_at(region: MultiPolygon, place: tuple[float, float]) -> list[Ring]:
    import numpy as np

    from moldgen.export.plan.plan import Layer
    from moldgen.export.plan.plan import PlanRegion as Ring

    return [
        Ring(
            Layer.FOOT,
            tuple(np.add(r.coords[:-1], place) for r in (part.exterior, *part.interiors)),
        )
        for part in region.geoms
    ]
