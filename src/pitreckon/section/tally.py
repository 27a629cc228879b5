"""Rows of the running sums that both kernels keep beside enthalpy and water, in the section's own measure."""

EVAPORATED, DRIPPED, BOILED, POOL, HEAT_IN, HEAT_OUT = range(6)
"""Vapour out, liquid out, the part of the vapour that boiled off [kg]; liquid standing in the wrap [kg];
heat from air and walls, heat carried off by vapour and liquid [J]."""

TALLIES = 6
GLAZE0 = TALLIES
"""From this row on: the water left in the glaze of each outer face [kg/m2]; behind them, as many rows of the vapour
that each face has given off bare [kg/m2]."""

LANES = 32
"""Members that the compiled kernel runs side by side."""
