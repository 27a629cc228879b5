"""Every number of the catalog's forms has its unit: in its name, or beside its name where the form says what it is."""

from __future__ import annotations

import inspect
import re
from dataclasses import fields, is_dataclass

import pytest

from pitreckon.catalog import forms, shapes

FORMS = {
    name: form
    for module in (forms, shapes)
    for name, form in vars(module).items()
    if inspect.isclass(form) and is_dataclass(form) and form.__module__ == module.__name__ and not name.startswith("_")
}
UNIT = re.compile(r"_(c|k|s|m|m2|m3|kg|w|kg_h|kg_s|m_s|w_per_k|j_per_k|j_kg|kg_m3|w_m2k|kg_m2_s_pa)$")
"""Endings of the page of nomenclature."""


@pytest.mark.parametrize("name", FORMS)
def test_a_number_has_its_unit(name: str) -> None:
    form = FORMS[name]
    said = f"{inspect.getdoc(form)}\n{inspect.getdoc(inspect.getmodule(form))}"
    for each in fields(form):
        if "Figure" in str(each.type) and not UNIT.search(each.name):
            about = re.search(rf"\b{each.name.split('_')[0]}\w*.*?\[", said, re.DOTALL)
            assert about or "fractions [-]" in said, f"{name}.{each.name}: write its unit in the docstring"


def test_there_are_forms() -> None:
    assert {"Cut", "Pit", "Wrap", "Fuel", "Composition", "Rack", "Bird"} <= set(FORMS)
