"""Tables hold what the outlook says, and Parquet gives them back; pictures are drawn of what they say."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest
import xarray as xr
from matplotlib.figure import Figure

import pitreckon as pr
from pitreckon.library.drawing import band, section_of
from pitreckon.reckon.quantiles import weighted_quantile
from pitreckon.section.material import section_of as section_of_cut

pytestmark = pytest.mark.kernel

DAY = Path(__file__).parents[2] / "examples" / "harvest-table"
NOW = datetime(2026, 10, 17, 20, 50, tzinfo=UTC)


@pytest.fixture(scope="module")
def cook() -> pr.Cook:
    return pr.read_cook(DAY / "harvest-table.toml")


@pytest.fixture(scope="module")
def ledger(cook: pr.Cook) -> pr.Ledger:
    return pr.read_ledger(DAY / "day.csv", cook)


@pytest.fixture(scope="module")
def outlook(cook: pr.Cook, ledger: pr.Ledger) -> pr.Reckoned:
    return pr.reckon(cook, ledger, now=NOW, members=64)


@pytest.fixture(scope="module")
def wings() -> xr.Dataset:
    return pr.simulate("chicken-wing", "kettle", members=16, every_s=300.0)


def test_members_say_what_the_outlook_says(outlook: pr.Reckoned) -> None:
    """Marks, stages' ends and where it is now: weighted quantiles of the members are the outlook's own."""
    table = outlook.members
    assert len(table) == 3 * outlook.size
    for item in outlook.items:
        part = table.loc[item.label].loc[0]
        weights = part["weight"].to_numpy()
        assert weights.sum() == pytest.approx(1.0)
        columns = {f"{name}_s": spread for name, spread in item.marks.items()}
        columns |= {f"stage_{n}_end_s": stage.ends_s for n, stage in enumerate(item.stages, 1)}
        columns |= {"core_c": item.core_c, "lost": item.loss_fraction, "colour": item.colour, "gelatin": item.gelatin}
        for name, spread in columns.items():
            values = part[name].fillna(np.inf).to_numpy()
            for level, of in ((0.05, spread.p05), (0.5, spread.p50), (0.95, spread.p95)):
                assert weighted_quantile(values, weights, level) == of, (item.label, name)
            assert weights[np.isfinite(values)].sum() == pytest.approx(spread.reached)


def test_pieces_that_are_told_apart_are_apart(cook: pr.Cook, ledger: pr.Ledger) -> None:
    look = pr.Look(NOW, "racks", 2, "spot temperature", 88.0)
    table = pr.reckon(cook, pr.Ledger.of([*ledger.until(NOW).events, look]), members=16).members
    assert sorted(set(table.loc["racks"].index.get_level_values("piece"))) == [0, 2]
    assert table.loc["racks"]["weight"].groupby("piece").sum().to_numpy() == pytest.approx([1.0, 1.0])


def test_marks_and_stages_are_the_outlooks(outlook: pr.Reckoned) -> None:
    marks = pr.tables.marks(outlook).set_index(["item", "mark"])
    racks = outlook.item("racks")
    ready = marks.loc[("racks", "ready")]
    assert ready["p50_s"] == racks.marks["ready"].p50
    assert ready["p50_utc"].to_pydatetime() == racks.instant(racks.marks["ready"].p50)
    assert np.isnan(marks.loc[("butt", "glaze_set"), "p50_s"])
    assert marks.loc[("butt", "glaze_set"), "reached"] == 0.0
    assert pd.isna(marks.loc[("butt", "glaze_set"), "p50_utc"])
    stages = pr.tables.stages(outlook)
    assert stages["kind"].tolist() == [stage.kind for item in outlook.items for stage in item.stages]
    windows = pr.tables.windows(outlook)
    assert windows["act"].tolist() == [window.act for item in outlook.items for window in item.windows]
    whole = pr.tables.outlook(outlook).set_index("item")
    assert whole.loc["racks", "core_c_p50"] == racks.core_c.p50
    assert whole.loc["racks", "ready_by"] == racks.ready_by


def test_unknowns_are_standard_numbers_before_anything_was_seen(cook: pr.Cook) -> None:
    table = pr.tables.unknowns(pr.reckon(cook, members=128)).loc["butt"]
    numbers = table.drop(columns="weight").to_numpy()
    assert numbers.shape[1] > 30
    assert np.abs(numbers.mean(axis=0)).max() < 0.1
    assert np.abs(numbers.std(axis=0) - 1.0).max() < 0.1


@pytest.mark.parametrize("name", ["outlook", "marks", "stages", "windows", "members", "unknowns"])
def test_parquet_gives_a_table_back(name: str, outlook: pr.Reckoned, tmp_path: Path) -> None:
    table = getattr(pr.tables, name)(outlook)
    assert len(table)
    table.to_parquet(tmp_path / "table.parquet")
    pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "table.parquet"), table)
    fields = {field.name: str(field.type) for field in pq.read_schema(tmp_path / "table.parquet")}
    for column in table.columns:
        if column.endswith("_utc"):
            assert fields[column] == "timestamp[us, tz=UTC]", column
        elif column.endswith(("_s", "_c")):
            assert fields[column] == "double", column


def test_a_table_without_rows_has_its_columns(outlook: pr.Reckoned, cook: pr.Cook, ledger: pr.Ledger) -> None:
    over = pr.reckon(cook, ledger, members=8)
    assert pr.tables.windows(over).columns.tolist() == pr.tables.windows(outlook).columns.tolist()
    assert pr.tables.ledger(pr.Ledger()).columns.tolist() == pr.tables.ledger(ledger).columns.tolist()


def test_a_ledger_is_a_table_and_a_ledger_again(ledger: pr.Ledger, tmp_path: Path) -> None:
    more = [
        pr.Reading(NOW, "probe", "racks", 2, float("nan"), "a fault code was set aside", 9),
        pr.Look(NOW, "racks", None, "colour", 0.86, "0.86 ± 0.07", note='by the barn, "dark"', by="the younger one"),
        pr.Act(NOW, "barn pit", "lid open", duration_s=90.0),
        pr.Act(NOW, "barn pit", "fed the fire", fuel_kg=1.1),
    ]
    whole = pr.Ledger.of([*ledger.events, *more])
    table = pr.tables.ledger(whole)
    table.to_parquet(tmp_path / "ledger.parquet")
    for each in (table, pd.read_parquet(tmp_path / "ledger.parquet")):
        again = pr.tables.ledger_of(each)
        assert str(again) == str(whole), "nan is not equal to itself"
        assert [look.by for look in again.all_looks] == [look.by for look in whole.all_looks]
    assert pr.tables.ledger_of(pr.tables.ledger(ledger)) == ledger


def test_a_table_that_is_no_ledger_is_told_its_row(ledger: pr.Ledger) -> None:
    table = pr.tables.ledger(ledger)
    for column, value, words in (
        ("entry", "guess", "row 3 of the table is no entry of a ledger: 'guess'"),
        ("on", None, "row 3 of the table lacks 'on'"),
        ("at_utc", pd.NaT, "row 3 of the table has no time"),
    ):
        wrong = table.copy()
        wrong.loc[3, column] = value
        with pytest.raises(pr.InputError, match=words):
            pr.tables.ledger_of(wrong)
    with pytest.raises(pr.InputError, match="a Cook is no outlook"):
        pr.tables.marks(pr.read_cook(DAY / "harvest-table.toml"))  # type: ignore[arg-type]


def test_verdicts_are_the_judges(outlook: pr.Reckoned) -> None:
    safety = pr.judge(outlook, {"butt": "intact", "racks": "intact", "thighs": "intact"})
    table = pr.tables.verdicts(safety)
    ahead = table[table["when"] == "ahead"]
    assert len(ahead) == sum(len(piece.verdicts) for piece in safety.ahead)
    assert ahead["verdict"].tolist() == [each.verdict for piece in safety.ahead for each in piece.verdicts]
    assert ahead["source"].str.len().min() > 3


def test_marks_of_a_simulation_are_a_row_a_member(wings: xr.Dataset) -> None:
    table = pr.tables.marks(wings)
    assert table.shape == (16, 6)
    np.testing.assert_array_equal(table["core_done_s"].to_numpy(), wings["mark_time"].sel(mark="core_done").to_numpy())


# --- pictures


def drawn(figure: Figure) -> int:
    """Bytes of a picture that is no empty page."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=60)
    return out.tell()


