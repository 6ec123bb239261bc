"""What the page has computed in other processes: pictures, findings, the formed sheet, remedies.

Each function takes words and bytes and returns a `Message`, so that it can run in a `Worker`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from functools import wraps
from typing import TYPE_CHECKING, Any

from moldgen.api.design import KEPT
from moldgen.errors import SpecError
from moldgen.execution import run_with
from moldgen.export.mesh.packed import packed_mesh_bytes
from moldgen.finding import Finding
from moldgen.job.strip_spec import StripJob
from moldgen.limits import PAGE
from moldgen.sandbox.child import Tell, Work
from moldgen.sandbox.messages import Message
from moldgen.web import log_work
from moldgen.web.order import WishOrder
from moldgen.web.remedy import control_of, refuse_larger
from moldgen.web.strip_work import strip_findings, strip_seen, strip_sides
from moldgen.web.wish import DesignWish

if TYPE_CHECKING:
    from shapely import Geometry

    from moldgen.api.run_result import RunResult
    from moldgen.pipeline.chosen_value import ChosenValue
    from moldgen.pipeline.setting import Setting
    from moldgen.pipeline.types import Rows
    from moldgen.solid.mesh import Mesh

BROUGHT = replace(PAGE, drawing_bytes=2_000_000, picture_bytes=20_000_000)
"""What a class may bring and ask for: what any page may, but with photographs as phones take."""
_N_FRAMES = 12
_KEPT_STAGES_BYTES = 32 * 2**20
"""Stages that a process keeps: two or three designs, so that several processes fit a laptop."""


def _within_limits(work: Work) -> Work:
    """Return work that holds to `BROUGHT`, whatever of it is computed when."""

    @wraps(work)
    def limited(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
        KEPT.most_bytes = _KEPT_STAGES_BYTES
        with run_with(limits=BROUGHT):
            return work(words, blocks, tell)

    return limited


@_within_limits
def picture(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return the walls of a wish as a packed mesh, with its size and what was chosen."""
    order = WishOrder.from_message(words, blocks)
    mesh, choices = strip_seen(order) if order.is_strip else _walls(order)
    size_mm = (mesh.bounds_mm[1] - mesh.bounds_mm[0]).tolist()
    refuse_larger(order, size_mm)
    chosen = [choice.told(order.told) for choice in choices]
    return Message({"size_mm": size_mm, "chosen": chosen}, [packed_mesh_bytes(mesh)])


