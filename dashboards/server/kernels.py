"""The kernels of the pages: one that waits in the pool is not taken for an idle one."""

from typing import ClassVar

from jupyter_server._tz import utcnow
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager


class PageKernels(AsyncMappingKernelManager):
    """A pooled kernel's idle clock starts when it leaves the pool."""

    _met: ClassVar[frozenset] = frozenset()

    async def cull_kernel_if_idle(self, kernel_id):
        """Called for kernels outside the pool only; the first call is when one has just left it."""
        if kernel_id in self._kernels and kernel_id not in self._met:
            self._met = (self._met & set(self._kernels)) | {kernel_id}
            self._kernels[kernel_id].last_activity = utcnow()
            return
        await super().cull_kernel_if_idle(kernel_id)
