"""The kernels of the pages: warm before a viewer comes, gone after, never more than the machine holds."""

from __future__ import annotations

import asyncio
import errno
import os
import time
import uuid
from collections import deque
from contextvars import ContextVar
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psutil
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from traitlets import Float, Int, Unicode, default
from traitlets.config import Config

from dashboards.server.door import Later

OF_ONE_VIEWER = ("VOILA_REQUEST_URL", "QUERY_STRING", "PATH_INFO", "WIRECALC_TOKEN", "WIRECALC_KEY")
# faults in callbacks are said and logged, a kernel's own log goes to the server's, no history is written to the disk
ARGUMENTS = (
    "--ext=dashboards.panels.controls.faults",
    "--IPKernelApp.capture_fd_output=False",
    "--HistoryManager.enabled=False",
)
KERNEL_BYTES, SERVER_BYTES = 95e6, 1e9  # measured, see README.md beside this file
LEAST_BYTES = 300e6  # that stay free: what a page in use may still take
LONGEST_SOCKET = 103  # bytes of the name of a socket that is a file; Linux takes 107, macOS 103
DISK_FULL = (errno.ENOSPC, errno.EDQUOT)
_FULL = "As many pages are open here as this machine holds. Close one, or try again soon."
_VISITOR: ContextVar[str] = ContextVar("visitor", default="")


def memory_bytes(limit: Path = Path("/sys/fs/cgroup/memory.max")) -> float:
    """What this machine has, or what a container may use of it."""
    total = float(psutil.virtual_memory().total)
    try:
        return min(total, float(limit.read_text()))
    except (OSError, ValueError):  # no container, or one without a limit
        return total


