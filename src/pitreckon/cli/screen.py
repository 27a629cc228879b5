"""The screen that commands print on: whoever asked for metric reads nothing else."""

from typing import Any

from rich.console import Console
from rich.text import Text

from pitreckon.text.quoted import metric
from pitreckon.units import Scale


class Screen(Console):
    """A console that writes every text in the degrees and weights that were asked for.

    Most texts are made in them; what the model, the planner and the rules say in words is written over here.
    """

    def __init__(self, degrees: Scale, **more: Any) -> None:
        super().__init__(highlight=False, **more)
        self.metric = degrees == "C"

    def render_str(self, text: str, **how: Any) -> Text:
        """A text, with its mark-up, in the reader's units."""
        return super().render_str(metric(text) if self.metric else text, **how)
