"""JupyterLab in Chromium: one server and one browser for the whole run."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from accessibility import accessibility_faults

from designkit.studies.start_server import PROMPT

_looked_at: set[str] = set()
ROOT = Path(__file__).parents[1]
SCREENS = ROOT / "build" / "screens"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@dataclass
class Lab:
    """A running JupyterLab and the folder it serves."""

    url: str
    folder: Path
    log: Path


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    if CHROMIUM is None:
        if os.environ.get("DESIGNKIT_BROWSER") == "required":
            pytest.fail("no chromium on this machine, and DESIGNKIT_BROWSER=required")
        pytest.skip("no chromium on this machine")
    folder = tmp_path_factory.mktemp("lab")
    state = tmp_path_factory.mktemp("state")
    shutil.copytree(ROOT / "notebooks", folder / "notebooks")
    for demo in sorted((ROOT / "data").iterdir()):
        shutil.copytree(demo, folder / demo.name)
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = s.getsockname()[1]
    log = state / "server.log"
    env = {
        **os.environ,
        "JUPYTER_CONFIG_DIR": str(state / "config"),
        "JUPYTER_DATA_DIR": str(state / "data"),
        "JUPYTER_RUNTIME_DIR": str(state / "runtime"),
        "DESIGNKIT_PROJECT": str(folder / "harbour-flat"),
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }
    args = [
        sys.executable,
        "-m",
        "jupyterlab",
        "--no-browser",
        "--allow-root",
        f"--port={port}",
        "--port-retries=0",
        "--IdentityProvider.token=",
        "--ServerApp.password=",
        PROMPT,
        f"--ServerApp.root_dir={folder}",
    ]
    with log.open("w") as out:
        process = subprocess.Popen(args, env=env, stdout=out, stderr=subprocess.STDOUT)
    url = f"http://127.0.0.1:{port}"
    try:
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{url}/api/status", timeout=1).read()
                break
            except OSError:
                if process.poll() is not None:
                    pytest.fail(f"JupyterLab did not start:\n{log.read_text()[-3000:]}")
                time.sleep(0.2)
        yield Lab(url=url, folder=folder, log=log)
    finally:
        process.terminate()
        process.wait(timeout=20)


@pytest.fixture(scope="session")
def browser(lab: Lab) -> Iterator[object]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as p:
        b = p.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield b
        b.close()


@dataclass
class Study:
    """An open notebook: its page, and what went wrong in it."""

    page: object
    name: str
    errors: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)
    shots: int = 0

    def shot(self, what: str) -> Path:
        """Keep a screenshot of the study, one a control state."""
        SCREENS.mkdir(parents=True, exist_ok=True)
        self.shots += 1
        path = SCREENS / f"{self.name}-{self.shots:02d}-{what}.png"
        self.page.locator(".dk-page").first.screenshot(path=str(path))
        return path

    def answered(self) -> int:
        return int(self.page.locator(".dk-page").first.get_attribute("data-answered") or 0)

    def settle(self, before: int, timeout: float = 20) -> None:
        """Wait until Python has answered what was asked after `before`."""
        self.page.wait_for_function(
            "n => Number(document.querySelector('.dk-page')?.dataset.answered ?? 0) > n",
            arg=before,
            timeout=timeout * 1000,
        )

    def text(self, selector: str) -> str:
        return self.page.locator(selector).first.inner_text()


def run_cells(page: object) -> None:
    """Wait for the notebook that was gone to, run it, and wait for its study."""
    from playwright.sync_api import TimeoutError

    page.wait_for_selector(".jp-Notebook", timeout=60_000)
    page.wait_for_function("() => document.querySelectorAll('.jp-Cell').length > 0")
    # A cell that is run before there is a kernel is passed over without a word.
    page.wait_for_selector(".jp-StatusBar-Widget >> text=Idle", timeout=60_000)
    page.wait_for_timeout(100)
    for _ in range(6):  # under load a menu can close before it is clicked
        page.click('.lm-MenuBar-itemLabel:text-is("Run")', timeout=10_000)
        page.click('.lm-Menu-itemLabel:text-is("Run All Cells")', timeout=10_000)
        try:
            page.wait_for_selector(".dk-page svg", timeout=10_000)
            break
        except TimeoutError:
            if page.locator(".jp-InputPrompt:text-is('[*]:')").count():
                page.wait_for_selector(".dk-page svg", timeout=60_000)
                break
    page.wait_for_function("() => Number(document.querySelector('.dk-page').clientHeight) > 200")
    page.wait_for_timeout(100)


def open_study(
    browser: object, lab: Lab, name: str, *, width: int = 1280, height: int = 3600
) -> Study:
    page = browser.new_page(viewport={"width": width, "height": height})
    study = Study(page=page, name=name)
    page.on("console", lambda m: study.errors.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: study.errors.append(str(e)))
    page.on(
        "request",
        lambda r: (
            study.outside.append(r.url)
            if not r.url.startswith((lab.url, lab.url.replace("http", "ws"), "data:", "blob:"))
            else None
        ),
    )
    page.goto(f"{lab.url}/doc/tree/notebooks/{name}.ipynb?reset")
    run_cells(page)
    return study


@pytest.fixture
def study(browser: object, lab: Lab) -> Iterator[object]:
    opened: list[Study] = []
    for drafts in lab.folder.glob("*/.designkit/drafts"):  # of the tests before
        shutil.rmtree(drafts, ignore_errors=True)

    def start(name: str, *, width: int = 1280, height: int = 3600) -> Study:
        opened.append(open_study(browser, lab, name, width=width, height=height))
        return opened[-1]

    yield start
    for s in opened:
        if s.name not in _looked_at and not s.page.is_closed():
            _looked_at.add(s.name)  # once a study: about a second
            faults = accessibility_faults(s.page)
            assert faults == [], (s.name, faults)
        s.page.close()
    for draft in lab.folder.glob("*/.designkit/drafts"):  # the next test types anew
        shutil.rmtree(draft, ignore_errors=True)