class PageKernels(AsyncMappingKernelManager):
    """Voilà's class of pools is derived from this one."""

    most = Int(help="kernels at once, those in the pools included; default: what the memory holds").tag(config=True)
    most_of_one = Int(help="pages at once of one client's address; default: two thirds of `most`").tag(config=True)
    opened_first = Unicode(help="page whose kernel starts with the server; others follow one by one").tag(config=True)
    first_pause = Float(5.0, help="after kernels failed to start; doubled at each further time [s]").tag(config=True)
    longest_pause = Float(300.0, help="between tries to start kernels that fail [s]").tag(config=True)

    @default("most")
    def _most(self) -> int:
        return int(min(max((memory_bytes() - SERVER_BYTES) / KERNEL_BYTES, 8), 400))

    @default("most_of_one")
    def _most_of_one(self) -> int:
        return -(-2 * self.most // 3)

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        longest = Path(self.connection_dir, f"kernel-{uuid.UUID(int=0)}-ipc-99")
        if os.name != "nt" and len(os.fsencode(longest)) <= LONGEST_SOCKET:
            # not over ports: one that is free when it is chosen may be another program's when the kernel asks for it,
            # and then the kernel stands there and never answers
            self.update_config(Config(ConnectionFileMixin={"transport": "ipc"}))
        self.failures = 0  # times in a row that kernels did not start
        self._again_at, self._tried, self._disk_full = 0.0, False, False
        self._coming: list[str] = []  # whose kernels are being started; "" for those of the pools
        self._ended: deque[str] = deque(maxlen=100)
        self._closing: set[asyncio.Future[None]] = set()
        self._met: frozenset[str] = frozenset()  # those that have left a pool
        self._visitors: dict[str, str] = {}  # of a page's kernel, whose it is
        self.log.info("At most %d kernels, %d of one client", self.most, self.most_of_one)

    def __init_subclass__(cls, **settings: Any) -> None:
        """Voilà's pools as they are needed here.

        A kernel that is still waiting to be started warms nobody: then a viewer's own is started at once.
        """
        super().__init_subclass__(**settings)
        pools: Any = cls
        if not hasattr(pools, "fill_if_needed"):  # Voilà's class without pools has but a count of none
            return
        counted, taken, filled = pools.get_pool_size, pools.get_rendered_notebook, pools.fill_if_needed

        def get_pool_size(self: Any, notebook_name: str) -> int:
            pool = self._pools.get(notebook_name, [])
            return int(counted(self, notebook_name)) if pool and self._stands(pool[0]) else 0

        async def get_rendered_notebook(self: Any, *which: Any, **how: Any) -> tuple[Any, list[str], str]:
            task, page, number = await taken(self, *which, **how)
            self._visitors[number] = _VISITOR.get()
            return task, page, number

        def fill_if_needed(self: Any, delay: float | None = None, notebook_name: str = "", **how: Any) -> None:
            if delay == 0 and notebook_name != self.opened_first:  # the server starts
                delay = self.fill_delay * len(self._pools)
            mark = _VISITOR.set("")  # what is started here is nobody's yet
            try:
                filled(self, delay, notebook_name, **how)
            finally:
                _VISITOR.reset(mark)

        pools.get_pool_size, pools.get_rendered_notebook = get_pool_size, get_rendered_notebook
        pools.fill_if_needed = fill_if_needed

    # --- room -----------------------------------------------------------------------------------------------------

    def make_room_for(self, visitor: str) -> None:
        """Say that a page is opened from here on for one client's address.

        Raises
        ------
        Later
            If it has as many as one may have.
        """
        self._visitors = {number: whose for number, whose in self._visitors.items() if number in self._kernels}
        self._check(visitor)
        _VISITOR.set(visitor)

    def _check(self, visitor: str) -> None:
        if [*self._visitors.values(), *self._coming].count(visitor) >= self.most_of_one:
            self.log.warning("As many pages as one client may have: %s", visitor)
            raise Later(429, "From this device's address as many pages are open as one may have. Close one first.", 30)

    async def start_kernel(self, **asked: Any) -> str:  # type: ignore[override]  # typed for managers that block
        """A kernel as pages need it; nothing of the address one viewer asked for gets into another's."""
        if self.failures and (self._tried or self.pause() > 0):
            raise self.not_now()
        if len(self) + len(self._coming) >= self.most or psutil.virtual_memory().available < LEAST_BYTES:
            raise Later(503, _FULL, 30)
        environment = {key: value for key, value in asked.pop("env", os.environ).items() if key not in OF_ONE_VIEWER}
        visitor = _VISITOR.get()
        if visitor:
            self._check(visitor)  # again: others of his may have come at the same time
        self._tried = True
        self._coming.append(visitor)
        try:
            number = await super().start_kernel(env=environment, extra_arguments=list(ARGUMENTS), **asked)
        except Exception as why:
            self.failed(str(why))
            self._disk_full = isinstance(why, OSError) and why.errno in DISK_FULL
            raise self.not_now() from why
        finally:
            self._coming.remove(visitor)
        if visitor:
            self._visitors[number] = visitor
        return number

    # --- kernels that do not start --------------------------------------------------------------------------------

    def pause(self) -> int:
        """Until kernels are tried again. [s]"""
        return max(0, round(self._again_at - time.monotonic() + 0.5))

    def not_now(self) -> Later:
        """What a viewer is told meanwhile."""
        if self._disk_full:
            cause = "The disk of the machine that serves these pages is full, so no page can be opened."
        else:
            cause = "The calculation behind the pages does not start on the machine that serves them; its log says why."
        return Later(503, f"{cause} This page asks again by itself.", max(self.pause(), 1) + 1)

    def failed(self, why: str, kernel_id: str | None = None) -> None:
        """A kernel ended before its page was drawn. All that fail before the next try count as one."""
        self._tried = False
        if self.pause() > 0 or kernel_id in self._ended:  # its viewer did not wait
            return
        wait = min(self.first_pause * 2**self.failures, self.longest_pause)
        self.failures += 1
        self._again_at = time.monotonic() + wait
        self.log.error("No kernel for a page, %d times in a row, next try in %.0f s: %s", self.failures, wait, why)
        asyncio.get_running_loop().call_later(wait, self._fill)

    def worked(self) -> None:
        """A kernel has drawn its page."""
        was, self.failures, self._again_at = self.failures, 0, 0.0
        self._tried = self._disk_full = False
        if was:
            self.log.warning("Kernels start again")
            self._fill()

    def lives(self, kernel_id: str | None) -> bool:
        """Whether a kernel is there and its process runs."""
        kernel = self._kernels.get(kernel_id or "")
        return kernel is not None and kernel.provisioner.process.poll() is None

    # --- how long one lives ---------------------------------------------------------------------------------------

    def notify_disconnect(self, kernel_id: str) -> None:
        """A page without a connection keeps its kernel for the whole time, counted from here."""
        super().notify_disconnect(kernel_id)
        if kernel_id in self._kernels:
            self._kernels[kernel_id].last_activity = datetime.now(UTC)

    async def cull_kernels(self) -> None:
        """At every look for idle kernels the pools are looked after too: Voilà never fills one that failed."""
        await super().cull_kernels()
        self._fill()

    async def cull_kernel_if_idle(self, kernel_id: str) -> None:
        """A pooled kernel's idle clock starts when it leaves the pool.

        Called for kernels outside the pool only; the first call is when one has just left it.
        """
        if kernel_id in self._kernels and kernel_id not in self._met:
            self._met = (self._met & set(self._kernels)) | {kernel_id}
            self._kernels[kernel_id].last_activity = datetime.now(UTC)
            return
        await super().cull_kernel_if_idle(kernel_id)

    async def shutdown_kernel(self, kernel_id: str, *how: Any, **also: Any) -> Any:  # type: ignore[override]
        """End a kernel; that it is gone is then no failure."""
        self._ended.append(kernel_id)
        return await super().shutdown_kernel(kernel_id, *how, **also)

    def start_buffering(self, kernel_id: str, session_key: str, channels: dict[str, Any]) -> None:
        """Keep what comes for a page without a connection; for a kernel that is being ended nobody would close it."""
        if kernel_id not in self._ended:
            super().start_buffering(kernel_id, session_key, channels)
            return
        for stream in channels.values():
            if not stream.closed():
                stream.on_recv(None)
                stream.close()

    def _handle_kernel_died(self, kernel_id: str) -> None:
        kernel = self._kernels[kernel_id]
        self.stop_watching_activity(kernel_id)  # else what is open towards a dead kernel stays open
        self.stop_buffering(kernel_id)
        kernel.stop_restarter()
        self._closing.add(task := asyncio.ensure_future(kernel.cleanup_resources()))
        task.add_done_callback(self._closing.discard)
        super()._handle_kernel_died(kernel_id)
        self._fill(without=kernel_id)

    def _stands(self, pooled: Any) -> bool:
        """Whether a kernel of a pool is up; that it died is noticed only at the next look."""
        if not pooled.done() or pooled.cancelled() or pooled.exception():
            return False
        drawn = pooled.result()["task"]
        if drawn.done() and (drawn.cancelled() or drawn.exception()):
            return False
        return self.lives(pooled.result()["kernel_id"])

    def _fill(self, without: str | None = None) -> None:
        """Take out of the pools what failed to start or died, and start others."""
        pools: Any = self
        for name, pool in getattr(pools, "_pools", {}).items():
            for pooled in [pooled for pooled in pool if pooled.done()]:
                if not self._stands(pooled) or pooled.result()["kernel_id"] == without:
                    pool.remove(pooled)
            pools.fill_if_needed(notebook_name=name)
