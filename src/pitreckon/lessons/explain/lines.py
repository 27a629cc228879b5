"""The captions of a story, for somebody who has never cooked so: each a message, for readers of any language."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan
from typing import Final

from pitreckon.lessons.explain.otherwise import Otherwise
from pitreckon.lessons.explain.story import Story
from pitreckon.lessons.lasttime.spread import Spread
from pitreckon.text.said import difference, joined, said, temperature
from pitreckon.units import format_about, format_difference, format_percent

STEP_MIN: Final = 5.0
LITTLE_MIN: Final = 2.5
"""Less than this is nothing to speak of."""
LITTLE_LOSS, LITTLE_COLOUR = 0.01, 0.05


def opening(story: Story) -> str:
    """What was cooked, for how long and how hot."""
    done = story.done
    return said(
        "{n} × {cut}, on the pit for {span} at about {pit}.",
        n=done.item.pieces,
        cut=said(done.cut.name),
        span=format_about(story.off_s),
        pit=temperature(done.set_c),
    )


def how_to_read() -> Iterator[str]:
    """Line and band, the numbers and the clock."""
    yield said(
        "Nobody can look into the meat while it cooks. So the cook was simulated many times, each time a little "
        "otherwise, and those runs were kept that fit what was measured and seen."
    )
    yield said(
        "The line is the middle one of them. In the grey band are nine in ten: where it is wide, little is known. The "
        "numbers in circles are what was done and seen; they are told one by one below."
    )


def heat_lines(story: Story) -> Iterator[str]:
    """Of the middle, the outside and the air."""
    off = story.core_c.at(story.row(story.off_s))
    yield said(
        "Heat comes in through the outside and has to go all the way to the middle. So the outside is hot first, and "
        "the middle follows: when it came off the pit, the middle was at {mid} ({low} to {high}).",
        **degrees_of(off),
    )
    yield from _slow_lines(story)
    if any(look.kind == "spot temperature" for _, look in story.run.looks):
        yield said("The rings are temperatures that were taken by hand.")
    if story.run.core:
        yield said(
            "The short strokes are what the probe read that stayed in the meat. Its tip is seldom right in the middle, "
            "and the simulation reckons with that."
        )


def _slow_lines(story: Story) -> Iterator[str]:
    slow = story.slow
    if slow is None:
        return
    far = difference(max(slow.rise_k, 0.0), format_difference(max(slow.rise_k, 0.0)).lstrip("+"))
    if slow.rise_k < 0.5:
        far = said("hardly at all")
    fields = {"at": format_about(slow.at_s), "span": format_about(slow.lasts_s), "far": far}
    stage = next((s.kind for s in story.stretches if s.from_s <= slow.at_s < s.until_s), "")
    if stage == "wrapped":
        yield said(
            "It rose least about {at} after it went on: {far} in {span}. By then it was wrapped and nearly as hot as "
            "water can be: meat that is wet gets no hotter than boiling water. The time was not lost, for that is "
            "when it gets tender.",
            **fields,
        )
    else:
        yield said(
            "It rose least about {at} after it went on: {far} in {span}. Cooks call that the stall. Water dries off "
            "the outside, and that cools the meat as sweat cools skin: nearly as much heat goes as comes.",
            **fields,
        )


def water_lines(story: Story) -> Iterator[str]:
    """What went, and how damp the outside was."""
    yield said(
        "Hot meat lets go of water. At the end {mid} of the raw weight had gone as water ({low} to {high}).",
        **shares_of(story.lost.at(-1)),
    )
    if story.dripped >= LITTLE_LOSS:
        yield said(
            "{dry} of the weight dried off as vapour, and {drip} dripped.",
            dry=format_percent(max(story.evaporated, 0.0)),
            drip=format_percent(story.dripped),
        )
    wrap = next((s for s in story.stretches if s.kind == "wrapped"), None)
    if wrap is not None and wrap.from_s > 0.0:
        yield said(
            "The outside dries in the smoke; that is how a crust comes. Once it is wrapped, vapour cannot get away: "
            "the outside turns wet again and the crust softens, but the meat heats faster and loses less."
        )
    else:
        yield said("The outside dries in the smoke; that is how a crust comes. A wet outside takes no dark colour.")


def colour_lines(story: Story) -> Iterator[str]:
    """Of the colour, and of what makes tender."""
    yield said("The colour comes once the outside is dry and hot. The rings are colours that somebody saw.")
    off = story.turned.at(story.row(story.off_s))
    if story.done.cut.texture.done_by == "core":
        yield said(
            "This meat needs no hours to get tender: how hot its middle is says when it is done. Of its tough tissue, "
            "the collagen, {mid} had turned soft when it came off ({low} to {high}).",
            **shares_of(off),
        )
        return
    yield said(
        "Tough meat is held together by collagen. Heat and time turn it into gelatin, which is soft: that makes it "
        "tender, and no clock tells when. In the middle {mid} had turned when it came off ({low} to {high}).",
        **shares_of(off),
    )


def section_lines(story: Story) -> Iterator[str]:
    """Of the maps."""
    yield said(
        "The piece cut through, at {n} moments: on the left how hot it is, on the right how much of the tough tissue "
        "has turned soft. Every line joins places that are alike; the number on it says how hot, or how much.",
        n=len(story.insides),
    )
    yield said("What is drawn is the middle of the simulated pieces, in every place.")
    if story.section.shape in {"block", "drum"}:
        yield said("The shape is the model's: straight sides and corners, where a real piece is round.")
    if story.section.shape == "bird":
        yield said("It is cut along its length, and the shape is the model's; the white in the middle is its cavity.")
    if story.section.shape == "rack":
        yield said("The white ovals are bones.")


def moment_words(story: Story, n: int) -> str:
    """The heading of a moment: what, and when."""
    moment = story.insides[n].moment
    if moment.at_s < 60.0:
        return moment.name
    return said("{what}, after {span}", what=moment.name, span=format_about(moment.at_s))


def moment_line(story: Story, n: int) -> str:
    """A moment in numbers."""
    row = story.row(story.insides[n].moment.at_s)
    return said(
        "{moment}: the middle at {core}, the outside at {face}; {lost} of the weight gone as water; {turned} of the "
        "tough tissue in the middle turned soft.",
        moment=moment_words(story, n),
        core=_degrees(story.core_c.at(row)),
        face=_degrees(story.surface_c.at(row)),
        lost=_share(story.lost.at(row)),
        turned=_share(story.turned.at(row)),
    )


def otherwise_opening() -> Iterator[str]:
    """How the other cooks are made."""
    yield said(
        "The same simulated pieces were cooked again, with one thing otherwise each; all else was judged by the same "
        "looks. The mark is the middle one of them, and the bar holds nine in ten."
    )


def otherwise_line(way: Otherwise) -> str:
    """One change and what it would have done."""
    if isnan(way.minutes.mid):
        return said("{what}: too few of the simulated pieces got there to tell.", what=way.words)
    parts = [minutes_words(way.minutes)]
    if not isnan(way.loss.mid) and abs(way.loss.mid) >= LITTLE_LOSS:
        share = format_percent(abs(way.loss.mid))
        parts.append(
            said("{share} of the weight more lost as water", share=share)
            if way.loss.mid > 0.0
            else said("{share} of the weight less lost as water", share=share)
        )
    if not isnan(way.colour.mid) and abs(way.colour.mid) >= LITTLE_COLOUR:
        parts.append(said("darker outside") if way.colour.mid > 0.0 else said("paler outside"))
    return said("{what}: {effects}.", what=way.words, effects=joined("; ", parts))


def minutes_words(minutes: Spread) -> str:
    """``about 25 min sooner (15 to 35 min)``"""
    if abs(minutes.mid) < LITTLE_MIN:
        return said("ready at about the same time")
    low, high = sorted((abs(minutes.low), abs(minutes.high)))
    if minutes.low < 0.0 < minutes.high:
        low = 0.0
    fields = {"far": format_about(60.0 * abs(minutes.mid)), "low": _step(low), "high": _step(high)}
    if minutes.mid < 0.0:
        return said("about {far} sooner ({low} to {high} min)", **fields)
    return said("about {far} later ({low} to {high} min)", **fields)


def done_and_seen(story: Story) -> list[tuple[float, str, str]]:
    """What was done and what was seen, in order: when [s since put-on], what, and what of it."""
    mine, zero = story.done.item.label, story.done.put_on_utc.timestamp()
    out: list[tuple[float, str, str]] = []
    for act in story.acts:
        if act.on == mine or act.act in {"fed the fire", "set pit"}:
            at_s = act.at_utc.timestamp() - zero
            detail = said(act.detail) if act.detail else ""
            out.append((at_s, said(act.act), detail))
    for at_s, look in story.run.looks:
        value = temperature(look.value) if look.kind == "spot temperature" else said(look.text)
        piece = said("piece {n}", n=look.piece) if look.piece and story.done.item.pieces > 1 else ""
        out.append((at_s, said(look.kind), joined(", ", [value, piece]) if piece else value))
    return sorted((each for each in out if -60.0 <= each[0] <= story.end_s + 60.0), key=lambda each: each[0])


def whose(story: Story) -> Iterator[str]:
    """Which piece it is told of, where there are several."""
    if story.piece is not None and story.done.item.pieces > 1:
        yield said("Told of piece {n} of {of}.", n=story.piece, of=story.done.item.pieces)


def _step(minutes: float) -> int:
    return int(STEP_MIN * round(minutes / STEP_MIN))


def degrees_of(spread: Spread) -> dict[str, str]:
    """Fields of a message."""
    return {"low": temperature(spread.low), "mid": temperature(spread.mid), "high": temperature(spread.high)}


def shares_of(spread: Spread) -> dict[str, str]:
    """Fields of a message."""
    return {key: format_percent(max(value, 0.0)) for key, value in _of(spread).items()}


def _of(spread: Spread) -> dict[str, float]:
    return {"low": spread.low, "mid": spread.mid, "high": spread.high}


def _degrees(spread: Spread) -> str:
    if spread.high - spread.low < 1.0:
        return temperature(spread.mid)
    return said("{mid} ({low} to {high})", **degrees_of(spread))


def _share(spread: Spread) -> str:
    if spread.high - spread.low < LITTLE_LOSS:
        return format_percent(max(spread.mid, 0.0))
    return said("{mid} ({low} to {high})", **shares_of(spread))
