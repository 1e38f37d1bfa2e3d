"""Voilà's settings for the dashboards: offline, one kernel a page, warmed up, and gone when the page is.

`WIRECALC_TOKEN` in the environment serves on the network, to those who have the token.
"""

import hashlib
import json
import os
import sys
from pathlib import Path

import plotly
import voila.shutdown_kernel_handler as closing
from tornado.web import HTTPError
from voila.tornado.contentshandler import VoilaContentsHandler
from voila.tornado.treehandler import TornadoVoilaTreeHandler
from voila.voila_identity_provider import VoilaLoginHandler

HERE = Path(__file__).parent
PROJECT = HERE.parent.parent

os.environ["JUPYTER_PATH"] = str(HERE / "share" / "jupyter")  # our template, before any the person has
os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(PROJECT), os.environ.get("PYTHONPATH")]))
sys.path.insert(0, str(HERE))  # for kernels.py and sockets.py
TOKEN = os.environ.get("WIRECALC_TOKEN", "")

c = get_config()  # noqa: F821  (traitlets puts it there)
c.VoilaConfiguration.template = "wirecalc"
c.VoilaConfiguration.allow_template_override = "NO"
c.VoilaConfiguration.allow_theme_override = "NO"  # light and dark follow the device, in the template's CSS
c.VoilaConfiguration.file_allowlist = []
c.VoilaConfiguration.classic_tree = True  # the list of pages is a template of ours, without scripts
# plotly.js is read from the installed package: no internet, no second copy through the kernel
c.VoilaConfiguration.extra_labextensions_path = [str(Path(plotly.__file__).parent / "package_data")]
c.VoilaConfiguration.extension_denylist = ["jupyterlab-plotly"]  # plotly's other front end, unused here
c.VoilaConfiguration.resources = {
    "plotly": plotly.__version__,
    "pages": sorted(  # by their place: for the links on top of each
        (about["place"], path.name, about["title"])
        for path in PROJECT.glob("dashboards/*.ipynb")
        for about in [json.loads(path.read_text(encoding="utf-8"))["metadata"]]
    ),
}
# on a slow machine a kernel's output comes long after its reply; a page taken without it would stay blank for ever
c.VoilaExecutor.iopub_timeout = 120
c.VoilaExecutor.raise_on_iopub_timeout = True
c.VoilaExecutor.cell_error_instruction = (
    "This page could not be opened: a fault of the page, not of yours. Load it again; if it stays, start again."
)
c.VoilaConfiguration.preheat_kernel = True
c.VoilaConfiguration.default_pool_size = 1  # of every page
c.VoilaConfiguration.multi_kernel_manager_class = "kernels.PageKernels"
c.PageKernels.most = 60  # at once: some 100 MB each, see README.md beside this file
c.VoilaKernelManager.fill_delay = 5  # sooner, the next kernel's start slows the page that has just opened
c.MappingKernelManager.cull_idle_timeout = 120  # a browser that died says no goodbye
c.MappingKernelManager.cull_interval = 30
c.KernelRestarter.restart_limit = 0  # a new kernel would know nothing of the page: the page is told instead
c.KernelRestarter.time_to_dead = 1.0
c.MappingKernelManager.allow_tracebacks = False

c.Voila.ip = "127.0.0.1"
c.Voila.kernel_websocket_connection_class = "sockets.PageSocket"
c.Voila.tornado_settings = {
    "websocket_max_message_size": 4_000_000,  # bytes; a file from the viewer's device is one: controls/files.py
    "allow_remote_access": bool(TOKEN),  # without a token only to who calls this machine by its own name
    # kept by browsers: its address has plotly's version in it
    "static_immutable_cache": ["/voila/labextensions/plotly.min.js"],
}
if TOKEN:
    c.Voila.ip = "0.0.0.0"
    c.Voila.token = TOKEN
    # the same on every server with this token, and after a restart: who was let in stays in
    c.Voila.cookie_secret = hashlib.sha256(b"wirecalc cookies " + TOKEN.encode()).digest()

# Voilà 0.5's goodbye from a closing page carries no XSRF token and is refused, so that the kernel would stay. The
# kernel's id, a random UUID that only its page knows, is proof enough to end it.
closing.VoilaShutdownKernelHandler.check_xsrf_cookie = lambda self: None


async def _not_served(self, path=""):
    raise HTTPError(404)


async def _only_the_list(self, path="", served=TornadoVoilaTreeHandler.get):
    if path.strip("/") or self.request.query_arguments.keys() - {"token"}:
        raise HTTPError(404)
    await served(self, path)


# Names of folders are nobody's business, and Voilà's other list of pages asks for them.
VoilaContentsHandler.get = _not_served
TornadoVoilaTreeHandler.get = _only_the_list
VoilaLoginHandler.get_template = lambda self, name: self.settings["voila_jinja2_env"].get_template(name)  # ours
