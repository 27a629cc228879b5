"""What a record tells of how its ledger came to be: taken back, typed in, written later; and who signed it."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from conftest import Call

from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.chain import canonical, digest
from pitreckon.ledger.events import Event
from pitreckon.ledger.store import Correction, Entry, Store
from pitreckon.reckon.forecast import reckoning
from pitreckon.safety.record.form import SafetyRecord, check_record, document_of_record, signer_of
from pitreckon.safety.record.house import house_key
from pitreckon.safety.record.kept import Kept, event_words, handled_in, kept_of, steps_of, told_of
from pitreckon.safety.record.make import record_of
from pitreckon.safety.record.sign import holds, new_key, public_of, short_of, sign
from pitreckon.safety.wording import told
from pitreckon.sheets.documents.safetyrecord import safety_sheet
from pitreckon.sheets.writers.markdown import markdown_of

ON = datetime(2026, 10, 17, 6, tzinfo=UTC)
PLAN = """
[cook]
name = "slow supper"
zone = "UTC"
serve = "2026-10-17 08:00"
[[pit]]
name = "box"
kind = "pellet-cooker"
set = "300 F"
[[item]]
name = "thighs"
cut = "chicken-thigh"
weight = "6 oz"
pieces = 4
put_on = "2026-10-17 06:00"
"""


def minutes(count: float) -> datetime:
    return ON + timedelta(minutes=count)


def spot(at: float, value_c: float) -> Look:
    return Look(minutes(at), "thighs", 1, "spot temperature", value_c, f"{value_c * 1.8 + 32:.0f} F")


TAKEN_BACK = [spot(50, 66.1), spot(52, 67.2)]
"""151 and 153 F, as in the attack: both taken back, and one of 168 F written with a time before them."""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "ledger.sqlite") as opened:
        opened.add_cook(PLAN, "slow supper", cook_id="supper")
        yield opened


def attack(store: Store) -> None:
    """The chicken that never got there, made good at the desk."""
    readings: list[Event] = [Reading(minutes(m), "pit air", "box", None, 149.0) for m in range(0, 60, 5)]
    acts = [Act(ON, "thighs", "put on"), Act(minutes(55), "thighs", "took off")]
    store.append("supper", [Entry(f"r{n}", each, "barn box") for n, each in enumerate(readings)])
    store.append("supper", [Entry(f"a{n}", each, "Ann") for n, each in enumerate(acts)])
    store.append("supper", [Entry(f"s{n}", each, "Ann") for n, each in enumerate(TAKEN_BACK)])
    store.append("supper", [Entry(f"c{n}", Correction(f"s{n}", None, "a slip"), "Ben") for n in (0, 1)])
    store.append("supper", [Entry("good", spot(48, 75.6), "Ben")])
    store.replace_plan("supper", PLAN + "# two\n", "Ben")


def made_of(store: Store, house: str = "") -> SafetyRecord:
    ledger, kept = store.ledger("supper"), kept_of(store, "supper")
    plan = store.cook("supper").plan_toml
    done = reckoning(cook_from_text(plan, "plan"), ledger, now=minutes(60), members=32)
    return record_of(done, plan, ledger, kept=kept, house=house)


# --- what is told


def test_what_was_taken_back_typed_in_and_written_later_is_told(store: Store) -> None:
    attack(store)
    lines = told_of(kept_of(store, "supper"), store.ledger("supper"))
    said = [(line.kind, told(line.words), line.by) for line in lines]
    assert ("taken back", "thighs 1: spot temperature 151.0 °F (of Ann)", "Ben") in said
    assert ("taken back", "thighs 1: spot temperature 153.0 °F (of Ann)", "Ben") in said
    assert ("typed in", "thighs 1: spot temperature 168.1 °F", "Ben") in said
    assert ("written later", "thighs: put on", "Ann") in said
    assert ("came late", "12 readings of box", "barn box") in said
    assert ("plan replaced", "plan 1 gave way to plan 2", "Ben") in said
    assert {line.why for line in lines if line.kind == "taken back"} == {"a slip"}
    assert all(line.recorded_utc is not None for line in lines)
    assert [line.at_utc for line in lines] == sorted(line.at_utc for line in lines)


def test_what_is_written_at_once_by_a_probe_is_not_told(store: Store) -> None:
    now = datetime.now(UTC)
    store.append("supper", [Entry("a", Reading(now, "probe", "thighs", 1, 60.0), "barn box")])
    store.append("supper", [Entry("b", Act(now, "thighs", "put on"), "Ann")])
    assert told_of(kept_of(store, "supper"), store.ledger("supper")) == ()


def test_a_photo_is_in_the_record_and_its_hash_in_the_chain(store: Store) -> None:
    now, name = datetime.now(UTC), "ab" * 32
    look = Look(now, "thighs", 1, "colour", 1.0, "mahogany", note=f"by the firebox [photo {name}]")
    store.append("supper", [Entry("a", look, "Ann")])
    kept, ledger = kept_of(store, "supper"), store.ledger("supper")
    (line,) = told_of(kept, ledger)
    assert (line.kind, line.words, line.by) == ("photo", f"thighs 1: colour mahogany, {name[:16]}", "Ann")
    assert name in json.dumps([step for _, step in steps_of(kept, ledger, {})])


def test_a_value_put_right_is_told_with_both(store: Store) -> None:
    now = datetime.now(UTC)
    store.append("supper", [Entry("a", replace(spot(0, 50.0), at_utc=now), "Ann")])
    right = replace(spot(0, 60.0), at_utc=now)
    store.append("supper", [Entry("b", Correction("a", right, "read it again"), "Ann")])
    kinds = {line.kind: told(line.words, "C") for line in told_of(kept_of(store, "supper"), store.ledger("supper"))}
    assert kinds["put right"] == "thighs 1: spot temperature 50.0 °C; now thighs 1: spot temperature 60.0 °C (of Ann)"
    assert set(kinds) == {"put right", "typed in"}


def test_a_log_tells_what_was_typed_and_nothing_of_who() -> None:
    ledger = Ledger.of([spot(50, 75.6), Reading(ON, "probe", "thighs", 1, 20.0)])
    (line,) = told_of(Kept(), ledger)
    assert (line.kind, line.by, line.recorded_utc) == ("typed in", "", None)


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (Act(ON, "box", "set pit", air_c=121.0), "box: set pit 250 °F"),
        (Act(ON, "thighs", "wrapped", "foil"), "thighs: wrapped foil"),
        (Look(ON, "thighs", None, "colour", 1.0, "mahogany"), "thighs: colour mahogany"),
        (Reading(ON, "probe", "thighs", 2, 60.0), "thighs 2: probe 140.0 °F"),
    ],
)
def test_entries_in_words(event: Event, words: str) -> None:
    assert told(event_words(event)) == words


def test_the_last_word_on_the_meat_holds(store: Store) -> None:
    store.say_meat("supper", "thighs", "injected", "Ann")
    store.say_meat("supper", "thighs", "intact", "Ben")
    kept = kept_of(store, "supper")
    assert handled_in(kept)["thighs"].states == ("intact",)
    lines = told_of(kept, store.ledger("supper"))
    assert [(line.words, line.by) for line in lines] == [("thighs: injected", "Ann"), ("thighs: intact", "Ben")]


# --- in the record, on paper and in the chain


@pytest.mark.kernel
def test_the_attack_is_on_the_paper_and_in_the_json(store: Store) -> None:
    """At commit f67b174 this record said "met, measured" and named nothing of it."""
    attack(store)
    store.say_meat("supper", "thighs", "injected", "Ben")
    made = made_of(store)
    paper = markdown_of(safety_sheet(made))
    assert "Taken back, typed in, written later" in paper
    assert "151.0 °F (of Ann) (a slip)" in paper
    assert "typed in: thighs 1: spot temperature 168.1 °F" in paper
    assert "later" in paper
    assert made.pieces[0].done_to_it == "injected"
    document = document_of_record(made, "C")
    kinds = {line["kind"] for line in document["kept"]["told"]}
    assert kinds == {"taken back", "typed in", "written later", "came late", "plan replaced", "meat"}
    assert "66.1 °C" in json.dumps(document, ensure_ascii=False)
    assert document["settings"]["members"] == 32
    assert document["settings"]["meat"] == {"thighs": "injected"}


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, object], str]:
    """A record of the attack, signed; the export that it was made of, and the house's public key."""
    folder = tmp_path_factory.mktemp("house")
    with Store.open(folder / "ledger.sqlite") as opened:
        opened.add_cook(PLAN, "slow supper", cook_id="supper")
        attack(opened)
        opened.say_meat("supper", "thighs", "intact", "Ben")
        key = house_key(opened)
        assert house_key(opened) == key
        document = document_of_record(made_of(opened, public_of(key)), "F", key)
        (folder / "supper.jsonl").write_text("".join(opened.export_jsonl("supper")), encoding="utf-8")
    (folder / "record.json").write_text(json.dumps(document), encoding="utf-8")
    return folder, json.loads(json.dumps(document)), public_of(key)


