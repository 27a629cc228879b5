"""The models that advise: published vectors over arrays, what was seen in trials, gaps, spread and words."""

from __future__ import annotations

import csv
import inspect
from math import exp, log
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.oracles import growth as oracle_growth

import pitreckon.safety.microbes.advice as advice_module
from pitreckon.errors import InputError
from pitreckon.safety.microbes.advice import forecast_advice, grown_log10, shown_log10
from pitreckon.safety.microbes.models import (
    LISTERIA,
    SALMONELLA_CHICKEN,
    SALMONELLA_MEAT,
    SALMONELLA_TURKEY,
    STAPHYLOCOCCUS_COME_UP,
    Killed,
    killed_in,
    perfringens_come_up,
    perfringens_cooling,
)
from pitreckon.safety.microbes.path import growth_log10, process_value, spans_of

TESTS = Path(__file__).parents[1]
HOUR_S = 3600.0


def rows(path: str) -> list[dict[str, str]]:
    lines = (TESTS / path).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def celsius(fahrenheit):
    return (np.asarray(fahrenheit) - 32.0) / 1.8


def lethality_log10(times, temps, model, between="straight"):
    """Powers of ten by a model, as the advice takes them."""
    spans = spans_of(times, temps)
    return process_value(spans, model.ref_c, model.z_k, from_c=model.from_c, between=between) / model.d_ref_s


# --- lethality -------------------------------------------------------------------------------------------------------

AMI = rows("physics/data/ami_worked_example.csv")


def test_the_published_worked_example_to_every_digit():
    """AMI process lethality: cumulative F to 0.001 min at 150 degF, z 10 degF; D 0.172 min."""
    times = np.array([60.0 * float(row["time_min"]) for row in AMI])
    temps = celsius([float(row["core_f"]) for row in AMI])
    published = 0
    for upto in range(2, len(AMI) + 1):
        spans = spans_of(times[:upto], temps[:upto])
        found = process_value(spans, celsius(150.0), 10.0 / 1.8, from_c=-40.0, between="trapezoid")[0] / 60.0
        row = AMI[upto - 1]
        assert found == pytest.approx(float(row["f_trapezoid_min"]), abs=1.6e-6)
        if row["f_published_min"]:
            assert f"{found:.3f}" == f"{float(row['f_published_min']):.3f}"
            published += 1
    assert published == 15


@pytest.mark.parametrize(
    "row", rows("physics/data/process_values.csv"), ids=lambda r: f"{r['kind']}-{r['t1_f']}-{r['tref_f']}"
)
def test_process_values_are_exact_from_two_readings(row):
    """Closed forms of a hold and of a straight rise (vectors worked out independently, printed to six digits)."""
    v = {name: float(text) for name, text in row.items() if name != "kind"}
    spans = spans_of([0.0, v["minutes"] * 60.0], celsius([v["t1_f"], v["t2_f"]]))
    found = process_value(spans, celsius(v["tref_f"]), v["z_f"] / 1.8, from_c=-40.0)[0] / 60.0
    assert found == pytest.approx(v["f_min"], rel=3e-6, abs=6e-7)
    assert found / v["d_min"] == pytest.approx(v["log_reduction"], abs=6e-5)


KILL_TIMES = rows("safety/data/kill_times.csv")


def test_killing_of_the_official_line():
    """112 min at 130 degF to 0 s at 158 degF are at least 6.5 powers of ten (FSIS-GD-2021-14, table 2)."""
    for temp_f, minutes in [(130, 112), (140, 12), (145, 4), (150, 67 / 60), (154, 27 / 60), (157, 14 / 60)]:
        found = lethality_log10([0.0, minutes * 60.0], celsius([temp_f, temp_f]), SALMONELLA_MEAT)[0]
        assert found >= 6.49


