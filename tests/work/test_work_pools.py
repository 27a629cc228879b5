"""Who does the work: the same answers from this machine's processes and from a cluster, and plain refusals."""

from __future__ import annotations

import math

import pytest

from pitreckon.errors import InputError
from pitreckon.work import pools

SQUARES = [math.factorial(n) for n in range(8)]


@pytest.mark.servers
@pytest.mark.slow
def test_processes_and_a_cluster_answer_alike():
    distributed = pytest.importorskip("distributed")
    with pools.pool(workers=2) as here:
        assert list(here.map(math.factorial, range(8))) == SQUARES
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
        ) as cluster,
        pools.pool(cluster.scheduler_address) as there,
    ):
        assert list(there.map(math.factorial, range(8))) == SQUARES


def test_no_workers_are_refused():
    with pytest.raises(InputError, match="no worker"):
        pools.processes(0)


def test_an_address_where_nobody_answers_is_told(monkeypatch):
    monkeypatch.setattr(pools, "PATIENCE_S", 0.2)
    with pytest.raises(InputError, match="no cluster answers"), pools.pool("tcp://127.0.0.1:9"):
        pass
