"""What is said beside every rule, on every door. None of it is a promise."""

from typing import Final

LOCAL: Final = "Follow your local code and your health department."
MEMORY: Final = "from memory, not seen"
CAUTIONS: Final = (
    f"These rules are held against temperatures; they are no promise of safety. {LOCAL}",
    "A thermometer in the thickest part decides, in more than one place, the lowest reading counting.",
    "The tables suppose a moist surface. A dry pit is a known gap in them; a wrap or a water pan narrows it.",
    "Clean hands, boards and thermometers; keep raw and cooked apart.",
)
