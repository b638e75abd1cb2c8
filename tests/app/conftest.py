"""A page without a browser (`page_of`), and a real server with Chromium (`server`, `web`), for every test of the page.

`page_of` opens a page of an application of its own, with a notebook of its own, in this process. `server` is one
``polepiece serve`` for the whole run; `web` a tab on it that records every request and every error, and refuses to go
anywhere else. Tests that change a guitar take one of their own from `fresh_guitar`.
"""

import asyncio
import base64
import contextlib
import gc
import os
import queue
import re
import signal
import subprocess
import sys
import threading
import warnings
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import httpx
    from nicegui import core, ui
    from nicegui.client import Client
    from nicegui.functions.download import download
    from nicegui.functions.navigate import Navigate
    from nicegui.functions.notify import notify
    from nicegui.testing import User
    from nicegui.testing.general import nicegui_reset_globals

from polepiece.app.listen import sitting
from polepiece.app.server import main, processes, shared
from polepiece.app.server.bench_door import BenchDoor
from polepiece.guitar import read_guitar
from polepiece.notebook import open_notebook
from tests.app import light_elements  # noqa: F401

INVENTED = "the invented guitar that polepiece comes with"
ROOT = Path(__file__).parents[2]
DEMO = ROOT / "examples" / "demo.guitar.toml"
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ARGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required", "--mute-audio",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
]  # fmt: skip
"""The last one leaves no way to another machine. To hold every request up and look at it (`page.route`) would switch
off the browser's store of files: each page would fetch and compile all scripts again."""
STARTED = 240.0  # s until the server must have said where it is; a machine out of breath has needed sixty
COARSE = "tests.app.coarse"
processes.PRELOAD.insert(0, COARSE)  # here nobody looks at a figure; a fine mesh for all: `serve` below
os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))  # to find it
AS_A_PERSON = ("-m", "polepiece")
PRELOADED = (
    "from polepiece.app.server import processes; processes.PRELOAD.insert(0, {!r})\n"
    "from polepiece.cli.main import run; run()"
)


# ------------------------------------------------------------------------------------- without a browser


