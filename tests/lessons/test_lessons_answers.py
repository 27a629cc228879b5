"""Answers to a card: its code, the text of an answer, what is thrown out, and what the rest teaches."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import beta
from validation.readers.answers import README, RESULT
from validation.readers.answers import text_of as text_of_trials
from validation.readers.changed import RESULT as CHANGED
from validation.readers.changed import text_of as text_of_changed

from pitreckon.errors import InputError
from pitreckon.lessons.answers.again import keeping_pace
from pitreckon.lessons.answers.answer import FAULTS, HEAD, Answer, answer_of, blocks_of, text_of
from pitreckon.lessons.answers.averaging import FreeShare, Range, belief, foretold
from pitreckon.lessons.answers.calling import LEAST, MOST, Plates
from pitreckon.lessons.answers.code import SIGNS, card_part, check_sign, code_of, parse_code
from pitreckon.lessons.answers.folder import MOST_ANSWERS, MOST_BYTES, take_in
from pitreckon.lessons.answers.kept import KeptCard, card_from, coded, document_of
from pitreckon.lessons.answers.learn import cook_for, learn, usual_of
from pitreckon.lessons.answers.levels import (
    CLOCK_DRAWN,
    COUNT,
    LATE_DRAWN,
    LEFT_OVER,
    MIDDLES,
    SD,
    STRICT,
    WIDER,
    Pool,
    Told,
    learn_levels,
)
from pitreckon.lessons.answers.members import as_dealt
from pitreckon.lessons.answers.outcome import outcome_of
from pitreckon.lessons.card.cooked import NOT_KEPT
from pitreckon.lessons.marks import RAW

EXAMPLE = Path(__file__).parents[2] / "examples" / "sunday-racks" / "answers"


def card() -> KeptCard:
    return card_from(json.loads((EXAMPLE / "card.json").read_text("utf-8")), "card.json")


def answer(**changed: object) -> Answer:
    base = Answer(card().code, "kettle", 132.0, 200.0, "usual", (8400.0, 13_000.0, 13_920.0), (), "a fine day")
    return replace(base, **changed)  # type: ignore[arg-type]


def test_one_wrong_character_and_two_that_changed_places_are_found() -> None:
    code = code_of("K7QM", {"what": "it says"}).replace("-", "")
    assert parse_code(f" {code[:4].lower()} – {code[4:].lower()}") == f"{code[:4]}-{code[4:]}"
    wrong = [code[:n] + other + code[n + 1 :] for n in range(8) for other in SIGNS if other != code[n]]
    for a, b in itertools.combinations(range(8), 2):
        swapped = list(code)
        swapped[a], swapped[b] = swapped[b], swapped[a]
        wrong += ["".join(swapped)] if code[a] != code[b] else []
    assert len(wrong) > 8 * 30
    for each in wrong:
        with pytest.raises(InputError, match="one of its characters is wrong"):
            parse_code(each)
    for each, words in (("K7QM-3FTO", "is never in one"), ("K7QM", "has 4 characters"), ("", "has 0 characters")):
        with pytest.raises(InputError, match=words):
            parse_code(each)


@pytest.mark.parametrize("isbn", ["0306406152", "0131103628", "316148410X"])
def test_the_check_is_that_of_isbn_10(isbn: str) -> None:
    """ISO 2108's older form; the numbers from memory: a worked example and two books."""
    assert check_sign([int(sign) for sign in isbn[:-1]], 11) == "0123456789X".index(isbn[-1])


def test_a_code_stands_for_what_the_card_says() -> None:
    before = card()
    assert coded(before, card_part(before.code)).code == before.code
    assert coded(replace(before, title="Ribs of a rainy day", promised=0.1), card_part(before.code)).code == before.code
    hotter = replace(before, script=replace(before.script, set_c=before.script.set_c + 2.8))
    other = coded(hotter, card_part(before.code))
    assert other.code != before.code
    assert card_part(other.code) == card_part(before.code)
    document = json.loads(json.dumps(document_of(before)))
    assert document_of(card_from(document, "x")) == document
    for changed in ({"set_c": 120.0}, {"lines": document["lines"][:-1]}, {"code": "2222-2222"}):
        with pytest.raises(InputError):
            card_from({**document, **changed}, "x")
    for bad in ({"form": "another"}, {"lines": []}, {"promised": 7}, {"extra": 1}, {"set_c": float("nan")}):
        with pytest.raises(InputError, match="unchanged"):
            card_from({**document, **bad}, "x")


