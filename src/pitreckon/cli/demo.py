"""The demo: an invented cook, a recorded day of it, and the outlook at four moments of that day.

The day is one draw of a model of our own with a seed of its own; the forecaster is not told which. It is a
show of what the tool does, not a proof: proofs are in ``validation/``.
"""

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from pitreckon.cli.firstcook import give_way
from pitreckon.cli.run import reckon_with_progress, say_changes
from pitreckon.cli.screen import Screen
from pitreckon.cli.show import print_outlook
from pitreckon.cook import Cook, ItemPlan
from pitreckon.cook.read import cook_from_text
from pitreckon.cook.scales import SCALES, level_of, word_for
from pitreckon.errors import InputError, Place
from pitreckon.extras import MissingExtraError, require
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.log.write import log_text
from pitreckon.reckon import Outlook
from pitreckon.reckon.words import colour_word
from pitreckon.units import Scale, instant_after, round_half_up

COOK_FILE = (Path(__file__).parent / "data" / "harvest-table.toml").read_text(encoding="utf-8")
MOMENTS = (
    ("07:30", "fire-up: nothing is known but the plan"),
    ("14:30", "before the racks are wrapped"),
    ("15:50", "after the wrap"),
    ("17:40", "twenty minutes before supper"),
)
TRUTH_MEMBERS = 16
READ_EVERY_S = 300.0
EXPLAIN_MEMBERS = 32


def _write(file: Path, content: bytes) -> None:
    """Write one of the demo; a file of that name that is somebody's own is kept beside."""
    if file.is_file() and file.read_bytes() != content:
        give_way(file)
    file.write_bytes(content)


def walk_through(folder: Path, members: int, seed: int, degrees: Scale, page: bool) -> None:
    """Write the cook file and the day's log into ``folder``, show the outlook at each moment, then the live page."""
    console = Screen(degrees)
    cook = cook_from_text(COOK_FILE, "harvest-table.toml")
    day = recorded_day(cook, seed)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in (("harvest-table.toml", COOK_FILE), ("day.csv", log_text(day, cook))):
            _write(folder / name, text.encode())
    except OSError as fault:
        raise InputError(
            f"the demo's files cannot be written: {fault.strerror}", "Name a folder of your own", Place(str(folder))
        ) from fault
    console.print(f"An invented supper. Its cook file and the day's log are in [bold]{folder}[/bold].\n")
    before: tuple[Ledger, datetime] | None = None
    small: Outlook | None = None
    for clock, words in MOMENTS:
        now = datetime.fromisoformat(f"2026-10-17 {clock}").replace(tzinfo=cook.zone_info)
        now = now.astimezone(cook.start_utc.tzinfo)
        ledger = day.until(now)
        console.print(f"[bold]{clock}[/bold]  {words}")
        outlook = reckon_with_progress(cook, ledger if len(ledger) else None, now, members, seed)
        print_outlook(console, outlook, cook, degrees)
        if before is not None:
            console.print("[bold]What changed since, and why[/bold]")
            small = say_changes(console, cook, before, ledger, now, seed, degrees, EXPLAIN_MEMBERS, small)
        before = (ledger, now)
        console.print("\n")
    console.print(
        f"The same moment again: pitreckon reckon {folder}/harvest-table.toml --log {folder}/day.csv --at 15:50",
        soft_wrap=True,
    )
    if page:
        try:
            require("fastapi", "the live page")
        except MissingExtraError as fault:
            console.print(f"The demo ends here: {fault}", soft_wrap=True, markup=False)
            return
        from pitreckon.cli.demopage import show_day  # noqa: PLC0415

        show_day(cook, day, folder)


