"""What there is to say of a class: who has no mold, and what the checks say of the others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from moldgen.finding import Finding, Severity
from moldgen.lesson.class_work.kept_arrangement import ARRANGEMENT
from moldgen.lesson.class_work.run import PersonWork, folders_of_nobody
from moldgen.wording import listed


def class_findings(
    works: Sequence[PersonWork], notes: Sequence[str], *, out: Path, mend: bool
) -> list[Finding]:
    """Return what a person can act on: who has no mold, whose mold does not form.

    Parameters
    ----------
    works : sequence of PersonWork
        What became of each job.
    notes : sequence of str
        What else there is to say, a sentence each.
    out : Path
        Folder of the class.
    mend : bool
        Whether jobs were changed already to clear what can be cleared.
    """
    found = [
        Finding(
            code="class-note", severity=Severity.NOTE, says=note.rstrip("."),
            basis="the roster", advice="",
        )
        for note in (*notes, *_other_folders(out, works))
    ]  # fmt: skip
    for work in works:
        who = work.entry.who
        if work.record.problem:
            found.append(
                Finding(
                    code="class-left-out", severity=Severity.STOP,
                    says=f"{who} has no mold: {work.record.problem.rstrip('.')}",
                    basis="the roster" if work.entry.row else "the job of this person",
                    advice="Change the row and run the same command again." if work.entry.row
                    else "Change that job and make the class again.",
                )
            )  # fmt: skip
    found += _to_look_at(works, mend=mend)
    return sorted(found, key=lambda one: list(Severity).index(one.severity), reverse=True)


def _to_look_at(works: Sequence[PersonWork], *, mend: bool) -> Iterator[Finding]:
    """Yield what the checks of molds say: what is the same of several is told once."""
    alike: dict[tuple[Severity, str], list[PersonWork]] = {}
    for work in works:
        if work.record.stops or work.record.cautions:
            severity = Severity.STOP if work.record.stops else Severity.CAUTION
            alike.setdefault((severity, work.record.codes[0]), []).append(work)
    for (severity, _), several in alike.items():
        first, *others = several
        who, found = first.entry.who, first.record.findings[0].rstrip(".")
        says = f"{who}: {found}"
        if others:
            names = listed([work.entry.who for work in others])
            says = f"{who}: {found}. The same holds for {names}"
        yield Finding(
            code="class-look", severity=severity, says=says,
            basis="the checks of these molds" if others else "the checks of that mold",
            advice="" if mend
            else "With --mend the same command changes each job as little as clears it, where "
            "that can be.",
        )  # fmt: skip


def _other_folders(out: Path, works: Sequence[PersonWork]) -> list[str]:
    others = [name for name in folders_of_nobody(out, works) if name != ARRANGEMENT]
    told = "Folders of an earlier run, of nobody in the roster now, are left as they are"
    return [f"{told}: {', '.join(others)}."] if others else []