@_within_limits
def findings(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return what is found on a wish, as sentences with places and cures, and how it is heated."""
    order = WishOrder.from_message(words, blocks)
    found = strip_findings(order) if order.is_strip else order.design().findings
    rows = () if order.is_strip else table_rows(order.design().setting)
    return Message(
        {
            "findings": [_told(finding, order) for finding in found],
            "table": [(order.told(label), order.told(text)) for label, text in rows],
        }
    )


@_within_limits
def sheet(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return how the sheet forms over a wish: frames of the run, and its thickness."""
    import numpy as np

    from moldgen.export.picture.forming_scales import thickness_scale

    formed = WishOrder.from_message(words, blocks).design(look="preview").formed
    if formed is None:
        raise SpecError("forming", "as needed, preview or fine", "off")
    run = formed.run
    frames = run.frames.points_mm
    picked = np.unique(np.linspace(0, len(frames) - 1, _N_FRAMES).round().astype(int))
    states = [frames[i] for i in picked] + [run.points_mm.astype(np.float32)]
    steps, box = _packed_frames(np.array(states))
    scale = thickness_scale(formed.sheet.gauge_mm)
    thickness = np.clip(formed.thickness_mm / formed.sheet.gauge_mm * 250, 0, 255)
    words_told = {
        "box_mm": box,
        "n_frames": len(states),
        "n_points": int(frames.shape[1]),
        "n_triangles": len(run.mesh.triangles),
        "gauge_mm": formed.sheet.gauge_mm,
        "thin_mm": formed.thinnest.thin_mm,
        "mean_mm": formed.whole.mean_mm,
        "scale": {
            "edges": list(scale.edges),
            "colors": [list(map(int, one)) for one in scale.colors],
        },
    }
    triangles = run.mesh.triangles.astype("<u4").tobytes()
    part = formed.part.astype(np.uint8).tobytes()
    return Message(
        words_told, [steps, triangles, thickness.round().astype(np.uint8).tobytes(), part]
    )


@_within_limits
def thumbnail(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return a small picture of a wish as PNG."""
    from moldgen.export.picture.canvas import PAPER, png_bytes
    from moldgen.export.picture.render import View, render
    from moldgen.export.picture.views import MOLD

    order = WishOrder.from_message(words, blocks)
    mesh, _ = strip_seen(order) if order.is_strip else _walls(order)
    view = View(azimuth_deg=-30, elevation_deg=50)
    drawn = render(mesh, view=view, size_px=(360, 240), colors=MOLD, background=PAPER)
    return Message({}, [png_bytes(drawn)])


@_within_limits
def checked(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return nothing, if the values of a wish make a job; else it is refused."""
    DesignWish.from_words(words["wish"]).job()
    return Message({})


def table_rows(setting: Setting) -> Rows:
    """Return how long its sheet is heated on its table, and what the log made of that time."""
    from moldgen.pipeline.heat.rows import heating_text, noted_text
    from moldgen.pipeline.mold.day import heated_in

    try:
        heated = heated_in(setting)
    except SpecError:
        return ()  # a table that does not heat this sheet: a finding says so
    rows = (("Heat for", heating_text(heated)), ("By the log", noted_text(heated)))
    return tuple(row for row in rows if row[1])


def shape_outlines(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return the outlines of all shapes of the library, and the sides of all ready-made strips.

    As paths of an SVG 100 wide or high, by their names; with what the shapes are called.
    """
    from moldgen.outline.library.shapes import list_shapes, outline_from_shape

    listed = list_shapes()
    titles = {one.name: one.title for one in listed}
    aspects = {one.name: one.aspect for one in listed}
    regions = {name: outline_from_shape(name, width_mm=100.0) for name in titles}
    paths = {name: _svg_path(region) for name, region in regions.items()}
    strips = {name: _svg_path(region) for name, region in strip_sides().items()}
    told = {"titles": titles, "aspects": aspects, "paths": paths, "strips": strips}
    return Message(told)


def _svg_path(region: Geometry) -> str:
    """Return the outline of a region as a path 100 wide or high, its middle at 0."""
    import shapely

    left, low, right, high = region.bounds
    scale = 100.0 / max(right - left, high - low)
    middle_x, middle_y = (left + right) / 2, (low + high) / 2
    return "".join(
        "M"
        + "L".join(
            f"{(x - middle_x) * scale:.1f} {(middle_y - y) * scale:.1f}" for x, y in ring.coords
        )
        + "Z"
        for polygon in shapely.get_parts(region)
        for ring in (polygon.exterior, *polygon.interiors)
    )


@_within_limits
def roster(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return the names in a CSV or XLSX file."""
    from moldgen.lesson.roster.roster import roster_of_bytes

    listed = roster_of_bytes(blocks[0], name="The list")
    return Message({"names": [one.name for one in listed.entries]})


@_within_limits
def files(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return all files of a wish, as one ZIP; the same bytes each time."""
    from moldgen.api.molds import make
    from moldgen.pipeline.file_name import file_name
    from moldgen.zip_file import zip_bytes

    order = WishOrder.from_message(words, blocks)
    job = order.wish.job()
    if words.get("link"):  # printed on the job card
        job = replace(job, output=replace(job.output, link=words["link"]))
    if isinstance(job, StripJob):
        done: RunResult = make(job, order.shop)
    else:
        done = make(job, order.shop, drawings=order.drawings)
    name = file_name(done.title)
    return Message(
        {"name": name}, [zip_bytes((f"{name}/{key}", one) for key, one in done.files().items())]
    )


@_within_limits
def shot_facts(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return what the log of the table takes from a wish: names, sheet, computed times."""
    from moldgen.lesson.log.job_facts import facts_of_numbers
    from moldgen.pipeline.mold.plan import drill_list
    from moldgen.pipeline.mold.rows import numbers_of

    design = WishOrder.from_message(words, blocks).design()
    numbers = numbers_of(design.mold, drill_list(design.mold), design.day)
    return Message(asdict(facts_of_numbers(design.request.title, numbers)))


@_within_limits
def small_photo(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return a photograph that somebody brings as a small one, written anew."""
    from moldgen.lesson.log.photos import SIDE_PX
    from moldgen.solid.reading.picture import photo_from_bytes

    return Message({}, [photo_from_bytes(blocks[0], name="The picture", side_px=SIDE_PX)])


causes = _within_limits(log_work.causes)
causes_alone = _within_limits(log_work.causes_alone)
chart = _within_limits(log_work.chart)
learned = _within_limits(log_work.learned)
log_notes = _within_limits(log_work.log_notes)
log_tables = _within_limits(log_work.log_tables)


def verdict(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return what is told of a wish at a glance."""
    from moldgen.web.verdict import verdict_of

    return Message(verdict_of(WishOrder.from_message(words, blocks)))


@_within_limits
def mended(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return a wish with the smallest changes that leave nothing to complain of."""
    from moldgen.web.remedy import mended_wish

    return Message(mended_wish(WishOrder.from_message(words, blocks)))


def _walls(order: WishOrder) -> tuple[Mesh, Sequence[ChosenValue]]:
    seen = order.design()
    return seen.raw.mesh, seen.features.choices


def _told(finding: Finding, order: WishOrder) -> dict[str, Any]:
    beginning = order.wish.beginning
    controls = [control_of(beginning, cure.field, finding.subject) for cure in finding.cures]
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "sentence": order.sentence(finding),
        "where_mm": finding.where_mm,
        "controls": controls,
    }


def _packed_frames(states: Any) -> tuple[bytes, dict[str, list[float]]]:
    """Return points of all frames as 16-bit steps of the box around them, and that box. [mm]."""
    import numpy as np

    low = states.reshape(-1, 3).min(axis=0)
    size = states.reshape(-1, 3).max(axis=0) - low
    steps = np.rint((states - low) / np.maximum(size, 1e-6) * 65535).astype("<u2")
    return steps.tobytes(), {"low": low.tolist(), "size": size.tolist()}
