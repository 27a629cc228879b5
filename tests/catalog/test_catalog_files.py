"""Finding an entry, the user's own files, and every way in which a file is refused."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from pitreckon import catalog
from pitreckon.catalog.shelf import OWN_DATA
from pitreckon.errors import InputError

Put = Callable[..., Path]


@pytest.fixture(autouse=True)
def nothing_of_the_user_s(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("PITRECKON_CATALOG", raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "no-configuration"))


@pytest.fixture
def put(tmp_path: Path) -> Put:
    """Write a shipped file, changed, into a user's directory; return that directory."""

    def write(folder: str, like: str, *changes: tuple[str, str], key: str | None = None) -> Path:
        text = (OWN_DATA / folder / f"{like}.toml").read_text()
        if key is not None:
            changes = (*changes, (f'key = "{like}"', f'key = "{key}"'))
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        target = tmp_path / "own" / folder / f"{key or like}.toml"
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text)
        return tmp_path / "own"

    return write


def line_with(path: Path, start: str) -> int:
    return next(n for n, line in enumerate(path.read_text().splitlines(), 1) if line.startswith(start))


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("st-louis-ribs", "st-louis-ribs"),
        ("St. Louis Cut", "st-louis-ribs"),
        ("  baby_back ribs ", "back-ribs"),
        ("PORK BUTT", "boston-butt"),
        ("whole packer", "brisket-whole"),
    ],
)
def test_other_spellings_find_the_cut(typed: str, key: str) -> None:
    assert catalog.cut(typed).key == key


def test_an_unknown_name_gets_near_ones() -> None:
    with pytest.raises(InputError, match=r"'briskit' is no cut.*brisket-whole"):
        catalog.cut("briskit")
    with pytest.raises(InputError, match=r"'zzz' is no pit.*ceramic.*kettle"):
        catalog.pit("zzz")
    with pytest.raises(InputError, match=r"'' is no wrap"):
        catalog.wrap("")


def test_a_fresh_dict_each_time() -> None:
    catalog.cuts().clear()
    assert "boston-butt" in catalog.cuts()


def test_user_adds_and_replaces(put: Put) -> None:
    renamed = ('name = "Boston butt, bone-in"', 'name = "Picnic"')
    own = put(
        "cuts", "boston-butt", renamed, ('also = ["pork butt", "butt"', 'also = ["picnic shoulder"'),
        ('"pork shoulder butt", "boneless butt", "boneless Boston butt"', '"arm picnic"'), key="pork-picnic",
    )  # fmt: skip
    put("cuts", "st-louis-ribs", ("thickness_m = { value = 0.03361", "thickness_m = { value = 0.036"))
    found = catalog.cuts(own)
    assert found["st-louis-ribs"].shape.thickness_m.value == 0.036  # type: ignore[union-attr]
    assert catalog.cut("picnic shoulder", own).key == "pork-picnic"
    assert set(found) == {*catalog.cuts(), "pork-picnic"}
    assert list(found) == sorted(found)


def test_an_animal_of_the_user_s_own(put: Put) -> None:
    """A new animal is one file: its rules, its models and its usual setting are the ones that it names."""
    put("animals", "lamb", ("value = 128.0", "value = 110.0"), ('name = "Lamb"', 'name = "Goat"'), key="goat")
    changes = (
        *(('name = "Leg of lamb, bone-in"', 'name = "Leg of goat"'), ('animal = "lamb"', 'animal = "goat"')),
        ('also = ["leg of lamb", "bone-in leg of lamb", "lamb leg"]\n', ""),
    )
    own = put("cuts", "lamb-leg", *changes, key="goat-leg")
    assert catalog.animal(catalog.cut("goat-leg", own).animal, own).usual_set_c.value == 110.0
    with pytest.raises(InputError, match="'goat' is no animal"):
        catalog.animal("goat")