@pytest.fixture(autouse=True)
def _answers_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a visitor without ears answer as soon as sounds are there; one test asks that nobody else can."""
    monkeypatch.setattr(sitting, "UNHEARD", 0.0)


async def nothing_ahead() -> None:
    """Stand in for what a server solves ahead."""


@contextlib.asynccontextmanager
async def application(notebook: Path, *, demo: bool = True, ahead: bool = False) -> AsyncIterator[None]:
    """Run the application in this process, without a server; an empty notebook begins with the invented guitar.

    ``ahead``: a process solves the guitar that was changed last before anybody asks, as on every server. It takes 0.4 s
    of processor a test; a page that needs the answer asks for it anyway.
    """
    with nicegui_reset_globals(), pytest.MonkeyPatch.context() as patch:
        if not ahead:
            patch.setattr(main, "_warm", nothing_ahead)
        gc.freeze()  # NiceGUI has just looked through all there is: at the end it is asked of this page's own only
        os.environ["NICEGUI_USER_SIMULATION"] = "true"
        try:
            room = main.open_room(notebook, DEMO)
            if demo and not room.notebook.guitars():
                room.notebook.add_guitar(read_guitar(DEMO), why=INVENTED)
            main.compose(hosts=["test"], token=None, bench=BenchDoor(room.notebook.bench_with).name)
            ui.run(title="polepiece", dark=None, tailwind=False, storage_secret="of a test")
            async with core.app.router.lifespan_context(core.app):
                yield
        finally:
            os.environ.pop("NICEGUI_USER_SIMULATION", None)
            Client.page_routes.clear()  # else NiceGUI forgets our modules, and records of one class become two
            shared.room().close()
            shared.set_room(None)
            ui.navigate, ui.notify, ui.download = Navigate(), notify, download


class Patient(User):
    """A visitor who looks for a minute before saying that something is (or still is) missing: CI may be busy."""

    async def should_see(self, *arguments: Any, retries: int = 600, **choices: Any) -> None:  # 0.1 s each
        await super().should_see(*arguments, retries=retries, **choices)

    async def should_not_see(self, *arguments: Any, retries: int = 1200, **choices: Any) -> None:  # 0.05 s each
        await super().should_not_see(*arguments, retries=retries, **choices)


@pytest.fixture
async def page_of(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, request: pytest.FixtureRequest
) -> AsyncIterator[Callable[[str], Awaitable[User]]]:
    """Open pages: ``user = await page_of("/guitar")``; a second call is a second tab. A module may say `AHEAD`."""
    ahead = getattr(request.module, "AHEAD", False)
    async with application(tmp_path / "notebook.sqlite", ahead=ahead), contextlib.AsyncExitStack() as stack:

        async def opened(path: str) -> User:
            client = await stack.enter_async_context(
                httpx.AsyncClient(transport=httpx.ASGITransport(core.app), base_url="http://test")
            )
            user = Patient(client)
            await user.open(path)
            return user

        yield opened
    loud = [record.getMessage() for record in caplog.get_records("call") if record.levelname == "ERROR"]
    assert not loud, loud


async def at_rest() -> None:
    """Wait until what was just done on a page has been handled and is in the notebook, however busy the machine."""
    for _ in range(3):  # a handler runs, writes in the notebook's thread, and goes on
        await asyncio.sleep(0.05)
        await shared.written(lambda: None)
    await asyncio.sleep(0.05)


# --------------------------------------------------------------------------------------- with a browser


@dataclass
class Served:
    """A running ``polepiece serve``."""

    url: str
    notebook: Path
    process: "subprocess.Popen[str]"
    reader: threading.Thread  # of what it says


def serve(
    notebook: Path, *arguments: str, environment: "dict[str, str] | None" = None, demo: bool = True,
    coarse: bool = False, preload: str = COARSE,
) -> Served:  # fmt: skip
    """Start ``polepiece serve`` on a free port; an empty notebook begins with the invented guitar.

    ``coarse``: its processes compute on the coarse mesh, for tests in which nothing is looked at that hangs on it;
    ``preload`` is the module by which they do.
    """
    if demo and not notebook.exists() and notebook.parent.is_dir():
        with open_notebook(notebook) as book:
            book.add_guitar(read_guitar(DEMO), why=INVENTED)
    variables = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("PYTEST_", "NICEGUI_", "POLEPIECE_TOK"))
    }
    command = [
        sys.executable,
        "-u",
        *(("-c", PRELOADED.format(preload)) if coarse else AS_A_PERSON),
        "serve",
        "--notebook",
        str(notebook),
        "--port",
        "0",
        "--no-browser",
    ]
    process = subprocess.Popen(
        [*command, *arguments], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        env=variables | (environment or {}), start_new_session=True,
    )  # fmt: skip
    lines: queue.Queue[str] = queue.Queue()
    assert process.stdout is not None
    reader = threading.Thread(target=lambda: [lines.put(line) for line in process.stdout or ()], daemon=True)
    reader.start()
    said = ""
    with contextlib.suppress(queue.Empty):
        while not (found := re.search(r"http://\S+:\d+", said)):
            said += lines.get(timeout=STARTED)
        return Served(url=found[0], notebook=notebook, process=process, reader=reader)
    process.kill()
    raise AssertionError(f"the server did not start: {said}")


def stop(served: Served) -> None:
    """Stop a server as Ctrl-C does."""
    try:
        if served.process.poll() is None:
            served.process.send_signal(signal.SIGINT)
        served.process.wait(STARTED)
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(served.process.pid, signal.SIGKILL)
        served.process.wait(60)
        served.reader.join(60)
        assert served.process.stdout is not None
        served.process.stdout.close()


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One server for the whole run, on the coarse mesh: what a page does is looked at, not the numbers."""
    served = serve(tmp_path_factory.mktemp("served") / "notebook.sqlite", coarse=True)
    yield served
    stop(served)


@pytest.fixture
def fresh_guitar(server: Served) -> Callable[[], int]:
    """Put the invented guitar on record once more; returns its number."""

    def add() -> int:
        with open_notebook(server.notebook) as book:
            return book.add_guitar(read_guitar(DEMO)).id

    return add


@pytest.fixture(scope="module")  # not session: Playwright's loop would break every async test after it
def browser() -> Iterator[Any]:
    """Chromium without a head."""
    if not Path(CHROMIUM).exists():
        pytest.skip(f"{CHROMIUM} is not there: install chromium, or name another with CHROMIUM")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=ARGS, timeout=WAIT)
        yield found
        IDLE.clear()
        found.close()


IDLE: list[Any] = []
"""Pages of the browser that nobody looks at: the first load of a new one costs four times as much as one more load."""
WAIT = 240_000
"""Longest wait for anything on a page, ms: the first page of a busy machine takes its time."""
LEAVE = 20_000
"""Longest wait until a page is empty, ms: one that was going elsewhere by itself may never say that it is."""


