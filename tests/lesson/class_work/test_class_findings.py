"""What is said of a class: the same of several is told once, with whom it is about."""

from moldgen.finding import Severity
from moldgen.lesson.class_work.class_findings import class_findings
from moldgen.lesson.class_work.record import MoldRecord
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.roster.roster import RosterEntry

GAP, THIN = "letters: gaps are narrow. Open them.", "recess: the sheet is thin. Make it wider."


def work(row, name, *found, stops=0, problem=""):
    """Return what became of somebody's job."""
    record = MoldRecord(
        numbers={}, problem=problem, stops=stops, cautions=len(found) - stops,
        codes=tuple(code for code, _ in found), findings=tuple(says for _, says in found),
    )  # fmt: skip
    return PersonWork(entry=RosterEntry(row=row, name=name), folder=name, record=record)


def test_the_same_of_several_is_told_once(tmp_path):
    """By severity and code of the gravest; the first one's sentence stands for all."""
    works = [
        work(1, "Ada", ("gap-narrow", GAP)), work(2, "Bo", ("thin", THIN), ("gap-narrow", GAP)),
        work(3, "Cem", ("gap-narrow", GAP)), work(4, "Dee"),
        work(5, "Eva", ("gap-narrow", GAP), stops=1),
    ]  # fmt: skip
    found = class_findings(works, ["A note."], out=tmp_path, mend=True)

    assert [(one.severity, one.says, one.advice) for one in found] == [
        (Severity.STOP, f"Eva (row 5): {GAP[:-1]}", ""),
        (Severity.CAUTION, f"Ada (row 1): {GAP} The same holds for Cem (row 3)", ""),
        (Severity.CAUTION, f"Bo (row 2): {THIN[:-1]}", ""),
        (Severity.NOTE, "A note", ""),
    ]


def test_what_may_be_cleared_by_a_word_is_told_with_the_word(tmp_path):
    """Before jobs were mended the way to do so is told."""
    (found,) = class_findings([work(1, "Ada", ("gap-narrow", GAP))], [], out=tmp_path, mend=False)

    assert found.advice.startswith("With --mend the same command changes each job")


def test_many_names_are_told_as_their_number(tmp_path):
    """A class of forty with the same caution is no page of names."""
    works = [work(row, f"P{row}", ("gap-narrow", GAP)) for row in range(1, 41)]
    (found,) = class_findings(works, [], out=tmp_path, mend=True)

    assert found.says.endswith("P8 (row 8), P9 (row 9), ... (39 in all)")
