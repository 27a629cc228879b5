"""A cluster of this machine's processes, for tests of what runs on one."""

from __future__ import annotations

from typing import Any

import pytest


def local_cluster(nodes: int) -> Any:
    """One of so many nodes of one thread, to be entered; the test is left out where Dask is not installed."""
    distributed = pytest.importorskip("distributed")
    return distributed.LocalCluster(n_workers=nodes, threads_per_worker=1, dashboard_address=None, host="127.0.0.1")
