"""Pictures of fields over the section, cores, windows and posteriors, as Matplotlib figures.

Each returns a ``matplotlib.figure.Figure``: ``.savefig(path)`` keeps it, a notebook shows it after ``%matplotlib
inline``. Matplotlib comes with the extras ``study`` and ``pictures``.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.errors import InputError, Place
from pitreckon.library import tables
from pitreckon.library.drawing import (
    HOUR_S,
    INK,
    PALE,
    PAPER,
    SMOKE,
    WIDE,
    band,
    figure,
    in_scale,
    is_simulation,
    needs_simulation,
    section_of,
)
from pitreckon.library.files import scale_of
from pitreckon.library.reckoned import Reckoned
from pitreckon.reckon.quantiles import Quantiles
from pitreckon.sheets.pictures.sections import drawn, filled, outline
from pitreckon.text.words import did_you_mean
from pitreckon.units import Scale

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from xarray import Dataset

__all__ = ["cores", "field", "posteriors", "windows"]

MAPS: Final = {"temperature": "cividis", "water": "cividis_r", "collagen": "Greys"}
"""Maps that grow evenly lighter or darker, to the eye that sees no colours, too."""
LINES: Final = 11
MOST_ACROSS: Final = 3
UNITS: Final = {"1": "", "kg kg-1": "kg/kg"}
MOST_TALL: Final = 4.5
"""Of one section [in]."""
EDGE: Final = 0.08
"""Labels of lines nearer than this to a border, as a share of the picture, would be cut off."""


def field(
    arrays: Dataset,
    name: str = "temperature",
    at_s: float | Iterable[float] | None = None,
    *,
    member: int | None = None,
    degrees: Scale = "C",
) -> Figure:
    """A field over the piece as it would be cut through, one picture a time, with labelled lines.

    arrays: of ``simulate``, or as ``xarray.open_dataset`` read them back
    name: temperature, water or collagen
    at_s: times [s since put-on], each the nearest that there is; None: the last at which half of the members cook
    member: its number; None: in every cell the middle of those that cook
    degrees: "C" or "F"

    Raises MissingExtraError: Matplotlib is not installed. InputError: no such field, time or member
    """
    given = needs_simulation(arrays)
    scale_of(degrees)
    if name not in MAPS:
        raise InputError(f"'{name}' is no field over the section", did_you_mean(name, tuple(MAPS)), Place(field="name"))
    values = given[name].transpose("time", "member", "cell")
    if member is not None:
        if member not in given["member"].to_numpy():
            remedy = f"Give 0 to {given.sizes['member'] - 1}, or leave it out for the middle of all"
            raise InputError(f"there is no member {member}", remedy, Place(field="member"))
        values = values.sel(member=[member])
    section = section_of(given)
    size = float(np.median(given["scale"].to_numpy() if member is None else given["scale"].sel(member=member)))
    rows = _rows(values, given["time"].to_numpy(), at_s)
    every = [_middle(values.to_numpy()[row]) for row in rows]
    shown = [in_scale(each, degrees) if name == "temperature" else each for each in every]
    low, high = (float(f([f(each[np.isfinite(each)]) for each in shown])) for f in (np.min, np.max))
    levels = _levels(low, high)
    columns = 2 if len(rows) == 4 else min(len(rows), MOST_ACROSS)
    down = -(-len(rows) // columns)
    x, y, _ = drawn(section, section.bone, size)
    each_tall = min((WIDE / columns - 0.4) * float(np.ptp(y) / np.ptp(x)), MOST_TALL) + 0.85
    made, grid = figure(down * each_tall + 1.0, down, columns)
    painted: Any = None
    for axes, row, each in zip(grid.flat, rows, shown, strict=False):
        painted = _paint(axes, section, filled(section, each), size, levels, MAPS[name])
        axes.set_title(_clock(float(given["time"][row])), fontsize=10, color=INK)
    for axes in list(grid.flat)[len(rows) :]:
        axes.set_axis_off()
    whose = "the middle of all members" if member is None else f"member {member}"
    made.suptitle(f"{given.attrs.get('title', 'A simulation')}: {whose}", fontsize=11, color=INK)
    unit = f"°{degrees}" if name == "temperature" else UNITS.get(values.attrs["units"], values.attrs["units"])
    bar = made.colorbar(painted, ax=grid, location="bottom", shrink=0.7, aspect=40)
    bar.set_label(f"{values.attrs['long_name']}{f' [{unit}]' if unit else ''}", fontsize=9)
    bar.ax.tick_params(labelsize=9)
    return made


def cores(what: Dataset | Reckoned, item: str | None = None, *, degrees: Scale = "C") -> Figure:
    """Core, surface and air over time: the middle member as a line, 5 to 95 % of them as a band.

    what: a simulation or an outlook; item: of an outlook, its label; None: the only one; degrees: "C" or "F"

    Raises MissingExtraError: Matplotlib is not installed. InputError: it is neither, or has no such item
    """
    scale_of(degrees)
    names = {"core": ("core_temperature", "core_c"), "surface": ("surface_temperature", "surface_c"),
             "air": ("air_temperature", "air_c")}  # fmt: skip
    made, grid = figure(3.6)
    axes = grid[0, 0]
    styles = zip(names.items(), ("-", "--", ":"), (INK, SMOKE, SMOKE), strict=True)
    for (label, (ours, channel)), style, ink in styles:
        if is_simulation(what):
            time_s, values, weights = (
                what["record"].to_numpy(),
                what[ours].transpose("record", "member").to_numpy(),
                None,
            )
        else:
            run = _run(what, item)
            time_s, values, weights = run.trace.time_s, run.trace[channel], run.evidence.weights
        low, middle, high = in_scale(band(values, weights), degrees)
        hours = time_s / HOUR_S
        axes.fill_between(hours, low, high, color=ink, alpha=0.15, linewidth=0)
        axes.plot(hours, middle, style, color=ink, linewidth=1.6, label=label)
    whose = what.attrs.get("title", "A simulation") if is_simulation(what) else _run(what, item).item.label
    axes.set_title(f"{whose}: line: the middle member; band: 5 to 95 % of them", fontsize=10, color=INK)
    axes.legend(frameon=False, fontsize=9, ncols=3, loc="lower right")
    axes.set_xlabel("hours since put-on", fontsize=9)
    axes.set_ylabel(f"°{degrees}", fontsize=9)
    return made


def windows(outlook: Reckoned) -> Figure:
    """When each item's stages end and its windows open and close: 5 to 95 % as a bar, the middle as a mark.

    Raises MissingExtraError: Matplotlib is not installed. InputError: it is no outlook
    """
    tables.outlook(outlook)
    zone = outlook.cook.zone_info
    rows: list[tuple[str, str, Quantiles, Any]] = []
    for item in outlook.items:
        rows += [(item.label, f"{stage.kind} ends", stage.ends_s, item) for stage in item.stages if not stage.done]
        rows += [(item.label, f"too late to {w.act}", w.closes_s, item) for w in item.windows if w.closes_s.known]
        rows += [(item.label, "ready", item.marks["ready"], item)]
    made, grid = figure(1.0 + 0.27 * len(rows))
    axes = grid[0, 0]
    for n, (_, words, spread, item) in enumerate(rows):
        late = words.startswith("too late")
        ends = [at if np.isfinite(at) else spread.p50 for at in (spread.p05, spread.p95)]
        if not spread.known:
            axes.text(0.01, n, "fewer than half get there", fontsize=8, color=SMOKE, va="center",
                      transform=axes.get_yaxis_transform())  # fmt: skip
            continue
        low, high, middle = (item.instant(at) for at in (*ends, spread.p50))
        axes.plot([low, high], [n, n], color=PALE if late else SMOKE, linewidth=7, solid_capstyle="butt")
        axes.plot([middle], [n], marker="|" if late else "D", color=INK, markersize=9 if late else 5)
    for at, style, words in ((outlook.now_utc, "-", "now"), (outlook.serve_utc, ":", "serve")):
        if at is not None:
            axes.axvline(at, linestyle=style, color=INK, linewidth=1.0)
            axes.annotate(words, (at, 1.0), (0, 3), xycoords=("data", "axes fraction"),
                          textcoords="offset points", fontsize=9, ha="center")  # fmt: skip
    axes.set_yticks(range(len(rows)), [f"{label}: {words}" for label, words, *_ in rows], fontsize=9)
    axes.set_ylim(len(rows) - 0.5, -0.5)
    from matplotlib.dates import AutoDateLocator, DateFormatter  # noqa: PLC0415  it is there: the figure is
    from matplotlib.lines import Line2D  # noqa: PLC0415

    axes.xaxis.set_major_locator(AutoDateLocator(tz=zone, minticks=3, maxticks=8))  # type: ignore[no-untyped-call]
    axes.xaxis.set_major_formatter(DateFormatter("%H:%M", tz=zone))  # type: ignore[no-untyped-call]
    axes.set_xlabel(f"clock in {zone.key}", fontsize=9)
    bar: dict[str, Any] = {"linewidth": 7, "solid_capstyle": "butt", "markeredgecolor": INK, "markerfacecolor": INK}
    keys = [Line2D([], [], color=SMOKE, marker="D", markersize=5, **bar), Line2D([], [], color=PALE, marker="|", **bar)]
    made.legend(
        keys,
        ["a stage ends, it is ready: 5, 50, 95 %", "too late from: 5, 50, 95 %"],
        loc="outside upper left",
        ncols=2,
        frameon=False,
        fontsize=9,
        handlelength=3.0,
    )
    return made


def posteriors(outlook: Reckoned, item: str | None = None, *, most: int = 6) -> Figure:
    """What the ledger told of an item and its pit: the unknowns that moved or narrowed most, before and after.

    Each unknown is a standard number; before anything was seen it is standard normal, the broken line.

    outlook: from ``pitreckon.reckon``; item: its label; None: the only one; most: how many unknowns, 1 to 12

    Raises MissingExtraError: Matplotlib is not installed. InputError: it is no outlook, or has no such item
    """
    if not 1 <= most <= 12:
        raise InputError(f"{most} unknowns are too many or none", "Ask for 1 to 12", Place(field="most"))
    run = _run(outlook, item)
    weights = run.main.weights
    said = {name: np.asarray(values) for name, values in run.main.ensemble.unknowns.items()}
    told = {name: _told(values, weights) for name, values in said.items()}
    chosen = sorted(told, key=lambda name: -told[name])[:most]
    columns = min(3, len(chosen))
    made, grid = figure(0.9 + 1.9 * -(-len(chosen) // columns), -(-len(chosen) // columns), columns)
    at = np.linspace(-3.5, 3.5, 141)
    for axes, name in zip(grid.flat, chosen, strict=False):
        axes.fill_between(at, _density(at, said[name], weights), color=SMOKE, alpha=0.5, linewidth=0, label="as told")
        before = np.exp(-0.5 * at**2) / np.sqrt(2.0 * np.pi)
        axes.plot(at, before, "--", color=INK, linewidth=1.2, label="before anything was seen")
        axes.set_title(name, fontsize=10, color=INK)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
    for axes in list(grid.flat)[len(chosen) :]:
        axes.set_axis_off()
    made.supxlabel("standard deviations from what was thought before", fontsize=9)
    key = made.legend(
        *grid.flat[0].get_legend_handles_labels(), loc="outside upper center", ncols=2, frameon=False, fontsize=9
    )
    key.set_title(run.item.label)
    return made


def _told(values: Floats, weights: Floats) -> float:
    """How much a standard normal number has moved and narrowed: the divergence of the one from the other [nat]."""
    mean = float(weights @ values)
    spread = max(float(weights @ (values - mean) ** 2), 1e-6)
    return 0.5 * float(spread + mean**2 - 1.0 - np.log(spread))


def _density(at: Floats, values: Floats, weights: Floats) -> Floats:
    """A smooth density of weighted values: Gaussian kernels, by Silverman's rule for the members that count."""
    mean = float(weights @ values)
    spread = np.sqrt(max(float(weights @ (values - mean) ** 2), 1e-6))
    counts = 1.0 / float(np.sum(weights**2))
    width = max(1.06 * spread * counts**-0.2, 0.05)
    kernels = np.exp(-0.5 * ((at[:, None] - values) / width) ** 2) / (width * np.sqrt(2.0 * np.pi))
    return np.asarray(kernels @ weights)


