"""From a cook and its ledger to an outlook: priors, the ensemble, evidence, marks and windows."""

from pitreckon.reckon.forecast import reckon
from pitreckon.reckon.outlook import MARK_NAMES, ItemOutlook, Outlook, StageOutlook, Task, Trip, Window
from pitreckon.reckon.quantiles import Quantiles

__all__ = ["MARK_NAMES", "ItemOutlook", "Outlook", "Quantiles", "StageOutlook", "Task", "Trip", "Window", "reckon"]
