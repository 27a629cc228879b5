"""``python -m validation.practice.adopt``: what a calibration found becomes the catalog's data.

Middles of universals, pits and cuts go to their own lines of the files of the catalog; the spreads of universals too,
for they say what is not known of what is the same everywhere. The spreads of pits and cuts stay: they say how cookers
and animals differ, which no calibration of middles tells. The calibration, with its correlations, is laid beside the
constants. Everything else in a file keeps its bytes. Thicknesses are factors, so no calibration is taken twice.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
import tomllib
from math import exp
from pathlib import Path

from pitreckon import catalog
from pitreckon.catalog.shapes import Drum

FROM = Path("build/practice/calibration")
DATA = Path("src/pitreckon/catalog/data")
BESIDE = DATA / "constants"
SOURCE = "fitted, see validation/README.md"
FOLDERS = {"wrap": "wraps", "pit": "pits", "cut": "cuts"}


def figures(value: float) -> str:
    """Four significant figures, as TOML reads them."""
    return repr(float(f"{value:.4g}"))


def constant(text: str, name: str, value: float, sd: float) -> str:
    """The file of constants with another middle and spread of one of them."""
    begin = re.search(rf"^\[{name}\]", text, re.MULTILINE)
    if begin is None:
        sys.exit(f"there is no constant {name}. Calibrate with the kernel that is here")
    head, body = text[: begin.end()], text[begin.end() :]
    body = re.sub(r"^value = .*$", f"value = {figures(value)}", body, count=1, flags=re.MULTILINE)
    body = re.sub(r"^spread = .*$", f"spread = {figures(sd)}", body, count=1, flags=re.MULTILINE)
    body = re.sub(r"^source = .*$", f'source = "{SOURCE}"', body, count=1, flags=re.MULTILINE)
    return head + body


def line(text: str, table: str, key: str, value: float, sd: float | None = None, source: str = SOURCE) -> str:
    """A file of the catalog with another value in one line; table: it stands in, "" above all of them."""
    begin = re.search(rf"^\[{table}\]", text, re.MULTILINE) if table else re.match("", text)
    if begin is None:
        sys.exit(f"there is no [{table}]. Calibrate with the catalog that is here")
    head, body = text[: begin.end()], text[begin.end() :]
    made, count = re.subn(
        rf'^{key} = \{{ value = ([^,]+)(, sd = [^,]+)?, source = "[^"]*" \}}',
        lambda m: (
            f"{key} = {{ value = {figures(value)}"
            f"{_spread(m[1], m[2], value) if sd is None else f', sd = {figures(sd)}'}"
            f', source = "{source}" }}'
        ),
        body,
        count=1,
        flags=re.MULTILINE,
    )
    if not count:
        sys.exit(f"there is no line {key} in [{table}]. Calibrate with the catalog that is here")
    return head + made


def _spread(was: str, sd: str | None, value: float) -> str:
    """The spread of a figure with another value: what memory says of it is a share of the value."""
    if sd is None or not float(was) > 0.0:
        return sd or ""
    return f", sd = {float(sd.rpartition('=')[2]) * value / float(was):.3g}"


def thicker(text: str, key: str, factor: float) -> str:
    """A cut's file with another thickness at the same weight, as ``adapter`` has tried it."""
    shape = catalog.cut(key).shape
    if isinstance(shape, Drum):
        by = {"height_m": factor, "diameter_m": factor**-0.5}
    elif hasattr(shape, "thickness_m"):
        by = {"thickness_m": factor, "length_m": 1.0 / factor}
    else:
        by = {"diameter_m": factor, "cavity_m": factor, "length_m": factor**-2}
    for name, times in by.items():
        said = SOURCE if times == factor else "computed: from the mass and the other lengths"
        text = line(text, "shape", name, getattr(shape, name).value * times, source=said)
    return text


def main() -> None:
    """Read, write each file once."""
    parser = argparse.ArgumentParser(prog="python -m validation.practice.adopt", description=__doc__)
    parser.add_argument("--calibration", type=Path, default=FROM, help=f"its folder, {FROM} by default")
    folder = parser.parse_args().calibration
    texts: dict[Path, str] = {}

    def text_of(path: Path) -> str:
        return texts.get(path) or path.read_text("utf-8")

    made = (folder / "universals.toml").read_bytes()
    kept = BESIDE / "calibration.toml"
    if kept.exists() and kept.read_bytes() == made:
        sys.exit("this calibration is in the catalog already")
    for kind, name in (("universal", "universals"), ("pit", "pits"), ("cut", "cuts")):
        for each in tomllib.loads((folder / f"{name}.toml").read_text("utf-8")).get(kind, []):
            what, _, rest = each["address"].partition(":")
            key, _, path = rest.partition(".")
            value, sd = each["value"], each["sd"]
            if what == "constant":
                file = BESIDE / "meat.toml"
                texts[file] = constant(text_of(file), rest, value, sd)
                continue
            file = DATA / FOLDERS[what] / f"{key}.toml"
            if path == "thickness":
                texts[file] = thicker(text_of(file), key, value)
            elif what == "wrap":
                wide = value * (exp(sd) - exp(-sd)) / 2.0 if each["scale"] == "log" else sd
                texts[file] = line(text_of(file), "", path, value, wide)
            else:
                table, _, field = path.rpartition(".")
                texts[file] = line(text_of(file), table, field, value)
    for file, text in texts.items():
        file.write_text(text, "utf-8")
    shutil.copy(folder / "universals.toml", kept)
    shutil.copy(folder / "correlations.csv", BESIDE / "correlations.csv")
    print(f"{len(texts)} files of the catalog changed. Look at git diff; then run the rows and the tests")


if __name__ == "__main__":
    main()
