"""The cutter of a vent that is a printed slit, with its pocket."""

from __future__ import annotations

from manifold3d import Manifold

from moldgen.errors import GeometryError
from moldgen.mold.vents.vent import Vent
from moldgen.solid.slit import slit_cutter


def slit_tool(vent: Vent, *, top_mm: float) -> Manifold:
    """Return the cutter of a slit with its pocket.

    Parameters
    ----------
    vent : Vent
        A vent with a slit; its bore is the width of the pocket. [mm]
    top_mm : float
        Height up to which the cutter reaches. [mm]

    Raises
    ------
    GeometryError
        If the vent is a round hole, or the modeler fails.
    """
    slit, pocket_mm = vent.slit, vent.bore_mm
    if slit is None or pocket_mm is None:
        raise GeometryError(f"vent {vent.name} is a round hole: bore it.")
    tool = slit_cutter(
        slit.length_mm, slit.width_mm, pocket_mm=pocket_mm, face_mm=vent.z_mm, top_mm=top_mm
    )
    return tool.rotate((0.0, 0.0, slit.turn_deg)).translate((vent.x_mm, vent.y_mm, 0.0))
