"""What helps at the table: fixtures, trimming, letter sets, heating times."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Unpack

from moldgen.api.options import (
    ChartArguments,
    FileName,
    FixtureArguments,
    HeatArguments,
    LettersArguments,
    TrimArguments,
)
from moldgen.api.run_result import RunResult
from moldgen.job.command.chart import ChartCommand
from moldgen.job.command.fixture import FixtureCommand, TrimCommand
from moldgen.job.command.heat import HeatCommand
from moldgen.job.command.letters import LettersCommand
from moldgen.pipeline.stage import Progress
from moldgen.stock import Shop

if TYPE_CHECKING:
    from moldgen.pipeline.output import Output


from moldgen.api.call import Stock, run_output


def make_fixture(
    name: str,
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[FixtureArguments],
) -> RunResult:
    """Make what helps at the table: a plug, frame, gauge, guide, handle...

    Parameters
    ----------
    name : str
        Such as ``"plug"``; ``moldgen fixture`` lists them.
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen fixture --help`` lists for it.

    Returns
    -------
    RunResult
        Its bodies are the pieces to be printed.

    Raises
    ------
    MoldgenError
        If it cannot be made: one sentence that says what to change.
    """

    def run(command: Any, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.fixture.make import design_fixture

        return design_fixture(command, shop=shop, progress=tell)

    return run_output(FixtureCommand, run, {"fixture": name, **options}, stock, progress)


def trim(
    file: FileName,
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[TrimArguments],
) -> RunResult:
    """Find where and how to cut a part from its sheet, with gauges, templates and cradles.

    Parameters
    ----------
    file : path
        A job file, a mold (STL, 3MF, OBJ, PLY, GLB) or its outline (SVG, DXF).
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen trim --help`` lists.

    Returns
    -------
    RunResult
        Its bodies are the pieces to be printed.

    Raises
    ------
    MoldgenError
        If the part cannot be read, or no line can be drawn.
    """

    def run(command: TrimCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.trim.make import design_trim

        return design_trim(command, shop=shop, progress=tell)

    return run_output(TrimCommand, run, {"file": file, **options}, stock, progress)


def letters(
    characters: str = "A-Z 0-9 .,!?-&",
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[LettersArguments],
) -> RunResult:
    """Make a letter set: molds on feet that fit a rail, on print plates, with a tray.

    Parameters
    ----------
    characters : str
        Letters of the set: ranges and signs.
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told which letter is being made.
    **options
        What ``moldgen letters --help`` lists.

    Returns
    -------
    RunResult
        Its bodies are the pieces to be printed.

    Raises
    ------
    MoldgenError
        If a letter cannot be made: one sentence that says which.
    """

    def run(command: LettersCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.letters.make import design_letters

        return design_letters(command, shop=shop, progress=tell)

    return run_output(LettersCommand, run, {"characters": characters, **options}, stock, progress)


def heat(
    plastic: str,
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[HeatArguments],
) -> RunResult:
    """Tell how long to heat and cool a sheet, and how many pulls the mold stands.

    Parameters
    ----------
    plastic : str
        Of the sheet.
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen heat --help`` lists.

    Returns
    -------
    RunResult
        Times in its ``numbers``; it has no bodies.

    Raises
    ------
    SpecError
        If the sheet cannot be heated, or a word is wrong.
    """

    def run(command: HeatCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.heat.make import design_heat

        return design_heat(command, shop=shop, progress=tell)

    return run_output(HeatCommand, run, {"plastic": plastic, **options}, stock, progress)


def heating_chart(
    stock: Stock = None,
    progress: Progress | None = None,
    **options: Unpack[ChartArguments],
) -> RunResult:
    """Make a wall chart of heating and cooling times: sheets by thickness, on one page.

    Parameters
    ----------
    stock : Stock or path, optional
        From `load_stock`, or a stock file.
    progress : callable, optional
        Told of each stage as it begins.
    **options
        What ``moldgen chart --help`` lists: ``sheets=["HIPS 1 mm", "PETG 1 mm"]``.

    Returns
    -------
    RunResult
        Times in its ``numbers``; it has no bodies.

    Raises
    ------
    SpecError
        If a name is not in stock, or there are more sheets than one page holds.
    """

    def run(command: ChartCommand, shop: Shop, tell: Progress) -> Output:
        from moldgen.pipeline.heat.chart_files import design_chart

        return design_chart(command, shop=shop, progress=tell)

    return run_output(ChartCommand, run, dict(options), stock, progress)