def test_environment_and_configuration_directory(put: Put, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    own = put("pits", "kettle", ("fan = false", "fan = true"))
    monkeypatch.setenv("PITRECKON_CATALOG", str(own))
    assert catalog.pit("kettle").fan
    monkeypatch.delenv("PITRECKON_CATALOG")
    assert not catalog.pit("kettle").fan
    (tmp_path / "configuration" / "pitreckon").mkdir(parents=True)
    (tmp_path / "configuration" / "pitreckon" / "catalog").symlink_to(own)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "configuration"))
    assert catalog.pit("kettle").fan
    empty = tmp_path / "empty"
    empty.mkdir()
    assert not catalog.pit("kettle", empty).fan, "the argument comes before the configuration directory"


def test_user_s_cut_in_user_s_wrap_and_pit_on_user_s_fuel(put: Put) -> None:
    renamed = (('name = "Uncoated paper"', 'name = "Leaves"'), ("also = [", "also = []  # ["))
    put("wraps", "paper", *renamed, key="leaves")
    put("cuts", "brisket-whole", ('wrap = "paper"', 'wrap = "leaves"'))
    renamed = (('name = "Lump charcoal"', 'name = "Coconut"'), ('also = ["lump", "charcoal"]', ""))
    put("fuels", "lump-charcoal", *renamed, key="coconut")
    own = put("pits", "ceramic", ('fuel = "lump-charcoal"', 'fuel = "coconut"'))
    assert catalog.cut("brisket", own).course[1].wrap == "leaves"
    assert catalog.pit("ceramic", own).fuel == "coconut"


