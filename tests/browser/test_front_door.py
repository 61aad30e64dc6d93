"""The front door in Chromium: type the command, click, stop it, nothing is left."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from lab_fixtures import SCREENS

from designkit import project

pytestmark = [
    pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning"),
    pytest.mark.skipif(os.name != "posix", reason="looks for processes in /proc"),
]


@dataclass
class Running:
    """A command that serves pages: its process and the address it said."""

    process: subprocess.Popen[str]
    url: str
    outside: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)

    def page(self, browser: Any, *, height: int = 1800) -> Any:
        page = browser.new_page(viewport={"width": 1280, "height": height})
        root = self.url.split("/", 3)[2]
        inside = (f"http://{root}", f"ws://{root}", "data:", "blob:")
        page.on(
            "request",
            lambda r: None if r.url.startswith(inside) else self.outside.append(r.url),
        )
        page.on("response", lambda r: self.failed.append(r.url) if r.status >= 400 else None)
        page.on("console", lambda m: self.errors.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: self.errors.append(str(e)))
        page.on("dialog", lambda d: (self.dialogs.append(d.message), d.accept()))
        return page

    def check(self) -> None:
        assert self.outside == []
        assert self.failed == []
        assert self.errors == []
        assert self.dialogs == []


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Any]:
    begun: list[subprocess.Popen[str]] = []

    def begin(*words: str) -> Running:
        env = {
            **os.environ,
            "XDG_DATA_HOME": str(tmp_path / "data"),
            "JUPYTER_CONFIG_DIR": str(tmp_path / "config"),
            "JUPYTER_RUNTIME_DIR": str(tmp_path / "runtime"),
            "TMPDIR": str(tmp_path / "tmp"),
        }
        env.pop("DESIGNKIT_PROJECT", None)
        (tmp_path / "tmp").mkdir(exist_ok=True)
        process = subprocess.Popen(
            [sys.executable, "-m", "designkit.cli", *words, "--no-browser"],
            env=env,
            cwd=tmp_path,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        begun.append(process)
        said = []
        assert process.stdout is not None
        for line in process.stdout:
            said.append(line)
            if found := re.search(r"http://\S+", line):
                return Running(process=process, url=found[0])
        pytest.fail("".join(said))

    yield begin
    for process in begun:
        if process.poll() is None:
            process.terminate()
            process.communicate(timeout=30)


def stop(running: Running) -> str:
    """Ctrl-C, and what it says."""
    running.process.send_signal(signal.SIGINT)
    out, _ = running.process.communicate(timeout=30)
    assert running.process.returncode == 0
    return out


def processes_of(folder: Path) -> list[str]:
    """Processes that were started with something in a folder."""
    found = []
    for entry in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = entry.read_bytes().replace(b"\0", b" ").decode(errors="replace")
        except OSError:
            continue
        if str(folder) in words and "pytest" not in words.split(" -m ")[0]:
            found.append(words)
    return found


def kernels_of(folder: Path) -> list[str]:
    return [
        words for words in processes_of(folder) if "ipykernel" in words or "jupyterlab" in words
    ]


def shot(page: Any, name: str) -> None:
    SCREENS.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=str(SCREENS / f"front-door-{name}.png"))


def test_my_room_without_typing(browser: Any, start: Any, tmp_path: Path) -> None:
    running = start("lab")
    page = running.page(browser, height=1100)
    page.goto(running.url)
    # Nothing was clicked: the page runs by itself, in a window of one document.
    page.wait_for_selector("[data-option='room'] svg", timeout=60_000)
    assert "/doc/tree/start.ipynb" in page.url
    assert page.locator(".jp-Cell.jp-mod-noOutputs .jp-InputArea-editor:visible").count() == 0
    shot(page, "first-time")
    field = page.locator("[data-control='folder']")
    assert field.input_value() == "my-room"
    field.fill("Müllers neue Wohnung")
    field.press("Tab")
    page.wait_for_timeout(300)
    page.locator("[data-choice='ft']").click()
    page.wait_for_timeout(300)
    page.click("[data-option='room']")
    page.wait_for_url(re.compile("/my-room.ipynb"), timeout=20_000)
    page.wait_for_selector(".dk-page .dk-paper svg", timeout=60_000)
    made = tmp_path / "Müllers neue Wohnung"
    assert project.read(made).project.home.units == "ft"
    assert (made / "studies" / "my-room.ipynb").is_file()
    page.wait_for_timeout(500)
    shot(page, "my-room")
    # A kernel that dies comes back by itself, and so does what was typed last.
    page.evaluate("() => { document.querySelector('.dk-page').id = 'before'; }")
    page.locator("[data-control='walk']").focus()
    page.keyboard.type("right 12'")
    for kernel in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            words = kernel.read_bytes()
            if b"ipykernel" in words and str(tmp_path).encode() in words:
                os.kill(int(kernel.parent.name), signal.SIGKILL)
    page.wait_for_function(
        "() => document.querySelector('.dk-page:not(#before) [data-control=walk]')?.value",
        timeout=60_000,
    )
    assert page.locator("[data-control='walk']").input_value() == "right 12'"
    page.click(".jp-Dialog .jp-mod-accept")
    shot(page, "after-a-crash")
    assert {*running.errors} <= {"Cannot send"}  # to the kernel that was gone
    running.errors.clear()
    # Back at the start page it is the project that is shown; leaving asks nothing.
    page.click("#designkit-start-page")
    page.wait_for_selector("[data-option^='project:'] svg", timeout=60_000)
    assert "Müllers neue Wohnung" in page.locator(".dk-where").inner_text()
    shot(page, "recent")
    running.check()
    page.close()
    out = stop(running)
    assert "Traceback" not in out
    assert kernels_of(tmp_path) == []


def test_a_folder_is_shown_first_and_each_study_is_a_click_away(
    browser: Any, start: Any, tmp_path: Path
) -> None:
    folder = project.new(tmp_path / "flat", demo="harbour-flat")
    running = start("lab", str(folder))
    page = running.page(browser)
    page.goto(running.url)
    page.wait_for_selector(".dk-paper svg", timeout=60_000)
    page.wait_for_selector(".dk-links a", timeout=20_000)
    books = sorted(p.stem for p in (folder / "studies").glob("*.ipynb"))
    links = page.locator(".dk-links a").evaluate_all("all => all.map(a => a.href)")
    assert sorted(link.split("/flat/")[1][:-6] for link in links if "/flat/" in link) == books
    answer = page.locator(".dk-answer").inner_text().replace("\u00a0", " ")
    assert "487 € under the cap" in answer
    shot(page, "folder")
    page.click(".dk-links a:text-is('Light')")
    page.wait_for_url(re.compile("/doc/tree/flat/light.ipynb"), timeout=20_000)
    page.wait_for_selector(".dk-question:has-text('light')", timeout=60_000)
    page.wait_for_selector(".dk-paper svg", timeout=60_000)
    assert page.locator(".dk-where").inner_text() == "Flat over the harbour"
    # It is the person's project, not a copy: what she keeps is in its folder.
    before = (folder / "project.toml").read_bytes()
    page.locator("[data-control='lumens']").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("[data-action='keep']:not([disabled])", timeout=20_000)
    page.click("[data-action='keep']")
    page.wait_for_function(
        "() => document.querySelector('.dk-note').innerText.includes('kept')", timeout=20_000
    )
    assert (folder / "project.toml").read_bytes() != before
    running.check()
    # A project file that is spoilt while the start page is open.
    page.click("#designkit-start-page")
    page.wait_for_selector(".dk-links a", timeout=60_000)
    (folder / "project.toml").write_text("name = flat\n", encoding="utf-8")
    page.wait_for_selector(".dk-finding", timeout=10_000)
    assert "line 1, column 8" in page.locator(".dk-finding").first.inner_text()
    shot(page, "to-mend")
    page.close()
    stop(running)
    assert kernels_of(tmp_path) == []


def test_only_the_line_that_ships_runs_by_itself(browser: Any, start: Any, tmp_path: Path) -> None:
    folder = project.new(tmp_path / "flat", demo="harbour-flat")
    (folder / "studies").mkdir()
    from designkit.shipped import shipped

    text = shipped("notebooks/light.ipynb").read_text(encoding="utf-8")
    mark = tmp_path / "it ran"
    foreign = text.replace("import designkit.studies;", f"open('{mark}', 'w');")
    assert foreign != text
    (folder / "studies" / "light.ipynb").write_text(foreign, encoding="utf-8")
    # What lies beside a notebook must not stand in for designkit either.
    (folder / "studies" / "designkit.py").write_text(f"open({str(mark)!r}, 'w')")
    running = start("lab", str(folder))
    page = running.page(browser)
    page.goto(running.url.replace("start.ipynb", "flat/light.ipynb"))
    page.wait_for_selector(".jp-Notebook .jp-CodeCell", timeout=60_000)
    page.wait_for_selector("[data-status='idle']", timeout=60_000)
    page.wait_for_timeout(1500)  # it looks twice a second
    assert page.locator(".dk-page").count() == 0
    page.goto(running.url.replace("start.ipynb", "flat/share-of-black.ipynb"))
    page.wait_for_selector(".dk-question", timeout=60_000)
    assert not mark.exists()
    page.close()
    stop(running)


def test_show_serves_a_page_without_code(browser: Any, start: Any, tmp_path: Path) -> None:
    pytest.importorskip("voila")
    folder = project.new(tmp_path / "flat", demo="parlor-floor")
    running = start("show", "light", str(folder))
    root = running.url.split("?")[0]
    page = running.page(browser)
    page.goto(running.url)
    page.wait_for_selector(".dk-page .dk-paper svg", timeout=60_000)
    assert page.locator(".dk-where").inner_text() == "Parlor floor of a row house"
    before = page.locator("[data-control='dim']").get_attribute("aria-valuenow")
    page.locator("[data-control='dim']").focus()
    page.keyboard.press("PageDown")
    page.wait_for_function(
        "() => Number(document.querySelector('.dk-page').dataset.answered) > 0", timeout=20_000
    )
    assert page.locator("[data-control='dim']").get_attribute("aria-valuenow") != before
    assert "import designkit" not in page.content()
    shot(page, "show")
    running.check()
    # No file is served, and nobody comes in without the token.
    for name in ("light.ipynb", "server.log", "../flat/project.toml", "plan.png"):
        assert page.request.get(f"{root}voila/files/{name}").status in (403, 404)
    stranger = browser.new_context()
    assert "/login" in stranger.request.get(root).url
    stranger.close()
    page.close()
    out = stop(running)
    assert "Traceback" not in out
    assert processes_of(tmp_path / "tmp") == []
    assert [p.name for p in (tmp_path / "tmp").iterdir() if "designkit" in p.name] == []
    assert list((tmp_path / "tmp").glob("voila*")) == []
