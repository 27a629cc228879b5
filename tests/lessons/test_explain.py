"""The story of a finished cook: its members, the piece inside, what if otherwise, its captions and pictures."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from pitreckon import catalog
from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError
from pitreckon.ledger.log.read import read_log
from pitreckon.lessons.explain.story import Band, Story, story_of
from pitreckon.section import material, shapes
from pitreckon.sheets.documents.story import story_sheet
from pitreckon.sheets.model import Picture, Sheet
from pitreckon.sheets.pictures.canvas import PAPER
from pitreckon.sheets.pictures.curves import _apart
from pitreckon.sheets.pictures.sections import drawn, outline
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.text import text_of

EXAMPLES = Path(__file__).parents[2] / "examples"
ZONE = "America/Denver"


@pytest.fixture(scope="module")
def racks() -> Story:
    folder = EXAMPLES / "sunday-racks"
    cook = read_cook(folder / "sunday-racks.toml")
    return story_of(cook, read_log(folder / "day.csv", cook), None)


@pytest.fixture(scope="module")
def butt(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """The butt of the examples, which its log leaves in its paper, with a morning that is made up here."""
    folder = EXAMPLES / "overnight-butt"
    cook = read_cook(folder / "overnight-butt.toml")
    log = tmp_path_factory.mktemp("butt") / "log.csv"
    morning = (
        "08:30,reading,butt,1,probe,182 F,\n10:20,reading,butt,1,probe,198 F,\n"
        "11:05,look,butt,1,probe feel,slides in,\n11:10,act,butt,,took off,,\n12:30,act,butt,,served,,\n"
    )
    log.write_text((folder / "night.csv").read_text(encoding="utf-8") + morning, encoding="utf-8")
    return story_of(cook, read_log(log, cook), None)


def pictures(sheet: Sheet) -> list[Picture]:
    return [block for block in sheet.blocks if isinstance(block, Picture)]


@pytest.mark.kernel
@pytest.mark.parametrize("name", ["racks", "butt"])
def test_the_piece_inside_is_what_the_kernel_recorded(name: str, request: pytest.FixtureRequest) -> None:
    """Cells are read from kept members by heat over heat capacity; the kernel records the core by itself."""
    story: Story = request.getfixturevalue(name)
    times = [each.moment.at_s for each in story.insides]
    assert len(times) == 5
    assert times == sorted(times)
    assert times[0] == 0.0
    for each in story.insides:
        at, core = each.moment.at_s, story.section.core
        assert each.temp_c[core] == pytest.approx(np.interp(at, story.time_s, story.core_c.mid), abs=1.0)
        assert each.turned[core] == pytest.approx(np.interp(at, story.time_s, story.turned.mid), abs=0.02)
        assert np.nanmin(each.turned) >= 0.0
        assert np.nanmax(each.turned) <= 1.0
    bands = (story.core_c, story.surface_c, story.lost, story.damp, story.colour, story.turned)
    assert all((b.low <= b.mid + 1e-9).all() and (b.mid <= b.high + 1e-9).all() for b in bands if isinstance(b, Band))


@pytest.mark.kernel
def test_a_thick_piece_is_hot_outside_first_and_stalls(butt: Story) -> None:
    """A stall on the way to about 170 °F and more than a quarter lost: common practice, no source."""
    before = butt.insides[1]
    assert str(before.moment.name) == "just before the wrap"
    assert before.temp_c[butt.section.outer_cell].mean() > before.temp_c[butt.section.core] + 3.0
    assert butt.slow is not None
    assert butt.slow.rise_k < 6.0
    assert 60.0 < butt.core_c.mid[butt.row(butt.slow.at_s)] < 85.0
    assert 0.25 < butt.lost.mid[-1] < 0.5
    words = text_of(story_sheet(butt, Reader("America/Chicago"), drawn=False), width=400)
    assert "Cooks call that the stall." in words


@pytest.mark.kernel
def test_hotter_thinner_and_wrapped_sooner_are_sooner(racks: Story, butt: Story) -> None:
    """The sense of all three is common practice, no source."""
    for story in (racks, butt):
        ways = {each.key: each for each in story.otherwise}
        assert set(ways) == {"wrap", "hotter", "thinner"}
        assert all(each.minutes.low <= each.minutes.mid <= each.minutes.high < 0.0 for each in ways.values())
        assert ways["wrap"].loss.mid < 0.0
        assert ways["hotter"].loss.mid > 0.0
        assert ways["hotter"].minutes.mid > -0.5 * story.off_s / 60.0


@pytest.mark.kernel
def test_the_sheet_is_in_its_readers_degrees(racks: Story) -> None:
    words = text_of(story_sheet(racks, Reader(ZONE, "C", "kg"), drawn=False))
    assert "at about 131 °C" in words
    assert "the pit 17 °C hotter, at 148 °C" in words.lower().replace("°c", "°C")
    assert "°F" not in words
    words = text_of(story_sheet(racks, Reader(ZONE), drawn=False), width=200)
    assert "3 × Back ribs, on the pit for 4 h 10 min at about 268 °F." in words
    assert "Told of piece 1 of 3." in words
    assert "no promise of safety" in words


@pytest.mark.kernel
def test_pictures_fit_into_any_page(racks: Story) -> None:
    """A content policy forbids styles on elements; no name comes twice; the same cook draws the same bytes."""
    pytest.importorskip("matplotlib")
    sheet = story_sheet(racks, Reader(ZONE, "C", "kg"))
    made = pictures(sheet)
    assert len(made) == 7  # heat, water, colour, five moments in three, otherwise
    whole = "".join(each.svg for each in made)
    assert "style=" not in whole
    assert "<style" not in whole
    assert "http" not in whole.replace('xmlns="http://www.w3.org/2000/svg"', "")
    names = re.findall(r'\bid="([^"]+)"', whole)
    assert len(names) == len(set(names))
    assert set(re.findall(r"(?:url\(|href=\")#([^)\"]+)", whole)) <= set(names)
    for each in made:
        root = ET.fromstring(each.svg)
        assert root.get("viewBox", "").startswith("0 0 360 ")
        assert root.get("aria-label") == each.said
    text = " ".join("".join(ET.fromstring(each.svg).itertext()) for each in made)
    for word in ("in the smoke", "foil", "mahogany", "outside", "middle", "95°", "2 cm", "sooner"):
        assert word in text, word
    assert [each.svg for each in pictures(story_sheet(racks, Reader(ZONE, "C", "kg")))] == [each.svg for each in made]


def test_what_is_not_off_the_pit_has_no_story() -> None:
    folder = EXAMPLES / "overnight-butt"
    cook = read_cook(folder / "overnight-butt.toml")
    with pytest.raises(InputError, match="came off the pit"):
        story_of(cook, read_log(folder / "night.csv", cook), None)


@pytest.mark.parametrize(
    "section",
    [
        shapes.slab(0.03),
        shapes.ball(0.1),
        shapes.block(0.08, 0.2),
        shapes.drum(0.1, 0.16),
        shapes.rack(0.04, 0.03, 0.006, 0.004, 0.012),
        shapes.bird(0.25, 0.16, 0.07),
    ],
    ids=lambda section: section.shape,
)
def test_every_shape_is_drawn_whole(section: shapes.Section) -> None:
    """The field and its places have one shape, and a quarter is mirrored to the full width and height."""
    field = np.arange(section.cells, dtype=np.float64)
    x, y, shown = drawn(section, field, 1.0)
    assert shown.shape == (x.shape if x.ndim == 2 else (y.size, x.size))
    if section.shape in {"block", "drum"}:
        assert np.ptp(x) == pytest.approx(2.0 * section.x_m[-1])
        assert np.ptp(y) == pytest.approx(2.0 * section.y_m[-1])
        assert (shown == shown[::-1, ::-1]).all()
        assert shown[y.size // 2, x.size // 2] == field[0]
    if section.shape == "bird":
        assert np.isnan(shown[y.size // 2]).all()
        assert np.nanmax(shown) == field[-1]


def test_circles_keep_apart_and_inside() -> None:
    places = _apart([0.0, 1.0, 1.0, 50.0, 99.0, 100.0], 100.0)
    assert places == sorted(places)
    assert min(np.diff(places)) > 6.0
    assert places[-1] == 100.0
    assert places[0] >= 0.0


def test_bones_lie_over_the_map() -> None:
    """A map drawn first, as dark as ink: where a bone is, the picture is as white as paper."""
    figure = pytest.importorskip("matplotlib.figure").Figure(figsize=(3, 2), dpi=60)
    axes = figure.subplots()
    section = material.section_of(catalog.cut("back-ribs"))
    x, y, _ = drawn(section, np.zeros(section.cells), 1.0)
    axes.contourf(x, y, np.zeros((y.size, x.size)), levels=[-1.0, 1.0], colors=["#000000"])
    outline(axes, section, 1.0)
    figure.canvas = pytest.importorskip("matplotlib.backends.backend_agg").FigureCanvasAgg(figure)
    figure.canvas.draw()
    picture = np.asarray(figure.canvas.buffer_rgba())
    at = np.argmax(section.bone)
    row, column = axes.transData.transform((section.x_m[at // section.ny], section.y_m[at % section.ny]))[::-1]
    there = picture[picture.shape[0] - 1 - int(row), int(column) + 2, :3]
    assert tuple(there) == tuple(int(PAPER[n : n + 2], 16) for n in (1, 3, 5))