@dataclass
class Tab:
    """A tab and what it has done; ``page`` is Playwright's."""

    page: Any
    url: str
    requests: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Look at all that the page does, until `leave`."""
        self.page.set_default_timeout(WAIT)
        self.hearing = (("request", self._asked), ("pageerror", self._failed), ("console", self._said))
        for what, listener in self.hearing:
            self.page.on(what, listener)

    def _asked(self, request: Any) -> None:
        self.requests.append(request.url)
        if not request.url.startswith((self.url, "data:", "blob:")):
            self.outside.append(request.url)

    def _failed(self, error: Any) -> None:
        self.errors.append(str(error))

    def _said(self, line: Any) -> None:
        if line.type == "error":
            self.errors.append(line.text)

    def leave(self) -> None:
        """Take from the page, and from its browser, all that a visitor has left there."""
        with contextlib.suppress(Exception):  # a page that has no origin has no store either
            self.page.evaluate("localStorage.clear(), sessionStorage.clear()")
        for what, listener in self.hearing:
            self.page.remove_listener(what, listener)
        for other in self.page.context.pages:
            if other is not self.page:
                other.close()
        self.page.goto("about:blank", timeout=LEAVE)
        self.page.context.clear_cookies()

    def goto(self, path: str) -> Any:
        """Open a page of the server and wait until it is connected."""
        self.page.goto(self.url + path)
        self.page.wait_for_selector("main h1")
        return self.page


AS_TEXT = """const asText = (samples) => {
  const bytes = new Uint8Array(new Float32Array(samples).buffer);
  let all = '';
  for (let k = 0; k < bytes.length; k += 32768) all += String.fromCharCode(...bytes.subarray(k, k + 32768));
  return btoa(all);
};"""
"""For a script that gives samples away: as a list, each of some hundred thousand is packed and unpacked by itself."""


def samples_of(text: str) -> "np.ndarray":
    """Return the samples (n,) that ``asText`` gave away: of a player they have 32 bits."""
    return np.frombuffer(base64.b64decode(text), dtype="<f4").astype(float)


def open_folds(page: Any) -> None:
    """Open every fold of a page, those too that are hidden until something is computed."""
    page.eval_on_selector_all("details:not([open])", "all => all.forEach(one => { one.open = true })")


def new_tab(context: Any, url: str) -> Tab:
    """Return a tab that records its requests, those that would leave ``url``, and its errors."""
    return Tab(page=context.new_page(), url=url)


def left(tab: Tab) -> bool:
    """Return whether a tab could be left as new; what hinders it is the browser's, and no test's."""
    from playwright.sync_api import Error

    try:
        tab.leave()
    except Error:
        return False
    return True


@contextlib.contextmanager
def clean_tab(browser: Any, url: str, *, script: str = "", **options: Any) -> Iterator[Tab]:
    """A tab, 1280 x 900; at the end nothing was asked of another machine and nothing has gone wrong.

    ``options`` are those of a browser's context. A page that somebody has left is taken again, its store, its cookies
    and its media as new; with ``script``, which runs before every page's own, it is a new one that nobody else gets.
    """
    size = options.pop("viewport", {"width": 1280, "height": 900})
    if script or not IDLE:
        context = browser.new_context(viewport=size)
        if script:
            context.add_init_script(script)
        page = context.new_page()
    else:
        page = IDLE.pop()
    page.set_viewport_size(size)
    page.emulate_media(**{"media": "screen", "color_scheme": "light", "reduced_motion": "no-preference", **options})
    tab = Tab(page=page, url=url)
    yield tab
    if script or not left(tab):
        page.context.close()
    else:
        IDLE.append(page)
    assert not tab.outside, tab.outside
    assert not tab.errors, tab.errors


@pytest.fixture
def web(browser: Any, server: Served) -> Iterator[Tab]:
    """A clean tab of this session's server."""
    with clean_tab(browser, server.url) as tab:
        yield tab


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core, or a skip where it cannot be fetched."""
    sys.path.insert(0, str(ROOT / "scripts"))
    try:
        import fetch_axe

        return fetch_axe.fetch().read_text(encoding="utf-8")
    except OSError as error:
        pytest.skip(f"axe-core cannot be fetched ({error}); run scripts/fetch_axe.py where the registry is reachable")
    finally:
        sys.path.pop(0)


@pytest.fixture
def faults_of(axe: str) -> Callable[[Any], list[str]]:
    """Return what axe-core finds wrong against WCAG 2.1 A and AA, one line a rule and place; and a second main."""

    def check(page: Any) -> list[str]:
        page.evaluate(axe)
        found = page.evaluate(
            "axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa'], resultTypes: ['violations']})"
            ".then(r => r.violations.flatMap("
            "v => v.nodes.map(n => v.id + ': ' + n.target.join(' ') + ' ' + n.failureSummary.slice(0, 200))))"
        )  # of what passes, which is nearly all of a page, no selectors are worked out
        mains = int(page.evaluate("document.querySelectorAll('main:not([role]), [role=main]').length"))
        return [str(one) for one in found] + [f"{mains} landmarks are main"] * (mains > 1)

    return check
