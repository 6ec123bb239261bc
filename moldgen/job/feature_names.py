"""What the features of a job are called, and where they stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from moldgen.job.spec import Job, JobBody, JobFeature


def places(job: Job) -> Iterator[tuple[str, JobFeature]]:
    """Yield every feature with its place, such as ``body 1, raised 2``, parents first."""
    for number, body in enumerate(job.body, start=1):
        yield from _walk(f"body {number}", body)


def _walk(place: str, feature: JobFeature) -> Iterator[tuple[str, JobFeature]]:
    yield place, feature
    for word, children in (("raised", feature.raised), ("sunk", feature.sunk)):
        for number, child in enumerate(children, start=1):
            yield from _walk(f"{place}, {word} {number}", child)


def with_names(job: Job) -> Job:
    """Return the job with a name for every feature: its own, or else its place."""
    bodies = tuple(_named(f"body {number}", body) for number, body in enumerate(job.body, start=1))
    assert all(isinstance(body, JobBody) for body in bodies)
    return replace(job, body=bodies)  # type: ignore[arg-type]  # replace keeps the type


def _named(place: str, feature: JobFeature) -> JobFeature:
    return replace(
        feature,
        name=feature.name or place,
        raised=tuple(
            _named(f"{place}, raised {number}", child)
            for number, child in enumerate(feature.raised, start=1)
        ),
        sunk=tuple(
            _named(f"{place}, sunk {number}", child)
            for number, child in enumerate(feature.sunk, start=1)
        ),
    )
