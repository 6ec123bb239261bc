"""What is sawn by: a paper template for each layer of a wooden mold, and the stack as a picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache, partial
from typing import TYPE_CHECKING

from shapely import MultiPolygon

from moldgen.export.report.report import Picture
from moldgen.job import Job
from moldgen.job.spec import Paper
from moldgen.mold.wood.bores import bores_in
from moldgen.mold.wood.layers import WoodLayer
from moldgen.mold.wood.wood import WoodMold
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import OutputFile, plan_files

if TYPE_CHECKING:
    from moldgen.export.plan.items import Hole
    from moldgen.export.plan.plan import Plan


def template_files(
    job: Job, wood: WoodMold, channels: Sequence[MultiPolygon], *, paper: Paper
) -> Iterator[OutputFile]:
    """Yield the templates of all layers at 1:1, as drawings and to print.

    Parameters
    ----------
    channels : sequence of MultiPolygon
        What is cut into the underside. [mm]
    """
    for layer in wood.layers:
        yield from plan_files(
            f"{file_name(job.title)}-layer-{layer.number}",
            cache(partial(template_of, job, wood, layer, channels)),
            paper=paper,
            purpose=f"template at 1:1 of layer {layer.number}, {layer.feature}",
        )


def template_of(
    job: Job, wood: WoodMold, layer: WoodLayer, channels: Sequence[MultiPolygon]
) -> Plan:
    """Return the template of one layer, to be glued to the upper face of its board."""
    from moldgen.export.plan.template import build_template

    routed = [cut for cut in layer.cuts if not cut.through]
    return build_template(
        title=f"{job.title}, layer {layer.number} of {len(wood.layers)}",
        upper=_upper_edge(layer),
        lower=layer.wood_below,
        recesses=[region for cut in routed for region in (cut.upper, cut.lower)],
        channels=channels if layer.z_mm == 0 else (),
        holes=tuple(_holes(wood, layer)),
        notes=tuple(_notes(layer)),
    )


def _upper_edge(layer: WoodLayer) -> MultiPolygon:
    """Return what the saw leaves of the upper face: recesses that it goes through taken out."""
    from dataclasses import replace

    return replace(layer, cuts=tuple(cut for cut in layer.cuts if cut.through)).wood_above


def _holes(wood: WoodMold, layer: WoodLayer) -> Iterator[Hole]:
    from moldgen.export.plan.items import Hole
    from moldgen.export.plan.layers import Layer

    for dowel in wood.dowels.dowels:
        if layer.number in dowel.layers:
            yield Hole(
                x_mm=dowel.x_mm, y_mm=dowel.y_mm, diameter_mm=dowel.diameter_mm,
                note=f"D {dowel.diameter_mm:g}", layer=Layer.DOWEL,
            )  # fmt: skip
    for bore, diameter_mm in bores_in(layer, wood.bores):
        yield Hole(
            x_mm=bore.x_mm, y_mm=bore.y_mm, diameter_mm=diameter_mm, note=bore.name,
            layer=Layer.BORE,
        )  # fmt: skip


def _notes(layer: WoodLayer) -> Iterator[str]:
    yield f"Layer {layer.number}: {layer.feature}, board {board_text(layer)}"
    yield f"Table tilted {angles_text(layer)}; paper on the upper face, arrow to the far side"
    for cut in layer.cuts:
        if not cut.through:
            yield f"{cut.feature}: from above {cut.depth_mm:.1f} mm deep"


def board_text(layer: WoodLayer) -> str:
    """Return the board of a layer, such as ``6 mm, planed to 4.5 mm``."""
    planed = f", planed to {layer.thickness_mm:.1f} mm" if layer.planed_mm else ""
    return f"{layer.board.name}{planed}"


def angles_text(layer: WoodLayer) -> str:
    """Return the angles a layer is sawn at, such as ``5°`` or ``5°, recesses 8°``."""
    outside, *inside = layer.angles_deg
    own = f"{outside:g}°"
    return f"{own}, recesses {' and '.join(f'{a:g}°' for a in inside)}" if inside else own


def stack_picture(job: Job, wood: WoodMold) -> Picture:
    """Return the layers pulled apart."""
    from moldgen.export.picture.stack import StackLayer, stack_png

    layers = [
        StackLayer(
            words=f"{layer.number}  {layer.feature}, {layer.thickness_mm:.3g} mm, "
            f"{layer.draft_deg:g}°",
            lower=layer.wood_below, upper=layer.wood_above, z_mm=layer.z_mm,
            thickness_mm=layer.thickness_mm,
        )
        for layer in wood.layers
    ]  # fmt: skip
    return Picture(
        name="layers",
        caption="The layers pulled apart, each with its thickness and the tilt of the saw's table.",
        png=stack_png(layers, title=job.title),
    )
