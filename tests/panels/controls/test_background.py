"""Work in the background: newer work ends the older, and what came before is shown all the same."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from dashboards.panels.controls import background
from dashboards.panels.controls.background import BackgroundWork


def test_newer_work_ends_the_older(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(background, "kernel_loop", asyncio.get_running_loop)
    shown: list[int] = []
    ends: list[Exception | None] = []
    told: list[str] = []
    gone = threading.Event()

    def work(number: int) -> Any:
        def steps(progress: Any) -> Iterator[int]:
            yield number
            try:
                for _ in range(500 if number == 1 else 2):
                    progress(0.5, f"work {number}")
                    time.sleep(0.005)
            except BaseException:
                gone.set()
                raise
            yield number * 10

        return steps

    async def both() -> None:
        job: BackgroundWork[int] = BackgroundWork(lambda share, what: told.append(what), shown.append, ends.append)
        job.start(work(1))
        await asyncio.sleep(0.05)
        job.start(work(2))
        while not ends:
            await asyncio.sleep(0.01)

    with ThreadPoolExecutor() as apart:  # this thread may have a loop of the browser's
        apart.submit(asyncio.run, both()).result(20)
    assert gone.wait(5)
    assert shown == [1, 2, 20]
    assert ends == [None]
    assert "work 1" in told