def words(figure: Figure) -> str:
    out = io.StringIO()
    with __import__("matplotlib").rc_context({"svg.fonttype": "none"}):
        figure.savefig(out, format="svg")
    return out.getvalue()


@pytest.mark.parametrize(
    ("cut", "pit"),
    [("st-louis-ribs", "kettle"), ("boston-butt", "kettle"), ("whole-chicken", "kettle"), ("chicken-wing", "kettle"),
     ("brisket", "offset")],
)  # fmt: skip
def test_a_field_of_every_shape_is_drawn(cut: str, pit: str, tmp_path: Path) -> None:
    arrays = pr.simulate(cut, pit, members=8, at_s=[0.0, 1800.0], until_s=1800.0)
    arrays.to_netcdf(tmp_path / "run.nc", engine="scipy")
    with xr.open_dataset(tmp_path / "run.nc", engine="scipy") as back:
        text = words(pr.plots.field(back, "temperature", 1800.0, degrees="F", member=3))
        assert "30 min" in text
        assert "°F" in text
        found, meant = section_of(back), section_of_cut(pr.catalog.cut(cut))
        for each in ("shape", "nx", "ny", "core", "mirrored"):
            assert getattr(found, each) == getattr(meant, each)
        for each in ("x_m", "y_m", "bone", "volume", "outer_cell"):
            np.testing.assert_array_equal(getattr(found, each), getattr(meant, each))


