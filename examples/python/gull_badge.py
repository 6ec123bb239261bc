"""A drawing of our own raised as a mold; its file is looked for beside the other drawings."""

from pathlib import Path

import moldgen as mg

drawings = Path(__file__).resolve().parents[1] / "drawings"
job = mg.drawing("gull-badge.svg", height=6, width=70, title="Gull badge")
badge = mg.make(job, folder=drawings)
print(f"{badge.foot.area:.0f} mm2 on the table")
badge.write("outputs/gull-badge", formats=["stl"])
