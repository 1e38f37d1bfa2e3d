"""How a page is sent: to whom there is room for, with leave for its own scripts alone, and in words when it fails."""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import AsyncIterator
from typing import Any

import voila.shutdown_kernel_handler as closing
from jupyter_server.utils import url_path_join
from tornado.web import HTTPError, RequestHandler, authenticated
from voila.app import Voila
from voila.notebook_renderer import NotebookRenderer
from voila.request_info_handler import RequestInfoSocketHandler
from voila.tornado.contentshandler import VoilaContentsHandler
from voila.tornado.handler import TornadoVoilaHandler
from voila.tornado.treehandler import TornadoVoilaTreeHandler

from dashboards.server import door, kernels
from dashboards.server.insides import replace

NOT_STARTED = "<script>window.wcNotStarted(%d)</script>"  # life.js


def policy(nonce: str, host: str) -> str:
    """What a page with widgets may load and run: this server's files, scripts that it was sent with, and no other.

    Widgets set styles, and come as modules in blobs. `host` is named for browsers to which 'self' is no socket.
    """
    sockets = f"ws://{host} wss://{host}" if re.fullmatch(r"[\w.:\[\]-]+", host) else ""
    return (
        f"default-src 'none'; script-src 'self' 'nonce-{nonce}' blob:; style-src 'self' 'unsafe-inline'; "
        f"connect-src 'self' {sockets} blob: data:; img-src 'self' data: blob:; font-src 'self' data:; "
        "media-src blob: data:; worker-src blob:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    )


def put_in_place() -> None:
    """From now on pages are sent as here."""
    replace(TornadoVoilaHandler, "get", _send)
    replace(TornadoVoilaTreeHandler, "get", _only_the_list)
    replace(VoilaContentsHandler, "get", _not_served)  # names of folders are nobody's business
    replace(NotebookRenderer, "generate_content_generator", _until_it_fails)
    replace(RequestInfoSocketHandler, "send_updates", lambda told: None)  # kept for ever, and asked by no page
    replace(Voila, "init_handlers", _handlers)
    # Voilà 0.5's goodbye from a closing page carries no XSRF token and is refused, so that the kernel would stay. The
    # kernel's id, a random UUID that only its page knows, is proof enough to end it.
    replace(closing.VoilaShutdownKernelHandler, "check_xsrf_cookie", lambda self: None)


@authenticated
async def _send(self: Any, path: str = "") -> None:
    nonce = secrets.token_urlsafe(16)
    self.set_header("Content-Security-Policy", policy(nonce, self.request.host))
    manager: kernels.PageKernels = self.kernel_manager
    manager.make_room_for(door.client(self.request))
    try:
        async for html in self.get_generator(path=path):
            # without quotation marks: it may stand in a text of a script, too
            self.write(html.replace("<script", f"<script nonce={nonce}"))
            self.flush()
    except HTTPError:
        raise
    except Exception:
        self.log.exception("A page could not be sent: %s", path)
        if not self._headers_written:
            raise manager.not_now() from None
        self.write(NOT_STARTED.replace("<script", f"<script nonce={nonce}") % manager.pause())


async def _until_it_fails(
    self: Any,
    kernel_id: str | None = None,
    kernel_future: Any = None,
    made: Any = NotebookRenderer.generate_content_generator,
) -> AsyncIterator[tuple[str, Any]]:
    """A page, piece by piece. One whose kernel ended before it was drawn says so: Voilà would wait for ever."""
    manager: kernels.PageKernels = self.kernel_spec_manager.parent.kernel_manager
    fault: Exception | None = None
    try:
        async for piece in made(self, kernel_id, kernel_future):
            yield piece
    except Exception as why:
        fault = why
    if fault is None and manager.lives(kernel_id):
        manager.worked()
        return
    manager.failed(f"{self.notebook_path}: {fault or 'its kernel ended while the page was drawn'}", kernel_id)
    if self.request_handler is None:  # in a pool: who has taken it out is told by `_send`
        raise fault or RuntimeError("the kernel ended while the page was drawn")
    yield NOT_STARTED % manager.pause(), None


async def _not_served(self: Any, path: str = "") -> None:
    raise HTTPError(404)


async def _only_the_list(self: Any, path: str = "", served: Any = TornadoVoilaTreeHandler.get) -> None:
    if path.strip("/") or self.request.query:
        raise HTTPError(404)
    await served(self, path)


class Health(RequestHandler):
    """For a balancer: 200 while pages can be opened here, 404 while their kernels do not start.

    The second is what haproxy's `disable-on-404` wants: nobody new is sent, whoever has a page here goes on.
    """

    def get(self) -> None:
        """Nothing but that is told, and to who started this server that it is the one."""
        manager: kernels.PageKernels = self.settings["kernel_manager"]
        self.set_header("Cache-Control", "no-store")
        self.set_header("Wirecalc-Start", os.environ.get("WIRECALC_START", ""))
        self.set_status(404 if manager.failures else 200)
        self.write("its pages do not start\n" if manager.failures else "ok\n")
        self.finish()


def _handlers(self: Any, made: Any = Voila.init_handlers) -> list[Any]:
    kept = [handler for handler in made(self) if handler[1] is not RequestInfoSocketHandler]
    return [(url_path_join(self.server_url, "/health"), Health), *kept]