def test_every_field_is_drawn_at_many_times(wings: xr.Dataset) -> None:
    for name in ("temperature", "water", "collagen"):
        figure = pr.plots.field(wings, name, [0.0, 300.0, 600.0, 900.0])
        assert [axes.get_title() for axes in figure.axes][:4] == ["0 min", "5 min", "10 min", "15 min"]
    assert drawn(figure) > 4000


def test_cores_windows_and_posteriors_are_drawn(outlook: pr.Reckoned, wings: xr.Dataset) -> None:
    assert "hours since put-on" in words(pr.plots.cores(wings))
    assert drawn(pr.plots.cores(outlook, "racks", degrees="F")) > 4000
    assert "Chicken wing, whole, simulated: line: the middle member; band: 5 to 95 % of them" in words(
        pr.plots.cores(wings)
    )
    text = words(pr.plots.windows(outlook))
    for each in (
        "a stage ends, it is ready: 5, 50, 95 %",
        "too late from",
        "racks: wrapped ends",
        "thighs: ready",
        "too late to",
        "serve",
        "America/Chicago",
    ):
        assert each in text
    posterior = pr.plots.posteriors(outlook, "racks", most=3)
    assert len([axes for axes in posterior.axes if axes.get_title()]) == 3
    assert all(f">{each}</text>" in words(posterior) for each in ("racks", "as told", "before anything was seen"))


def test_a_flat_section_has_room_for_its_words(wings: xr.Dataset) -> None:
    """The time over a single wide section was cut off."""
    for arrays in (wings, pr.simulate("brisket flat", "kettle", members=2, at_s=[1800.0], until_s=1800.0)):
        figure = pr.plots.field(arrays, "temperature")
        figure.canvas.draw()
        whole = figure.bbox
        for axes in figure.axes:
            box = axes.get_tightbbox()
            assert box is not None
            assert whole.y0 - 1.0 <= box.y0 <= box.y1 <= whole.y1 + 1.0
        assert "the middle of all members" in words(figure)


def test_a_band_is_where_the_members_are() -> None:
    values = np.array([np.arange(101.0), np.where(np.arange(101) < 60, np.arange(101.0), np.nan), np.full(101, np.nan)])
    low, middle, high = band(values)
    assert (low[0], middle[0], high[0]) == pytest.approx((4.55, 50.0, 95.45), abs=0.2)
    assert middle[1] == pytest.approx(29.5)
    assert np.isnan([low[2], middle[2], high[2]]).all()


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda o, w: pr.plots.field(w, "heat"), "'heat' is no field"),
        (lambda o, w: pr.plots.field(w, at_s=1e6), "no member cooks at 1e\\+06 s"),
        (lambda o, w: pr.plots.field(w, member=99), "no member 99"),
        (lambda o, w: pr.plots.field(o), "a Reckoned is no simulation"),
        (lambda o, w: pr.plots.field(w, degrees="K"), "degrees is 'K'"),
        (lambda o, w: pr.plots.cores(o), "not just one item"),
        (lambda o, w: pr.plots.cores(o, "ribs"), "no item 'ribs'"),
        (lambda o, w: pr.plots.windows(w), "a Dataset is no outlook"),
        (lambda o, w: pr.plots.posteriors(o, "racks", most=0), "0 unknowns"),
    ],
)  # fmt: skip
def test_a_wrong_picture_is_one_clear_error(call, says: str, outlook: pr.Reckoned, wings: xr.Dataset) -> None:
    with pytest.raises(pr.InputError, match=says):
        call(outlook, wings)


@pytest.mark.parametrize(("gone", "call"), [
    ("pandas", lambda o: o.members), ("pandas", lambda o: pr.tables.ledger(pr.Ledger())),
    ("matplotlib", pr.plots.windows), ("xarray", lambda o: pr.simulate("chicken-wing", "kettle")),
])  # fmt: skip
def test_a_missing_extra_is_one_line(gone: str, call, outlook: pr.Reckoned, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (gone, f"{gone}.figure"):
        monkeypatch.setitem(__import__("sys").modules, name, None)
    with pytest.raises(pr.MissingExtraError, match=r"pip install"):
        call(outlook)
