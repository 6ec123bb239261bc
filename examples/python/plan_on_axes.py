"""The plan of a mold on our own diagram."""

from matplotlib.figure import Figure

import moldgen as mg

figure = Figure(figsize=(6, 5))
mg.make(mg.sign("PIER", letter_height=20)).plot(figure.subplots())
figure.savefig("pier.svg")
