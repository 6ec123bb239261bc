"""Troubles: the likeliest cause from the job's own numbers, and commands that exist."""

import shlex
from itertools import product
from typing import Any

import pytest

from moldgen.cli.commands import COMMANDS, load_function
from moldgen.cli.options import spec_from_options
from moldgen.cli.parser import parser_of
from moldgen.finding import Finding, Severity
from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
from moldgen.lesson.log.trouble import likely_causes
from moldgen.lesson.log.trouble_case import TroubleCase
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
TROUBLES = [one for one in Outcome if one is not Outcome.GOOD]


def case(seen, *, numbers=None, findings=(), job_file="boat shed.toml", **values):
    """Return a case of a mold of the boat shed."""
    usual: dict[str, Any] = {
        "noted": "2026-03-04T10:20", "job": "BOAT SHED", "machine": "classroom-450x300",
        "plastic": "HIPS", "thickness_mm": 1.5, "filament": "PETG",
    }  # fmt: skip
    note = ShotNote(seen=(Outcome(seen),), **(usual | values))
    return TroubleCase(
        note=note, shop=SHOP, numbers=numbers or {}, findings=findings, job_file=job_file
    )


def first(seen, **values):
    """Return the likeliest cause."""
    return likely_causes(case(seen, **values))[0]


def finding(code, severity=Severity.CAUTION):
    """Return what a check says."""
    return Finding(
        code=code, severity=severity, says="the wall leans too little", measured=1.0, limit=3.0,
        unit="°", advice="Lean it more.",
    )  # fmt: skip


def test_a_good_part_has_no_causes():
    """Where nothing was wrong nothing is looked for."""
    assert likely_causes(case("good")) == ()


@pytest.mark.parametrize("seen", TROUBLES)
def test_each_trouble_has_causes_without_any_numbers(seen):
    """With nothing known the commonest cause stands first, and says that nothing speaks for it."""
    causes = likely_causes(case(seen))

    assert len(causes) >= 3
    assert causes[0].strength == max(one.strength for one in causes) <= 0.1
    assert {one.because for one in causes} <= {
        "nothing that was noted or computed speaks for it",
        "hot HIPS welds to a warm mold of PETG",
    }
    assert all(one.trouble is seen and one.advice.endswith(".") for one in causes)


@pytest.mark.parametrize("seen", TROUBLES)
def test_each_command_is_one_that_the_program_reads(seen):
    """Whatever the names of job, table, plastic and filament, the real parser takes the command."""
    names = product(
        ("HIPS", "PVC rigid"), ("PETG", "HIPS", ""), (0.5, 1.5, 12.0), ("a b.toml", "tide.toml")
    )
    told = set()
    for plastic, filament, gauge_mm, job_file in names:
        for one in likely_causes(
            case(
                seen, plastic=plastic, filament=filament, thickness_mm=gauge_mm,
                job_file=job_file, cycle=5,
            )
        ):  # fmt: skip
            told.add(one.command)
    assert len(told) > 6
    for command in told:
        program, name, *words = shlex.split(command)
        assert program == "moldgen"
        form = load_function(COMMANDS[name].form)
        typed = parser_of(name, COMMANDS[name]).parse_args(words)
        assert isinstance(spec_from_options(form, vars(typed)), form)


def test_a_sheet_heated_too_long_is_the_first_cause():
    """A time well beyond that of the card stands first, with both times, for web and hole."""
    for seen in ("web", "hole"):
        cause = first(seen, heated_s=90.0, told_heat_s=56.0)
        assert cause.says.startswith("the sheet was too hot")
        assert cause.because == "it was heated 1 min 30 s, told were 56 s"
        assert cause.command == (
            "moldgen heat HIPS --gauge 1.5 --machine classroom-450x300 --filament PETG"
        )
        assert not first(seen, heated_s=56.0, told_heat_s=56.0).says.startswith("the sheet was too")


def test_without_a_card_the_time_told_for_the_mold_counts():
    """The design's own heating time stands for the card's."""
    assert "told were 56 s" in first("hole", heated_s=90.0, numbers={"heat_s": 56.0}).because


def test_lumps_of_a_sheet_heated_too_short_are_of_its_cold():
    """A sheet heated less long than told did not go into its corners."""
    cause = first("lumps", heated_s=35.0, told_heat_s=56.0)

    assert cause.says.startswith("the sheet was too cool")
    assert cause.advice.startswith("Heat the next sheet 56 s")


