"""Voilà's settings for the dashboards: offline, one kernel a page, warmed up, and gone when the page is.

From the environment: `WIRECALC_EDIT` warms no kernel up, so that a page is of the code as it is when it is loaded;
`WIRECALC_TOKEN` serves on the network, to those who have the token; `WIRECALC_CERTIFICATE` and
`WIRECALC_KEY` are the files for encryption (TLS); `WIRECALC_BALANCER` is the address of a balancer in front of this
server, whose word on who asks is believed.
"""

from __future__ import annotations

import hashlib
import json
import os
import ssl
from functools import partial
from pathlib import Path
from typing import Any

import plotly
from traitlets.config import Config
from voila.app import Voila

from dashboards.server import door, kernels, pages, sockets
from dashboards.server.insides import replace

HERE = Path(__file__).parent
PROJECT = HERE.parent.parent
HERE_ONLY = ("127.0.0.1", "::1", "localhost")


def put_into(c: Config) -> None:
    """All settings.

    Raises
    ------
    Exception
        Of any kind, whatever is wrong: a notebook without a place, a package that is broken or of another version.
    """
    token = os.environ.get("WIRECALC_TOKEN", "")
    os.environ["JUPYTER_PATH"] = str(HERE / "share" / "jupyter")  # our template, before any the person has
    os.environ["WIRECALC_SERVED"] = "1"  # panels need not bring what our template has
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(PROJECT), os.environ.get("PYTHONPATH")]))
    _what_is_shown(c)
    _kernels(c)
    _who_comes_in(c, token)
    door.put_before_every_page()
    pages.put_in_place()
    replace(Voila, "listen", _listen)


def _what_is_shown(c: Config) -> None:
    c.VoilaConfiguration.template = "wirecalc"
    c.VoilaConfiguration.allow_template_override = "NO"
    c.VoilaConfiguration.allow_theme_override = "NO"  # light and dark follow the device, in the template's CSS
    c.VoilaConfiguration.file_allowlist = []
    c.VoilaConfiguration.classic_tree = True  # the list of pages is a template of ours, without scripts
    # plotly.js is read from the installed package: no internet, no second copy through the kernel
    c.VoilaConfiguration.extra_labextensions_path = [str(Path(plotly.__file__).parent / "package_data")]
    # front ends of Lab's that stand in the environment and that no page uses
    unused = ["jupyterlab-plotly", "jupyterlab_pygments", "@voila-dashboards/jupyterlab-preview"]
    c.VoilaConfiguration.extension_denylist = unused
    c.VoilaConfiguration.resources = {
        "plotly": plotly.__version__,
        "pages": sorted(_place(path) for path in PROJECT.glob("dashboards/*.ipynb")),  # for the links on top of each
    }
    # on a slow machine a kernel's output comes long after its reply; a page taken without it would stay blank for ever
    c.VoilaExecutor.iopub_timeout = 120
    c.VoilaExecutor.raise_on_iopub_timeout = True
    c.VoilaExecutor.cell_error_instruction = (
        "This page could not be opened: a fault of the page, not of yours. Load it again; if it stays, start again."
    )


def _place(path: Path) -> tuple[int, str, str]:
    """Where a page stands among the links, its file and its title."""
    about = json.loads(path.read_text(encoding="utf-8"))["metadata"]
    missing = [name for name in ("place", "title") if name not in about]
    if missing:
        raise ValueError(f"{path.name} has no {' and no '.join(missing)} in its metadata")
    return about["place"], path.name, about["title"]


def _kernels(c: Config) -> None:
    c.VoilaConfiguration.preheat_kernel = not os.environ.get("WIRECALC_EDIT")
    c.VoilaConfiguration.default_pool_size = 1  # of every page
    c.VoilaConfiguration.multi_kernel_manager_class = "dashboards.server.kernels.PageKernels"
    c.PageKernels.opened_first = c.VoilaConfiguration.resources["pages"][0][1]  # all at once, none would be ready soon
    c.VoilaKernelManager.fill_delay = 5  # sooner, the next kernel's start slows the page that has just opened
    c.MappingKernelManager.cull_idle_timeout = 120  # a browser that died says no goodbye
    c.MappingKernelManager.cull_interval = 30
    c.KernelRestarter.restart_limit = 0  # a new kernel would know nothing of the page: the page is told instead
    c.KernelRestarter.time_to_dead = 1.0
    c.MappingKernelManager.allow_tracebacks = False
    c.Voila.kernel_websocket_connection_class = "dashboards.server.sockets.PageSocket"


def _who_comes_in(c: Config, token: str) -> None:
    c.Voila.ip = "0.0.0.0" if token else "127.0.0.1"
    c.Voila.port_retries = 0  # on the port that was asked for or not at all
    c.Voila.log_format = "%(asctime)s %(levelname)s %(message)s"
    c.Voila.identity_provider_class = "dashboards.server.door.Visitors"
    c.IdentityProvider.cookie_options = {"samesite": "Lax"}
    c.Voila.tornado_settings = {
        "websocket_max_message_size": 4_000_000,  # bytes; a file from the viewer's device is one: controls/files.py
        "allow_remote_access": bool(token),  # without a token only to who calls this machine by its own name
        # kept by browsers: plotly's address has its version in it, those of the front ends a hash of their content
        "static_immutable_cache": [
            "/voila/labextensions/plotly.min.js",
            "/voila/labextensions/anywidget/static/",
            "/voila/labextensions/@jupyter-widgets/jupyterlab-manager/static/",
            "/voila/labextensions/@voila-dashboards/widgets-manager8/static/",
        ],
        "headers": door.HEADERS,
        "default_handler_class": door.Nothing,
        "xsrf_cookie_kwargs": {"samesite": "Strict"},
        "log_function": door.log_request,
    }
    if token:
        c.Voila.token = token
        # the same on every server with this token, and after a restart: who was let in stays in
        c.Voila.cookie_secret = hashlib.sha256(b"wirecalc cookies " + token.encode()).digest()


def _listen(self: Voila, listen: Any = Voila.listen) -> None:
    """Voilà's own, when all that keeps strangers out is in place; encrypted when there is a certificate."""
    wrong = [
        words
        for words, well in {
            "not served on a network without a token: set WIRECALC_TOKEN, as start.py does": self.ip in HERE_ONLY
            or self.identity_provider.token,
            "other kernels than ours": isinstance(self.kernel_manager, kernels.PageKernels),
            "another login than ours": isinstance(self.identity_provider, door.Visitors),
            "sockets that let code pass": self.kernel_websocket_connection_class is sockets.PageSocket,
            "files of the folder would be served": not self.voila_configuration.file_allowlist,
            "another template than ours": self.voila_configuration.template == "wirecalc",
        }.items()
        if not well
    ]
    if wrong:
        raise SystemExit(f"Error: not started, {'; '.join(wrong)}.")
    certificate = os.environ.get("WIRECALC_CERTIFICATE")
    if certificate:
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(certificate, os.environ.get("WIRECALC_KEY") or None)
        self.app.listen = partial(self.app.listen, ssl_options=context)
    listen(self)
