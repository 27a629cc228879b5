"""Who does the work: the same answers from this machine's processes and from a cluster, and plain refusals."""

from __future__ import annotations

import math
import time

import pytest
from tests.clusters import local_cluster

from pitreckon.errors import InputError
from pitreckon.work import pools

SQUARES = [math.factorial(n) for n in range(8)]


@pytest.mark.servers
@pytest.mark.slow
def test_processes_and_a_cluster_answer_alike():
    with pools.pool(workers=2) as here:
        assert list(here.map(math.factorial, range(8))) == SQUARES
    with (
        local_cluster(1) as cluster,
        pools.pool(cluster.scheduler_address) as there,
    ):
        assert list(there.map(math.factorial, range(8))) == SQUARES


def test_no_workers_are_refused():
    with pytest.raises(InputError, match="no worker"):
        pools.processes(0)


@pytest.mark.parametrize("address", ["nonsense", "tcp://barn", "http://10.0.0.5:8787", "", "foo://10.0.0.5:1"])
def test_what_is_no_address_is_told_at_once(address):
    """A client that could not be made was waited for, 40 s long, and its traceback came after the message."""
    begun = time.monotonic()
    with pytest.raises(InputError, match=r"no cluster answers at .* as in tcp://10\.0\.0\.5:8786"), pools.pool(address):
        pass
    assert time.monotonic() - begun < 10.0


@pytest.mark.servers
@pytest.mark.slow
def test_a_node_without_pitreckon_is_named(monkeypatch):
    """It died of the first piece of work, and the study waited for ever. A name that nothing has stands for ours."""
    with local_cluster(1) as cluster:
        (address,) = cluster.scheduler_info["workers"]
        with pools.connected(cluster.scheduler_address):
            pass
        monkeypatch.setattr(pools, "PACKAGE", "pitreckon-that-nobody-has")
        with pytest.raises(InputError) as raised, pools.pool(cluster.scheduler_address):
            pass
        monkeypatch.undo()
        monkeypatch.setattr(pools, "__version__", "9.9.9")
        with (
            pytest.raises(InputError, match=r"Pitreckon .* and not 9\.9\.9 is installed for"),
            pools.pool(cluster.scheduler_address),
        ):
            pass
    assert f"no Pitreckon is installed for {address} of the cluster" in str(raised.value)


def test_an_address_where_nobody_answers_is_told(monkeypatch):
    monkeypatch.setattr(pools, "PATIENCE_S", 0.2)
    with pytest.raises(InputError, match="no cluster answers"), pools.pool("tcp://127.0.0.1:9"):
        pass
