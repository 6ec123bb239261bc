"""A part from elsewhere, here a tray that was written a moment ago: does it form."""

import moldgen as mg

written = mg.make(mg.tray(60, 40, 12, side="male")).write("outputs/brought", formats="stl")
check = mg.check(written[0], plastic="HIPS", gauge="1.5 mm")
print("worst:", check.worst)
for finding in check.findings:
    print(f"{finding.severity}: {finding}")
check.write("outputs/brought-check", formats="json")
