"""The scheme of both kernels, in numbers: two-stage, linearly steadied, steps of each member's own.

A step of length ``dt`` from a state ``y`` is, with ``f`` its rate of change,

    k0 = S f(y),   k1 = k0 + S (f(y + dt k0 / 2) - k0),   y + dt k1

where ``S`` is an approximate inverse of ``1 - STEADY dt J``: a product of line solves, one a direction, with
what is stiff in ``J`` (conduction, water transport, exchange at the surface, boiling). It is of second order
whatever ``S`` is [verwer1999]_; a good ``S`` makes it stable at steps far beyond the cells' own time.

Water that moves carries its heat along. ``S`` therefore works on the enthalpy without it, at the temperature of the
surface, and puts it back when the water has been worked on: otherwise a front of drying shows as a false cooling.
"""

STEADY = 0.6
"""Share of the step that the line solves look ahead. A mode that they damp wholly keeps
1 - 2 r + r**2 / 2 of itself with r the ratio of its rate to theirs, over ``STEADY``: steady up to r = 4."""

STAGE_AT = (0.5, 1.0)
"""Where the two stages end, as a share of the step."""

FRESH_PARTS, MOST_PARTS = 4, 64
"""Steps a knot after a change of stage, and at most."""
TEMPERATURE_FAULT_K, WATER_FAULT = 1.0, 0.05
"""Difference between the stages' straight lines in any cell that refuses a step [K, kg/kg]: an estimate of a
first-order step's error, far above that of the step taken; ``tests/section`` holds what comes of it."""
CALM = 0.3
"""Share of the above below which the next step is twice as long."""
DRY = -1e-6
"""Water content [kg/kg] below which a step is refused."""
BOIL_AHEAD = 1.05
"""Boiling's own stiffness over what the steam's time constant says: it rises a little with the heat."""
