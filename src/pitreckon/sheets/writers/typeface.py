"""The typeface of the paper: Atkinson Hyperlegible, which the page has too.

Its files (SIL Open Font License 1.1, ``static/licence.txt``) come from the same locked package as the live page's and
are put beside this module by ``scripts/build_web.sh``. Without them a sheet is set in the machine's own sans serif.
"""

from pathlib import Path
from typing import Final

FAMILY: Final = "Atkinson Hyperlegible"
FOLDER: Final = Path(__file__).parents[1] / "static"


def faces_css(folder: Path = FOLDER) -> str:
    """``@font-face`` rules for the files that are there; "" when none is."""
    rules = []
    for path in sorted(folder.glob("atkinson-hyperlegible-*-normal.woff2")):
        weight = path.stem.split("-")[-2]
        rules.append(
            f'@font-face {{ font-family: "{FAMILY}"; font-weight: {weight}; font-style: normal; '
            f'src: url("{path.as_uri()}") format("woff2") }}'
        )
    return "\n".join(rules)
