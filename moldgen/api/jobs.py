"""Jobs of a few words: what the short commands say, as arguments."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from os import PathLike
from pathlib import Path
from typing import Any, TypeVar, Unpack

from moldgen.api.options import (
    DrawingArguments,
    FileName,
    NestArguments,
    Number,
    SignArguments,
    StripArguments,
    TrayArguments,
)
from moldgen.errors import SpecError
from moldgen.job.arguments import argument_fields, as_argument, spec_from_arguments
from moldgen.job.command.bend import BendCommand
from moldgen.job.command.mold import DrawingCommand, SignCommand, TrayCommand
from moldgen.job.command.mold_jobs import drawing_job, sign_job, tray_job
from moldgen.job.command.nest import NestCommand, nest_job
from moldgen.job.command.strip import strip_job
from moldgen.job.spec import Job
from moldgen.job.strip_spec import StripJob
from moldgen.quantity import Spec
from moldgen.stock import Shop, load_shop, user_stock_file

C = TypeVar("C", bound=Spec)
R = TypeVar("R")


def sign(*words: str, **options: Unpack[SignArguments]) -> Job:
    """Return the job of a sign: raised letters, on a plaque or on their own.

    Parameters
    ----------
    *words : str
        The lines of the sign; " / " within a text begins a new line as well.
    **options
        What ``moldgen sign --help`` lists, as words, numbers or written measures: ``gauge="1 mm"``
        and ``gauge_mm=1`` are the same.

    Returns
    -------
    Job
        For `make`; `job_toml` writes it as a job file.

    Raises
    ------
    SpecError
        If an argument is unknown or wrong: one sentence with its name.
    """
    return from_arguments(SignCommand, sign_job, {"words": words, **options})


def tray(length: Number, width: Number, depth: Number, **options: Unpack[TrayArguments]) -> Job:
    """Return the job of a tray of numbers.

    Parameters
    ----------
    length, width, depth : float or str
        Inside of the formed tray. [mm]
    **options
        What ``moldgen tray --help`` lists.

    Returns
    -------
    Job
        For `make`.

    Raises
    ------
    SpecError
        If an argument is unknown or wrong: one sentence with its name.
    """
    sizes = {"length": length, "width": width, "depth": depth}
    return from_arguments(TrayCommand, tray_job, {**sizes, **options})


def nest(*things: str, **options: Unpack[NestArguments]) -> Job:
    """Return the job of a tray with a nest for each thing.

    Parameters
    ----------
    *things : str
        Each with its sizes: ``"pliers 180 x 55 x 20"``, ``"can 82 dia x 90"``, or a drawing or
        photograph of its outline, ``"cleat.svg 120 x 40 x 25"``.
    **options
        What ``moldgen nest --help`` lists.

    Returns
    -------
    Job
        For `make`.

    Raises
    ------
    SpecError
        If an argument is unknown or wrong, or a thing is not described.
    """
    from moldgen.printing.bed_fit import usable_bed_mm

    def build(command: NestCommand) -> Job:
        stock = load_stock(command.stock) if command.stock else load_stock()
        return nest_job(command, bed_mm=usable_bed_mm(stock.printer(command.printer))[:2])

    return from_arguments(NestCommand, build, {"things": things, **options})


def drawing(file: FileName = "", **options: Unpack[DrawingArguments]) -> Job:
    """Return the job of a drawing, or of a shape of the library, raised as a mold.

    Parameters
    ----------
    file : path, optional
        An SVG or DXF file; `make` looks for it from its ``folder``. Or name a ``shape``.
    **options
        What ``moldgen raise --help`` lists.

    Returns
    -------
    Job
        For `make`.

    Raises
    ------
    SpecError
        If an argument is unknown or wrong, or neither file nor shape is given.
    """
    return from_arguments(DrawingCommand, drawing_job, {"file": file, **options})


def strip(**options: Unpack[StripArguments]) -> StripJob:
    """Return the job of a strip that is bent on a strip heater.

    Parameters
    ----------
    **options
        What ``moldgen bend --help`` lists, such as ``legs=[80, 120, 60], angles=[90, 110]``.

    Returns
    -------
    StripJob
        For `make`.

    Raises
    ------
    SpecError
        If an argument is unknown or wrong, or legs and angles do not go together.
    """
    given: dict[str, Any] = dict(options)
    angles = given.get("angles")
    if isinstance(angles, Sequence) and not isinstance(angles, str):
        given["angles"] = "; ".join(str(angle) for angle in angles)
    return from_arguments(BendCommand, strip_job, given)


def load_stock(*files: str | PathLike[str], own: bool = True) -> Shop:
    """Return everything in stock: sheets, filaments, tables, printers, heaters.

    Parameters
    ----------
    *files : path
        Stock files of your own (TOML), each going before the ones named earlier.
    own : bool, default True
        Whether the person's own stock file is read, if there is one.

    Returns
    -------
    Stock
        For `make` and the other functions.

    Raises
    ------
    FileError
        If a file cannot be read.
    SpecError
        If an entry is wrong; the sentence names file, entry and field.
    """
    paths = [Path(file) for file in files]
    return load_shop(paths, user_file=user_stock_file if own else None)


def from_arguments(command: type[C], build: Callable[[C], R], given: Mapping[str, Any]) -> R:
    """Return what is built from keyword arguments; failures tell their names.

    Raises
    ------
    SpecError
        If an argument is unknown or wrong, or they do not go together.
    """
    spec = spec_from_arguments(command, given)
    names = {field: word for word, field in argument_fields(command, given).items()}
    try:
        return build(spec)
    except SpecError as problem:
        told = as_argument(problem, command, lambda line: names.get(line.field, line.word))
        raise told from None
