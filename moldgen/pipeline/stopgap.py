"""Temporary."""

from __future__ import annotations
from dataclasses import dataclass
from moldgen.mold.finish import cut_underside, vent_tool, below
from moldgen.solid.sound import solid_from_mesh, mesh_from_solid
from moldgen.solid.mesh import Body


@dataclass(frozen=True)
class Finished:
    bodies: tuple
    findings: tuple = ()


def finish_body(root, mesh, underside, vents, bore, marking, *, pry=False):
    solid = solid_from_mesh(mesh, doing="raising " + root.name)
    tools = [vent_tool(v, bore) for v in vents]
    if not marking.label.is_empty:
        tools.append(below(marking.label, 0.6))
    if not marking.pocket.is_empty:
        tools.append(below(marking.pocket, marking.pocket_depth_mm))
    s = cut_underside(solid, underside, tools)
    pieces = s.decompose()
    return Finished(
        tuple(
            Body(root.name if len(pieces) == 1 else f"{root.name} {k}", mesh_from_solid(p))
            for k, p in enumerate(pieces, 1)
        )
    )


def check_airways(*a):
    return ()
