"""The page's questions on a cluster: the same answers to the bit as from processes here; a dead worker loses none."""

from __future__ import annotations

import asyncio
import os
import signal
from pathlib import Path
from typing import Any

import pytest
from tests.clusters import local_cluster
from tests.patience import comes
from tests.web.pit_server import NOW, fill

from pitreckon.ledger.store import Store
from pitreckon.web.live.asked import Again, Asked
from pitreckon.web.live.crew import Crew
from pitreckon.web.live.hiring import Cluster, Here
from pitreckon.web.live.questions import reckoned_now, safety_record, supposed
from pitreckon.web.live.turns import Asker, Urgency

pytestmark = [pytest.mark.asyncio, pytest.mark.servers, pytest.mark.slow]
AGAIN = Again(NOW, 16)


async def answer(crew: Crew, question: Any, *args: Any) -> Any:
    ticket = crew.join(Asker("supper"), Urgency.LOOK, key="supper")
    try:
        return await crew.answer(ticket, question, *args)
    finally:
        crew.leave(ticket)


async def test_a_cluster_answers_as_processes_do_and_survives_its_worker(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    fill(path)
    with Store.open(path) as store:
        row = store.cook("supper")
    asked = Asked(str(path), row.id, row.plan_toml, row.last_seq, 1)
    local = local_cluster(2)
    with local:
        there, here = Crew(Cluster(local.scheduler_address)), Crew(Here(1))
        try:
            assert there.told().most == 2
            first = await answer(there, reckoned_now, asked, NOW, 16)
            assert first == await answer(here, reckoned_now, asked, NOW, 16)
            options = await answer(there, supposed, asked, 8)
            assert options, "it remembers the cook"

            (seat,) = there._seats
            worker: Any = seat.worker
            (nanny,) = (each for each in local.workers.values() if each.worker_address == worker._at)
            os.kill(nanny.pid, signal.SIGKILL)
            assert await answer(there, supposed, asked, 8, AGAIN) == options, "whoever is left makes it anew"
            assert await answer(here, supposed, asked, 8) == options

            await answer(there, safety_record, asked, NOW, "", "")
            await comes(lambda: "each rule" in worker.progress, "how far it is")
        finally:
            await asyncio.to_thread(there.close)
            here.close()
