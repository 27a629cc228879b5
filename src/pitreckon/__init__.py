"""Pitreckon reckons where every piece of meat on the pit stands and where it is heading.

The whole program is one sentence: an outlook is a function of the cook's plan and of the ledger of what
has happened. ``pitreckon.reckon`` holds that function; every other room feeds it or shows it.
"""

__version__ = "0.2.0"