CUT_FAULTS = [
    # what is changed in st-louis-ribs.toml; the start of the line and the field that are blamed; what is said
    (("{ value = 0.5975, source", "{ value = 0.5975, sauce"), "water", "composition.water",
     "unknown key 'sauce'"),
    (('{ value = 0.5975, source = "USDA SR28 NDB 10088" }', "0.5975"), "water", "composition.water",
     r"0\.5975 stands without its source.*value = 0\.5975, source"),
    ((', source = "USDA SR28 NDB 10088"', ""), "water", "composition.water", "the source is missing"),
    (('"USDA SR28 NDB 10088"', '"todo"'), "water", "composition.water", "is not one of the set forms"),
    (('"USDA SR28 NDB 10088"', '""'), "water", "composition.water", "is not a source"),
    (('"USDA SR28 NDB 10088"', "10088"), "water", "composition.water", "is not a source"),
    (('"USDA SR28 NDB 10088"', '"common practice"'), "water", "composition.water",
     "common practice, no source"),
    (('"USDA SR28 NDB 10088"', '"Fitted by eye"'), "water", "composition.water", "set forms"),
    (('"USDA SR28 NDB 10088"', '"computed"'), "water", "composition.water", "set forms"),
    (("{ value = 0.5975", "{ value = 59.75"), "water", "composition.water",
     r"59\.75 is out of range.*0\.05 to 0\.9"),
    (("{ value = 0.5975", "{ value = 0.45"), "[composition]", "composition", "add up to"),
    (("{ value = 0.5975", '{ value = "60 %"'), "water", "composition.water", "not a number"),
    (("{ value = 0.5975", "{ value = nan"), "water", "composition.water", "not a number"),
    (("{ value = 0.5975", "{ value = true"), "water", "composition.water", "not a number"),
    (("value = 0.5975, ", ""), "water", "composition.water", "the value is missing"),
    (("water = {", "# water = {"), "[composition]", "composition.water", "'water' is missing"),
    (("water = {", "watre = {"), "watre", "composition.watre", "not known.*Did you mean 'water'"),
    (("sd = 0.05, ", ""), "open_fraction", "surface.open_fraction", "the sd is missing"),
    (("sd = 0.05, ", "sd = -0.05, "), "open_fraction", "surface.open_fraction",
     r"sd = -0\.05 is out of range"),
    (("sd = 0.05, ", "sd = 5, "), "open_fraction", "surface.open_fraction", "sd = 5 is out of range"),
    (("[surface]", "[surfaces]"), "[surfaces]", "surfaces", "not known.*Did you mean 'surface'"),
    (('animal = "pork"', 'animal = "bison"'), "animal", "animal", r"no animal 'bison'.*lamb.*animals/bison\.toml"),
    (('animal = "pork"', 'animal = "turkey"'), "kind", "kind", "'intact' does not go with turkey, which is poultry"),
    (('kind = "intact"', 'kind = "poultry"'), "kind", "kind", "'poultry' does not go with pork, which is meat"),
    (('kind = "rack"', 'kind = "wedge"'), 'kind = "wedge"', "shape.kind", "slab, ball, block, drum, rack"),
    (('kind = "rack"', ""), "[shape]", "shape.kind", "the kind is missing"),
    (('kind = "rack"', 'kind = "slab"'), "bone_spacing_m", "shape.bone_spacing_m", "not known"),
    (("thickness_m = { value = 0.03361", "thickness_m = { value = 29"), "thickness_m", "shape.thickness_m",
     "out of range"),
    (("mass_kg = { value = 1.22", "mass_kg = { value = 2.69"), "mass_kg", "shape.mass_kg",
     r"make a piece of 1\.22 kg, mass_kg says 2\.69 kg"),
    (("bone_half_width_m = { value = 0.0075", "bone_half_width_m = { value = 0.015"), "bone_half_width_m",
     "shape.bone_half_width_m", "overlap"),
    (("bone_depth_m = { value = 0.009", "bone_depth_m = { value = 0.004"), "bone_depth_m",
     "shape.bone_depth_m",
     "sticks out"),
    (("past_conversion = { value = 0.97", "past_conversion = { value = 0.7"), "past_conversion",
     "texture.past_conversion", "not above"),
    (("dark_level = { value = 5.8", "dark_level = { value = 0.8"), "dark_level", "colour.dark_level",
     "not above"),
    (("done_core_c = { value = 96.1", "done_core_c = { value = 60"), "done_core_c", "texture.done_core_c",
     "below least_core_c"),
    (('done_by = "tender"', 'done_by = "feel"'), "done_by", "texture.done_by", "Use one of tender, core"),
    (('kind = "intact"', 'kind = "whole"'), 'kind = "whole"', "kind", "intact, poultry, non-intact"),
    (('name = "St. Louis ribs"', "name = 7"), "name", "name", "not a text"),
    (('also = ["St. Louis cut",', 'also = ["butt",'), "also", "also",
     "'butt' already stands for boston-butt"),
    (('also = ["St. Louis cut",', "also = [3,"), "also", "also", "not a list of texts"),
    (('course_source = "common practice, no source"\n', ""), None, "course_source", "is missing"),
    (('do = "wrapped"', 'do = "bagged"'), 'do = "bagged"', "course.2.do",
     "open, wrapped, sauced, rest, hold"),
    (('wrap = "foil"', 'wrap = "fol"'), 'wrap = "fol"', "course.2.wrap", "no wrap 'fol'.*foil"),
    (('wrap = "foil"', ""), None, "course.2.wrap", "names no wrap"),
    (('until = "tender"', 'until = "203"'), 'until = "203"', "course.2.until", "does not say when"),
    (('key = "st-louis-ribs"', 'key = "st-louis"'), "key", "key", r"the file is st-louis-ribs\.toml"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "start", "field", "said"), CUT_FAULTS)
def test_a_faulty_cut_is_refused(put: Put, change: tuple[str, str], start: str | None, field: str, said: str) -> None:
    own = put("cuts", "st-louis-ribs", change)
    path = own / "cuts" / "st-louis-ribs.toml"
    with pytest.raises(InputError, match=said) as caught:
        catalog.cuts(own)
    place = caught.value.place
    assert place.file == str(path)
    assert place.field == field
    if start is not None:
        assert place.line == line_with(path, start)
    assert caught.value.remedy