@pytest.mark.parametrize("scale", ["F", "C"])
def test_an_answer_is_read_as_it_is_written(scale: str) -> None:
    wrote = answer(came_out=("mushy", NOT_KEPT), ended_s=(8400.0, None, 13_920.0), thickness="thicker")
    letter = f"Dear cook,\r\n> {text_of(wrote, scale)}".replace("\n", "\n> ") + "\n\nbye"  # type: ignore[arg-type]
    (block,) = blocks_of(letter)
    read = answer_of(block, "letter.txt")
    assert read.set_c == pytest.approx(wrote.set_c, abs=0.6)
    assert read.altitude_m == pytest.approx(wrote.altitude_m, abs=0.5)
    assert replace(read, set_c=wrote.set_c, altitude_m=wrote.altitude_m) == wrote
    assert len(list(blocks_of(text_of(wrote) * 3))) == 3


LINES = text_of(answer()).splitlines()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pit": "pit: volcano"}, "no kind of pit"),
        ({"pit": ""}, "'pit' is not answered"),
        ({"set": "set: 275"}, "no unit"),
        ({"set": "set: 900 F"}, "It lies between"),
        ({"altitude": "altitude: 30000 ft"}, "It lies between"),
        ({"thickness": "thickness: huge"}, "no thickness"),
        ({"line 2": "line 2: 1 h"}, "the line before it later"),
        ({"line 2": "line 2: noon"}, "not a duration"),
        ({"line 2": "line 77: 3 h"}, "there is no line 77"),
        ({"came out": "came out: too dark, too pale"}, "it was too dark and too pale"),
        ({"came out": "came out: as it should be, dry"}, "and yet something was wrong"),
        ({"came out": "came out: awful"}, "nothing that can be wrong"),
        ({"came out": ""}, "'came out' is not answered"),
        ({"note": "note: " + "x" * 380}, "a note of 380 signs"),
        ({"note": "note: \x1b[2Jgone"}, "cannot be printed"),
        ({"note": "note: " + "x" * 5000}, "too long"),
        ({"note": "name: somebody"}, "no line of an answer"),
        ({"note": "pit: kettle"}, "answered twice"),
        ({HEAD: "pitreckon answer 2"}, "another form"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(change: dict[str, str], words: str) -> None:
    begins, put = next(iter(change.items()))
    lines = [put if line.split(":")[0] == begins else line for line in LINES]
    taken = take_in([("one.txt", "\n".join(lines).encode())], card())
    assert not taken.answers
    assert words in taken.refused[0].why
    assert taken.refused[0].file == "one.txt"


def test_what_cannot_be_is_thrown_out_and_the_rest_stays() -> None:
    code = card().code
    other, version = code_of("QQQQ", 1), code_of(card_part(code), 1)
    files = [
        ("good.txt", text_of(answer())),
        ("same.txt", text_of(answer())),
        ("other.txt", text_of(answer(code=other))),
        ("version.txt", text_of(answer(code=version))),
        ("cold.txt", text_of(answer(set_c=80.0))),
        ("quick.txt", text_of(answer(ended_s=(600.0, 1200.0, 1500.0)))),
        ("slow.txt", text_of(answer(ended_s=(36_000.0, None, None)))),
        ("many.txt", text_of(answer(ended_s=(8400.0, 13_000.0, 13_920.0, 15_000.0)))),
        ("long.txt", HEAD + "\n" + "line 1: 2 h\n" * 60),
        ("none.txt", "how nice it was"),
        ("large.txt", "x" * (MOST_BYTES + 1)),
        ("two.txt", text_of(answer(note="first")) + "and\n" + text_of(answer(note="second"))),
    ]
    raw = [(name, text.encode()) for name, text in files] + [("bytes.txt", b"\xff\xfe\x00"), ("empty.txt", b"")]
    taken = take_in(raw, card())
    assert [each.note for each in taken.answers] == ["a fine day", "first", "second"]
    why = {each.file: each.why for each in taken.refused}
    assert set(why) == {name for name, _ in raw} - {"good.txt", "two.txt"}
    for name, words in {
        "same.txt": "the same answer as in good.txt",
        "other.txt": f"another card, {other}",
        "version.txt": f"another version of this card, {version}",
        "cold.txt": "where the card has",
        "quick.txt": "look for a slip",
        "many.txt": "line 4 is answered",
        "long.txt": "lines",
        "bytes.txt": "not UTF-8",
        "large.txt": "bytes",
    }.items():
        assert words in why[name], name
    assert take_in(reversed(raw), card()).answers == taken.answers
    alike = text_of(answer(ended_s=(), note=""))
    assert len(take_in([(f"{n}.txt", alike.encode()) for n in range(4)], card()).answers) == 4


def test_hundreds_are_read_and_too_many_are_refused() -> None:
    many = [(f"{n}.txt", text_of(answer(note=f"note {n}")).encode()) for n in range(500)]
    assert len(take_in(many, card()).answers) == 500
    flood = [("flood.txt", (text_of(answer(ended_s=(), note="")) * 400).encode())] * (MOST_ANSWERS // 400 + 1)
    with pytest.raises(InputError, match="at a time"):
        take_in(flood, card())


def _pool(n: int, m: int, seed: int) -> Pool:
    rng = np.random.default_rng(seed)
    normal = rng.standard_normal((n, m, len(MIDDLES))) * [WIDER.get(name, 1.0) for name in MIDDLES]
    tip, late = WIDER["tip"] * rng.standard_normal((n, m)), LATE_DRAWN * rng.random((n, m))
    return Pool(normal, tip, (rng.random((n, m)) < CLOCK_DRAWN) * 1.0, late, 0.15)


def test_a_slope_is_the_change_of_a_weight() -> None:
    pool, step = _pool(2, 5, 1), 1e-6
    levels = 0.2 * SD * np.random.default_rng(2).standard_normal(COUNT)
    value, slope = pool.weight(levels), pool.slope(levels)
    for k in range(COUNT - 1):
        more = levels.copy()
        more[k] += step
        assert (pool.weight(more) - value) / step == pytest.approx(slope[..., k], abs=1e-4)
    assert np.exp(_pool(1, 200_000, 3).weight(levels)).mean() == pytest.approx(1.0, abs=0.02)


def told(got: np.ndarray, chance: float) -> Told:
    """Answers with one member each whose plate is called right with this chance, one fault or none."""
    n, far = got.size, -9.0
    past = np.full((len(FAULTS), n, 1), far)
    rest = (1.0 - LEAST) ** (len(FAULTS) - 1)
    past[0] = ndtri((1.0 - chance / rest - LEAST) / (MOST - LEAST))
    named = np.zeros((len(FAULTS), n))
    named[0] = 1.0 - got
    return Told(np.zeros((n, 1)), Plates(past), named, np.where(got > 0.5, 0.0, 1.0 - named))


def test_a_likelihood_is_what_readers_would_say() -> None:
    """Of one plate: the chances of all that may be said of it with one word or none add up to less than one by what
    would be said with more; its slopes are its changes."""
    past = np.random.default_rng(4).normal(-1.0, 0.7, (len(FAULTS), 1, 1))
    strict, left = 0.3, 0.0
    total = 0.0
    for word in range(-1, len(FAULTS)):
        named = np.zeros((len(FAULTS), 1))
        named[word] = float(word >= 0)
        one = Told(np.zeros((1, 1)), Plates(past), named, (1.0 - named) * (word >= 0))
        value, by_strict, by_left = one.log(strict, left)
        total += float(np.exp(value[0, 0]))
        step = 1e-6
        assert (one.log(strict + step, left)[0] - value) / step == pytest.approx(by_strict, abs=1e-4)
        assert (one.log(strict, left + step)[0] - value) / step == pytest.approx(by_left, abs=1e-4)
    chance = Plates(past).called(strict)[:, 0, 0]
    none = np.prod(1.0 - chance)
    assert total == pytest.approx(none * (1.0 + np.sum(chance / (1.0 - chance))))
    assert Plates(past).right(strict)[0, 0] == pytest.approx(none)


def test_who_is_strict_calls_more_plates_wrong() -> None:
    """Half an error stricter: by the normal law, from memory: half of those on the mark, 69 in a hundred then."""
    on_it = Plates(np.concatenate([np.zeros((1, 1, 1)), np.full((len(FAULTS) - 1, 1, 1), -9.0)]))
    assert on_it.called(0.0)[0, 0, 0] == pytest.approx(0.5, abs=0.01)
    assert on_it.called(0.5)[0, 0, 0] == pytest.approx(0.69, abs=0.015)
    assert on_it.right(0.5)[0, 0] < on_it.right(0.0)[0, 0]


def test_what_is_left_over_follows_a_share_as_a_count_does() -> None:
    """Members that differ in nothing: then answers tell of a share alone, and many of them give the count's own."""
    n, got = 400, 120
    pool = replace(_pool(n, 1, 5), normal=np.zeros((n, 1, len(MIDDLES))), tip=np.zeros((n, 1)))
    said = told(np.array([1.0] * got + [0.0] * (n - got)), 0.4)
    known = learn_levels(pool, said)
    share = float(np.mean(said.plates.right(known.mean[STRICT], known.mean[LEFT_OVER])))
    assert share == pytest.approx(got / n, abs=0.02), "and not the 0.4 that the members have"
    nobody = learn_levels(pool, told(np.zeros(n), 0.4)).mean
    believed = np.mean(said.plates.right(nobody[STRICT], nobody[LEFT_OVER]))
    assert believed < 0.03, "what is nothing like the simulated readers is believed"
    assert known.covariance[LEFT_OVER, LEFT_OVER] < SD[LEFT_OVER] ** 2


def test_a_count_has_the_interval_of_jeffreys() -> None:
    found = Range.counted(27, 40)
    assert found.middle == 27 / 40
    assert (found.low, found.high) == pytest.approx(beta.ppf((0.05, 0.95), 27.5, 13.5))


def test_a_free_share_is_the_beta_binomial() -> None:
    """Closed forms: of one answer after another by Laplace's rule of succession, and the beta law's own mean."""
    got = np.array([1.0, 0.0, 0.0, 1.0, 0.0])
    free = FreeShare(0.5, got, worth=2.0)  # uniform before any
    in_turn = np.prod([(1 + np.sum(got[:k] == got[k])) / (2 + k) for k in range(5)])
    assert free.log_evidence == pytest.approx(np.log(in_turn))
    assert np.exp(free.log_evidence) == pytest.approx(1 / 60)  # 2! 3! / 6!
    assert np.mean(free.draws()) == pytest.approx(3 / 7, abs=1e-3)
    all_alike = free.draws_of(np.array([True, False, False, False, False]))
    assert np.mean(all_alike) == pytest.approx((1 + 8 * 2 / 6) / 9, abs=2e-3)


def test_an_average_of_two_has_the_range_of_the_mixture() -> None:
    """Of two uniform laws that do not touch, the quantiles are known."""
    low, high = np.linspace(0.1, 0.2, 2001), np.linspace(0.8, 0.9, 2001)
    both = Range.mixed(low, high, 0.25)
    assert (both.middle, both.low, both.high) == pytest.approx(
        (0.25 * 0.15 + 0.75 * 0.85, 0.12, 0.9 - 0.1 * 0.05 / 0.75), abs=1e-3
    )


def test_what_foretold_the_answers_is_believed() -> None:
    """Levels that hold 0.8, against a free share: by the law of the two, and by what came out."""
    n = 60
    pool = replace(_pool(n, 1, 5), normal=np.zeros((n, 1, len(MIDDLES))), tip=np.zeros((n, 1)))
    rng = np.random.default_rng(3)
    as_held, otherwise = ((rng.random(n) < chance) * 1.0 for chance in (0.8, 0.25))

    known = np.zeros((1, COUNT))  # one draw: what is foretold is the binomial's
    k = np.sum(as_held)
    assert foretold(pool, told(as_held, 0.8), known) == pytest.approx(k * np.log(0.8) + (n - k) * np.log(0.2))
    assert belief(pool, told(as_held, 0.8), FreeShare(0.8, as_held, 2.0), 1) > 0.6
    assert belief(pool, told(otherwise, 0.8), FreeShare(0.8, otherwise, 2.0), 1) < 0.3


@pytest.mark.kernel
def test_answers_move_the_promise_and_name_a_line() -> None:
    """Those who all find it mushy late, against those who all find it right: the one promise is low, the other high."""
    kept = card()
    many = [answer(pit=pit, note=str(n)) for n in range(4) for pit in ("kettle", "pellet-cooker", "oven")]
    slow = (8400.0, 8400.0 + 7200.0, 8400.0 + 7800.0)
    bad = [replace(each, came_out=("mushy",), ended_s=slow) for each in many]
    usual = usual_of(kept.piece, kept.script, kept.marks, 1)
    found = []
    for answers in (many, bad):
        cooks = cook_for(answers, kept.piece, kept.script, kept.marks, 1, each=64)
        found.append(learn(cooks, usual, 1))
    good, worse = found
    assert good.share.middle > worse.share.middle + 0.15
    assert worse.weak == 1  # the wrap
    assert good.share.low < good.share.middle < good.share.high
    assert 0.0 < worse.belief < 1.0
    kettles = np.array([each.pit == "kettle" for each in many])
    assert good.share_of(kettles).middle > worse.share_of(kettles).middle
    assert np.sum(good.weights) == pytest.approx(1.0)


@pytest.mark.kernel
def test_the_example_comes_to_a_card_of_its_own() -> None:
    kept = card()
    files = [(each.name, each.read_bytes()) for each in sorted(EXAMPLE.glob("*.txt"))]
    taken = take_in(files, kept)
    assert [each.file for each in taken.refused] == ["answer-13.txt"]
    outcome = outcome_of(kept, taken)
    again = outcome.again.card
    assert again.code != kept.code
    assert card_part(again.code) == card_part(kept.code)
    assert document_of(card_from(document_of(again), "x")) == document_of(again)
    assert {each.what for each in outcome.whom} <= {"pit", "altitude", "thickness"}
    with pytest.raises(InputError, match="only 4 answers can be counted"):
        outcome_of(kept, replace(taken, answers=taken.answers[:4]))


def test_who_looks_less_often_than_asked_is_not_won_by_asking() -> None:
    readers = as_dealt(200, 1)
    kept = keeping_pace(readers, 2.0)
    before, after = (np.concatenate([each.habits.gap for each in all_.groups]) for all_ in (readers, kept))
    assert np.array_equal(600.0 * after[before > 1.0], 1200.0 * before[before > 1.0])
    assert np.array_equal(after[before <= 1.0], before[before <= 1.0])


def test_faults_are_those_of_a_plate() -> None:
    assert RAW in FAULTS
    assert len(set(FAULTS)) == 8


def test_the_table_is_that_of_the_trials() -> None:
    """What was wanted, four points and nine lines in ten, is told as it was measured, missed or not."""
    rows = json.loads(RESULT.read_text("utf-8"))
    assert sum(row["twins"] for row in rows) >= 1500
    assert text_of_trials(rows) in README.read_text("utf-8")
    assert {row["weak"] for row in rows if row["clear"]} == {"line 1", "line 2", "line 3"}, "no line is always the one"
    off = np.mean([row["off"] for row in rows])
    assert off < np.mean([abs(row["promised"] - row["true"]) for row in rows])
    assert off < np.mean([row["count_off"] for row in rows])


def test_a_changed_line_helps_readers_who_never_answered() -> None:
    rows = json.loads(CHANGED.read_text("utf-8"))
    assert text_of_changed(rows) in README.read_text("utf-8")
    changed = [row for row in rows if row["change"] != "its times alone"]
    assert len(changed) >= 2
    assert all(row["gain"] > 2.0 * row["error"] for row in changed)
    assert all(row["times_then"] > 0.7 for row in rows)
