"""``plan``: a day that is still to be planned, as a cook to follow, or why it cannot be and what would help."""

from __future__ import annotations

from dataclasses import dataclass, field

from pitreckon.cook import Cook
from pitreckon.errors import InputError, Place
from pitreckon.library.files import Pathlike, path_of, read_wishes
from pitreckon.library.given import seed_of
from pitreckon.plan.schedule.schedule import Answer, Change, Schedule
from pitreckon.plan.schedule.solve import plan as _plan
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Wishes

LIMITS_S = (0.5, 600.0)


@dataclass(frozen=True)
class Planned:
    """What planning a day found.

    wishes: as they were planned; answer: the whole record (``pitreckon.plan.schedule.schedule``)
    """

    wishes: Wishes
    answer: Answer = field(repr=False)

    def __repr__(self) -> str:
        found = "no day" if self.chance is None else f"{self.chance:.0%} likely"
        return f"<plan of {self.wishes.name}: {found}{'' if self.as_asked else ', not as asked'}>"

    @property
    def as_asked(self) -> bool:
        """There is a day that does what was asked."""
        return self.answer.schedule is not None

    @property
    def schedule(self) -> Schedule | None:
        """The day as it was asked for, else the nearest that can be done; None: there is neither."""
        return self.answer.best

    @property
    def chance(self) -> float | None:
        """That all of it is ready to serve together; None: there is no schedule."""
        return None if self.answer.best is None else self.answer.best.chance

    @property
    def cook(self) -> Cook | None:
        """The schedule as a cook to follow, for ``reckon`` and ``write_cook``; None: there is no schedule."""
        return None if self.answer.best is None else to_cook(self.wishes, self.answer.best)

    @property
    def why(self) -> tuple[str, ...]:
        """Why it cannot be done as it was asked, in plain sentences."""
        return self.answer.why

    @property
    def changes(self) -> tuple[Change, ...]:
        """What would help, the one that helps most first; the ``wishes`` of one can be planned in turn."""
        return self.answer.changes


def plan(wishes: Wishes | Pathlike, *, seed: int = 1, limit_s: float = 8.0) -> Planned:
    """Plan a day: when to light, what goes on when, wrapped or not, how hot, and how sure it is.

    wishes: who eats, what, when, on which pits; or the cook file that says it
    seed: of the scenarios and of the solver
    limit_s: how long the choice may be worked on [s], 0.5 to 600

    Raises MissingExtraError: the solver is not installed. InputError: the file, limit or seed is wrong
    """
    if not LIMITS_S[0] <= limit_s <= LIMITS_S[1]:
        raise InputError(f"limit_s is {limit_s}", "Give seconds from 0.5 to 600", Place(field="limit_s"))
    if isinstance(wishes, Cook):
        raise InputError("a cook is planned already", "Give wishes, as read_wishes reads them, or the file of them")
    seed = seed_of(seed)
    asked = wishes if isinstance(wishes, Wishes) else read_wishes(path_of(wishes))
    answer = _plan(asked, seed=seed, limit_s=limit_s)
    return Planned(answer.wishes or asked, answer)
