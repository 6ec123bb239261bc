"""A tray for bait: two compartments, inches and millimeters mixed."""

import moldgen as mg

job = mg.tray("4 in", 60, 20, compartments="2 x 1", plastic="PETG", gauge="1/32 in")
tray = mg.make(job)
print(tray)
for label, value in tray.summary:
    print(f"{label}: {value}")
tray.write("outputs/bait-tray", formats="stl, json")
