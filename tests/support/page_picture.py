"""Take the picture of the page that the README shows: ``python -m tests.support.page_picture``."""

from __future__ import annotations

import sys
import tempfile
from io import BytesIO
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from conftest import ROOT
from PIL import Image
from support.browsing import Visit, chromium, served_page

PICTURE = ROOT / "examples" / "pictures" / "page.png"
_COLORS = 96


def main() -> None:
    """Design a sign, form its sheet, cut it open, and take the picture."""
    with (
        tempfile.TemporaryDirectory() as folder,
        served_page(Path(folder)) as served,
        chromium() as browser,
    ):
        visit = Visit(browser, served, "picture", "desktop")
        visit.go(served.teacher_link)
        visit.go("/begin")
        page = visit.page
        page.get_by_role("button", name="A word").click()
        page.locator("body[data-shown='0']").wait_for()
        page.get_by_label("words, a line each").fill("PIER 4")
        page.locator("body[data-shown='1']").wait_for()
        page.get_by_label("cut open", exact=True).check()
        page.get_by_text("Along this line the sheet is").wait_for()
        page.evaluate("scrollTo(0, 0)")
        shot = Image.open(BytesIO(page.screenshot()))
    small = shot.convert("RGB").quantize(_COLORS, dither=Image.Dither.NONE)
    small.save(PICTURE, optimize=True)
    sys.stdout.write(f"{PICTURE}: {PICTURE.stat().st_size / 1000:.0f} kB, {shot.size}\n")


if __name__ == "__main__":
    main()