def resealed(document: dict[str, object]) -> dict[str, object]:
    body = {key: value for key, value in document.items() if key not in {"seal", "signature"}}
    return body | {"seal": digest(canonical(body)), "signature": document["signature"]}


@pytest.mark.kernel
def test_it_holds_on_another_machine(pitreckon: Call, signed: tuple[Path, dict[str, object], str]) -> None:
    folder, _, public = signed
    for more, words in (
        ((), "Signed by the house whose key is"),
        (("--house-key", public), "Signed by the house of that key"),
        (("--house-key", short_of(public)), short_of(public)),
    ):
        got = pitreckon("record", folder / "supper.jsonl", "--check", folder / "record.json", *more)
        assert got.code == 0, got.out
        assert "The record holds" in got.out
        assert words in got.out
    got = pitreckon(
        "record", folder / "supper.jsonl", "--check", folder / "record.json", "--house-key", public_of(new_key())
    )
    assert got.code == 1
    assert "another house has signed it" in got.out


@pytest.mark.kernel
@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"by":"Ben"', '"by":"Ann"', "changed"),
        ('"recorded":"20', '"recorded":"19', "changed"),
        ('"why":"a slip"', '"why":"a slop"', "changed"),
        ('"words":"intact"', '"words":"ground"', "step 3 was changed"),
        ('slow supper\\"\\nzone', 'slow dinner\\"\\nzone', "step 2 was changed"),
    ],
)
def test_who_when_and_why_cannot_be_changed_either(
    pitreckon: Call, tmp_path: Path, signed: tuple[Path, dict[str, object], str], old: str, new: str, words: str
) -> None:
    folder, _, _ = signed
    text = (folder / "supper.jsonl").read_text("utf-8")
    head, rest = text.split("\n", 1)
    assert old in rest
    (tmp_path / "supper.jsonl").write_text(head + "\n" + rest.replace(old, new), encoding="utf-8")
    got = pitreckon("record", tmp_path / "supper.jsonl", "--check", folder / "record.json")
    assert got.code == 1, got.out
    assert words in got.out


