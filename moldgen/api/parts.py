"""Parts that somebody brings: checked, measured, changed, split; and test prints."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

from moldgen.api.options import (
    CheckArguments,
    FileName,
    MeasureArguments,
    RefitArguments,
    SplitArguments,
    TestPieceArguments,
)
from moldgen.api.run_result import RunResult
from moldgen.job.command.check import CheckCommand
from moldgen.job.command.printing import (
    MeasureCommand,
    RefitCommand,
    SplitCommand,
    TestPieceCommand,
)
from moldgen.pipeline.stage import Progress
from moldgen.stock import Shop

if TYPE_CHECKING:
    from moldgen.pipeline.output import Output
    from moldgen.solid.mesh import Body


from moldgen.api.call import Stock, run_output


def check(
    file: FileName | Sequence[Body],
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[CheckArguments],
) -> RunResult:
    """Check whether a part from elsewhere will form and come off.

    Parameters
    ----------
    file : path or sequence of Body
        An STL, 3MF, OBJ, PLY or GLB file; or what `mesh_from_bytes` read.
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen check --help`` lists.

    Returns
    -------
    RunResult
        What was found.

    Raises
    ------
    MoldgenError
        If the file cannot be read, or a name is not in stock.
    """

    def run(command: CheckCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.brought.check import check_part

        path = Path(command.file)
        return check_part(path, command=command, shop=shop, progress=tell, brought=brought)

    brought = () if isinstance(file, str | PathLike) else tuple(file)
    name = brought[0].name if brought else file
    return run_output(CheckCommand, run, {"file": name, **options}, stock, progress)


def measure(
    file: FileName,
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[MeasureArguments],
) -> RunResult:
    """Measure a part: size, draft, walls, mass, and what printing it takes.

    Parameters
    ----------
    file : path
        An STL, 3MF, OBJ, PLY or GLB file.
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen measure --help`` lists.

    Returns
    -------
    RunResult
        What was measured.

    Raises
    ------
    MoldgenError
        If the file cannot be read, or a name is not in stock.
    """

    def run(command: MeasureCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.printing.measure import design_measure

        return design_measure(Path(command.file), words=command, shop=shop, progress=tell)

    return run_output(MeasureCommand, run, {"file": file, **options}, stock, progress)


def refit(
    file: FileName,
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[RefitArguments],
) -> RunResult:
    """Change a part: scale to a length, mirror, cut flat, thicken, hollow, add vents.

    Parameters
    ----------
    file : path
        An STL, 3MF, OBJ, PLY or GLB file.
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen refit --help`` lists.

    Returns
    -------
    RunResult
        Its body is the changed part.

    Raises
    ------
    MoldgenError
        If the file cannot be read, or a change cannot be made.
    """

    def run(command: RefitCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.printing.refit import design_refit

        return design_refit(Path(command.file), command=command, shop=shop, progress=tell)

    return run_output(RefitCommand, run, {"file": file, **options}, stock, progress)


def split(
    file: FileName,
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[SplitArguments],
) -> RunResult:
    """Cut a part into pieces that fit the printer, with pins and numbers.

    Parameters
    ----------
    file : path
        An STL, 3MF, OBJ, PLY or GLB file.
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen split --help`` lists.

    Returns
    -------
    RunResult
        Its bodies are the pieces and the pins.

    Raises
    ------
    MoldgenError
        If the file cannot be read, or is not closed.
    """

    def run(command: SplitCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.printing.split import design_split

        return design_split(Path(command.file), command=command, shop=shop, progress=tell)

    return run_output(SplitCommand, run, {"file": file, **options}, stock, progress)


def print_test_pieces(
    stock: Stock = None, progress: Progress | None = None, **options: Unpack[TestPieceArguments]
) -> RunResult:
    """Make small test prints: which vent hole and which pin fits.

    Parameters
    ----------
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen test-piece --help`` lists.

    Returns
    -------
    RunResult
        Its bodies are the test prints.

    Raises
    ------
    MoldgenError
        If a size or a name is wrong.
    """

    def run(command: TestPieceCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.printing.test_piece import design_test_pieces

        return design_test_pieces(command=command, shop=shop, progress=tell)

    return run_output(TestPieceCommand, run, dict(options), stock, progress)
