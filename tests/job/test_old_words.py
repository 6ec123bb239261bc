"""Job files of version 0.1 make the same molds, and are told the words of today."""

import json
import re
from pathlib import Path

import jsonschema
import pytest

from moldgen.errors import SpecError
from moldgen.finding import Severity, sentence
from moldgen.job import Job, job_from_words, job_schema, job_toml, load_job
from moldgen.old_words import OLD_WORDS, new_word
from moldgen.pipeline.mold.make import make
from moldgen.stock import load_shop

OLD = Path(__file__).parent / "version_0_1"
SCHEMA = json.loads((OLD / "schema.json").read_text(encoding="utf-8"))
JOBS = sorted(path for path in OLD.glob("*.toml") if path.name != "shed.toml")
TAG = OLD / "every-word.toml"
BODY = {"outline": {"points": [[0, 0], [40, 0], [40, 30], [0, 30]]}, "height": 8}


def renewed(path: Path, folder: Path) -> Path:
    """Write a job file as somebody would who knows the new words, and return its path."""
    text = path.read_text(encoding="utf-8")
    for old, new in OLD_WORDS.items():
        text = re.sub(rf"(?m)^{old} = ", f"{new} = ", text)
    text = text.replace('"bed-220"', '"medium"')
    new_path = folder / path.name
    new_path.write_text(text, encoding="utf-8")
    return new_path


def tables(schema):
    """Yield every table of a schema by its place, with its words."""
    for name, table in schema["$defs"].items():
        yield from _tables(name, table)


def _tables(place, table):
    words = table.get("properties", {})
    yield place, set(words)
    for word, part in words.items():
        yield from _tables(f"{place}.{word}", part)


def made(path: Path):
    """Return what a mold's job file makes."""
    job = load_job(path)
    assert isinstance(job, Job)
    shop = load_shop([OLD / job.stock] if job.stock else [], user_file=None)
    return make(job, folder=path.parent, shop=shop, progress=lambda stage: None)


def test_no_word_of_version_0_1_is_lost():
    """Each word of the old schema, or the one that took its place, stands in today's schema."""
    now = dict(tables(job_schema()))
    old = {place: words for place, words in tables(SCHEMA) if words}

    assert {"mold_job", "body", "sunk", "mold_job.vents", "strip_job.strip"} <= old.keys()
    lost = {
        (place, word)
        for place, words in old.items()
        for word in words
        if new_word(word, now[place]) not in now[place]
    }
    assert not lost


def test_the_schema_names_new_words_only():
    """No table offers an old word, and each new word of a job is offered by one."""
    now = set().union(*(words for _, words in tables(job_schema())))
    assert not now & {"station", "rim", "root"}
    assert now >= {"machine", "top_radius", "base_radius"}


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_old_files_are_read(path, tmp_path):
    """A file that the old schema allows is the job that its renewed text is."""
    import tomllib

    jsonschema.validate(tomllib.loads(path.read_text(encoding="utf-8")), SCHEMA)
    assert load_job(path) == load_job(renewed(path, tmp_path))


def test_one_file_says_every_word_of_an_old_mold():
    """All words of the old mold schema stand in the file that is made below."""
    text = TAG.read_text(encoding="utf-8")
    words = {
        word for place, found in tables(SCHEMA) for word in found if place.startswith("mold_job")
    } | SCHEMA["$defs"]["body"]["properties"].keys()
    missing = {word for word in words if not re.search(rf"(?m)^\[*(body\.)?{word}\b", text)}
    assert not missing


@pytest.mark.parametrize("name", ["every-word", "screw-tray"])
def test_old_files_make_the_same_molds(name, tmp_path):
    """Byte for byte the same STL as from the new words, with a note on each old word and once."""
    path = OLD / f"{name}.toml"
    old, new = made(path), made(renewed(path, tmp_path))

    (stl,) = (file for file in old.files if file.endswith(".stl"))
    assert old.files[stl] == new.files[stl]
    told = [finding for finding in old.findings if finding.code == "old-word"]
    expected = {"every-word": ["station", "rim", "root", "bed-220"], "screw-tray": []}[name]
    assert [finding.says.split()[0] for finding in told] == expected
    assert all(finding.severity is Severity.NOTE for finding in told)
    assert [f.code for f in new.findings] == [
        f.code for f in old.findings if f.code != "old-word" or f.says.startswith("station")
    ]


def test_a_note_names_the_new_word():
    """The sentence says old and new word, and stands in the JSON."""
    made_ = made(TAG)
    told = [sentence(finding) for finding in made_.findings if finding.code == "old-word"]
    assert "station is called machine now. Write machine." in told
    assert "rim is called top_radius now. Write top_radius." in told
    assert b"root is called base_radius now" in made_.files["findings.json"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"station": "bench", "machine": "bench"}, "machine must be given once (got station and"),
        ({"body": [{**BODY, "rim": 1, "top_radius": 1}]}, "body 1: top_radius must be given once"),
        (
            {"body": [{**BODY, "raised": [{**BODY, "base_radius": 1, "root": 1}]}]},
            "body 1, raised 1: base_radius must be given once (got base_radius and root)",
        ),
    ],
    ids=["machine", "body", "raised"],
)
def test_old_and_new_side_by_side_are_refused(words, says):
    """Which of the two counts is not guessed; the place is told."""
    with pytest.raises(SpecError, match=re.escape(says)):
        job_from_words({"title": "Tag", "body": [BODY]} | words)


def test_written_jobs_say_new_words():
    """A job that was read with old words is written with the new ones and reads back as equal."""
    job = load_job(TAG)
    text = job_toml(job)
    assert isinstance(job, Job)
    assert job.old_words == ("station", "rim", "root", "bed-220")
    assert not re.search(r"(?m)^(station|rim|root) =", text)
    assert re.search(r'(?m)^machine = "bench-250x250"', text)
    assert re.search(r'(?m)^printer = "medium"', text)


def test_new_words_are_no_old_ones():
    """No new word is an old word of another meaning, so that none is renewed twice."""
    assert OLD_WORDS
    assert not OLD_WORDS.keys() & set(OLD_WORDS.values())
