"""What a teacher sees of a hand-in at a glance: the worst finding, print time and sheet."""

from __future__ import annotations

from typing import Any

from moldgen.finding import Severity, ranked
from moldgen.web.order import WishOrder
from moldgen.web.strip_work import strip_findings, strip_sheet


def verdict_of(order: WishOrder) -> dict[str, Any]:
    """Return what is told of a wish at a glance, as JSON.

    Returns
    -------
    dict
        ``severity`` and ``sentence`` of the worst finding, ``none`` and an empty one if nothing
        is amiss; ``print_time``, empty if nothing is printed of the mold; ``sheet``.

    Raises
    ------
    MoldgenError
        If it cannot be made.
    """
    found = strip_findings(order) if order.is_strip else order.design().findings
    amiss = [one for one in ranked(found) if one.severity is not Severity.NOTE]
    return {
        "severity": amiss[0].severity.value if amiss else "none",
        "sentence": order.sentence(amiss[0]) if amiss else "",
        "n_more": max(0, len(amiss) - 1),
        "print_time": order.told(_print_time(order)),
        "sheet": strip_sheet(order) if order.is_strip else _sheet(order),
    }


def _sheet(order: WishOrder) -> str:
    sheet = order.design().setting.sheet
    return order.told(sheet.words)


def _print_time(order: WishOrder) -> str:
    """Return about how long the mold prints; empty for strips and molds of wood."""
    from moldgen.pipeline.print_estimate import print_spec
    from moldgen.printing.estimate import estimate, spoken_time

    if order.is_strip or not order.design().setting.is_printed:
        return ""
    design = order.design()
    setting, spec = design.setting, print_spec(design.setting.printer)
    taken = [
        estimate(body.mesh, filament=setting.filament, printer=setting.printer, spec=spec)
        for body in design.checked.bodies
    ]
    return spoken_time(sum(one.time_s for one in taken))
