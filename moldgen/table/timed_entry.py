"""The stock entry of a machine that was timed, or why there is none."""

from __future__ import annotations

from moldgen.table.calibrate import FITS_WITHIN, HeaterFit, source_of


def why_no_entry(fit: HeaterFit) -> str:
    """Return why fitted values are not to be put in stock; empty if they are."""
    share = fit.machine.heater_share
    if fit.misfit > FITS_WITHIN:
        return (
            "none is offered: the observed times contradict each other, so one made of them would "
            "foretell wrong times. Time the sheets again."
        )
    if not 0 < share <= 1:
        return (
            "none: more heat arrives than the heater of this entry gives off, so it is hotter or "
            "nearer than told. The times are good all the same: moldgen log add keeps them, and "
            "every command goes by them."
        )
    return ""


def machine_toml(fit: HeaterFit, name: str) -> str:
    """Return the fitted machine as an entry for a stock file.

    Parameters
    ----------
    fit : HeaterFit
        What was fitted.
    name : str
        What the entry is called; may not be that of the machine it is based on.
    """
    machine = fit.machine
    source = _quoted(source_of(fit.seen))
    return (
        f"[machine.{_quoted(name)}]\n"
        f"based_on = {_quoted(machine.name)}\n"
        f"title = {_quoted(f'{machine.title or machine.name}, timed')}\n"
        f"heater_degC = {{ value = {machine.heater_degC:g}, source = {source} }}\n"
        f"heater_share = {{ value = {machine.heater_share:.3g}, source = {source} }}\n"
    )


def _quoted(words: str) -> str:
    safe = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{safe}"'