@pytest.mark.kernel
def test_a_record_made_anew_lacks_the_signature(signed: tuple[Path, dict[str, object], str], tmp_path: Path) -> None:
    folder, document, public = signed
    with Store.open(tmp_path / "check.sqlite") as store:
        cook_id = store.import_jsonl((folder / "supper.jsonl").read_text("utf-8").splitlines())
        rests = (store.cook(cook_id).plan_toml, store.ledger(cook_id), kept_of(store, cook_id))
        assert check_record(document, *rests, house=public) == ()
        for change in ("settings", "kept", "pieces", "signed_by"):
            forged = copy.deepcopy(document)
            forged[change] = {**forged[change], "seed": 7} if isinstance(forged[change], dict) else []  # type: ignore
            found = [each.words for each in check_record(resealed(forged), *rests)]
            assert any("signature is not that" in each for each in found), (change, found)
        bare = {key: value for key, value in document.items() if key != "signature"} | {"house": None}
        bare = {key: value for key, value in resealed({**bare, "signature": ""}).items() if key != "signature"}
        assert [each.words for each in check_record(bare, *rests, house=public)] == ["no key of a house has signed it"]
        assert signer_of(bare) == ""
        # Later entries, plans and words are no fault.
        store.append(cook_id, [Entry("later", spot(58, 76.0), "Ann")])
        store.replace_plan(cook_id, PLAN + "# three\n", "Ann")
        store.say_meat(cook_id, "thighs", "injected", "Ann")
        now = (store.cook(cook_id).plan_toml, store.ledger(cook_id), kept_of(store, cook_id))
        found = check_record(document, *now)
        assert [each.fault for each in found] == [False] * len(found)
        assert any("plan was replaced after" in each.words for each in found)
        with pytest.raises(InputError, match="made of a ledger"):
            check_record(document, rests[0], rests[1])


# --- signatures

# RFC 8032, section 7.1, TEST 1: an empty message; the library itself is held against the standard.
SECRET = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"


def test_a_signature_is_of_one_key_and_one_seal() -> None:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    bare = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(SECRET)).sign(b"").hex()
    assert bare.startswith("e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155")
    signature = sign(SECRET, "a" * 64)
    assert holds(public_of(SECRET), signature, "a" * 64)
    assert not holds(public_of(SECRET), signature, "b" * 64)
    assert not holds(public_of(new_key()), signature, "a" * 64)
    for odd in ("", "zz", "00" * 64, signature[:-2]):
        assert not holds(public_of(SECRET), odd, "a" * 64)
        assert not holds(odd, signature, "a" * 64)
    assert not holds(public_of(SECRET), bare, ""), "a signature of something else than a record is none of a record"