def test_listeria_is_not_said_to_die_faster_than_was_measured():
    """D of every published row from 60 to 70 degC; the model's is no shorter, to 1 % (sources with each row)."""
    measured = [
        (float(row["temp_c"]), float(row["d_min"]))
        for row in KILL_TIMES
        if row["organism"] == "L. monocytogenes" and 60.0 <= float(row["temp_c"]) <= 70.0
    ]
    assert len(measured) >= 10
    for temp_c, d_min in measured:
        model_min = LISTERIA.d_ref_s / 60.0 * 10.0 ** ((LISTERIA.ref_c - temp_c) / LISTERIA.z_k)
        assert model_min >= 0.985 * d_min, temp_c


@pytest.mark.parametrize(("model", "species"), [(SALMONELLA_CHICKEN, "chicken 12%"), (SALMONELLA_TURKEY, "turkey 12%")])
def test_salmonella_in_birds_is_as_the_table_implies(model, species):
    """D implied by the seven-log tables at 140 and 160 degF (FSIS-GD-2021-14, tables 3 and 4)."""
    found = [row for row in KILL_TIMES if row["product"].startswith(species)]
    assert len(found) == 2
    for row in found:
        d_min = model.d_ref_s / 60.0 * 10.0 ** ((model.ref_c - float(row["temp_c"])) / model.z_k)
        assert d_min == pytest.approx(float(row["d_min"]), rel=0.01)


def test_beef_with_published_z():
    """E. coli O157:H7: D at 125, 135, 145 degF and z 8.3 and 8.4 degF (Line et al. 1991): a hold of D at either end is
    one power of ten by the line through the two, whose z is the published one."""
    for fat, z_f in (("2.0", 8.3), ("30.5", 8.4)):
        found = [r for r in KILL_TIMES if r["product"] == f"ground beef {fat}% fat" and "Line" in r["source"]]
        assert [float(r["temp_f"]) for r in found] == [125.0, 135.0, 145.0]
        (cold_c, cold_min), _, (hot_c, hot_min) = ((float(r["temp_c"]), float(r["d_min"])) for r in found)
        z_k = (hot_c - cold_c) / np.log10(cold_min / hot_min)
        assert z_k * 1.8 == pytest.approx(z_f, abs=0.1)
        model = Killed("E. coli", cold_c, cold_min * 60.0, z_k, -40.0, "Line et al. 1991", "")
        for temp_c, minutes in ((cold_c, cold_min), (hot_c, hot_min)):
            assert lethality_log10([0.0, minutes * 60.0], [temp_c, temp_c], model)[0] == pytest.approx(1.0, rel=1e-6)


def test_cold_holds_are_not_credited_for_listeria():
    assert lethality_log10([0.0, 1e5], [59.9, 59.9], LISTERIA)[0] == 0.0
    assert lethality_log10([0.0, 1e5], [60.1, 60.1], LISTERIA)[0] > 100.0


def test_straight_lines_are_never_more_than_trapezoids():
    rng = np.random.default_rng(3)
    times, temps = np.arange(20) * 1800.0, rng.uniform(40.0, 80.0, (20, 50))
    low = lethality_log10(times, temps, SALMONELLA_MEAT)
    assert (low <= lethality_log10(times, temps, SALMONELLA_MEAT, "trapezoid") + 1e-9).all()


def test_a_slow_cook_is_capped_when_shown():
    """A 12 h rise from 40 to 203 degF scores more than 1e7 powers of ten."""
    found = lethality_log10([0.0, 12 * HOUR_S], celsius([40.0, 203.0]), SALMONELLA_MEAT)[0]
    assert found > 1e6
    assert shown_log10(found) == "more than 12"


# --- growth ----------------------------------------------------------------------------------------------------------

VECTORS = rows("physics/data/growth_perfringens.csv")


