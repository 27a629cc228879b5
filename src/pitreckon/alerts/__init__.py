"""Messages out: what the cook should be told now, by the outlook and by the readings, and by which way."""

from pitreckon.alerts.alert import KINDS, Alert
from pitreckon.alerts.rules import due
from pitreckon.alerts.settings import AlertSettings, alert_settings, read_alert_settings

__all__ = ["KINDS", "Alert", "AlertSettings", "alert_settings", "due", "read_alert_settings"]
