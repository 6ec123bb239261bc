"""A graph computes what is asked for, with what it needs, once."""

from __future__ import annotations

import pytest

from moldgen.errors import CancelError
from moldgen.execution import Cancel, run_with
from moldgen.memo import Memo
from moldgen.pipeline.graph import Computation, Graph


class Yard:
    """A graph of four stages that notes which of them ran."""

    def __init__(self):
        self.ran = []

        def keel(length, teller):
            self.ran.append("keel")
            teller("keel")
            return round(length)

        def hull(keel, planks):
            self.ran.append("hull")
            return (keel, planks)

        def mast(keel):
            self.ran.append("mast")
            return 2 * keel

        def ship(hull, mast):
            self.ran.append("ship")
            return (hull, mast)

        self.graph = Graph(keel, hull, mast, ship, by_content={"keel"}, without_effect={"teller"})
        self.memo = Memo(10_000)

    def build(self, length=5, planks="oak", **more):
        """Return a computation over the shared memo, and forget what ran."""
        self.ran.clear()
        given = {"length": length, "planks": planks, "teller": lambda name: None}
        return Computation(self.graph, given | more, self.memo)


def test_only_what_is_needed_is_computed():
    """Asking for the mast lays the keel, and planks nothing."""
    yard = Yard()
    work = yard.build()

    assert work.get("mast") == 10
    assert yard.ran == ["keel", "mast"]
    assert work.computed() == {"keel", "mast"}
    assert set(yard.graph.needed("mast")) == {"mast", "keel", "length", "teller"}


def test_each_stage_is_computed_once():
    """Two stages that need the same share it."""
    yard = Yard()
    work = yard.build()

    assert work.get("ship") == ((5, "oak"), 10)
    assert work.get("ship") is work.get("ship")
    assert sorted(yard.ran) == ["hull", "keel", "mast", "ship"]


def test_what_did_not_change_is_kept_for_the_next():
    """Other planks need another hull and ship, and the mast stays."""
    yard = Yard()
    yard.build().get("ship")

    assert yard.build(planks="larch").get("ship") == ((5, "larch"), 10)
    assert yard.ran == ["keel", "hull", "ship"]


def test_the_same_content_from_another_input_changes_nothing_after_it():
    """A length that rounds to the same keel needs no other hull."""
    yard = Yard()
    yard.build(length=5).get("ship")

    yard.build(length=5.2).get("ship")

    assert yard.ran == ["keel"]


def test_an_input_without_effect_is_in_no_key():
    """Whoever is told, the results are the same; they are told when something runs."""
    yard = Yard()
    yard.build().get("ship")
    told = []

    yard.build(teller=told.append).get("ship")

    assert told == ["keel"]
    assert yard.ran == ["keel"]


def test_a_given_result_stands_for_its_stage():
    """Who has a keel needs no length."""
    yard = Yard()
    work = Computation(yard.graph, {"keel": 8, "planks": "elm"}, yard.memo)

    assert work.get("ship") == ((8, "elm"), 16)
    assert yard.ran == ["hull", "mast", "ship"]
    assert "keel" not in work.computed()


def test_what_has_no_key_is_kept_for_its_own_computation_alone():
    """A hull of planks that cannot be compared is not taken for another's."""
    yard = Yard()
    first = yard.build(planks=object())
    hull = first.get("hull")

    assert first.get("hull") is hull
    assert yard.build(planks=object()).get("hull") is not hull
    assert yard.ran == ["keel", "hull"]


def test_nothing_is_nothing_whatever_it_came_from():
    """A sail that is left out is the same from any cloth, and what stands on it is kept."""
    ran = []

    def sail(cloth, wanted):
        return cloth if wanted else None

    def rig(sail):
        ran.append(sail)
        return sail

    graph, memo = Graph(sail, rig, optional={"sail"}), Memo(1000)
    for cloth in ("linen", "hemp"):
        Computation(graph, {"cloth": cloth, "wanted": False}, memo).get("rig")
    for cloth in ("linen", "hemp"):
        Computation(graph, {"cloth": cloth, "wanted": True}, memo).get("rig")

    assert ran == [None, "linen", "hemp"]


def test_an_unknown_name_is_refused():
    """Neither stage nor given: the name is told."""
    with pytest.raises(KeyError, match="rudder is neither"):
        Yard().build().get("rudder")


def test_a_stage_is_not_begun_after_a_stop():
    """What was computed is there, what was not raises."""
    yard = Yard()
    stop = Cancel()
    work = yard.build()

    with run_with(cancel=stop):
        work.get("mast")
        stop.request()
        assert work.get("mast") == 10
        with pytest.raises(CancelError):
            work.get("ship")

    assert yard.ran == ["keel", "mast"]
