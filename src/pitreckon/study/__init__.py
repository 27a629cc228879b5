"""Studies: many settings of an item of a cook, simulated over an executor, kept, and told."""

from pitreckon.study.run import Done, study

__all__ = ["Done", "study"]
