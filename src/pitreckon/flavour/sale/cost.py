"""What a batch costs: what goes into it, and the whole packs that are bought for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from pitreckon.errors import InputError


@dataclass(frozen=True, slots=True)
class Bought:
    """One food to buy. need_kg: for the batch; packs: whole ones, None: it is sold by weight; paid: for all of them

    used: the price of what goes in; None: no price is known
    """

    name: str
    need_kg: float
    price_per_kg: float | None
    pack_kg: float | None

    @property
    def packs(self) -> int | None:
        """How many packs."""
        return None if self.pack_kg is None else max(1, ceil(self.need_kg / self.pack_kg - 1e-9))

    @property
    def left_kg(self) -> float:
        """What is left over of them."""
        return 0.0 if self.packs is None or self.pack_kg is None else max(0.0, self.packs * self.pack_kg - self.need_kg)

    @property
    def used(self) -> float | None:
        """What that which goes in costs."""
        return None if self.price_per_kg is None else self.price_per_kg * self.need_kg

    @property
    def paid(self) -> float | None:
        """What the packs cost."""
        return None if self.price_per_kg is None else self.price_per_kg * (self.need_kg + self.left_kg)


@dataclass(frozen=True, slots=True)
class Cost:
    """Money, in the mix's currency. jars: over so many it is shared; container: a jar with lid and label

    margin: share of the price that is not cost [-]; None: no price was asked for
    """

    bought: tuple[Bought, ...]
    jars: int
    container: float
    margin: float | None
    currency: str

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Foods without a price."""
        return tuple(each.name for each in self.bought if each.price_per_kg is None)

    @property
    def used(self) -> float | None:
        """What goes into the batch; None: a price is missing."""
        return None if self.unpriced else sum(each.used or 0.0 for each in self.bought)

    @property
    def paid(self) -> float | None:
        """What is paid for whole packs, without jars; None: a price is missing."""
        return None if self.unpriced else sum(each.paid or 0.0 for each in self.bought)

    @property
    def of_jar(self) -> float | None:
        """A jar: what goes in, and the container."""
        return None if self.used is None or not self.jars else self.used / self.jars + self.container

    @property
    def of_jar_if_wasted(self) -> float | None:
        """A jar, if what is left of the packs is of no use."""
        return None if self.paid is None or not self.jars else self.paid / self.jars + self.container

    @property
    def price(self) -> float | None:
        """What a jar has to cost for the margin; None: none was asked for, or a price is missing."""
        return None if self.margin is None or self.of_jar is None else self.of_jar / (1.0 - self.margin)


def cost_of(bought: Sequence[Bought], jars: int, container: float, margin: float | None, currency: str) -> Cost:
    """What a batch costs. Raises InputError: a margin that no price has, or a container of no sane price."""
    if margin is not None and not margin < 0.95:
        raise InputError("no price leaves that margin", "Write a share of the price, as in 60 %")
    if not 0.0 <= container <= 1000.0:
        raise InputError("a jar cannot cost that", "Write what an empty jar with its lid and label costs, as in 0.85")
    return Cost(tuple(bought), jars, container, margin, currency)