def sampled(profile: str, hours: float, every_s: float):
    """A vector's profile as samples, every corner among them."""
    t = np.unique(np.concatenate((np.arange(0.0, hours * HOUR_S, every_s), [hours * HOUR_S])))
    h = t / HOUR_S
    if profile.startswith("lin"):
        first, last = (float(x.rstrip("C")) for x in profile.split()[1].split("->"))
        return t, first + (last - first) * h / hours
    if profile.startswith("T="):
        return t, 54.4 * (27.0 / 54.4) ** (h / float(profile.split()[-2]))
    if profile.startswith("FSIS"):
        return t, celsius(np.interp(h, [0.0, 1.5, 6.5], [130.0, 80.0, 40.0]))
    if profile.startswith("Food Code"):
        return t, celsius(np.interp(h, [0.0, 2.0, 6.0], [135.0, 70.0, 41.0]))
    if profile.startswith("Newton"):
        k = log((celsius(135) - 2.0) / (celsius(70) - 2.0)) / 2.0
        return t, 2.0 + (celsius(135) - 2.0) * np.exp(-k * h)
    return t, np.full(t.size, float(profile.split()[1].rstrip("C")))


@pytest.mark.parametrize("row", VECTORS, ids=lambda row: f"{row['profile'][:24]}-{row['meat']}")
@pytest.mark.parametrize("every_s", [60.0, 900.0])
def test_vectors_of_perfringens(row, every_s):
    """30 vectors computed independently by Runge-Kutta steps; straight ones are exact at any spacing of the samples."""
    t, temp = sampled(row["profile"], float(row["hours"]), every_s)
    found = grown_log10(t, temp, perfringens_cooling(row["meat"]))[0]
    bent = every_s > 60.0 and row["profile"].startswith(("T=", "Newton"))
    assert found == pytest.approx(float(row["log10_growth"]), abs=0.02 if bent else 1.5e-3)


@pytest.mark.parametrize(("hours", "grown"), [(4.0, 1.40), (6.0, 2.10), (8.0, 2.80), (9.3, 3.25), (12.0, 4.19)])
def test_staphylococcus_over_a_straight_come_up(hours, grown):
    """10 to 54.4 degC, no lag: computed by hand from Medvedova et al. 2019; six hours are FSIS's two powers of ten.

    From two readings, which are all that a straight line needs.
    """
    found = grown_log10([0.0, hours * HOUR_S], [10.0, 54.4], STAPHYLOCOCCUS_COME_UP)[0]
    assert found == pytest.approx(grown, abs=6e-3)


def test_what_was_seen_in_trials_lies_below():
    """Max +1.1 +- 0.2 (beef), +1.6 +- 0.2 (turkey) in a 9.3 h rise (Shrestha et al. 2025)."""
    assert grown_log10([0.0, 9.3 * HOUR_S], [10.0, 54.4], STAPHYLOCOCCUS_COME_UP)[0] > 1.8


def test_cooling_that_was_tried_in_turkey():
    """48.9 to 26.7 degC in 1 h, to 12.8 in 5 h, to 4.4 in 5 h: less than 1 in nine formulations
    with 1.2 to 1.8 % salt; 2 h at first were too long without more acid and salt (Glass et al.). The model, for meat
    without salt, is at 1 and over.
    """
    t = np.array([0.0, 1.0, 6.0, 11.0]) * HOUR_S
    temps, model = [48.9, 26.7, 12.8, 4.4], perfringens_cooling("turkey")
    assert grown_log10(t, temps, model)[0] == pytest.approx(1.0, abs=0.05)
    assert grown_log10(t + np.array([0, 1, 1, 1]) * HOUR_S, temps, model)[0] > 1.5


def test_the_closed_form_over_arrays_is_the_law():
    drive = np.linspace(0.0, 60.0, 200)
    for readiness in (0.0105, 1.0, 50.0, np.inf):
        for room in (0.5, 6.0):
            law = [oracle_growth.growth_log10_baranyi_roberts(float(d), readiness, room) for d in drive]
            assert growth_log10(drive, readiness, room) == pytest.approx(law, abs=1e-12)


