"""What was made of a class, as a worker leaves it, without making anything."""

import json

from moldgen.zip_file import zip_bytes

REPORT = b"<!DOCTYPE html><style>body{margin:0}</style><p>Who makes what</p>"
FILES = (
    ("overview.html", REPORT),
    ("job-cards.pdf", b"%PDF-1.4"),
    ("arrangement/shot-1.pdf", b"%PDF-1.4"),
    ("arrangement/shot-1.png", b"\x89PNG"),
    ("arrangement/plate-1.3mf", b"PK"),
    ("1-ida/ida.stl", b"solid"),
)


def leave_made(folder, key):
    """Leave a class in its folder, made of what a key stands for."""
    folder.zip.parent.mkdir(parents=True, exist_ok=True)
    folder.zip.write_bytes(zip_bytes(FILES))
    facts = {
        "key": key,
        "summary": [["Molds", "1 of 1 person"]],
        "findings": [["caution", "Ida: gaps are narrow"]],
    }
    folder.zip.with_name("made.json").write_text(json.dumps(facts))


class StubRuns:
    """Takes note of what is to be made."""

    def __init__(self):
        self.begun, self.stopped, self.forgotten = [], [], []
        self.states = {}

    def begin(self, class_id, folder, words, prepare):
        """Begin a class: what it reads is put in its place, and nothing else happens."""
        folder.path.mkdir(parents=True, exist_ok=True)
        prepare()
        self.begun.append((class_id, folder, words))

    def state(self, class_id):
        """Return how far a class is."""
        return self.states.get(class_id)

    def stop(self, class_id):
        """Take note."""
        self.stopped.append(class_id)

    def forget(self, class_id):
        """Take note."""
        self.forgotten.append(class_id)
