"""``judge``: the official rules held against every piece of a reckoned cook."""

from __future__ import annotations

from collections.abc import Mapping

from pitreckon.errors import InputError
from pitreckon.library.reckoned import Reckoned
from pitreckon.safety.judgecook import Safety, judge_cook
from pitreckon.safety.rules.meat import Handled, handled_from


def judge(outlook: Reckoned, handled: Mapping[str, str | Handled] | None = None) -> Safety:
    """Hold every safety rule against every piece, as things stand and as they will.

    outlook: from ``reckon``
    handled: what was done to the meat, by the item's label: "intact", or words such as "injected, bladed"; what is not
        said is judged both ways, and the worse counts

    A verdict is no promise of safety: check the thickest part with a thermometer, and follow your local food code and
    your health department.

    Raises InputError: an item that the cook does not have, or words that are nothing that is done to meat
    """
    if not isinstance(outlook, Reckoned):
        raise InputError(f"a {type(outlook).__name__} has no members to judge", "Give what pitreckon.reckon returned")
    said = {
        label: words if isinstance(words, Handled) else handled_from(words) for label, words in (handled or {}).items()
    }
    return judge_cook(outlook.reckoning, said)
