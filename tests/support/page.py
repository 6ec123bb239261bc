"""A page without processes: what would be computed is answered at once."""

from concurrent.futures import Future
from functools import cache

from moldgen.bend.preset.choices import StripKind
from moldgen.errors import OutlineError
from moldgen.outline.library.shapes import list_shapes
from moldgen.sandbox.messages import Message
from moldgen.sandbox.worker import WorkerError
from moldgen.web.work_queue import SupersededError

HOST = "http://shed.test"
VERDICT = {
    "severity": "caution",
    "sentence": "gaps are narrow",
    "n_more": 1,
    "print_time": "2 h",
    "sheet": "HIPS 1 mm",
}
"""What is told of a hand-in at a glance."""


shapes = cache(list_shapes)
"""The library, listed once for all tests."""


class StubQueue:
    """Answers what it is told to."""

    def __init__(self):
        self.asked = []
        self.answers = {
            "picture": Message({"size_mm": [1.0, 2.0, 3.0], "chosen": []}, [b"mesh"]),
            "findings": Message({"findings": []}),
            "thumbnail": Message({}, [b"\x89PNG"]),
            "shape_outlines": Message(
                {
                    "titles": {shape.name: shape.title for shape in shapes()},
                    "aspects": {shape.name: shape.aspect for shape in shapes()},
                    "paths": {shape.name: "M0 0Z" for shape in shapes()},
                    "strips": {kind.value: "M0 0Z" for kind in StripKind},
                }
            ),
            "roster": Message({"names": ["Ida Meyer", "=1+1"]}),
            "shot_facts": Message(
                {
                    "job": "AHOY",
                    "machine": "classroom-450x300",
                    "plastic": "HIPS",
                    "thickness_mm": 1.5,
                    "filament": "PETG",
                    "told_heat_s": 56.0,
                    "told_cool_s": 25.0,
                    "told_print_h": 3.7,
                    "thinnest_mm": 0.55,
                }
            ),
            "small_photo": Message({}, [b"\xff\xd8small"]),
            "checked": Message({}),
            "verdict": Message(VERDICT),
            "files": Message({"name": "ahoy"}, [b"PK"]),
        }

    def submit(self, lane, owner, work, words, blocks=()):
        """Take note of an order, and answer it."""
        self.asked.append((work, words, list(blocks)))
        answer = Future()
        made = self.answers[work]
        answer.set_exception(made) if isinstance(made, Exception) else answer.set_result(made)
        return answer


PROBLEMS = {
    "refused": OutlineError("It crosses itself."),
    "died": WorkerError("That did not work: the process that did it ended."),
    "superseded": SupersededError("A newer one took its place."),
}