def test_come_up_and_cooling_are_told_apart():
    t = np.array([0.0, 6.0, 8.0, 14.0]) * HOUR_S
    temp = np.array([10.0, 54.4, 90.0, 4.0])
    assert grown_log10(t, temp, STAPHYLOCOCCUS_COME_UP)[0] == pytest.approx(2.10, abs=0.01)
    whole = grown_log10(t[2:], temp[2:], perfringens_cooling("pork"))[0]
    assert grown_log10(t, temp, perfringens_cooling("pork"))[0] == pytest.approx(whole, abs=1e-12)
    assert whole > 1.0


# --- properties ------------------------------------------------------------------------------------------------------

histories = st.lists(st.tuples(st.floats(60.0, 7200.0), st.floats(-5.0, 100.0)), min_size=2, max_size=12)


@given(histories, st.floats(0.0, 20.0), st.floats(1.0, 5.0), st.sampled_from(["beef", "chicken", "turkey"]))
def test_hotter_or_longer_never_lowers_lethality(history, hotter, longer, meat):
    t, temp = np.cumsum([s for s, _ in history]), np.array([c for _, c in history])
    assert killed_in(meat)
    for model in killed_in(meat):
        plain = lethality_log10(t, temp, model)[0]
        slack = 1e-9 * (1.0 + plain)
        assert lethality_log10(t, temp + hotter, model)[0] >= plain - slack
        assert lethality_log10(t * longer, temp, model)[0] >= plain - slack
        assert lethality_log10([*t, t[-1] + 600.0], [*temp, temp[-1]], model)[0] >= plain - slack


@given(histories, st.floats(0.05, 1.0), st.sampled_from(["beef", "chicken", "pork"]))
def test_the_same_path_faster_never_grows_more(history, factor, meat):
    t, temp = np.cumsum([s for s, _ in history]), np.array([c for _, c in history])
    for model in (perfringens_cooling(meat), perfringens_come_up(meat), STAPHYLOCOCCUS_COME_UP):
        assert grown_log10(t * factor, temp, model)[0] <= grown_log10(t, temp, model)[0] + 1e-12


@given(histories, st.data())
def test_a_lost_reading_never_kills_more_nor_grows_less(history, data):
    """Of any readings in between, the hottest kept: it tells the come-up from the cooling."""
    t, temp = np.cumsum([s for s, _ in history]), np.array([c for _, c in history])
    inside = [i for i in range(1, t.size - 1) if i != int(np.argmax(temp))]
    lost = temp.copy()
    lost[data.draw(st.lists(st.sampled_from(inside))) if inside else []] = np.nan
    assert lethality_log10(t, lost, SALMONELLA_MEAT)[0] <= lethality_log10(t, temp, SALMONELLA_MEAT)[0] + 1e-9
    for model in (perfringens_cooling("pork"), STAPHYLOCOCCUS_COME_UP):
        assert grown_log10(t, lost, model)[0] >= grown_log10(t, temp, model)[0] - 1e-9


# --- advice ----------------------------------------------------------------------------------------------------------


def ensemble(members: int = 64, cooling_h: float = 6.0):
    """Members that come up in 4 to 9 h, are held, and cool."""
    come_up = np.linspace(4.0, 9.0, members)
    t = np.linspace(0.0, 30.0, 361)
    temp = np.stack(
        [np.interp(t, [0.0, h, 14.0, 16.0, 16.0 + cooling_h], [4.0, 60.0, 93.0, 80.0, 5.0]) for h in come_up], axis=1
    )
    return t * HOUR_S, temp


def test_the_worst_of_the_spread_is_shown():
    t, middle = ensemble()
    said = forecast_advice(t, middle, middle, meat="pork", intact=False)
    staph = said.growth[0]
    assert staph.log10.p50 < staph.log10.p95_worst < staph.log10.worst
    slowest = grown_log10(t, middle[:, -1], STAPHYLOCOCCUS_COME_UP)[0]
    assert staph.log10.worst == pytest.approx(slowest)
    assert 0.0 < staph.chance_over < 1.0
    for kill in said.lethality:
        assert kill.log10.worst <= kill.log10.p95_worst <= kill.log10.p50
    text = " ".join(said.words)
    assert "more than 12" in text
    assert "in the worst member" in text
    assert "10 to 51 °C" in text  # what the model holds for
    assert "overrules no rule" in text
    assert "local code" in text


