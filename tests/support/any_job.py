"""Any job that can be said, as strategies made from the forms that say it."""

from hypothesis import strategies as st

from moldgen.job import (
    Grid,
    Job,
    JobBody,
    JobFeature,
    JobOutline,
    JobShape,
    JobText,
)
from moldgen.job.form import form_of
from moldgen.job.outline import OUTLINE_KINDS, JobPicture, Numbers, Points
from moldgen.job.spec import JobVents
from moldgen.mold.choices import BuildWay, VentKind
from moldgen.outline.choices import Along
from moldgen.quantity import Quantity, Spec

TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
_PRINTED = st.characters(exclude_categories=["C", "Z"]) | st.just(" ")
LINES = st.text(_PRINTED, max_size=12)
SAID = st.builds("".join, st.tuples(LINES, st.characters(exclude_categories=["C", "Z"])))
"""Lines that are not blank."""


def numbers(quantity):
    """Numbers that a quantity allows."""
    low = max(quantity.above, quantity.at_least, -1e6)
    high = min(quantity.below, quantity.at_most, 1e6)
    ends = {"exclude_min": quantity.above == low, "exclude_max": quantity.below == high}
    return st.floats(low, high, **ends)


def values(line):
    """Values that a line of a form can hold."""
    if isinstance(line.mark, Quantity):
        strategy = numbers(line.mark)
        return strategy | st.none() if line.default is None else strategy
    if line.kind is JobOutline:
        return OUTLINES
    if line.kind == Points:
        pair = st.tuples(st.floats(-5000, 5000), st.floats(-5000, 5000))
        return st.lists(pair, min_size=3, max_size=5).map(tuple)
    if line.kind == Numbers:
        word = st.sampled_from(["corner", "waves", "points", "inset"])
        pairs = st.dictionaries(word, st.floats(-1000, 1000), max_size=2)
        return pairs.map(lambda given: tuple(sorted(given.items())))
    if line.kind is Grid:
        return st.builds(Grid, st.integers(1, 20), st.integers(1, 20))
    if line.item is not None:
        return items(line)
    if line.kind is str:
        return words(line)
    return st.from_type(line.kind) if not issubclass(line.kind, Spec) else specs(line.kind)


def items(line):
    """Return lists that a line can hold."""
    if line.item is str:
        return st.lists(LINES, max_size=3, unique=True).map(tuple)
    if issubclass(line.item, Spec):
        return st.just(())
    return st.lists(st.sampled_from(list(line.item)), min_size=1, max_size=3, unique=True).map(
        tuple
    )


def words(line):
    """Texts that a line can hold."""
    if line.word == "insert":
        return st.sampled_from(["none", "nut M3", "heat-set M4"])
    if line.word == "name":
        return st.just("")
    if line.required:
        return SAID
    return LINES if line.word in ("title", "date", "name", "link") else TEXTS


def specs(spec, **chosen):
    """Any specification of a kind."""
    parts = {line.field: values(line) for line in form_of(spec)} | chosen
    return st.builds(spec, **parts)


SIZED = (JobText, JobShape, JobPicture)
"""Outlines that want a size said."""


def sized(kind):
    """Return outlines with one size given, as text and shapes need it."""
    one = numbers(Quantity("mm", "", at_least=1, at_most=2000))
    straight = {"along": st.just(Along.LINE)} if kind is JobText else {}
    by_height = specs(kind, height_mm=one, width_mm=st.none(), **straight)
    return by_height | specs(kind, height_mm=st.none(), width_mm=one, **straight)


def curved():
    """Return words that follow a curve: one line, as it lies."""
    size = {"height_mm": numbers(Quantity("mm", "", at_least=1, at_most=2000)) | st.none()}
    plain = {"width_mm": st.none(), "turn_deg": st.just(0.0), "mirror": st.just(False)}
    curves = st.sampled_from([Along.EDGE, Along.CIRCLE])
    return specs(JobText, along=curves, text=SAID, **size, **plain)


OUTLINES = st.deferred(
    lambda: st.one_of(
        sized(JobText),
        curved(),
        sized(JobShape),
        sized(JobPicture),
        *(specs(kind) for kind in OUTLINE_KINDS.values() if kind not in SIZED),
    )
)
LEAVES = specs(JobFeature)
CHILDREN = st.lists(specs(JobFeature, raised=st.lists(LEAVES, max_size=1).map(tuple)), max_size=2)
BODIES = specs(JobBody, raised=CHILDREN.map(tuple), sunk=CHILDREN.map(tuple))
_SOME_BODIES = st.lists(BODIES, min_size=1, max_size=2).map(tuple)
JOBS = st.one_of(
    specs(Job, body=_SOME_BODIES, build=st.just(BuildWay.PRINTED)),
    specs(Job, body=_SOME_BODIES, vents=specs(JobVents, kind=st.just(VentKind.DRILLED))),
)
