"""What is sawn, drilled and glued: the lists of a wooden mold, its steps and its rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from moldgen.export.report.table import Table
from moldgen.finding import counted
from moldgen.job import Job
from moldgen.mold.choices import UndersideKind
from moldgen.mold.features import Direction, FeaturePlan
from moldgen.mold.wood.bores import SKIN_MM, WIDE_MM
from moldgen.mold.wood.layers import WoodLayer
from moldgen.mold.wood.wood import BLADE_MM, WoodMold, board_size_mm, tight_corners
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.print_readiness_rows import ready_numbers
from moldgen.pipeline.mold.wood_templates import angles_text, board_text
from moldgen.pipeline.types import Rows
from moldgen.stock.board import MDF, load_boards

_PRACTICE = "common practice, no source"
_THIN_MM = 2.0

NO_ROWS = frozenset({"Printer", "Print", "Mold life", "Sticking", "Release", "Vents"})
"""Rows of the summary that a mold of wood has not, or has in words of its own."""

NO_STEPS = frozenset({"Print", "Vents", "Drill", "Place", "Release"})
"""Steps that a mold of wood has not, or has in words of its own."""

_NO_NUMBERS = frozenset(
    {
        "cycles_in_a_row", "cycles_in_a_row_band", "cycles_before_edges_round", "pause_s",
        "load_used", "release_N", "release_holds_N", "volume_mm3", "vents_to_drill",
    }
)  # fmt: skip


def wood_rows(wood: WoodMold) -> Rows:
    """Return what the summary says of a mold of wood."""
    boards = Counter(layer.board.name for layer in wood.layers)
    sawn = ", ".join(f"{count} of {name}" for name, count in boards.items())
    planed = [layer for layer in wood.layers if layer.planed_mm]
    off = "".join(
        f"; layer {layer.number} planed by {layer.planed_mm:.2g} mm" for layer in planed[:3]
    )
    return (
        ("Layers", f"{sawn}{off}"),
        ("Wood", f"about {wood.board_mm2 / 100:.0f} cm² of board, {wood.mass_g:.0f} g as MDF"),
        ("Vents", bores_text(wood)),
        ("Mold life", f"many hundred cycles if sealed ({_PRACTICE}); wood takes up little heat"),
    )


def bores_text(wood: WoodMold) -> str:
    """Return the drills needed, such as ``13 to drill with 0.9 mm (#65), 5 mm from below``."""
    if not wood.bores:
        return "none"
    fine = " and ".join(sorted({f"{bore.fine} ({bore.fine_inch})" for bore in wood.bores}))
    below = f", {WIDE_MM:g} mm from below" if any(bore.deep_mm for bore in wood.bores) else ""
    return f"{len(wood.bores)} to drill with {fine}{below}"


def wood_numbers(wood: WoodMold, numbers: Mapping[str, Any], mold_ready: Any) -> dict[str, Any]:
    """Return the measures for programs, without those of a print."""
    left_out = _NO_NUMBERS | set(ready_numbers(mold_ready))
    return {
        **{name: value for name, value in numbers.items() if name not in left_out},
        "layers": len(wood.layers),
        "dowels": len(wood.dowels.dowels),
        "vents_to_drill": len(wood.bores),
        "board_mm2": wood.board_mm2,
        "wood_g": wood.mass_g,
        "planed_mm": sum(layer.planed_mm for layer in wood.layers),
    }


def wood_tables(wood: WoodMold, mold: Mold) -> Iterator[Table]:
    """Yield the list of layers and the list of vents."""
    plans = {plan.name: plan for plan in mold.plans}
    source = load_boards()[0].source
    yield Table(
        title="Layers from the bottom",
        header=("Layer", "Of", "Board", "Cut to", "Table tilted", "Recesses", "By hand"),
        rows=tuple(_layer_row(wood, layer, plans) for layer in wood.layers),
        note="The template lies on the upper face. Saw along its unbroken line, the table tilted, "
        "with the piece that stays uphill of the blade and the waste downhill: then it is wider "
        "below. The broken line is where the saw comes out. Boards: "
        f"{source}. Density {MDF.density_kg_m3:g} kg/m³ (from memory); "
        "plywood weighs 500 to 700.",
    )
    if wood.bores:
        yield Table(
            title="Vents to drill",
            header=("Vent", "x", "y", "From above", "From below"),
            rows=tuple(
                (
                    bore.name, f"{bore.x_mm:.1f} mm", f"{bore.y_mm:.1f} mm",
                    f"{bore.fine} ({bore.fine_inch})",
                    f"{WIDE_MM:g} mm, {bore.deep_mm:.1f} mm deep" if bore.deep_mm else "-",
                )
                for bore in wood.bores
            ),
            note=f"x and y count from the middle of the job, as on the plan. The wide bore ends "
            f"{SKIN_MM:g} mm under the surface ({_PRACTICE}).",
        )  # fmt: skip


def _layer_row(
    wood: WoodMold, layer: WoodLayer, plans: Mapping[str, FeaturePlan]
) -> tuple[str, ...]:
    width, depth = board_size_mm(layer)
    return (
        str(layer.number), layer.feature, board_text(layer), f"{width:.0f} x {depth:.0f} mm",
        angles_text(layer), _recess_text(layer), "; ".join(_by_hand(wood, layer, plans)) or "-",
    )  # fmt: skip


def _recess_text(layer: WoodLayer) -> str:
    through = sum(cut.through for cut in layer.cuts)
    depths = [f"{cut.feature} {cut.depth_mm:.1f} mm" for cut in layer.cuts if not cut.through]
    told = [f"{through} sawn through"] if through else []
    told += [f"from above: {', '.join(depths[:4])}{' and others' * (len(depths) > 4)}"] * bool(
        depths
    )
    return "; ".join(told) or "-"


def _by_hand(wood: WoodMold, layer: WoodLayer, plans: Mapping[str, FeaturePlan]) -> Iterator[str]:
    if layer.thickness_mm < _THIN_MM:
        yield "thin: card or veneer of that thickness will do"
    wall = plans[layer.feature].wall
    own = [one for one in wood.layers if one.feature == layer.feature]
    if layer is own[-1] and wall.top_radius_mm:
        yield f"round the top edges to {wall.top_radius_mm:.2g} mm"
    if layer is own[0] and wall.base_radius_mm:
        yield f"fill the foot to a radius of {wall.base_radius_mm:.2g} mm"
    rounded = [plans[cut.feature].wall for cut in layer.cuts]
    if any(one.base_radius_mm for one in rounded) and any(not cut.through for cut in layer.cuts):
        yield f"fill the floors' edges to {max(w.base_radius_mm for w in rounded):.2g} mm"
    if tight := tight_corners(layer):
        yield f"file {counted(tight, 'corner')} tighter than {BLADE_MM:g} mm"
    if layer.number in wood.dowels.without:
        yield "no room for dowels in a piece: glue it by the line drawn round it"


def wood_steps(job: Job, mold: Mold, wood: WoodMold) -> Rows:
    """Return how a mold of wood is built, step by step."""
    sizes = sorted({dowel.diameter_mm for dowel in wood.dowels.dowels}, reverse=True)
    dowels = ", ".join(f"{size:g}" for size in sizes)
    rows = [
        ("Templates", "Print them at 100 %, measure the check bar, and glue each to the upper face "
                      "of its board, the arrow to the far side."),
        ("Saw", f"Layer by layer, the table tilted as the list says{_drafts_text(mold)}; the piece "
                "that stays lies uphill of the blade. A recess begins with a hole in the waste."),
    ]  # fmt: skip
    if sizes:
        rows.append(
            ("Dowels", "Stack the layers dry by the templates and drill the dowel holes, "
                       f"{dowels} mm (skewers or pins where thin). They end flush above and below.")
        )  # fmt: skip
    rows += [
        ("Glue", "From the bottom: wood glue on both faces, dowels in, clamp between boards with "
                 f"baking paper, wipe off what comes out, dry overnight ({_PRACTICE})."),
        ("File", "Peel off the paper, sand steps between layers along the slope, round and fill "
                 "what the list tells by hand. No edge may lean outward."),
        *((("Drill", _drill_text(wood)),) if wood.bores else ()),
        ("Underneath", _underside_text(job)),
        ("Seal", f"Two or three thin coats of shellac, varnish or wood hardener, also in the "
                 f"recesses: against fibers and what damp wood gives off when hot ({_PRACTICE}). "
                 "Sand between coats; clear the vents again with the drill in the fingers."),
        ("Let go", f"Rub it with talc or hard wax before the first pull ({_PRACTICE})."),
        ("Place", "Stand the mold in the middle of the table over its holes, the far side to the "
                  "far side."),
    ]  # fmt: skip
    return tuple(rows)


def _drafts_text(mold: Mold) -> str:
    drafts = sorted({plan.wall.draft_deg for plan in mold.plans})
    if len(drafts) == 1:
        return f": {drafts[0]:g}° everywhere"
    names = [f"{_names(mold.plans, draft)} {draft:g}°" for draft in drafts]
    return f"; walls of different draft meet, so set it anew: {', '.join(names)}"


def _names(plans: Sequence[FeaturePlan], draft_deg: float) -> str:
    own = [plan for plan in plans if plan.wall.draft_deg == draft_deg]
    if len(own) <= 2:
        return " and ".join(plan.name for plan in own)
    sunk = all(plan.direction is Direction.SUNK for plan in own)
    return f"{own[0].name} and {len(own) - 1} more{' recesses' if sunk else ''}"


def _drill_text(wood: WoodMold) -> str:
    wide = any(bore.deep_mm for bore in wood.bores)
    below = (
        f" Then {WIDE_MM:g} mm from below, a stop on the drill, to {SKIN_MM:g} mm under the "
        "surface: the list has the depths."
        if wide
        else ""
    )
    return (
        f"{bores_text(wood).capitalize()}. The fine hole first, right through from above, upright."
        f"{below} Clamp the mold; wear glasses, no gloves at the drill."
    )


def _underside_text(job: Job) -> str:
    depth = f"{job.underside.depth_mm:g} mm"
    if job.underside.kind is UndersideKind.FLAT:
        return (
            "It stays flat, as asked: no air gets to the table's holes unless it stands on battens "
            "or a mesh; leave the battens open to the holes."
        )
    return (
        f"Cut what is drawn dotted on the template of the lowest layer {depth} deep with a router "
        f"or gouge, or glue strips of card or veneer {depth} thick where nothing is drawn: so air "
        "from the vents reaches the table's holes."
    )