def test_intact_meat_is_watched_at_the_surface():
    t, middle = ensemble()
    surface = np.full_like(middle, 70.0)
    assert forecast_advice(t, middle, surface, meat="beef", intact=True).growth[0].log10.worst == 0.0
    assert forecast_advice(t, middle, surface, meat="beef", intact=False).growth[0].log10.worst > 1.0


def test_weights_count():
    t, middle = ensemble()
    only_slow = np.zeros(middle.shape[1])
    only_slow[-1] = 2.0
    staph = forecast_advice(t, middle, middle, meat="pork", intact=False, weights=only_slow).growth[0]
    assert staph.log10.p50 == staph.log10.worst
    assert staph.chance_over == 1.0


def test_slow_cooling_is_told():
    t, middle = ensemble(cooling_h=12.0)
    growth = forecast_advice(t, middle, middle, meat="pork", intact=True).growth
    assert max(each.chance_over for each in growth if each.model.when == "cooling") == 1.0


def test_gaps_and_missing_members_are_said():
    t, middle = ensemble()
    middle[100:110, 3] = np.nan
    middle[:, 5] = np.nan
    said = forecast_advice(t, middle, middle, meat="pork", intact=True)
    assert any("nothing is known" in note for note in said.notes)
    assert any("gaps" in note for note in said.notes)
    assert said.growth[2].log10.known == pytest.approx(63 / 64)
    nothing = forecast_advice(t, np.full_like(middle, np.nan), np.full_like(middle, np.nan), meat="pork", intact=True)
    assert np.isnan(nothing.growth[0].chance_over)
    assert "nothing is known" in nothing.words[0]


def test_far_apart_readings_are_said():
    t, middle = ensemble()
    said = forecast_advice(t[::12], middle[::12], middle[::12], meat="pork", intact=True)
    assert any("1 h apart" in note for note in said.notes), said.notes


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"meat": "tofu"}, "meat"),
        ({"time_s": [0.0, 2.0, 1.0]}, "time_s"),
        ({"time_s": [0.0, 1.0]}, "temp_c"),
        ({"coldest_c": [[1.0], [2.0], [np.inf]]}, "temp_c"),
        ({"surface_c": [[1.0, 2.0]] * 3}, "surface_c"),
        ({"weights": [-1.0]}, "weights"),
        ({"weights": [1.0, 1.0]}, "weights"),
    ],
)
def test_what_cannot_be_is_refused(change, field):
    good = {"time_s": [0.0, 1.0, 2.0], "coldest_c": [[1.0], [2.0], [3.0]], "surface_c": [[1.0], [2.0], [3.0]]}
    with pytest.raises(InputError) as found:
        forecast_advice(**{**good, "meat": "pork", "intact": True, **change})
    assert found.value.place.field == field
    assert found.value.remedy


def test_no_verdict_is_in_it():
    """It overrules no rule because it cannot say one: no outcome of the rules is known here."""
    source = inspect.getsource(advice_module)
    assert "safety.verdict" not in source
    assert "safety.judge" not in source


def test_many_members_are_reckoned_in_one_go():
    """512 members of 200 samples; each as it is alone."""
    rng = np.random.default_rng(1)
    t, temp = np.arange(200) * 300.0, np.cumsum(rng.normal(0.3, 1.0, (200, 512)), axis=0).clip(-5, 100)
    for model in (perfringens_cooling("pork"), STAPHYLOCOCCUS_COME_UP):
        found = grown_log10(t, temp, model)
        assert found.shape == (512,)
        assert found[[0, 77, 511]] == pytest.approx([grown_log10(t, temp[:, i], model)[0] for i in (0, 77, 511)])


def test_the_exponential_of_the_test_is_the_vectors():
    assert 54.4 * exp(-log(54.4 / 27.0)) == pytest.approx(27.0)
