"""A cut of ``make soak``: every form, as it is, with what once found a fault, and a little otherwise."""

from __future__ import annotations

import random
import time
from pathlib import Path

import pytest
from benchmarks.soak import edits, forms

from pitreckon.errors import InputError


@pytest.mark.parametrize("name", forms.forms())
def test_every_form_is_read_or_refused(name: str) -> None:
    form = forms.forms()[name]
    assert form.seeds, "there is something to begin with"
    for each in form.seeds:
        assert forms.try_one(form, each), "what it begins with is good"
    for each in forms.kept(name):
        forms.try_one(form, each)
    row = forms.run(name, 400, 20261017)
    assert row["faults"] == 0, row["what"]
    assert row["inputs"] == 400
    assert 8 < row["read"] < 390, "some are read, some refused"
    assert row["ways"] > (1 if name == "photo" else 3), "and not all in the same words"


def test_a_fault_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The watcher itself: an exception of another kind, and what takes long."""

    def breaks(content: bytes) -> object:
        raise ValueError(content)

    def dawdles(content: bytes) -> object:
        until = time.thread_time() + 0.1
        while time.thread_time() < until:
            pass
        return None

    def refuses(content: bytes) -> object:
        raise InputError("it is nothing", "Write something")

    monkeypatch.setattr(forms, "SLOW_S", 0.05)
    for bad, words in ((breaks, "ValueError"), (dawdles, "it took")):
        with pytest.raises(forms.FaultError, match=words):
            forms.try_one(forms.Form(bad, ()), b"x")
    assert forms.try_one(forms.Form(refuses, ()), b"x") is False


def test_a_fault_is_found_and_made_small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that stumbles over a token far into a form."""

    def stumbles(content: bytes) -> object:
        if b"24:00" in content.split(b"[[item]]")[-1]:
            raise KeyError("24:00")
        return content

    monkeypatch.setattr(forms, "CORPUS", tmp_path)
    monkeypatch.setattr(forms, "forms", lambda: {"one": forms.Form(stumbles, (forms.PLAN.encode(),))})
    row = forms.run("one", 20_000, 1)
    assert row["faults"] == 1
    assert row["what"].startswith("KeyError")
    (file,) = tmp_path.iterdir()
    assert len(file.read_bytes()) < 10
    assert forms.faults_kept("one") == (file.read_bytes(),)


def test_the_same_chances_are_the_same_inputs() -> None:
    known = forms.forms()["cook file"].seeds
    one, two, other = ([edits.drawn(random.Random(n), known) for _ in range(5)] for n in (1, 1, 2))
    assert one == two != other


def test_edits_change_what_they_say() -> None:
    text = b'a = "b"\nc = 2\n'
    assert edits.edited(text, [("cut", 0.0, 4, "")]) == b'"b"\nc = 2\n'
    assert edits.edited(text, [("value", 0.0, 0, "x")]) == b'a = "x"\nc = 2\n'
    assert edits.edited(text, [("value", 0.9, 0, "nan")]) == b'a = "b"\nc = nan\n'
    assert edits.edited(text, [("line", 0.0, 2, "")]) == b'a = "b"\na = "b"\nc = 2\n'
    assert edits.edited(text, [("line", 0.9, 0, "")]) == b'a = "b"\n'
    assert edits.edited(text, [("put", 0.0, 0, "[")]) == b"[" + text
    assert edits.edited(text, [("swap", 0.0, 0, "")]) == b'c = 2\na = "b"\n'
    assert edits.edited(b"", [("value", 0.5, 0, "x"), ("line", 0.5, 1, ""), ("byte", 0.0, 7, "")]) == b"\x07"
