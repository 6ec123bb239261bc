"""A leaflet holder bent of acrylic: heating times, order of bends, jigs to print."""

import moldgen as mg

holder = mg.make(mg.strip(legs=[60, 110, 30], angles="75, 90", width="80 mm", plastic="PMMA cast"))
print("bend in this order:", holder.strip.order.numbers)
for body in holder.bodies:
    print(body.name, f"{body.mesh.volume_mm3 / 1000:.1f} cm3")
holder.write("outputs/leaflet-holder", formats="stl")
