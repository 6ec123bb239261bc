"""Long work is told or refused before it is begun."""

import pytest
from shapely import MultiPolygon, box

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.execution import run_with
from moldgen.job.read import mold_from_words
from moldgen.limits import PAGE, Limits
from moldgen.mold.features import Direction
from moldgen.pipeline.mold.work_estimate import WorkEstimate
from moldgen.pipeline.stage import Stage

SQUARES = MultiPolygon([box(3 * k, 0, 3 * k + 2, 2) for k in range(100)])


def job_of(*bodies):
    """Return a job with these bodies."""
    return mold_from_words({"title": "x", "body": list(bodies)})


def plate(name, **more):
    """Return a square plate as a job writes it."""
    outline = {"shape": "rounded-plaque", "width": 60, "height": 60, "x": more.pop("x", 0)}
    return {"name": name, "height": 12, "outline": outline, **more}


def test_recesses_and_corners_take_time():
    """A recess takes as long as hundreds of corners, and all is added up."""
    raised, sunk = WorkEstimate(), WorkEstimate()
    raised.add(SQUARES, Direction.RAISED)
    sunk.add(SQUARES, Direction.SUNK)
    once = sunk.time_s
    sunk.add(SQUARES, Direction.SUNK)

    assert (raised.n_pieces, raised.n_recesses, raised.n_corners) == (100, 0, 500)
    assert sunk.time_s == pytest.approx(2 * once)
    assert once > 10 * raised.time_s > 0


def test_work_is_refused_once_it_is_longer_than_may_be():
    """The sentence says how much it would be, and what to do."""
    work = WorkEstimate()

    with run_with(limits=Limits(work_s=20)):
        with pytest.raises(SpecError, match=r"at most 20 s .*100 pieces with 500 corners.*several"):
            work.add(SQUARES, Direction.SUNK)
    with run_with(limits=Limits(work_s=21)):
        WorkEstimate().add(SQUARES, Direction.SUNK)


def test_a_thousand_letters_are_refused_on_a_page_before_they_are_built():
    """Ten texts of a hundred letters are few words and much work."""
    bodies = [
        {
            "name": f"a{k}",
            "height": 2,
            "outline": {"text": "SIGNPOSTS&" * 10, "height": 3, "y": 9 * k},
        }
        for k in range(10)
    ]

    with run_with(limits=Limits(work_s=5)), pytest.raises(SpecError, match="the job must be work"):
        _ = mg.design(job_of(*bodies)).features


def test_long_work_is_told_as_it_begins():
    """A stage that takes minutes says so; one that does not keeps its name."""
    stages: list[Stage] = []
    long = {"name": "g", "height": 2, "outline": {"grid": "30 x 12", "gap": 0.6}}
    for children in ([], [long] * 3):
        twins = [{**child, "name": f"g{k}"} for k, child in enumerate(children)]
        design = mg.design(job_of(plate("a", sunk=twins)), progress=stages.append)
        work = design.features.work
        stages.append(Stage(2, 6, work.told("building the walls")))

    assert stages[-1].name.startswith("building the walls; all of it takes about 3 min")
    assert [stage.name for stage in stages].count("building the walls") == 1


def test_a_mold_wider_than_may_be_is_refused():
    """On a page a mold is at most as wide as the largest table; elsewhere three meters."""
    near, far = job_of(plate("a"), plate("b", x=650)), job_of(plate("a"), plate("b", x=3500))

    assert mg.design(near).features.bodies
    with run_with(limits=PAGE), pytest.raises(SpecError, match="at most 700 mm across"):
        _ = mg.design(near).features
    with pytest.raises(SpecError, match="the mold must be at most 3000 mm across"):
        _ = mg.design(far).features
