"""Where a formed part gets thin, before anything is printed."""

import moldgen as mg

job = mg.drawing(shape="anchor", width=60, height=8, gauge="1 mm", forming="preview")
formed = mg.make(job).formed
assert formed is not None
for feature in formed.thinned:
    x, y, z = feature.where_mm
    thin = f"{feature.thin_mm:.2f} ± {feature.thin_doubt_mm:.2f} mm"
    print(f"{feature.name or 'part'}: {thin}, thinnest at {x:.0f}, {y:.0f}, {z:.0f} mm")
