"""What both servers need: a port, a token, a browser, and a quiet end."""

from __future__ import annotations

import contextlib
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import webbrowser
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from designkit.errors import InputError

__all__ = ["PROMPT", "SHARE", "environment", "free_port", "open_page", "run_server"]

HOST = "127.0.0.1"
SHARE = Path(__file__).parent / "share"
# No message is held back between kernel and page.
PROMPT = (
    "--ServerApp.kernel_websocket_connection_class=designkit.studies.prompt_socket.PromptConnection"
)
WAIT = 60.0  # s until a server must answer
END = 15.0  # s that a server has to stop by itself


def free_port(asked: int, *, first: int) -> int:
    """A port that nothing listens on.

    Parameters
    ----------
    asked : int
        The one that was asked for; 0 for any.
    first : int
        Where the search begins.

    Returns
    -------
    int
        `asked`, or the first that is free.

    Raises
    ------
    InputError
        The one that was asked for is taken, or is no port.
    """

    def is_free(port: int) -> bool:
        with socket.socket() as probe:
            if os.name == "posix":  # a port that was just left is free
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except (OSError, OverflowError):
                return False
        return True

    near = next((p for p in range(first, first + 200) if p != asked and is_free(p)), 0)
    if not asked:
        return near
    if not 1 <= asked <= 65535:
        raise InputError(
            "port", given=asked, allowed="1 to 65535", mend="leave --port out: a free one is taken"
        )
    if not is_free(asked):
        raise InputError(
            "port",
            given=f"{asked}, which is taken",
            allowed="a port that nothing listens on",
            mend=f"leave --port out, or use {near}",
        )
    return asked


def environment(**more: str) -> dict[str, str]:
    r"""What a server and its kernels are started with.

    Parameters
    ----------
    \*\*more : str
        Further variables.

    Returns
    -------
    dict of str to str
        Ours, with designkit's own kernel and page in front of what is installed.
    """
    env = {"OPENBLAS_NUM_THREADS": "1", **os.environ}
    # A kernel is the Python that designkit runs in, whatever other kernels are
    # installed, and imports nothing that lies beside a notebook.
    paths = [str(SHARE / "jupyter"), env.get("JUPYTER_PATH", "")]
    env["JUPYTER_PATH"] = os.pathsep.join(p for p in paths if p)
    # What asks the network or belongs to another server is switched off.
    paths = [str(SHARE / "config"), env.get("JUPYTER_CONFIG_PATH", "")]
    env["JUPYTER_CONFIG_PATH"] = os.pathsep.join(p for p in paths if p)
    env["JUPYTER_TOKEN"] = secrets.token_urlsafe(24)
    return {**env, **more}


def _answers(url: str) -> bool:
    try:
        # no proxy: the server is on this machine
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        with opener.open(url, timeout=2):
            return True
    except urllib.error.HTTPError:
        return True  # it is up, and refuses
    except OSError:
        return False


def open_page(url: str, *, wanted: bool) -> None:
    """Say the address and open it in the browser.

    Parameters
    ----------
    url : str
        With its token.
    wanted : bool
        Whether a browser is to be opened.
    """
    opened = False
    if wanted:
        with contextlib.suppress(webbrowser.Error):
            opened = webbrowser.open(url)
    if opened:
        print(f"Opened in the browser: {url}")
    elif wanted:
        print(f"No browser was found on this machine. Open this address in one: {url}")
    else:
        print(f"Open this address in a browser: {url}")
    print("It runs on this machine only. Stop it with Ctrl-C.", flush=True)


def run_server(
    command: Sequence[str],
    *,
    env: Mapping[str, str],
    alive: str,
    ready: Callable[[], None],
    log: Path,
) -> int:
    """Run a server until it is stopped; nothing of it is left behind.

    Parameters
    ----------
    command : sequence of str
        What is started.
    env : mapping of str to str
        From `environment`.
    alive : str
        An address that answers once it is up.
    ready : callable
        Called then.
    log : Path
        Where the server writes what a person need not read.

    Returns
    -------
    int
        0 where it was stopped, 1 where the server failed.
    """
    # A group of its own, so that Ctrl-C reaches it once, from here, and never
    # while a page is being opened.
    with log.open("w", encoding="utf-8") as said:
        process = subprocess.Popen(
            command,
            env=dict(env),
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=subprocess.STDOUT,
            start_new_session=os.name == "posix",
        )
    # Ended from outside, or its window closed: the same as Ctrl-C.
    ends = [signal.SIGTERM, *([signal.SIGHUP] if hasattr(signal, "SIGHUP") else [])]
    before = {number: signal.getsignal(number) for number in ends}
    with contextlib.suppress(ValueError):  # not in the main thread
        for number in ends:
            signal.signal(number, _interrupt)
    try:
        end = time.monotonic() + WAIT
        while process.poll() is None and not _answers(alive):
            if time.monotonic() > end:
                break
            time.sleep(0.05)
        else:
            if process.poll() is None:
                ready()
                code = process.wait()
                if code == 0:
                    return 0
        last = log.read_text(encoding="utf-8", errors="replace").strip().splitlines()[-12:]
        print("The server stopped or does not answer. It said last:", file=sys.stderr)
        print(*last, sep="\n", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Stopped.")
        return 0
    finally:
        _end(process)
        with contextlib.suppress(ValueError, TypeError):
            for number, was in before.items():
                signal.signal(number, was)


def _interrupt(number: int, frame: object) -> None:
    raise KeyboardInterrupt


def _end(process: subprocess.Popen[bytes]) -> None:
    if process.poll() is not None:
        return
    process.terminate()  # Jupyter and Voilà stop their kernels on this
    try:
        process.wait(END)
    except (subprocess.TimeoutExpired, KeyboardInterrupt):
        if os.name == "posix":
            with contextlib.suppress(OSError):
                os.killpg(process.pid, signal.SIGKILL)
        process.kill()
        process.wait()
