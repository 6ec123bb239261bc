"""The sign for the slipway: a mold, what to know about it, its mesh, the forming run, files."""

import moldgen as mg

stock = mg.load_stock()
job = mg.sign("HIGH / TIDE", letter_height_mm=25, plastic="HIPS", gauge="1 mm")
mold = mg.make(job, stock)
for finding in mold.findings:
    print(finding)
print(mold.bodies[0].mesh.points_mm.shape, "corners")
print(mold.form("preview").numbers["formed_thin_mm"], "mm where it is thin")
mold.write("outputs/high-tide", formats=["stl", "3mf"])
