"""Marks of maps and the rings of findings."""

from moldgen.export.picture.mark import Mark, with_ring_number


def test_a_mark_carries_the_number_of_the_ring_in_its_place():
    """Within half a millimeter it is the same place; elsewhere the words stay alone."""
    thin = Mark(x_mm=10.0, y_mm=5.0, words="thin: 0.30 mm")
    rings = {"1": (60.0, 5.0), "3": (10.3, 5.2)}

    assert with_ring_number(thin, rings).words == "3: thin: 0.30 mm"
    assert with_ring_number(thin, {"1": (60.0, 5.0)}) == thin
    assert with_ring_number(thin, {}) == thin
