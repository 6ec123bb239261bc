"""The program's numbers beside the world's: published, derived and independent values.

``python -m tests.truth`` prints the table; the tests hold every row to what `moldgen.trust`
promises.

Measured thickness profiles would be the strongest anchors. Two are known by title: polystyrene in
cylinder, cube and cone molds (Strojniski vestnik 60 (2014) 3, 195) and ABS over a male mold (J.
Manuf. Mater. Process. 2024, 8(2), 49). Their numbers could not be had, and none are made up here.
"""