def _middle(values: Floats) -> Floats:
    """The middle of the members that cook, (members, cells) to (cells,)."""
    there = np.isfinite(values).any(axis=1)
    return np.asarray(np.median(values[there], axis=0))


def _rows(values: Any, time_s: Floats, at_s: float | Iterable[float] | None) -> list[int]:
    """Which times are drawn. Raises InputError: nobody cooks at one of them."""
    cooking = np.isfinite(values.to_numpy()).any(axis=2).mean(axis=1)
    if at_s is None:
        return [int(np.flatnonzero(cooking >= 0.5 * cooking.max())[-1])]
    asked = np.atleast_1d(np.asarray(at_s if np.isscalar(at_s) else list(at_s), dtype=np.float64))  # type: ignore[arg-type]
    rows = [int(np.argmin(np.abs(time_s - at))) for at in asked]
    for at, row in zip(asked, rows, strict=True):
        if cooking[row] == 0.0:
            remedy = f"Ask for one up to {time_s[np.flatnonzero(cooking)[-1]]:g} s"
            raise InputError(f"no member cooks at {at:g} s any more", remedy, Place(field="at_s"))
    return rows


def _levels(low: float, high: float) -> Floats:
    from matplotlib.ticker import MaxNLocator  # noqa: PLC0415  the figure needs it all the same

    return np.asarray(MaxNLocator(LINES).tick_values(low, max(high, low + 1e-3)))


