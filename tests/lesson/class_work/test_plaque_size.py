"""Plaques of a class keep the size of an earlier run as long as it does."""

from pathlib import Path

import pytest
from support.some import some

import moldgen as mg
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.outline import JobShape
from moldgen.lesson.class_work import make
from moldgen.lesson.class_work.kept_sizes import KeptSizes
from moldgen.lesson.class_work.one_size import one_size
from moldgen.lesson.class_work.person_job import first_text, person_jobs
from moldgen.lesson.class_work.plaque_size import (
    KEPT_LETTERS,
    MOST_SPARE_MM,
    PlaqueSize,
    still_does,
)
from moldgen.lesson.roster.roster import roster_of_text
from moldgen.pipeline.stage import quiet
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
TAG = mg.sign("NAME", letter_height=14, gauge_mm=1.0)
SPARE_MM = 24.0


@pytest.mark.parametrize(
    ("before", "does"),
    [
        ((80.0, 43.0), True),
        ((80.0 + MOST_SPARE_MM, 43.0 + MOST_SPARE_MM), True),
        ((80.1 + MOST_SPARE_MM, 43.0), False),
        ((80.0, 43.1 + MOST_SPARE_MM), False),
        ((SPARE_MM + 56.0 * KEPT_LETTERS + 0.01, 43.0), True),
        ((SPARE_MM + 56.0 * KEPT_LETTERS - 0.01, 43.0), False),
        ((80.0, SPARE_MM + 19.0 * KEPT_LETTERS - 0.01), False),
    ],
)
def test_a_size_does_if_it_is_a_little_larger_or_smaller(before, does):
    """Ten millimeters more than needed, or letters of nine tenths, and nothing beyond."""
    needed = PlaqueSize(80.0, 43.0)

    assert still_does(PlaqueSize(*before), needed, spare_mm=SPARE_MM) is does


def run(folder, names, like=TAG, **options):
    """Size a class as a run does that keeps what it settled; return jobs, notes and plaques."""
    jobs = person_jobs(roster_of_text("\n".join(names)), like, folder=Path())
    kept = KeptSizes(folder)
    sized = one_size(jobs, like=like, folder=Path(), shop=SHOP, kept=kept, **options)
    kept.keep()
    outlines = [one.job.body[0].outline for one in some(sized.jobs)]
    plaques = {(one.width_mm, one.height_mm) for one in outlines if isinstance(one, JobShape)}
    return sized.jobs, sized.notes, plaques


def test_a_name_that_is_a_little_longer_leaves_the_others_as_they_are(tmp_path):
    """Its letters are made smaller, which is told; all other jobs are those of the run before."""
    first, first_notes, plaques = run(tmp_path, ["ADA", "HAL", "DORA"])
    second, notes, again = run(tmp_path, ["ADA", "HUGO", "DORA"])
    _, _, fresh = run(tmp_path / "other", ["ADA", "HUGO", "DORA"])

    assert first_notes == ()
    assert again == plaques != fresh
    assert [second[0], second[2]] == [first[0], first[2]]
    height_mm = first_text(second[1].job).height_mm
    assert KEPT_LETTERS * 14 - 0.1 <= height_mm < 14
    assert second[1].changes == (f"letters {height_mm:g} mm high, so that the word fits",)
    ((width_mm, depth_mm),), ((wide_mm, deep_mm),) = plaques, fresh
    assert notes == (
        f"Plaques stay {width_mm:.1f} x {depth_mm:.1f} mm, as an earlier run made them; these "
        f"words alone would have {wide_mm:.1f} x {deep_mm:.1f} mm. "
        "Ask for --rearrange to choose the size anew",
    )


def test_when_the_longest_name_leaves_plaques_keep_their_size(tmp_path):
    """What is a little too large stays; the letters stay as high as asked."""
    _, _, plaques = run(tmp_path, ["ADA", "HUGO", "DORA"])
    jobs, notes, again = run(tmp_path, ["ADA", "HAL", "DORA"])

    assert again == plaques
    assert [first_text(one.job).height_mm for one in jobs] == [14, 14, 14]
    assert len(notes) == 1


def test_the_size_is_chosen_anew_where_it_must_be(tmp_path):
    """A far longer word, another margin, a wish to do so: none takes the size of before."""
    _, _, first = run(tmp_path, ["ADA", "HAL", "DORA"])
    _, wished, anew = run(tmp_path, ["ADA", "HUGO", "DORA"], anew=True)
    _, longer, far = run(tmp_path, ["ADA", "HUGO", "MAXIMA"])
    wide = mg.sign("NAME", letter_height=14, gauge_mm=1.0, margin=14)
    _, other, roomy = run(tmp_path, ["ADA", "HUGO", "MAXIMA"], wide)

    assert len({*first, *anew, *far, *roomy}) == 4
    assert wished == longer == other == ()


def test_a_class_keeps_its_size_and_tells_so(tmp_path, monkeypatch):
    """What is kept lies in the folder of the class; --rearrange lets it be chosen anew."""
    seen = []

    def people(title, jobs, words, *, notes, **_):
        seen.append((jobs[0].job.body[0].outline, notes))

    monkeypatch.setattr(make, "build_people", people)
    for names, anew in (("ADA", False), ("HUGO", False), ("HUGO", True)):
        words = ClassCommand(file="r", like="t", rearrange=anew)
        make.build_class(
            roster_of_text(f"DORA\n{names}"), TAG, words,
            folder=Path(), out=tmp_path, shop=SHOP, progress=quiet,
        )  # fmt: skip

    (first, none), (second, notes), (third, no_more) = seen
    assert first == second != third
    assert none == no_more == ()
    assert notes[0].startswith("Plaques stay ")
