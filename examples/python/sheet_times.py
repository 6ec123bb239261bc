"""How long two gauges heat on our table."""

import moldgen as mg

stock = mg.load_stock()
for gauge in ("0.75 mm", "1.5 mm"):
    heated = mg.heat("HIPS", stock, gauge=gauge)
    print(gauge, dict(heated.summary))
