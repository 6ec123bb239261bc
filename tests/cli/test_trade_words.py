"""What people read uses the trade's words, and none of those that version 0.1 used for them."""

import re
from html import unescape

import pytest
from conftest import ROOT

from moldgen.cli.app import main
from moldgen.cli.commands import COMMANDS, overview
from moldgen.stock import load_shop

OLD = {
    "gate": r"\bgates?\b",
    "station": r"\bstations?\b",
    "coupon": r"\bcoupons?\b",
    "rim and root radius": r"\b(rim|root) radius|--(rim|root)\b",
    "times the area": r"\btimes the area\b|\barea ratio\b",
    "outlines of a print": r"\b(three|four|\d+) outlines\b|\bsolid layers\b",
    "pull": r"\bpulls?\b",
    "window alone": r"\b(top of the|no|the) window\b(?! with)|^ *window\b",
    "lean": r"\blean of\b|\bwalls? leans?\b",
    "hollow edges": r"\bhollow (edges|radii)\b|\bedges that stand out\b",
    "low places": r"\blow places?\b|\blast places?\b",
    "sheet is down": r"\bsheet (is )?down\b",
    "heat-set as shown": r"\bthe heat-set\b",
    "bored": r"\bbored\b",
    "WORD": r"(?<=\S )\bWORD\b(?! \.\.\.)",
    "long name first": r"(?<![(])\b(High-impact polystyrene|Glycol-modified PET)\b",
    "what is done with it": r"\bwhat is done with it\b",
}
"""What is no longer said, by what it was said for."""
ALLOWED = (
    "pull plugs with pliers",  # by hand
    "will not pull it straight off",  # by hand
    "each end pulls in",  # shrinkage in the print
    "open a window", "a window and a fan",  # of the room
)  # fmt: skip


def old_words(text: str) -> dict[str, str]:
    """Return which old words a text says, each with what stands around it."""
    text = " ".join(text.split())
    for words in ALLOWED:
        text = text.replace(words, "")
    found = {name: re.search(pattern, text) for name, pattern in OLD.items()}
    return {
        name: text[max(0, match.start() - 40) : match.end() + 40]
        for name, match in found.items()
        if match
    }


@pytest.mark.parametrize("command", COMMANDS)
def test_help_says_trade_words(command, capsys):
    """No help text says an old word."""
    assert main([command, "--help-all"]) == 0
    shown = capsys.readouterr().out
    assert COMMANDS[command].about[1:] in " ".join(shown.split())
    assert old_words(shown) == {}


def test_overview_and_readme_say_trade_words():
    """Neither the list of commands nor the README does."""
    assert old_words(overview()) == {}
    assert old_words((ROOT / "README.md").read_text(encoding="utf-8")) == {}


@pytest.mark.parametrize(
    "typed",
    [
        "sign COD --letter-height 20 --formats html",
        "tray 60 40 20 --formats html",
        "sign COD --top-radius 0.2 --draft 1 --relief 14 --formats html",
        "adapt boat.png --as relief --width 60 --height 8 --formats html",
        "heat HIPS --formats html",
        "bend --legs 60,80 --angles 90 --formats html",
        "fixture handle --formats html",
        "test-piece --formats html",
    ],
    ids=lambda typed: " ".join(typed.split()[:2]),
)
def test_screens_and_reports_say_trade_words(typed, tmp_path, monkeypatch, capsys):
    """Neither the screen with its findings nor the report does."""
    monkeypatch.chdir(tmp_path)
    picture = ROOT / "examples" / "drawings" / "rowing-boat.png"
    (tmp_path / "boat.png").write_bytes(picture.read_bytes())
    assert main([*typed.split(), "-v"]) in (0, 1), capsys.readouterr().err
    screen = capsys.readouterr().out
    (report,) = tmp_path.rglob("report.html")
    page = re.sub(r"(?s)<style.*?</style>|<svg.*?</svg>|<[^>]*>", " ", report.read_text("utf-8"))

    assert old_words(screen) == {}
    assert old_words(unescape(page)) == {}


def test_stock_says_short_names_first():
    """Every plastic and filament begins with its short name; the long one finds it as well."""
    shop = load_shop(user_file=None)
    entries = [*shop.plastics.entries, *shop.filaments.entries]
    assert len(entries) >= 16
    for entry in entries:
        short = entry.name.split()[0].replace("PMMA", "Acrylic")
        assert entry.title.startswith(short)
    assert shop.plastic("High-impact polystyrene").name == "HIPS"
    assert shop.filament("Glycol-modified PET").name == "PETG"
    assert shop.insert("M4", "heat-set").title == "threaded insert M4 (heat-set)"


@pytest.mark.parametrize("name", OLD)
def test_each_old_word_would_be_seen(name):
    """A sentence with the old word is caught."""
    sentences = {
        "gate": "far from any gate", "station": "take a larger station", "coupon": "the coupons",
        "rim and root radius": "the rim radius", "times the area": "1.32 times the area",
        "outlines of a print": "at least 3 outlines", "pull": "after 20 pulls",
        "window alone": "passes the top of the window", "lean": "lean of the walls",
        "hollow edges": "hollow edges are not followed", "low places": "Watch the low places.",
        "sheet is down": "the sheet is down", "heat-set as shown": "the heat-set M4",
        "bored": "the hole is bored", "WORD": "--as WORD",
        "long name first": "High-impact polystyrene, 2 mm",
        "what is done with it": "what is done with it:",
    }  # fmt: skip
    assert name in old_words(sentences[name])
