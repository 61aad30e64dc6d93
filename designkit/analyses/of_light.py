"""Light of one layout, with the project's photometric files read."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from designkit.analyses.pick import home_of, layout_of
from designkit.errors import LookupFailed
from designkit.lighting.distribution import Photometry
from designkit.lighting.photometry import read_photometry
from designkit.lighting.quick import LightResult
from designkit.lighting.quick import light as quick_light
from designkit.model import Home, Layout, Project

__all__ = ["light", "photometry_of"]


def photometry_of(home: Home, folder: Path | None) -> dict[str, Photometry]:
    """The photometric files that a home's fixtures name.

    Parameters
    ----------
    home : Home
        Its fixtures name files.
    folder : Path or None
        The project folder; files lie in photometry/ below it.

    Returns
    -------
    dict of str to Photometry
        By the name that the fixtures give.

    Raises
    ------
    LookupFailed
        A file is not there, or there is no folder to look in.
    FileFormatError
        A file is not LM-63.
    """
    found: dict[str, Photometry] = {}
    for id, fixture in home.fixtures.items():
        name = fixture.photometry
        if not name or name in found:
            continue
        path = None if folder is None else folder / "photometry" / Path(name).name
        if path is None or not path.is_file():
            raise LookupFailed(
                f"fixtures.{id}.photometry",
                given=name,
                allowed="a file in the project's photometry folder",
                mend="copy the LM-63 file there, or take the key out",
            )
        found[name] = read_photometry(path)
    return found


def light(
    project: Project | Home,
    *,
    layout: str | Layout = "",
    folder: Path | None = None,
    dim: float | Mapping[str, float] = 1.0,
    age: float | None = None,
) -> LightResult:
    """Light of one layout the quick way.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    folder : Path, optional
        The project folder, for photometric files.
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit. [1]
    age : float, optional
        Age of the reader; the eldest of the brief without it. [a]

    Returns
    -------
    LightResult
        See `designkit.lighting.quick.light`.

    Raises
    ------
    LookupFailed
        There is no such layout, or a file is missing.
    """
    home = home_of(project)
    plan = layout_of(home, layout)
    return quick_light(home, plan, dim=dim, age=age, photometry=photometry_of(home, folder))
