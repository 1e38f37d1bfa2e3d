"""The kernels of the pages: warm before a viewer comes, gone after, never more than the machine holds."""

import os
from typing import ClassVar

from jupyter_server._tz import utcnow
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from tornado.web import HTTPError
from traitlets import Int

OF_ONE_VIEWER = ("VOILA_REQUEST_URL", "QUERY_STRING", "PATH_INFO", "WIRECALC_TOKEN")
# faults in callbacks are said and logged, a kernel's own log goes to the server's, no history is written to the disk
ARGUMENTS = (
    "--ext=dashboards.panels.controls.faults",
    "--IPKernelApp.capture_fd_output=False",
    "--HistoryManager.enabled=False",
)
HERE_ONLY = ("127.0.0.1", "::1", "localhost")


class PageKernels(AsyncMappingKernelManager):
    """Voilà's class of pools is derived from this one."""

    most = Int(60, help="kernels at once, those in the pools included").tag(config=True)
    _met: ClassVar[frozenset] = frozenset()

    def __init__(self, **settings):
        server = settings["parent"]
        if server.ip not in HERE_ONLY and not server.token:
            raise SystemExit("Error: not served on a network without a token: set WIRECALC_TOKEN, as start.py does.")
        super().__init__(**settings)

    def __init_subclass__(cls, **settings):
        """A kernel that is still waiting to be started warms nobody: then a viewer's own is started at once."""
        super().__init_subclass__(**settings)
        counted = cls.get_pool_size

        def get_pool_size(self, notebook_name):
            pool = self._pools.get(notebook_name, [])
            return counted(self, notebook_name) if pool and self._stands(pool[0]) else 0

        cls.get_pool_size = get_pool_size

    async def start_kernel(self, **asked):
        """A kernel as pages need it; nothing of the address one viewer asked for gets into another's."""
        if len(self) >= self.most:
            raise HTTPError(503, "As many pages are open here as this machine holds. Close one, or try again soon.")
        environment = {key: value for key, value in asked.pop("env", os.environ).items() if key not in OF_ONE_VIEWER}
        return await super().start_kernel(env=environment, extra_arguments=list(ARGUMENTS), **asked)

    async def cull_kernels(self):
        """At every look for idle kernels the pools are looked after too: Voilà never fills one that failed."""
        await super().cull_kernels()
        self._fill()

    async def cull_kernel_if_idle(self, kernel_id):
        """A pooled kernel's idle clock starts when it leaves the pool.

        Called for kernels outside the pool only; the first call is when one has just left it.
        """
        if kernel_id in self._kernels and kernel_id not in self._met:
            self._met = (self._met & set(self._kernels)) | {kernel_id}
            self._kernels[kernel_id].last_activity = utcnow()
            return
        await super().cull_kernel_if_idle(kernel_id)

    def _handle_kernel_died(self, kernel_id):
        super()._handle_kernel_died(kernel_id)
        self._fill(without=kernel_id)

    def _stands(self, pooled):
        """Whether a kernel of a pool is up; that it died is noticed only at the next look."""
        if not pooled.done() or pooled.cancelled() or pooled.exception():
            return False
        kernel = self._kernels.get(pooled.result()["kernel_id"])
        return kernel is not None and kernel.provisioner.process.poll() is None

    def _fill(self, without=None):
        """Take out of the pools what failed to start or died, and start others."""
        for name, pool in self._pools.items():
            for one in [one for one in pool if one.done()]:
                if one.cancelled() or one.exception() or one.result()["kernel_id"] == without:
                    pool.remove(one)
            self.fill_if_needed(notebook_name=name)
