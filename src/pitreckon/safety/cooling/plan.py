"""Which methods of cooling what is left over will make the limits, how likely, and what is the least to change."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.errors import InputError, Place
from pitreckon.physics.vapour import pressure_isa
from pitreckon.reckon.quantiles import Quantiles, quantiles_of
from pitreckon.safety.cautions import LOCAL
from pitreckon.safety.cooling.methods import ICE_BATH, Method, methods_for
from pitreckon.safety.cooling.run import Cooled, cooled, fresh_job
from pitreckon.safety.microbes.advice import Levels, grown_log10
from pitreckon.safety.microbes.models import Grown, perfringens_cooling
from pitreckon.section import material
from pitreckon.section.laws import WATER_CP_J_KGK
from pitreckon.section.simulate import Job, simulate_all
from pitreckon.units import celsius_from_fahrenheit, format_duration, format_mass, format_percent, round_half_up


@dataclass(frozen=True)
class Stretch:
    """From a temperature of the hottest place to another, within a time."""

    from_c: float
    to_c: float
    most_s: float


@dataclass(frozen=True)
class Limit:
    """A rule of cooling that a method is held against. source: with its section; status: how it was read."""

    name: str
    stretches: tuple[Stretch, ...]
    source: str
    status: str


def _stretch(from_f: float, to_f: float, hours: float) -> Stretch:
    return Stretch(celsius_from_fahrenheit(from_f), celsius_from_fahrenheit(to_f), hours * 3600.0)


FOOD_CODE = Limit(
    "135 to 70 °F in 2 h, and to 41 °F in 6 h in all",
    (_stretch(135.0, 70.0, 2.0), _stretch(135.0, 41.0, 6.0)),
    "FDA Food Code 2022, 3-501.14",
    "seen",
)
PLANTS = Limit(
    "130 to 80 °F in 1.5 h, and 80 to 40 °F in 5 h",
    (_stretch(130.0, 80.0, 1.5), _stretch(80.0, 40.0, 5.0)),
    "FSIS Appendix B, option 1 (text of 1999; its number in FSIS-GD-2021-13 from memory)",
    "seen",
)
FROM_C, TO_70_C, TO_41_C = (celsius_from_fahrenheit(f) for f in (135.0, 70.0, 41.0))

ENOUGH = 0.95
"""Chance from which a method is said to make it (common practice, no source)."""
HORIZON_S, LONG_S = 12 * 3600.0, 30 * 3600.0
ICE_MORE, FUSION_J_KG = 1.5, 333.6e3
"""More ice than the meat alone melts: the vessel and the air take some; heat of fusion of ice (from memory)."""
MASS_KG, START_C = (0.05, 15.0), (25.0, 99.0)


@dataclass(frozen=True)
class Trial:
    """One method, tried on all members.

    makes: chance to make the Food Code's two limits; makes_first: the first of them; makes_plants: FSIS option 1;
    to_70_s, to_41_s: from 135 degF on, with what had passed before; growth: of C. perfringens, an advice only
    """

    method: Method
    makes_first: float
    makes: float
    makes_plants: float
    to_70_s: Quantiles
    to_41_s: Quantiles
    growth: Levels
    ice_kg: float | None

    @property
    def enough(self) -> bool:
        """Likely enough to be named as a method that makes it."""
        return self.makes >= ENOUGH

    @property
    def words(self) -> str:
        """One line for a screen."""
        text = (
            f"{self.method.words}: 70 °F in {span_words(self.to_70_s)}, 41 °F in {span_words(self.to_41_s)}; "
            f"makes both in {chance_words(self.makes)}, plants' limits in {chance_words(self.makes_plants)}"
        )
        return text if self.ice_kg is None else f"{text}; at least {format_mass(self.ice_kg)} of ice"


@dataclass(frozen=True)
class CoolingPlan:
    """The methods, those that make it first, each part by its work; model: of the growth, an advice only."""

    trials: tuple[Trial, ...]
    model: Grown

    def trial(self, form: str, place: str, *, depth_m: float | None = None) -> Trial:
        """The first trial of a form in a place.

        Raises KeyError: none is like that
        """
        for trial in self.trials:
            method = trial.method
            if method.form == form and method.place.name == place and depth_m in {None, method.depth_m}:
                return trial
        raise KeyError(f"{form}, {place}")

    @property
    def least_work(self) -> Trial | None:
        """The method that makes it with the least work; None: none does."""
        return next((trial for trial in self.trials if trial.enough), None)

    def smallest_change(self, method: Method) -> Trial | None:
        """What to do instead of a method that does not make it: the fewest things changed, then the least more work.

        The method itself if it makes it; None if none does.
        """
        good = [trial for trial in self.trials if trial.enough]
        return min(
            good, key=lambda t: (_changes(method, t.method), abs(t.method.effort_s - method.effort_s)), default=None
        )

    def advice(self, method: Method) -> tuple[str, ...]:
        """What to say to a cook who means to do it that way."""
        (mine,) = [trial for trial in self.trials if trial.method == method]
        change = self.smallest_change(method)
        if mine.enough:
            said = f"Likely to make {FOOD_CODE.name}: {mine.words}."
        elif change is None:
            said = (
                f"Not likely to make {FOOD_CODE.name}: {mine.words}. None of the other ways is: make smaller batches."
            )
        else:
            said = f"Not likely to make {FOOD_CODE.name}: {mine.words}. The smallest change that does: {change.words}."
        return (said, *NOTES)


NOTES = (
    "The clock starts when the thickest part falls below 135 °F; chill at once, and check it with a thermometer.",
    "Do not stack trays, leave room for air around them, and top up the ice.",
    LOCAL,
)


def plan_cooling(
    cut_key: str,
    mass_kg: float,
    start_c: float,
    *,
    since_135_s: float | None = None,
    fan: bool = False,
    altitude_m: float = 0.0,
    members: int = 96,
    seed: int = 0,
    methods: Sequence[Method] | None = None,
) -> CoolingPlan:
    """Try the methods to cool a piece, from the section model with what is not known spread over members.

    cut_key: of the catalog
    mass_kg: of the piece as it is now, bone and all [kg]
    start_c: of its thickest part when the cooling begins [degC]; all of it is taken to be as hot
    since_135_s: how long ago it fell below 135 degF [s]; needed if it is colder than that
    fan: the refrigerator is a cold room with a fan
    altitude_m: above the sea
    members, seed: of the ensemble
    methods: those to try; all that make sense for the cut if None

    Raises InputError: an unknown cut; a mass or temperature that cannot be; below 135 degF and nobody says since when
    """
    cut = catalog.cut(cut_key)
    _check("mass_kg", mass_kg, MASS_KG, "kg")
    _check("start_c", start_c, START_C, "°C")
    _check("members", members, (8, 4096), "")
    before_s = _before_s(since_135_s, start_c)
    tried = tuple(methods) if methods is not None else methods_for(cut, fan=fan)
    pressure = pressure_isa(altitude_m)

    def jobs(some: Sequence[Method], horizon_s: float) -> list[Job]:
        return [
            fresh_job(
                cut,
                method,
                mass_kg=mass_kg,
                start_c=start_c,
                pressure_pa=pressure,
                members=members,
                seed=seed,
                horizon_s=horizon_s,
            )
            for method in some
        ]

    runs = {
        method: cooled(method, trace) for method, trace in zip(tried, simulate_all(jobs(tried, HORIZON_S)), strict=True)
    }
    late = [method for method, run in runs.items() if np.isnan(run.first_at(TO_41_C)).any()]
    runs |= {
        method: cooled(method, trace) for method, trace in zip(late, simulate_all(jobs(late, LONG_S)), strict=True)
    }
    ice_kg = _ice(cut, mass_kg, start_c)
    trials = [_judge(run, cut.animal, before_s, ice_kg) for run in runs.values()]
    return CoolingPlan(tuple(_ranked(trials)), growth_of(cut.animal))


def _before_s(since_135_s: float | None, start_c: float) -> float:
    """For how long the clock has run [s]: it may not start afresh for a piece that is below its start already."""
    if since_135_s is None and start_c < FROM_C:
        raise InputError(
            "it is below 135 °F already, and the clock of cooling started there",
            "Say how long ago that was, as in --ago 40min",
            Place(field="since_135_s"),
        )
    before_s = since_135_s or 0.0
    _check("since_135_s", before_s, (0.0, 86400.0), "s")
    return before_s


def growth_of(animal: str) -> Grown:
    """The growth model that an animal's file names; beef's, the fastest, where it has no file."""
    return perfringens_cooling(animal)


def _judge(run: Cooled, animal: str, before_s: float, ice_kg: float | None) -> Trial:
    begin = _begin(run, FROM_C, before_s)
    to_70, to_41 = run.first_at(TO_70_C) - begin, run.first_at(TO_41_C) - begin
    share = np.full(to_70.size, 1.0 / max(to_70.size, 1))
    growth = grown_log10(run.time_s, run.hot_c, growth_of(animal))
    return Trial(
        run.method,
        makes_first=_chance(run, FOOD_CODE.stretches[:1], before_s),
        makes=_chance(run, FOOD_CODE.stretches, before_s),
        makes_plants=_chance(run, PLANTS.stretches, before_s),
        to_70_s=quantiles_of(to_70, share),
        to_41_s=quantiles_of(to_41, share),
        growth=_levels(growth),
        ice_kg=ice_kg if run.method.place == ICE_BATH else None,
    )


def _levels(growth: Floats) -> Levels:
    p50, p95, worst = (float(np.quantile(growth, level)) for level in (0.5, 0.95, 1.0))
    return Levels(p50, p95, worst, known=float(np.isfinite(growth).mean()))


def _begin(run: Cooled, from_c: float, before_s: float) -> Floats:
    """When the clock of a stretch started: before the run where it began below its start."""
    colder = run.hot_c[0] <= from_c
    return np.where(colder, -before_s, run.first_at(from_c))


def _chance(run: Cooled, stretches: Sequence[Stretch], before_s: float) -> float:
    """Share of all members that make every stretch; one that failed, or never gets there, does not."""
    if run.hot_c.shape[1] == 0:
        return 0.0
    good = np.ones(run.hot_c.shape[1], dtype=bool)
    for stretch in stretches:
        took = run.first_at(stretch.to_c) - _begin(run, stretch.from_c, before_s)
        good &= np.nan_to_num(took, nan=np.inf) <= stretch.most_s
    return float(good.sum() / (good.size + run.failed))


def _ranked(trials: Sequence[Trial]) -> list[Trial]:
    """What makes it by the work it is; what does not by its chance."""
    return sorted(trials, key=lambda t: (not t.enough, t.method.effort_s if t.enough else -t.makes, t.method.effort_s))


def _changes(one: Method, other: Method) -> int:
    """In how many things two methods differ."""
    return sum(
        (
            one.form != other.form,
            one.place != other.place,
            one.depth_m != other.depth_m and one.form == other.form,
            one.covered != other.covered and one.lies == other.lies,
        )
    )


def _ice(cut: catalog.Cut, mass_kg: float, start_c: float) -> float:
    """Ice that the meat and what holds it melt [kg], up to the next half kilogram."""
    meat = material.meat_of(cut)
    heat_j_kgk = (meat.dry_cp_j_kgk + WATER_CP_J_KGK * meat.water) / (1.0 + meat.fat + meat.water)
    return float(np.ceil(2.0 * ICE_MORE * mass_kg * heat_j_kgk * start_c / FUSION_J_KG) / 2.0)


def _check(name: str, value: float, span: tuple[float, float], unit: str) -> None:
    if not span[0] <= value <= span[1]:
        tail = f" {unit}" if unit else ""
        raise InputError(f"{name} is {value:g}{tail}", f"Give {span[0]:g} to {span[1]:g}{tail}", Place(field=name))


def chance_words(chance: float) -> str:
    """A chance that is never called certain: members are few, and the model is not the meat."""
    return "99 % or more" if chance > 0.99 else "1 % or less" if chance < 0.01 else format_percent(chance)


def span_words(quantiles: Quantiles) -> str:
    """A time with its 5 to 95 %, to the minute."""

    def one(seconds: float) -> str:
        return format_duration(60.0 * round_half_up(seconds / 60.0)) if np.isfinite(seconds) else "more than a day"

    if not np.isfinite(quantiles.p95):
        return one(quantiles.p50)
    return f"{one(quantiles.p50)} ({one(quantiles.p05)} to {one(quantiles.p95)})"