def _paint(axes: Axes, section: Any, values: Floats, size: float, levels: Floats, colours: str) -> Any:
    x, y, painted = drawn(section, values, 100.0 * size)
    axes.set_aspect("equal")
    shades = axes.contourf(x, y, painted, levels=levels, cmap=colours)
    lines = axes.contour(x, y, painted, levels=levels[1:-1:2], colors=INK, linewidths=0.6)
    for text in axes.clabel(lines, fontsize=8, inline=True):
        at = axes.transLimits.transform(text.get_position())
        text.set_visible(bool((at > EDGE).all() and (at < 1.0 - EDGE).all()))
        text.set_color(INK)
        text.set_bbox({"facecolor": PAPER, "edgecolor": "none", "pad": 0.5, "alpha": 0.8})
    outline(axes, section, 100.0 * size, over=2.5)
    axes.set_xlabel("cm", fontsize=8)
    axes.tick_params(labelsize=8)
    return shades


def _clock(at_s: float) -> str:
    hours, minutes = divmod(round(at_s / 60.0), 60)
    return f"{hours} h {minutes:02d}" if hours else f"{minutes} min"


def _run(what: Any, item: str | None) -> Any:
    """The members of an item of an outlook."""
    if not isinstance(what, Reckoned):
        raise InputError(f"a {type(what).__name__} is no outlook", "Give what pitreckon.reckon returned")
    if item is None and len(what.items) != 1:
        labels = ", ".join(each.label for each in what.items)
        raise InputError("the cook has not just one item", f"Name one of {labels}", Place(field="item"))
    label = what.items[0].label if item is None else what.item(item).label
    return next(run for run in what.reckoning.runs if run.item.label == label)
