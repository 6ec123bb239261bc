"""The thickness of a sheet is told in one way, wherever it is told."""

import re
from pathlib import Path

import moldgen as mg
from moldgen.pipeline.mold.card import job_card
from moldgen.pipeline.mold.plan import drill_list, plan_of
from moldgen.units_text import in_inches
from moldgen.wording import gauge_text

INCH_GAUGE_MM = 1.016
"""Sold as 0.040 in. [mm]."""
ROOT = Path(mg.__file__).parent
BY_HAND = re.compile(r"\{[\w.]*gauge_mm:[^}]*\} ?mm")


def test_a_gauge_of_inches_is_told_alike_in_summary_card_and_arrangement():
    """1.016 mm, which is 0.040 in, is nowhere rounded to 1.02 mm."""
    made = mg.make(mg.sign("BO", letter_height=14, gauge_mm=INCH_GAUGE_MM))
    design, drilling = made.design, drill_list(made.mold)
    plan = plan_of(design.request, made.mold, design.setting, drilling)
    card = job_card(
        design.request, made.mold, design.setting, drilling=drilling, day=made.work.day, plan=plan
    )
    heated = mg.heat("HIPS", gauge_mm=INCH_GAUGE_MM)
    told = {
        "summary": dict(made.summary)["Sheet"],
        "card": " ".join(step.value for step in card.steps),
        "arrangement": design.setting.sheet.words,
        "heating": dict(heated.summary)["Sheet"],
    }

    for where, words in told.items():
        assert "1.016 mm" in words, where
        assert "1.02 mm" not in words, where
        assert "0.0400 in" in in_inches(words), where


def test_no_gauge_is_written_by_hand():
    """Whoever tells one asks `gauge_text`, which has the only way to write it."""
    assert gauge_text(INCH_GAUGE_MM) == "1.016 mm"
    sources = {path: path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py")}
    by_hand = {
        str(path.relative_to(ROOT)): found
        for path, text in sources.items()
        if (found := BY_HAND.findall(text))
    }

    assert len(sources) > 300
    assert by_hand == {"wording.py": ["{gauge_mm:g} mm"]}
