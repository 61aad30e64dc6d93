"""Serve one study as a page without code, on this machine only."""

from __future__ import annotations

import argparse
import importlib.util
import os
import shutil
import sys
import tempfile
from pathlib import Path

from designkit.errors import InputError, LookupFailed, nearest
from designkit.shipped import shipped
from designkit.studies.start_places import is_project, recent, studies_of
from designkit.studies.start_server import HOST, environment, free_port, open_page, run_server

__all__ = ["show"]

FIRST_PORT = 8866
ALONE = ("learn",)  # needs no project


def show(given: argparse.Namespace) -> int:
    """Serve one study of a project as a page without code.

    Only the study that ships is run, never code that came with a project.

    Parameters
    ----------
    given : Namespace
        study, project, no_browser, port.

    Returns
    -------
    int
        0 where it was stopped, 1 where the server failed.

    Raises
    ------
    LookupFailed
        There is no such study, or Voilà is not installed.
    InputError
        The folder holds no project, or the port is taken.
    """
    name = study_named(given.study)
    folder = project_at(given.project) if name not in ALONE else None
    if importlib.util.find_spec("voila") is None:
        raise LookupFailed(
            "voila",
            given="not installed",
            allowed="the package that serves a notebook as a page",
            mend=f"install it with `{sys.executable} -m pip install voila`",
        )
    port = free_port(given.port, first=FIRST_PORT)
    env = environment()
    env.pop("DESIGNKIT_PROJECT", None)
    if folder is not None:
        env["DESIGNKIT_PROJECT"] = str(folder)
    root = f"http://{HOST}:{port}"
    # Notebook, connection files and log lie in one folder that goes at the end.
    with tempfile.TemporaryDirectory(prefix="designkit-show-") as scratch:
        work = Path(scratch)
        book = work / f"{name}.ipynb"
        shutil.copyfile(shipped(f"notebooks/{name}.ipynb"), book)
        command = [
            sys.executable,
            "-W",
            "ignore",
            "-m",
            "voila",
            str(book),
            "--no-browser",
            f"--Voila.ip={HOST}",
            f"--Voila.port={port}",
            "--Voila.port_retries=0",
            "--Voila.auto_token=True",  # the one in JUPYTER_TOKEN
            f"--Voila.root_dir={work}",
            f"--Voila.connection_dir_root={work}",
            "--Voila.log_level=ERROR",
            "--VoilaConfiguration.template=designkit",
            "--VoilaConfiguration.allow_template_override=NO",
            "--VoilaConfiguration.allow_theme_override=NO",
            "--VoilaConfiguration.file_denylist=.*",  # no file is served
            "--KernelManager.transport_encryption=auto",
            # a page that was closed
            "--MappingKernelManager.cull_idle_timeout=600",
            "--MappingKernelManager.cull_interval=60",
        ]
        return run_server(
            command,
            env=env,
            alive=f"{root}/voila/files/none",
            ready=lambda: open_page(
                f"{root}/?token={env['JUPYTER_TOKEN']}", wanted=not given.no_browser
            ),
            log=work / "server.log",
        )


def study_named(typed: str) -> str:
    """The study that was meant.

    Parameters
    ----------
    typed : str
        Name of its notebook, with or without the ending.

    Returns
    -------
    str
        Without the ending.

    Raises
    ------
    LookupFailed
        There is none; the message lists what there is.

    Examples
    --------
    >>> study_named("Share of black")
    'share-of-black'
    """
    names = [*(book.name for book in studies_of()), *ALONE]
    name = Path(typed.strip()).name.removesuffix(".ipynb").lower()
    name = name.replace("_", "-").replace(" ", "-")
    if name in names:
        return name
    near = nearest(name, names)
    raise LookupFailed(
        "study",
        given=typed,
        allowed=", ".join(names),
        mend=f"use {near}" if near else "use one of these",
    )


def project_at(typed: str) -> Path:
    """The project that was meant.

    Parameters
    ----------
    typed : str
        A folder; "." where $DESIGNKIT_PROJECT may name another.

    Returns
    -------
    Path
        With a project.toml.

    Raises
    ------
    InputError
        It holds no project; the message lists the recent ones.
    """
    named = os.environ.get("DESIGNKIT_PROJECT", typed) if typed == "." else typed
    folder = Path(named).expanduser().resolve()
    if is_project(folder):
        return folder
    known = ", ".join(str(r.folder) for r in recent() if r.there)
    raise InputError(
        "project folder",
        given=named,
        allowed=f"a folder that holds project.toml; opened lately: {known or 'none'}",
        mend="name the folder, or make one with `designkit new FOLDER`",
    )
