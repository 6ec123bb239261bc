"""What was measured of the jobs of a class, kept so that the next run need not measure it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldgen.errors import MoldgenError
from moldgen.job import Job
from moldgen.lesson.class_work.build import order_for
from moldgen.lesson.class_work.kept_words import read_kept, write_kept
from moldgen.lesson.class_work.record import record_key

_FILE = "sizes.kept"


class KeptSizes:
    """Measures of jobs by what the jobs are made from.

    Parameters
    ----------
    records : Path, optional
        Folder in which they are kept; nothing is kept if left out.
    folder : Path
        Where file names in the jobs start.
    stock : dict of str to str
        Own stock files, by name.
    """

    def __init__(
        self,
        records: Path | None = None,
        *,
        folder: Path = Path(),
        stock: Mapping[str, str] | None = None,
    ) -> None:
        self._records, self._folder, self._stock = records, folder, stock or {}
        self._earlier = (records and read_kept(records / _FILE, _measures)) or {}
        self._now: dict[str, list[float]] = {}

    def of(self, what: str) -> KnownSizes:
        """Return the measures of one kind."""
        return KnownSizes(all=self, what=what)

    def measured(
        self, what: str, job: Job, measure: Callable[[Job], Sequence[float]]
    ) -> list[float]:
        """Return what is known of a job, or measure it; nothing if it cannot be made."""
        if self._records is None:
            return _tried(job, measure)
        key = self._key(what, job)
        if not key:
            return []
        sizes = self._now.get(key) or self._earlier.get(key) or _tried(job, measure)
        # What cannot be made today may be tomorrow: another font may be there.
        if sizes:
            self._now[key] = sizes
        return sizes

    def settled(
        self, what: str, job: Job, settle: Callable[[Sequence[float]], Sequence[float]]
    ) -> Sequence[float]:
        """Return what is settled for jobs like one, given what an earlier run settled, if any."""
        key = "" if self._records is None else self._key(what, job)
        sizes = settle(self._earlier.get(key, ()))
        if key:
            self._now[key] = list(sizes)
        return sizes

    def _key(self, what: str, job: Job) -> str:
        """Return what tells a job from all others; nothing if a file that it names is missing."""
        try:
            order = order_for(job, folder=self._folder, stock=self._stock, formats=())
        except MoldgenError:
            return ""
        return f"{what} {record_key(order.piece())}"

    def keep(self) -> None:
        """Write what this run asked for.

        Raises
        ------
        FileError
            If it cannot be written.
        """
        if self._records is not None:
            write_kept(self._records / _FILE, self._now)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KnownSizes:
    """Measures of one kind.

    Attributes
    ----------
    all : KeptSizes
        Of every kind.
    what : str
        Which.
    """

    all: KeptSizes
    what: str

    def get(self, job: Job, measure: Callable[[Job], Sequence[float]]) -> list[float]:
        """Return the measures of a job; nothing if it cannot be made."""
        return self.all.measured(self.what, job, measure)

    def settled(
        self, job: Job, settle: Callable[[Sequence[float]], Sequence[float]]
    ) -> Sequence[float]:
        """Return what is settled for jobs like one, given what an earlier run settled, if any."""
        return self.all.settled(self.what, job, settle)


def _tried(job: Job, measure: Callable[[Job], Sequence[float]]) -> list[float]:
    try:
        return [float(value) for value in measure(job)]
    except MoldgenError:
        return []


def _measures(words: Any) -> dict[str, list[float]]:
    return {key: [float(value) for value in values] for key, values in words.items()}
