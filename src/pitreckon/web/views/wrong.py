"""What is wrong now with fire, instruments and safety: one line each, and what to do when it is tapped."""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from pitreckon.alerts import Alert
from pitreckon.safety.foreseen import Foreseen, words_of
from pitreckon.web.views.look import Tap
from pitreckon.web.views.measured import latest_pit
from pitreckon.web.views.reader import ClockWords
from pitreckon.web.views.scene import Scene

WORDS: Final = {
    "fire sinking": "Fire sinking",
    "fire running hot": "Fire running hot",
    "no word from the pit": "No word from the pit",
    "probe fell out": "Probe fell out",
    "safety": "Not safe yet",
}
"""What each kind of alert is called on the page."""
EMBER: Final = ("fire sinking", "fire running hot", "safety")
"""Kinds that are to be acted on at once."""
_TEMPERATURE: Final = re.compile(r"\d+ °[FC]")
FED: Final = Tap("fed the fire", "act", "fed the fire")


@dataclass(frozen=True, slots=True)
class Wrong:
    """Something that is wrong. head: its kind in two words; where: what it is about; says: the numbers, on one line

    do: what to do, in sentences; ember: act now; taps: what was done about it, recorded with a tap
    key: by which it is acknowledged
    """

    kind: str
    head: str
    where: str
    says: str
    do: tuple[str, ...]
    ember: bool
    taps: tuple[Tap, ...] = ()
    key: str = ""


def wrongs(
    scene: Scene, alerts: Sequence[Alert], foreseen: Sequence[Foreseen], seen: Collection[str], clock: ClockWords
) -> list[Wrong]:
    """Fire first, then safety, then instruments.

    alerts: all that there is reason for, whether or not it was told; seen: keys that somebody has acknowledged. A fire
    stands here for as long as it is off, seen or not
    """
    found = [*_of_readings(scene, alerts, clock), *_of_safety(scene, alerts, foreseen, clock)]
    found = [each for each in found if each.key not in seen or each.kind in EMBER[:2]]
    order = list(WORDS)
    order.insert(2, order.pop(order.index("safety")))
    return sorted(found, key=lambda each: order.index(each.kind))


def _of_readings(scene: Scene, alerts: Iterable[Alert], clock: ClockWords) -> Iterator[Wrong]:
    say, mine = clock.preferences.say, clock.preferences
    for alert in alerts:
        if alert.kind not in WORDS or alert.kind == "safety":
            continue
        where, says = alert.on, alert.title.partition(": ")[2]
        taps: tuple[Tap, ...] = ()
        if alert.kind in {"fire sinking", "fire running hot"}:
            last = latest_pit(scene.ledger, alert.on, clock.now)
            aim = mine.temperature(scene.set_c(alert.on))
            if last is not None:
                says = say("{now}, wants {aim}", now=mine.temperature(last.value_c), aim=aim)
            taps = (replace(FED, says=say(FED.says)),) if alert.kind == "fire sinking" else ()
        else:
            says = say("silent since {at}", at=clock(alert.at_utc))
        yield Wrong(
            alert.kind,
            say(WORDS[alert.kind]),
            where,
            says,
            (clock.retold(alert.text),),
            alert.kind in EMBER,
            taps,
            alert.key,
        )


def _of_safety(scene: Scene, told: Iterable[Alert], foreseen: Sequence[Foreseen], clock: ClockWords) -> Iterator[Wrong]:
    say, degrees = clock.preferences.say, clock.preferences.degrees
    for each in foreseen:
        said, do = (clock.retold(text) for text in words_of(each, clock, degrees))
        name, _, rest = said.partition(": ")
        head = say("A safety rule is missed") if each.already else say("A safety rule may be missed")
        yield Wrong("safety", head, each.label, name or rest, (said, do), ember=True)
    known = {each.label for each in foreseen}
    for alert in told:
        if alert.kind == "safety" and alert.key.endswith("least core") and alert.on not in known:
            if scene.standing(alert.on) == "served":
                continue
            aim = next((t for t in _TEMPERATURE.findall(alert.text) if t.endswith(degrees)), "")
            says = say("may not reach {aim}", aim=aim) if aim else ""
            yield Wrong(
                "safety", say("Check the core"), alert.on, says, (clock.retold(alert.text),), ember=True, key=alert.key
            )
