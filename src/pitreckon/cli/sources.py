"""``--sources``: the sources that a run rests on, grouped by what they were for."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from rich.console import Console

from pitreckon import catalog
from pitreckon.catalog.buying import before_fire, buying, portions
from pitreckon.catalog.figure import figures
from pitreckon.catalog.foods import foods
from pitreckon.citations import Citation, cite, sources_of
from pitreckon.cook import Cook
from pitreckon.flavour.mix import Mix
from pitreckon.physics import air, convection, food, fuel, growth, salt, surface, thaw, vapour
from pitreckon.plan.wishes import Wishes
from pitreckon.safety.record.form import SafetyRecord

LAWS: Final[dict[str, tuple[str, ...]]] = {
    "water in the meat": ("van_der_sman_2007", "feyissa_2009", "ishiwatari_2013", "kestin_1978"),
    "a drying face": ("wagner_pruss_2002", "stefan_1874", "lewis_1922", "oswin_1946", "meteorology_latent_heat"),
    "what heat does to it": ("arrhenius_1889", "machlik_draudt_1963", "bertola_1994", "collagen_gelatin_activation"),
    "killing, in the run": ("bigelow_1920", "fsis_gd_2021_14"),
}
"""Sources of the laws that the kernels evaluate (``section/laws.py``), by what they are for."""
MODEL: Final[dict[str, tuple[object, ...]]] = {
    "heat in the meat": (food.Composition, food.conductivity, food.heat_capacity, food.density),
    "heat and water from the air": (
        surface.radiation_coefficient,
        surface.mass_transfer_lewis,
        surface.vapour_permeance,
        convection.convection_free_cylinder,
        vapour.boiling_point,
        vapour.pressure_isa,
    ),
    "the pit's air": (air.humidity_ratio_from_relative_humidity, fuel.chamber_humidity_ratio, fuel.combustion_water),
}
FUEL: Final = (fuel.outer_film, fuel.wind_conductance, fuel.fuel_rate, vapour.latent_heat_linear)
KITCHEN: Final = (thaw.thaw_time_cleland, thaw.heat_dimension_hossain, salt.diffusivity_nacl, salt.penetration_depth)
GROWTH: Final = (
    growth.growth_rate_perfringens_juneja,
    growth.readiness_perfringens_juneja,
    growth.growth_rate_staphylococcus_medvedova,
)


@dataclass(frozen=True, slots=True)
class Group:
    """Sources of one thing, a line each. what: what they were for."""

    what: str
    lines: tuple[str, ...]


def of_reckoning(cook: Cook) -> list[Group]:
    """What the outlook of a cook rests on: the laws, and the figures of its cuts, pits and wraps."""
    wraps = {stage.wrap for item in cook.items for stage in item.stages if stage.wrap}
    entries: list[Any] = [catalog.cut(key) for key in dict.fromkeys(item.cut for item in cook.items)]
    entries += [*_pits(pit.kind for pit in cook.pits), *map(catalog.wrap, sorted(wraps))]
    return [*_model(), *_of_entries(entries)]


def of_plan(wishes: Wishes) -> list[Group]:
    """What a plan rests on: the model, what its cuts yield, who eats how much, the fire and the kitchen."""
    keys = list(dict.fromkeys(item.cut for item in wishes.items))
    entries = [*map(catalog.cut, keys), *_pits(pit.kind for pit in wishes.pits)]
    buys = [buying(key) for key in keys]
    return [
        *_model(),
        _laws("the fuel", FUEL),
        _laws("thawing and salting", KITCHEN),
        *_of_entries(entries),
        Group("what is bought and eaten", _counted(f.source for each in (*buys, portions()) for _, f in figures(each))),
        Group("the kitchen", _counted(figure.source for _, figure in figures(before_fire()))),
    ]


def of_record(cook: Cook, record: SafetyRecord) -> list[Group]:
    """What a safety record rests on: the rules, the models that advise beside them, and the reckoning."""
    rules = {line.source: line.status for piece in record.pieces for line in piece.lines}
    models = {f"{line.microbe}: {line.source}" for piece in record.advice for line in piece.lines}
    return [
        Group("the rules", tuple(f"{source} [{status}]" for source, status in sorted(rules.items()))),
        Group("killing and growth, beside the rules", (*sorted(models), *map(_line, sources_of(*GROWTH)))),
        *of_reckoning(cook),
    ]


def of_mixes(mixes: Iterable[Mix]) -> list[Group]:
    """What the weights and tastes of mixes rest on: the foods in them."""
    table = foods()
    keys = {key for mix in mixes for key in _foods_in(mix)}
    lines = _counted((table[key].source for key in keys if key in table), "food")
    return [Group("the foods", lines)] if lines else []


def _foods_in(mix: Mix) -> Iterator[str]:
    for line in mix.lines:
        if line.mix is not None:
            yield from _foods_in(line.mix)
        elif line.food is not None:
            yield line.food


def print_sources(groups: Sequence[Group], *, as_json: bool = False) -> None:
    """The list, after the answer; beside a JSON answer on standard error."""
    console = Console(highlight=False, stderr=as_json)
    console.print("\n[bold]Sources of this run[/bold]")
    for group in groups:
        console.print(f"{group.what}:", markup=False)
        for line in group.lines:
            console.print(f"  {line}", markup=False, soft_wrap=True)


def _model() -> list[Group]:
    laws = [Group(what, tuple(_line(cite(key)) for key in sorted(keys))) for what, keys in LAWS.items()]
    return [*(_laws(what, functions) for what, functions in MODEL.items()), *laws]


def _laws(what: str, functions: Sequence[object]) -> Group:
    return Group(what, tuple(map(_line, sources_of(*functions))))


def _line(citation: Citation) -> str:
    """Author, year, title, and how it was read."""
    author = citation.author.replace(" and ", ", ")
    return f"{author} ({citation.year}). {citation.title}. [{citation.status}]"


def _pits(kinds: Iterable[str]) -> list[Any]:
    pits = [catalog.pit(kind) for kind in dict.fromkeys(kinds)]
    return [*pits, *(catalog.fuel(key) for key in dict.fromkeys(pit.fuel for pit in pits))]


def _of_entries(entries: Iterable[Any]) -> list[Group]:
    return [Group(each.name, _counted(figure.source for _, figure in figures(each))) for each in entries]


def _counted(sources: Iterable[str], of: str = "figure") -> tuple[str, ...]:
    """Each source once with how many rest on it, the most first."""
    counts = Counter(sources)
    ranked = sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    return tuple(f"{source} ({count} {of if count == 1 else of + 's'})" for source, count in ranked)
