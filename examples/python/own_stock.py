"""The shed's own sheet, written down once and used by name."""

from pathlib import Path

import moldgen as mg

SHEET = """
[plastic."shed HIPS"]
based_on = "HIPS"
shrinkage_male = { value = "0.6 %", source = "measured on our own offcuts" }
"""
Path("shed-stock.toml").write_text(SHEET)
stock = mg.load_stock("shed-stock.toml")
mold = mg.make(mg.sign("OARS", plastic="shed HIPS", shrinkage=True), stock)
print(mold.design.setting.sheet.plastic.shrinkage_male)
mold.write("outputs/oars", formats="stl")
