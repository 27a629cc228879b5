"""The notebooks of ``examples/`` run from the first cell to the last, and are kept without what they printed."""

from __future__ import annotations

import os
import re
from importlib.util import find_spec
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from nbclient.exceptions import DeadKernelError
from tests.patience import PATIENCE_S

ROOT = Path(__file__).parents[2]
NOTEBOOKS = sorted((ROOT / "examples").glob("*.ipynb"))


def test_there_are_notebooks() -> None:
    assert [path.name for path in NOTEBOOKS] == ["from-python.ipynb"]


@pytest.mark.kernel
@pytest.mark.servers
@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_it_runs(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a reader runs it, in the folder where it lies; every picture and table is there afterwards."""
    if find_spec("h5py") is None:
        missing = "h5py is not installed, without which h5netcdf writes no file"
        pytest.fail(missing) if os.environ.get("CI") else pytest.skip(missing)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(ROOT / "src"), os.environ.get("PYTHONPATH", "")]))
    book = nbformat.read(path, as_version=4)
    where, waits = {"metadata": {"path": str(path.parent)}}, int(PATIENCE_S)
    for last in (False, False, True):
        try:
            NotebookClient(book, timeout=waits, startup_timeout=waits, resources=where).execute()
            break
        except (DeadKernelError, RuntimeError):  # the ports that were free a moment ago may be somebody else's
            if last:
                raise
    shown = [output for cell in book.cells if cell.cell_type == "code" for output in cell.outputs]
    assert not [output for output in shown if output.output_type == "stream"], "it warns of nothing"
    kinds = [set(output.get("data", {})) for output in shown]
    assert sum("image/png" in kind for kind in kinds) == 4
    assert sum("text/html" in kind for kind in kinds) >= 4
    text = "\n".join(str(output.data.get("text/plain", "")) for output in shown if "data" in output)
    for words in ("['ledger.parquet', 'members.parquet', 'rack.nc']", "outlook of harvest table", "met"):
        assert words in text


@pytest.mark.kernel
@pytest.mark.slow
def test_the_few_lines_of_the_readme_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a folder that has the examples, with fewer members."""
    (block,) = re.findall(r"^```python\n(outlook = .*?)^```$", (ROOT / "README.md").read_text("utf-8"), re.M | re.S)
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    monkeypatch.chdir(tmp_path)
    engine = "" if find_spec("h5py") else ', engine="scipy"'  # what the core can, where HDF5 is not there
    fewer = block.replace('day.csv")', 'day.csv", members=16)').replace('"butt.nc"', f'"butt.nc"{engine}')
    assert fewer.count("members=16") == 1
    exec(f"import pitreckon as pr\n{fewer}", {})
    assert {path.name for path in tmp_path.iterdir()} == {"examples", "members.parquet", "butt.nc", "butt.png"}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_it_is_kept_as_it_is_written(path: Path) -> None:
    """Without outputs: they would be of some other version."""
    book = nbformat.read(path, as_version=4)
    nbformat.validate(book)
    cells = [cell for cell in book.cells if cell.cell_type == "code"]
    assert len(cells) > 8
    assert all(not cell.outputs and cell.execution_count is None for cell in cells)
    assert any("no promise of safety" in cell.source for cell in book.cells)
