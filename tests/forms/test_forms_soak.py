"""A cut of ``make soak``: every form, as it is, with what once found a fault, and a little otherwise."""

from __future__ import annotations

import time

import pytest
from benchmarks.soak import forms

from pitreckon.errors import InputError


@pytest.mark.parametrize("name", forms.forms())
def test_every_form_is_read_or_refused(name: str) -> None:
    form = forms.forms()[name]
    assert form.seeds, "there is something to begin with"
    for each in form.seeds:
        assert forms.try_one(form, each), "what it begins with is good"
    for each in forms.kept(name):
        forms.try_one(form, each)
    row = forms.run(name, 120, 20261017)
    assert row["faults"] == 0, row["what"]
    assert row["inputs"] >= 100


def test_a_fault_is_noticed() -> None:
    """The watcher itself: an exception of another kind, and what takes long."""

    def breaks(content: bytes) -> object:
        raise ValueError(content)

    def dawdles(content: bytes) -> object:
        return time.sleep(forms.SLOW_S + 0.1)

    def refuses(content: bytes) -> object:
        raise InputError("it is nothing", "Write something")

    for bad, words in ((breaks, "ValueError"), (dawdles, "it took")):
        with pytest.raises(forms.FaultError, match=words):
            forms.try_one(forms.Form(bad, ()), b"x")
    assert forms.try_one(forms.Form(refuses, ()), b"x") is False


def test_edits_change_what_they_say() -> None:
    text = b'a = "b"\nc = 2\n'
    assert forms.edited(text, [("cut", 0.0, 4, "")]) == b'"b"\nc = 2\n'
    assert forms.edited(text, [("value", 0.0, 0, "x")]) == b'a = "x"\nc = 2\n'
    assert forms.edited(text, [("value", 0.9, 0, "nan")]) == b'a = "b"\nc = nan\n'
    assert forms.edited(text, [("line", 0.0, 2, "")]) == b'a = "b"\na = "b"\nc = 2\n'
    assert forms.edited(text, [("line", 0.9, 0, "")]) == b'a = "b"\n'
    assert forms.edited(text, [("put", 0.0, 0, "[")]) == b"[" + text
    assert forms.edited(b"", [("value", 0.5, 0, "x"), ("line", 0.5, 1, ""), ("byte", 0.0, 7, "")]) == b"\x07"
