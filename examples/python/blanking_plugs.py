"""Plugs for the holes of the forming table that no mold needs."""

import moldgen as mg

plugs = mg.make_fixture("plug", machine="classroom-450x300", filament="PETG")
print(plugs, f"{plugs.numbers['mass_g']:.0f} g")
plugs.write("outputs/plugs", formats="3mf")
