"""The recipe for a fixture of the table: from words to files and findings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldgen.errors import FileError
from moldgen.fixture.drill_guide import Place, build_drill_guide
from moldgen.fixture.kinds import Kind
from moldgen.fixture.made import Bench, Fixture
from moldgen.fixture.spec import DrillGuideSpec, FixtureSpec
from moldgen.job.command_words import ShopWords
from moldgen.job.fixture_words import NamedFixture, spec_from_words
from moldgen.pipeline.fixture_files import fixture_made
from moldgen.pipeline.made import Made
from moldgen.stock import Shop

Progress = Callable[[str], None]


def make_fixture(words: NamedFixture, *, shop: Shop, progress: Progress) -> Made:
    """Make one fixture and its sheet of use.

    Parameters
    ----------
    words : NamedFixture
        What is wanted.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told the name of each stage as it begins.

    Raises
    ------
    MoldgenError
        If it cannot be made: one sentence that says what to change.
    """
    kind, spec = spec_from_words(words)
    bench = bench_of(words, shop)
    progress(f"1/2 building the {kind.title.lower()}")
    fixture = _built(kind, spec, bench, words)
    progress("2/2 writing files")
    made = Made(
        title=fixture.title,
        summary=summary_of(kind, fixture, bench, words),
        findings=(),
        numbers=numbers_of([fixture], bench, words),
    )
    used = [(kind.use, kind.safety, fixture)]
    return fixture_made(made, used, bench, formats=words.formats, paper=words.paper)


def bench_of(words: ShopWords, shop: Shop) -> Bench:
    """Look up what fixtures are made for, and on."""
    return Bench(
        station=shop.station(words.station), printer=shop.printer(words.printer), shop=shop
    )


def summary_of(
    kind: Kind, fixture: Fixture, bench: Bench, words: ShopWords
) -> tuple[tuple[str, str], ...]:
    """Return the rows a person reads at a glance."""
    return (
        ("Use", kind.use),
        ("Be safe", kind.safety),
        *fixture.facts,
        ("To print", print_words([fixture], bench, words)),
    )


def print_words(fixtures: Sequence[Fixture], bench: Bench, words: ShopWords) -> str:
    """Return plates and filament in words."""
    plates = sum(len(fixture.plates) for fixture in fixtures)
    grams = grams_of(fixtures, bench, words)
    shown = f"{grams:.0f} g" if grams >= 10 else f"{grams:.1f} g"
    said = f"{plates} plate{'s' * (plates != 1)} on {bench.printer.name}, {shown} if solid"
    twice = [fixture for fixture in fixtures if fixture.copies == 2]
    return f"{said}; print {'it' if plates == 1 else 'them'} twice" if twice else said


def grams_of(fixtures: Sequence[Fixture], bench: Bench, words: ShopWords) -> float:
    """Return the mass of fixtures printed solid. [g]."""
    density = bench.shop.filament(words.filament).density_kg_m3
    return sum(fixture.volume_mm3 for fixture in fixtures) * 1e-6 * density


def numbers_of(fixtures: Sequence[Fixture], bench: Bench, words: ShopWords) -> dict[str, Any]:
    """Return the measures for programs."""
    return {
        "n_pieces": sum(len(fixture.bodies) for fixture in fixtures),
        "n_plates": sum(len(fixture.plates) for fixture in fixtures),
        "volume_mm3": sum(fixture.volume_mm3 for fixture in fixtures),
        "copies": max((fixture.copies for fixture in fixtures), default=1),
        "mass_g": grams_of(fixtures, bench, words),
    }


def _built(kind: Kind, spec: FixtureSpec, bench: Bench, words: NamedFixture) -> Fixture:
    if words.file and isinstance(spec, DrillGuideSpec):
        return _guide_for_job(spec, bench, Path(words.file))
    fixture: Fixture = kind.builder()(spec, bench)
    return fixture


def _guide_for_job(spec: DrillGuideSpec, bench: Bench, path: Path) -> Fixture:
    """Build the guide for the vents of a job's mold that are drilled after printing."""
    # A mold takes a second to load what it needs, and most fixtures need none.
    from moldgen.pipeline.design import design_of_file
    from moldgen.pipeline.layout import drill_list

    design = design_of_file(path, bench.shop)
    mold = design.mold
    drilled = drill_list(mold)
    if not drilled:
        raise FileError(
            f"{path} makes a mold whose vents are printed, none drilled: it needs no drill guide. "
            "Give the vents a smaller diameter, or leave the guide out."
        )
    places = tuple(
        Place(one.vent.x_mm, one.vent.y_mm, float(one.vent.diameter_mm)) for one in drilled
    )
    guide = build_drill_guide(spec, bench, foot=mold.foot, places=places)
    return replace(guide, facts=(("Mold", design.request.title), *guide.facts))
