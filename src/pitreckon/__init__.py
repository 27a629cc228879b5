"""Pitreckon reckons where every piece of meat on the pit stands and where it is heading.

The whole program is one sentence: an outlook is a function of the cook's plan and of the ledger of what
has happened. ``pitreckon.reckon`` holds that function; every other room feeds it or shows it.

``import pitreckon as pr`` is the library: what it has, and what is promised of it, is in ``docs/reference/library.md``.
Importing it loads nothing: each name is fetched when it is first asked for.
"""

import sys
from types import ModuleType

__version__ = "0.2.0"

TYPE_CHECKING = False  # by its name for type checkers; typing itself would be the slowest part of this file
if TYPE_CHECKING:
    from collections.abc import Callable

    from pitreckon import catalog as catalog
    from pitreckon.cook import Away as Away
    from pitreckon.cook import Cook as Cook
    from pitreckon.cook import ItemPlan as ItemPlan
    from pitreckon.cook import PitPlan as PitPlan
    from pitreckon.cook import SideTask as SideTask
    from pitreckon.cook import StagePlan as StagePlan
    from pitreckon.cook import TripCosts as TripCosts
    from pitreckon.cook import Until as Until
    from pitreckon.errors import InputError as InputError
    from pitreckon.errors import PitreckonError as PitreckonError
    from pitreckon.extras import MissingExtraError as MissingExtraError
    from pitreckon.flavour.mix import Mix as Mix
    from pitreckon.ledger import Act as Act
    from pitreckon.ledger import Ledger as Ledger
    from pitreckon.ledger import Look as Look
    from pitreckon.ledger import Reading as Reading
    from pitreckon.library import plots as plots
    from pitreckon.library import tables as tables
    from pitreckon.library.files import read_cook as read_cook
    from pitreckon.library.files import read_kept as read_kept
    from pitreckon.library.files import read_ledger as read_ledger
    from pitreckon.library.files import read_lessons as read_lessons
    from pitreckon.library.files import read_mix as read_mix
    from pitreckon.library.files import read_wishes as read_wishes
    from pitreckon.library.files import write_cook as write_cook
    from pitreckon.library.files import write_ledger as write_ledger
    from pitreckon.library.files import write_mix as write_mix
    from pitreckon.library.judged import judge as judge
    from pitreckon.library.planned import Planned as Planned
    from pitreckon.library.planned import plan as plan
    from pitreckon.library.reckoned import Reckoned as Reckoned
    from pitreckon.library.reckoned import reckon as reckon
    from pitreckon.library.simulated import simulate as simulate
    from pitreckon.plan.wishes import Wishes as Wishes
    from pitreckon.safety.judgecook import Safety as Safety
    from pitreckon.study import study as study  # type: ignore[import-not-found, unused-ignore]

_WHERE = {
    "pitreckon.cook": "Away Cook ItemPlan PitPlan SideTask StagePlan TripCosts Until",
    "pitreckon.errors": "InputError PitreckonError",
    "pitreckon.extras": "MissingExtraError",
    "pitreckon.flavour.mix": "Mix",
    "pitreckon.ledger": "Act Ledger Look Reading",
    "pitreckon.library.files": "read_cook read_kept read_ledger read_lessons read_mix read_wishes"
    " write_cook write_ledger write_mix",
    "pitreckon.library.judged": "judge",
    "pitreckon.library.planned": "Planned plan",
    "pitreckon.library.reckoned": "Reckoned reckon",
    "pitreckon.library.simulated": "simulate",
    "pitreckon.plan.wishes": "Wishes",
    "pitreckon.safety.judgecook": "Safety",
    "pitreckon.study": "study",
}
"""What the library has, by the module that holds it."""
_MODULES = {
    "catalog": "pitreckon.catalog",
    "plots": "pitreckon.library.plots",
    "tables": "pitreckon.library.tables",
}
"""What of it is a module of its own."""
_NAMES = {name: module for module, names in _WHERE.items() for name in names.split()}
_RETIRED: dict[str, tuple[str, str]] = {}
"""Names that are on their way out: what to write instead, and the version that no longer has them."""


def __getattr__(name: str) -> object:
    """A name of the library, fetched when it is first asked for."""
    from importlib import import_module  # noqa: PLC0415

    if name in _RETIRED:
        import warnings  # noqa: PLC0415

        new, gone = _RETIRED[name]
        text = f"pitreckon.{name} is now pitreckon.{new}, and is gone in {gone}"
        warnings.warn(text, DeprecationWarning, stacklevel=2)
        name = new
    if name in _MODULES:
        return import_module(_MODULES[name])
    if name not in _NAMES:
        raise AttributeError(f"module 'pitreckon' has no attribute {name!r}", name=name, obj=sys.modules[__name__])
    held = import_module(_NAMES[name])
    if name in _ROOMS:  # the room itself answers; see _Room
        return globals()[name]
    value = globals()[name] = getattr(held, name)
    return value


def __dir__() -> list[str]:
    """What is here and what can be asked for."""
    return sorted({*globals(), *_NAMES, *_MODULES})


_ROOMS = ("reckon", "plan", "study")
"""Rooms of the program that are called as functions of the library: ``pr.reckon(cook)``."""


class _Room(ModuleType):
    """A room that can be called.

    Python sets a sub-package as an attribute of its package once anything imports it, so ``pitreckon.reckon`` is the
    room whoever asked first. Called, it is the library's function of the same name.
    """

    def __call__(self, *arguments: object, **named: object) -> object:
        return self.__wrapped__(*arguments, **named)

    @property
    def __wrapped__(self) -> "Callable[..., object]":
        """The function; ``inspect`` takes its signature."""
        from importlib import import_module  # noqa: PLC0415

        name = self.__name__.rpartition(".")[2]
        function: Callable[..., object] = vars(import_module(_NAMES[name]))[name]
        return function


class _Front(ModuleType):
    """This package, which makes such a room callable when it is hung in."""

    def __setattr__(self, name: str, value: object) -> None:
        if name in _ROOMS and type(value) is ModuleType:
            value.__class__ = _Room
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Front