def recorded_day(cook: Cook, seed: int) -> Ledger:
    """A whole day of readings, looks and acts of the cook, drawn from the model with a seed of its own."""
    from pitreckon import catalog  # noqa: PLC0415
    from pitreckon.reckon.draws import draw_pit  # noqa: PLC0415
    from pitreckon.reckon.forecast import reckon_runs  # noqa: PLC0415

    rng = np.random.default_rng([seed, 20261017])
    truth_seed = seed + 7_000_003
    end = cook.serve_utc or instant_after(cook.start_utc, 12 * 3600.0)
    _, runs = reckon_runs(cook, now=cook.start_utc, members=TRUTH_MEMBERS, seed=truth_seed)
    member = int(rng.integers(TRUTH_MEMBERS))
    first = min(runs, key=lambda run: run.put_on_utc)
    air = first.air_c[np.arange(first.air_c.shape[0])][:, member]
    each = first.tracks[0].ensemble
    pit = draw_pit(catalog.pits()[cook.pit(first.item.pit).kind], each.unknowns, each.track.levels)
    offset_k = float(pit.offset_k[member])  # what the readout does not know
    count = int((end - first.put_on_utc).total_seconds() / READ_EVERY_S) + 1
    readings = [
        Reading(
            instant_after(first.put_on_utc, i * READ_EVERY_S),
            "pit air",
            first.item.pit,
            None,
            float(air[int(i * READ_EVERY_S / 60)] - offset_k + rng.normal(0.0, 0.8)),
        )
        for i in range(count)
    ]
    acts = [Act(item.put_on_utc, item.label, "put on") for item in cook.items]
    _, runs = reckon_runs(
        cook, Ledger.of([*readings, *acts]), now=cook.start_utc, members=TRUTH_MEMBERS, seed=truth_seed
    )
    looks: list[Look | Reading] = []
    for run in runs:
        ends = run.trace.stage_end_s[:, member]
        for stage, end_s in zip(run.stages[1:], ends, strict=False):
            if not np.isfinite(end_s):
                continue
            late = instant_after(run.put_on_utc, round_half_up((end_s + rng.uniform(0, 240)) / 60) * 60)
            if late < end:
                what = {"rest": "took off"}.get(stage.plan.kind, stage.plan.kind)
                acts.append(Act(late, run.item.label, what, stage.wrap or "" if what == "wrapped" else ""))
        looks += _looks(run.item, run.put_on_utc, run, member, end, rng)
    return Ledger.of([*readings, *acts, *looks])


def _looks(item: ItemPlan, put_on: datetime, run, member: int, end: datetime, rng):  # type: ignore[no-untyped-def]
    """A few looks of a cook who comes by about every hour and a half, with a cook's errors."""
    from pitreckon.reckon.measures import level_of_colour  # noqa: PLC0415

    looks: list[Look] = []
    trace = run.trace
    last = float(np.nanmax(np.where(np.isfinite(run.trace.stage_end_s[-1]), run.trace.stage_end_s[-1], 0.0)))
    at_s = 4500.0 if last > 3 * 3600 else 2400.0
    while put_on + timedelta(seconds=at_s) < end and at_s < trace.stage_end_s[-1, member]:
        at = instant_after(put_on, at_s)
        stage = int(trace.at("stage", at_s)[member])
        kind = run.stages[min(stage, len(run.stages) - 1)].plan.kind
        core = float(trace.at("core_c", at_s)[member])
        if kind == "open":
            level = float(
                level_of_colour(trace.at("colour", at_s)[member : member + 1], run.draw.members["dark_at"][:1])[0]
            )
            word = colour_word(level + rng.normal(0.0, 0.1))
            looks.append(Look(at, item.label, None, "colour", level_of("colour", word), word))
        if kind in {"open", "wrapped"} and core > 60.0:
            looks.append(Look(at, item.label, None, "spot temperature", round(core + float(rng.normal(0, 1.5)), 1)))
        if kind == "wrapped":
            members = run.draw.members
            felt = float(trace.at("gelatin_core", at_s)[member] / members["tender_at"][member])
            word = word_for("probe feel", felt + rng.normal(0.0, 0.1))
            looks.append(Look(at, item.label, None, "probe feel", SCALES["probe feel"][word], word))
        at_s += 4800.0
    return looks
