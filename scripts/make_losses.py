"""Writes what the section model loses of each cut into ``water_share`` of its buying file.

Run ``.venv/bin/python scripts/make_losses.py`` when the laws, their constants or the priors have changed, then
``scripts/make_reference.py``. A plan without a run uses these numbers, one with a run the run's: they are to agree.
``beyond_water_share`` stays as it is: where it is a yield table less this water, the totals of
``tests/catalog/test_catalog_buying.py`` fail until it is taken anew.
"""

from __future__ import annotations

import re
import sys

import numpy as np

from pitreckon import catalog
from pitreckon.catalog.buying import all_buying
from pitreckon.catalog.shelf import OWN_DATA
from pitreckon.plan.buying.yields import usual_loss
from pitreckon.text.file import read_text

SOURCE = "computed: the section model, the cut's usual course on a pellet cooker at 250 F, 64 members, seed 1"
LINE = re.compile(r"^water_share = .*$", re.MULTILINE)


def main() -> None:
    """Run every cut of the catalog and write."""
    for key in catalog.cuts():
        lost = np.array(usual_loss(key))
        file = OWN_DATA / "buying" / f"{key}.toml"
        was = all_buying()[key].water_share.value
        line = f'water_share = {{ value = {lost.mean():.3f}, sd = {lost.std(ddof=1):.3f}, source = "{SOURCE}" }}'
        text, found = LINE.subn(line, read_text(file))
        assert found == 1, file
        file.write_text(text, encoding="utf-8")
        sys.stderr.write(f"{key:22} {was:.3f} -> {lost.mean():.3f}\n")


if __name__ == "__main__":
    main()