def test_a_finding_of_the_mold_goes_before_what_is_common():
    """A web that was foreseen is the first cause of a web, told as the check told it."""
    cause = first("web", findings=[finding("formed-web")])

    assert cause.because == "the wall leans too little (1°, limit 3°)"
    assert cause.command == "moldgen make 'boat shed.toml' --mend"
    assert first("web", findings=[finding("formed-web", Severity.STOP)]).strength > cause.strength


def test_the_draw_ratio_explains_a_thin_corner():
    """A mean thickness far below the gauge speaks for too deep a draw; a thicker sheet is next."""
    numbers = {"areal_draw_ratio": 2.4, "mean_thickness_mm": 0.62}
    cause = first("thin", numbers=numbers)

    assert cause.because == "draw ratio 2.4, mean thickness 0.62 mm"
    assert cause.command.endswith('--gauge "1.5, 2"')
    shallow = {"areal_draw_ratio": 1.03, "mean_thickness_mm": 1.46}
    assert first("thin", numbers=shallow).strength <= 0.1


def test_a_caliper_tells_more_than_the_draw_ratio():
    """A place far thinner than computed stands first, by name."""
    reading = CaliperReading(place="corner of the hull", thickness_mm=0.3, computed_mm=0.8)
    cause = first("thin", readings=(reading,))

    assert cause.because == "corner of the hull measures 0.3 mm, computed are 0.8 mm"
    assert cause.command.endswith("--forming fine")


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"numbers": {"least_draft_deg": 0.5}}, "the least draft is 0.5°"),
        ({"numbers": {"undercuts": 2}}, "it has 2 undercuts"),
        ({"numbers": {"least_draft_deg": 5.0}, "filament": "HIPS"}, "hot HIPS welds"),
        ({"cooled_s": 90.0, "told_cool_s": 25.0}, "it cooled on the mold 1 min 30 s"),
        ({"cooled_s": 10.0, "told_cool_s": 25.0}, "it cooled on the mold 10 s"),
        ({"numbers": {"release_N": 300.0, "release_holds_N": 200.0}}, "release takes 300 N"),
    ],
)
def test_what_sticks_is_explained_by_its_own_numbers(values, words):
    """Draft, welding, time and force: each is first where it is what is out of order."""
    assert first("stuck", **values).because.startswith(words)


def test_a_mold_that_welds_is_printed_of_another_filament():
    """The filament that is offered is in stock, does not weld, and stands at least as much heat."""
    cause = first("stuck", filament="HIPS", numbers={"least_draft_deg": 5.0})
    name = shlex.split(cause.command)[-1]

    assert SHOP.filament(name).family != SHOP.filament("HIPS").family
    assert SHOP.filament(name).softens_degC >= SHOP.filament("HIPS").softens_degC


def test_a_soft_mold_is_held_against_its_life():
    """More cycles than computed stand first, and the pause that helps is told."""
    numbers = {"cycles_in_a_row": 6, "pause_s": 120.0, "cycles_before_edges_round": 0}
    cause = first("soft-mold", cycle=9, numbers=numbers)

    assert cause.because == "cycle 9, computed are 6 in a row"
    assert cause.advice == "Let the mold rest 2 min after each part."
    early = first("soft-mold", cycle=1, numbers=numbers)
    assert early.because == "its edges soften in every cycle, as computed"


def test_air_that_is_slow_explains_lumps():
    """A pocket that empties about as slowly as the sheet stiffens stands first."""
    numbers = {"slowest_pocket_s": 6.0, "cool_thinnest_s": 7.0}

    assert "empties in 6.0 s" in first("lumps", numbers=numbers).because
    assert first("lumps", numbers=numbers | {"slowest_pocket_s": 0.1}).strength <= 0.1


def test_several_troubles_are_told_in_their_order():
    """Each trouble has its own causes, as they were noted."""
    one = case("web")
    note = ShotNote(
        noted="2026-03-04T10:20", job="PIER", machine="bench-250x250", plastic="PETG",
        thickness_mm=1.0, seen=(Outcome.STUCK, Outcome.WEB),
    )  # fmt: skip
    causes = likely_causes(TroubleCase(note=note, shop=one.shop))

    assert [one.trouble for one in causes] == sorted(
        (one.trouble for one in causes), key=note.seen.index
    )
    assert {one.trouble for one in causes} == set(note.seen)