PIT_FAULTS = [
    ("pits", "kettle", ('fuel = "briquettes"', 'fuel = "dung"'), "fuel", "no fuel 'dung'.*briquettes"),
    ("pits", "kettle", ("fan = false", 'fan = "no"'), "fan", "true or false"),
    ("pits", "kettle", ("[air]", "[[air]]"), "air", "not a table"),
    ("wraps", "foil", ("holds_liquid = true\n", ""), "holds_liquid", "missing"),
    (
        "wraps",
        "foil",
        ("value = 1.827e-10, sd = 1.211e-10", "value = 2, sd = 1.211e-10"),
        "leak_kg_m2_s_pa",
        "out of range",
    ),
    ("fuels", "gas", ("moisture = { value = 0.0", "moisture = { value = -0.1"), "moisture", "out of range"),
]


@pytest.mark.parametrize(("folder", "like", "change", "field", "said"), PIT_FAULTS)
def test_a_faulty_pit_wrap_or_fuel_is_refused(
    put: Put, folder: str, like: str, change: tuple[str, str], field: str, said: str
) -> None:
    own = put(folder, like, change)
    with pytest.raises(InputError, match=said) as caught:
        {"pits": catalog.pits, "wraps": catalog.wraps, "fuels": catalog.fuels}[folder](own)
    assert caught.value.place.file == str(own / folder / f"{like}.toml")
    assert caught.value.place.field == field


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    folder = tmp_path / "own" / "cuts"
    folder.mkdir(parents=True)
    path = folder / "odd.toml"
    path.write_bytes(b'name = "\xff\xfe"')
    with pytest.raises(InputError, match=r"odd\.toml, line 1: the file is not UTF-8"):
        catalog.cuts(tmp_path / "own")
    path.write_text('key = "odd"\nname = "Odd\n')
    with pytest.raises(InputError, match=r"odd\.toml, line 2: the file is not TOML"):
        catalog.cuts(tmp_path / "own")
    path.write_text("")
    with pytest.raises(InputError, match=r"field 'key': 'key' is missing"):
        catalog.cuts(tmp_path / "own")
    path.unlink()
    path.mkdir()
    with pytest.raises(InputError, match="cannot be read"):
        catalog.cuts(tmp_path / "own")


def test_a_bad_key_is_refused(put: Put) -> None:
    changes = (('name = "Uncoated paper"', 'name = "Leaves"'), ("also = [", "also = []  # ["))
    own = put("wraps", "paper", *changes, key="Banana Leaves")
    with pytest.raises(InputError, match="is not a key"):
        catalog.wraps(own)


def test_directories_that_are_not_there_or_hold_strays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputError, match="the catalog directory is not there"):
        catalog.cuts(tmp_path / "gone")
    (tmp_path / "mine.toml").write_text("")
    with pytest.raises(InputError, match="none of the catalog's folders"):
        catalog.cuts(tmp_path)
    monkeypatch.setenv("PITRECKON_CATALOG", str(tmp_path / "gone"))
    with pytest.raises(InputError, match="that PITRECKON_CATALOG names is not there"):
        catalog.pits()


def test_entries_cannot_be_changed() -> None:
    with pytest.raises(AttributeError):
        catalog.cut("butt").name = "other"  # type: ignore[misc]


@pytest.mark.servers
def test_loading_is_quick_and_needs_no_numpy(monkeypatch: pytest.MonkeyPatch) -> None:
    """A twentieth of a second or so; ten times that, once in five, is what no machine may take."""
    program = (
        "import sys, time; from pitreckon import catalog as c; t = time.process_time(); "
        "c.cuts(), c.pits(), c.wraps(), c.fuels(); s = time.process_time() - t; "
        "print(s, 'numpy' in sys.modules)"
    )
    runs = [
        subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.split()
        for _ in range(5)
    ]
    assert {numpy for _, numpy in runs} == {"False"}
    assert min(float(seconds) for seconds, _ in runs) < 0.5
    known = catalog.cuts()
    monkeypatch.setattr("pitreckon.catalog.form.read_text", lambda path: pytest.fail(f"{path} is read again"))
    assert catalog.cuts() == known
