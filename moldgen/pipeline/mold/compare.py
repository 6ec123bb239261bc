"""One job made in several ways, side by side: other sheets, tables, filaments."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldgen.finding import Severity, counted
from moldgen.job import Job
from moldgen.job.command.compare import CompareFormat, Variant
from moldgen.job.room import OwnRoom
from moldgen.memo import Memo
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.mold.design import MOST_BYTES
from moldgen.pipeline.mold.figures import (
    NO_NUMBERS,
    MoldFigures,
    figures_by,
)
from moldgen.pipeline.mold.figures import outcome as _outcome
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.printing.estimate import spoken_time
from moldgen.stock import Shop
from moldgen.units_text import Units, as_read, read_in
from moldgen.wording import about_text, gauge_text

LEAST_SIDE_BY_SIDE = 4
"""From so many molds on processes side by side are sooner ready than one alone. [-]."""
_COLUMNS = ("findings", "thinnest", "mean", "heating", "cooling", "print", "cost")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ComparedMold:
    """One of the molds that are compared.

    Attributes
    ----------
    variant, label : Variant, str
        What it is made with; in what it differs from the others.
    figures, problem : MoldFigures or None, str
        What is known of the mold; or why it cannot be made.
    sheet_price, print_price : float or None
        What a sheet and the print cost, in the currency of the room; None if not priced.
    """

    variant: Variant
    label: str
    figures: MoldFigures | None
    problem: str = ""
    sheet_price: float | None = None
    print_price: float | None = None

    @property
    def record(self) -> dict[str, Any]:
        """All of it in numbers, each with its unit in its name."""
        numbers = self.figures.numbers if self.figures else NO_NUMBERS
        return {
            "plastic": self.variant.plastic,
            "gauge_mm": self.variant.gauge_mm,
            "machine": self.variant.machine,
            "filament": self.variant.filament,
            **numbers,
            "sheet_price": self.sheet_price,
            "print_price": self.print_price,
            "problem": self.problem,
        }


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """One job made in several ways.

    Attributes
    ----------
    title : str
        What the job is called.
    molds : tuple of ComparedMold
        In the order they were asked for.
    currency : str
        Of their prices.
    """

    title: str
    molds: tuple[ComparedMold, ...]
    currency: str = ""

    @property
    def records(self) -> tuple[dict[str, Any], ...]:
        """A row of numbers for each mold."""
        return tuple(mold.record for mold in self.molds)

    def table(self) -> tuple[tuple[str, ...], ...]:
        """Return what a person compares, in words: a head, and a row for each mold.

        A column that says nothing of any mold is left out; the row of a mold that cannot be made
        holds one sentence.
        """
        rows = [
            dict(zip(_COLUMNS, _cells(mold, self.currency), strict=True)) for mold in self.molds
        ]
        shown = [column for column in _COLUMNS if any(row[column] for row in rows)]
        body = [
            (
                mold.label,
                *((row[column] or "-" for column in shown) if mold.figures else [mold.problem]),
            )
            for mold, row in zip(self.molds, rows, strict=True)
        ]
        return (("", *shown), *body)

    def csv_bytes(self) -> bytes:
        """Return the rows of numbers as CSV, UTF-8."""
        stream = io.StringIO()
        writer = csv.DictWriter(stream, list(self.records[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(self.records)
        return stream.getvalue().encode()

    def png_bytes(self) -> bytes:
        """Return one picture: thickness of the formed sheets, or when each can be formed."""
        from moldgen.pipeline.mold.compare_picture import comparison_png

        return comparison_png(
            self.title, [(one.label, one.figures) for one in self.molds if one.figures]
        )

    def result(self, formats: Iterable[CompareFormat], *, units: Units = Units.MM) -> Result:
        """Return it as a run hands it over, with files of these formats.

        The summary is a table, so it is set in the units that it is read in; files for programs
        are in millimeters.
        """
        with read_in(units):
            return self._result(frozenset(formats), units)

    def _result(self, formats: frozenset[CompareFormat], units: Units) -> Result:
        stem = file_name(f"compare {self.title}")
        makers = {CompareFormat.CSV: self.csv_bytes, CompareFormat.PNG: self.png_bytes}
        if not any(mold.figures for mold in self.molds):
            del makers[CompareFormat.PNG]
        files = {f"{stem}.{kind}": make() for kind, make in makers.items() if kind in formats}
        result = Result(
            title=f"Compare {self.title}",
            summary=_aligned(_as_read(self.table())),
            findings=(),
            numbers={"variants": list(self.records), "currency": self.currency},
            units=units,
        )
        if CompareFormat.JSON in formats:
            from moldgen.export.report.findings_json import findings_json_bytes

            files["findings.json"] = findings_json_bytes(
                (), title=result.title, summary=_aligned(self.table()), numbers=result.numbers
            )
        return replace(result, files=files)


def compare_job(
    job: Job,
    variants: Sequence[Variant],
    *,
    folder: Path,
    shop: Shop,
    room: OwnRoom | None = None,
    look: FormingLook = FormingLook.PREVIEW,
    progress: Progress = quiet,
    memo: Memo | None = None,
    pool: Executor | None = None,
    stock: Mapping[str, str] | None = None,
) -> Comparison:
    """Make one job in several ways.

    Parameters
    ----------
    job : Job
        What is wanted.
    variants : sequence of Variant
        What it is made with.
    folder : Path
        Where paths in the job start.
    shop : Shop
        What there is to make it with.
    room : OwnRoom, optional
        Whose prices count.
    look : FormingLook
        How closely the hot sheet is followed.
    progress : callable
        Told of each mold as it begins, or where others make them as it is done.
    memo : Memo, optional
        Keeps what is computed for other designs too, where this process makes them: what they
        have in common is then computed once.
    pool : Executor, optional
        Makes them side by side; this process, one after the other, if left out.
    stock : mapping of str to str, optional
        The shop's own stock files, by name, which a pool needs.

    Raises
    ------
    SpecError
        If the stock lacks what a variant names.
    """
    variants = [_in_stock(one, shop) for one in variants]
    labels = _labels(variants)
    jobs = [_varied(job, variant, look) for variant in variants]
    if pool is None or stock is None:
        memo = memo or Memo(MOST_BYTES)
        outcomes = []
        for number, (one, label) in enumerate(zip(jobs, labels, strict=True), 1):
            progress(Stage(number, len(jobs), label))
            outcomes.append(_outcome(one, folder, shop, memo))
    else:
        outcomes = figures_by(pool, jobs, folder=folder, shop=shop, stock=stock, progress=progress)
    molds = []
    for variant, label, outcome in zip(variants, labels, outcomes, strict=True):
        figures, problem = (outcome, "") if isinstance(outcome, MoldFigures) else (None, outcome)
        sheet_price, print_price = _prices(variant, figures, room)
        molds.append(
            ComparedMold(
                variant=variant, label=label, figures=figures, problem=problem,
                sheet_price=sheet_price, print_price=print_price,
            )
        )  # fmt: skip
    return Comparison(title=job.title, molds=tuple(molds), currency=room.currency if room else "")


def _in_stock(variant: Variant, shop: Shop) -> Variant:
    """Return a variant with the names of the stock, or refuse what is not there."""
    return replace(
        variant,
        plastic=shop.plastics.find(variant.plastic, field="sheet").name,
        machine=shop.machine(variant.machine).name,
        filament=shop.filament(variant.filament).name,
    )


def _varied(job: Job, variant: Variant, look: FormingLook) -> Job:
    sheet = replace(job.sheet, plastic=variant.plastic, gauge_mm=variant.gauge_mm)
    forming = replace(job.forming, look=look)
    return replace(
        job, sheet=sheet, forming=forming, machine=variant.machine, filament=variant.filament
    )


def _labels(variants: Sequence[Variant]) -> tuple[str, ...]:
    """Return in what each variant differs from others; the sheet always."""
    more = [
        field for field in ("machine", "filament")
        if len({getattr(one, field) for one in variants}) > 1
    ]  # fmt: skip
    return tuple(
        ", ".join(
            (f"{one.plastic} {gauge_text(one.gauge_mm)}", *(getattr(one, field) for field in more))
        )
        for one in variants
    )


def _prices(
    variant: Variant, figures: MoldFigures | None, room: OwnRoom | None
) -> tuple[float | None, float | None]:
    """Return what a sheet and the print cost, where the room has a price."""
    if room is None:
        return None, None
    mass_g = figures.numbers["mass_g"] if figures else None
    sheet_price = room.sheet_price(variant.plastic, variant.gauge_mm)
    return sheet_price, room.print_price(variant.filament, mass_g)


def _cells(mold: ComparedMold, currency: str) -> Iterator[str]:
    """Yield one cell for each column."""
    record = mold.record
    if mold.figures is None:
        yield from ("",) * len(_COLUMNS)
        return
    yield ", ".join(
        counted(record[f"{kind}s"], kind)
        for kind in (Severity.STOP, Severity.CAUTION)
        if record[f"{kind}s"]
    ) or "no caution"  # fmt: skip
    for field in ("thinnest_mm", "mean_mm"):
        yield "" if record[field] is None else f"{record[field]:.2f} mm"
    for field in ("heat_s", "cool_s"):
        yield "" if record[field] is None else about_text(record[field])
    printed = record["mass_g"] is not None
    yield f"{record['mass_g']:.0f} g, {spoken_time(record['print_s'])}" if printed else ""
    told = (("sheet", mold.sheet_price), ("print", mold.print_price))
    yield ", ".join(
        f"{what} {price:.2f} {currency}".rstrip() for what, price in told if price is not None
    )


def _as_read(table: Sequence[Sequence[str]]) -> list[tuple[str, ...]]:
    return [tuple(map(as_read, row)) for row in table]


def _aligned(table: Sequence[Sequence[str]]) -> tuple[tuple[str, str], ...]:
    """Return label and line of each row, the columns one below the other."""
    head = table[0]
    full = [row for row in table if len(row) == len(head)]
    widths = [max(len(row[column]) for row in full) for column in range(len(head))]
    return tuple(
        (row[0], "  ".join(map(str.ljust, row[1:], widths[1:])).rstrip() if row in full else row[1])
        for row in table
    )
