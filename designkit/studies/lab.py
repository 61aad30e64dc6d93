"""Start JupyterLab with the start page, which leads to every project's studies."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from pathlib import Path

from designkit.errors import InputError
from designkit.studies.start_places import desk_folder, is_project, on_desk, remember
from designkit.studies.start_server import (
    HOST,
    PROMPT,
    SHARE,
    environment,
    free_port,
    open_page,
    run_server,
)

__all__ = ["lab"]

FIRST_PORT = 8888


def lab(given: argparse.Namespace) -> int:
    """Open the start page in JupyterLab.

    Parameters
    ----------
    given : Namespace
        folder, no_browser, port.

    Returns
    -------
    int
        0 where it was stopped, 1 where JupyterLab failed.

    Raises
    ------
    InputError
        The folder holds no project, or the port is taken.
    """
    # A variable that names a project would hold for all of them.
    named = str(given.folder or os.environ.get("DESIGNKIT_PROJECT", ""))
    folder = Path(named).expanduser().resolve() if named else None
    if folder is not None and not is_project(folder):
        raise InputError(
            "project folder",
            given=named,
            allowed="a folder that holds project.toml",
            mend="make one with `designkit new FOLDER`, or start `designkit` without a folder",
        )
    port = free_port(given.port, first=FIRST_PORT)
    desk = desk_folder()
    env = environment(DESIGNKIT_DESK=str(desk), DESIGNKIT_HERE=str(Path.cwd()))
    env.pop("DESIGNKIT_PROJECT", None)
    env.pop("DESIGNKIT_SHOWN", None)
    if folder is not None:
        on_desk(folder)
        remember(folder, name_of(folder))
        env["DESIGNKIT_SHOWN"] = str(folder)
    command = [
        sys.executable,
        "-W",
        "ignore",
        "-m",
        "jupyterlab",
        "--no-browser",
        f"--ServerApp.ip={HOST}",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0",
        f"--ServerApp.root_dir={desk}",
        "--ServerApp.base_url=/",
        "--ServerApp.answer_yes=True",
        PROMPT,
        "--Application.log_level=ERROR",
        # a page for one study is `designkit show`
        "--ServerApp.jpserver_extensions=voila.server_extension=False",
        "--KernelManager.transport_encryption=auto",
        f"--LabApp.extra_labextensions_path={SHARE / 'lab'}",
        # a study that was left open for an hour without a page is put away
        "--MappingKernelManager.cull_idle_timeout=3600",
        "--MappingKernelManager.cull_interval=300",
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    root = f"http://{HOST}:{port}"
    print("The start page opens in a few seconds.", flush=True)
    token = env["JUPYTER_TOKEN"]

    def ready() -> None:
        # The kernel starts while the browser is still reading JupyterLab.
        start_kernel(root, token=token)
        open_page(f"{root}/doc/tree/start.ipynb?token={token}", wanted=not given.no_browser)

    log = desk.parent / "server.log"
    return run_server(command, env=env, alive=f"{root}/api", ready=ready, log=log)


def start_kernel(root: str, *, token: str) -> None:
    """Ask the server for the kernel that the start page will use.

    Parameters
    ----------
    root : str
        Address of the server.
    token : str
        Its token.
    """
    import json
    import urllib.request

    wanted = {
        "path": "start.ipynb",
        "name": "start.ipynb",
        "type": "notebook",
        "kernel": {"name": "python3"},
    }
    request = urllib.request.Request(
        f"{root}/api/sessions",
        data=json.dumps(wanted).encode(),
        headers={"Authorization": f"token {token}", "Content-Type": "application/json"},
    )
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    # Without it JupyterLab asks by itself, a little later.
    with contextlib.suppress(OSError), opener.open(request, timeout=30) as answer:
        answer.read()


def name_of(folder: Path) -> str:
    """What a project is called, as far as its file can be read.

    Parameters
    ----------
    folder : Path
        The project.

    Returns
    -------
    str
        Its name, else the folder's.
    """
    import tomllib

    try:
        name = tomllib.loads((folder / "project.toml").read_text(encoding="utf-8-sig")).get("name")
    except (OSError, ValueError):
        name = None
    return name if isinstance(name, str) and name.strip() else folder.name
