"""A key tag for every boat: one job each, one set of files each."""

import moldgen as mg

stock = mg.load_stock()
for boat in ("GULL", "TERN"):
    job = mg.sign(boat, letter_height=10, relief=1.5, plaque_height=3, margin=5, corner=3)
    tag = mg.make(job, stock)
    tag.write(f"outputs/tags/{boat.lower()}", formats="stl")
    print(tag, tag.worst)
