"""The picture of a belief: nothing of it lies outside, no two words lie on each other, and it says itself in words."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from pitreckon.web.views.moved import APART, PER_LETTER, TALL, WIDTH, Mark, moved_picture

NUMBERS = st.floats(-60.0, 60.0)


@st.composite
def beliefs(draw: st.DrawFn) -> list[Mark]:
    spans = draw(st.lists(st.tuples(NUMBERS, st.floats(0.1, 30.0)), min_size=1, max_size=24))
    return [Mark(mid, mid - half, mid + half) for mid, half in spans]


@given(beliefs(), st.sampled_from(["gauge", "termómetro", "usual"]))
def test_all_of_it_lies_inside(marks: list[Mark], zero: str) -> None:
    text = moved_picture(marks, "{:+.0f} °F".format, said="how <it> moved", zero=zero, ends=("before", "2026-10-05"))
    svg = ET.fromstring(text)
    assert svg.attrib["aria-label"] == "how <it> moved"
    bars = [re.fullmatch(r"M([\d.]+) ([\d.-]+)V([\d.-]+)", e.attrib["d"]) for e in svg if e.get("class") == "may"]
    assert len(bars) == len(marks)
    for bar in bars:
        assert bar is not None
        x, low, high = map(float, bar.groups())
        assert 0.0 <= x <= WIDTH
        assert -0.1 <= high <= low <= TALL
    words = [e for e in svg if e.tag == "text"]
    for word in words:
        assert float(word.attrib["x"]) + PER_LETTER * len(word.text or "") <= WIDTH + 0.1
    value, usual = (next(e for e in words if e.get("class") == css) for css in ("value", "usual"))
    assert value.text == f"{marks[-1].mid:+.0f} °F"
    assert abs(float(value.attrib["y"]) - float(usual.attrib["y"])) >= APART - 0.2


def test_what_is_further_up_is_more() -> None:
    text = moved_picture([Mark(0.0, -9.0, 9.0), Mark(5.0, 2.0, 8.0)], str, said="", zero="0", ends=("", ""))
    first, last = (float(each) for each in re.findall(r'<circle[^>]* cy="([\d.]+)"', text))
    assert last < first
