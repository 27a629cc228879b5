"""One published equation, one function: plain floats, SI units, temperatures in degC.

``vapour`` and ``air`` (saturation, humidity, wet bulb), ``food`` (heat properties from composition),
``convection`` and ``surface`` (what happens at a face), ``salt``, ``thaw``, ``growth``, ``fuel``; of ``water``,
``reaction`` and ``lethality`` the constants that ``section.laws`` evaluates. What only checks another law stands in
``tests/oracles``. A law that is asked outside its range raises
``pitreckon.errors.RangeError``; it never clamps. Sources stand in the docstrings as citation keys.
"""
