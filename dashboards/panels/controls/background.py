"""Long work in the background: the page goes on answering and shows progress, and newer work ends the older."""

from __future__ import annotations

import asyncio
import contextvars
import sys
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any, Generic, TypeVar

Result = TypeVar("Result")
Progress = Callable[[float, str], None]

TELL_EVERY_S = 0.15


def kernel_loop() -> asyncio.AbstractEventLoop | None:
    """The event loop of the kernel that runs this; None without a kernel, where nobody would be kept waiting."""
    shell = getattr(sys.modules.get("IPython"), "get_ipython", lambda: None)()
    try:
        return asyncio.get_running_loop() if shell is not None else None
    except RuntimeError:
        return None


class Ended(Exception):
    """Newer work has come."""


class BackgroundWork(Generic[Result]):
    """One job at a time, in a thread of its own where a kernel's loop runs, else at once.

    Parameters
    ----------
    tell : callable of (float, str) -> None
        The share that is done, and what is being done.
    show : callable of Result -> None
        Each result of the job, as it comes.
    end : callable of (Exception or None) -> None
        Once, when a job that was not ended by a newer one is over.
    """

    def __init__(self, tell: Progress, show: Callable[[Result], None], end: Callable[[Exception | None], None]) -> None:
        self.tell, self.show, self.end = tell, show, end
        self._newest = 0

    def stop(self) -> None:
        """End the running job: its result is not wanted any more."""
        self._newest += 1

    def start(self, work: Callable[[Progress], Iterator[Result]]) -> None:
        """Start a job and end the one that runs."""
        self._newest += 1
        mine, told_s = self._newest, 0.0
        loop = kernel_loop()
        context = contextvars.copy_context()  # the kernel finds in it whom a message answers

        def post(act: Callable[..., None], *arguments: Any) -> None:
            def still() -> None:
                if mine == self._newest:
                    act(*arguments)

            if loop is None:
                still()
            else:
                loop.call_soon_threadsafe(still, context=context)

        def progress(share: float, what: str) -> None:
            nonlocal told_s
            if mine != self._newest:
                raise Ended
            if time.monotonic() - told_s > TELL_EVERY_S:
                told_s = time.monotonic()
                post(self.tell, share, what)

        def job() -> None:
            try:
                for result in work(progress):
                    post(self.show, result)
                    if mine != self._newest:
                        return
            except Ended:
                return
            except Exception as fault:
                post(self.end, fault)
            else:
                post(self.end, None)

        if loop is None:
            job()
        else:
            threading.Thread(target=job, daemon=True).start()
