"""Start JupyterLab on a project with the studies beside it."""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
from pathlib import Path

from designkit.errors import InputError
from designkit.project import new
from designkit.shipped import shipped

__all__ = ["lab"]

DEMO = "harbour-flat"


def lab(given: argparse.Namespace) -> int:
    """Open the studies on a project.

    The notebooks are copied into the project's `studies` folder where they are
    not there yet, so that what a person changes in them stays with the project.

    Parameters
    ----------
    given : Namespace
        folder, no_browser, port.

    Returns
    -------
    int
        What JupyterLab returned.

    Raises
    ------
    InputError
        The folder holds no project.
    """
    folder = Path(given.folder or f"{DEMO}-copy").expanduser().resolve()
    if not given.folder and not (folder / "project.toml").is_file():
        new(folder, demo=DEMO)
        print(f"A copy of the demo is in {folder}.")
    if not (folder / "project.toml").is_file():
        raise InputError(
            "project folder",
            given=str(given.folder),
            allowed="a folder that holds project.toml",
            mend="make one with `designkit new FOLDER`",
        )
    books = folder / "studies"
    books.mkdir(exist_ok=True)
    for book in sorted(shipped("notebooks").glob("*.ipynb")):
        if not (books / book.name).exists():
            shutil.copy(book, books / book.name)
    command = [
        sys.executable,
        "-m",
        "jupyterlab",
        f"--ServerApp.root_dir={folder}",
        "--LabApp.default_url=/doc/tree/studies/layout-options.ipynb",
    ]
    if given.no_browser:
        command.append("--no-browser")
    if given.port:
        command.append(f"--port={given.port}")
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    env = {"OPENBLAS_NUM_THREADS": "1", **os.environ, "DESIGNKIT_PROJECT": str(folder)}
    try:
        return subprocess.run(command, env=env, check=False).returncode
    except KeyboardInterrupt:
        return 0
