"""Which home and which layout a call is about."""

from __future__ import annotations

from collections.abc import Sequence

from designkit.errors import LookupFailed, nearest
from designkit.model import Home, Layout, Project

__all__ = ["home_of", "known_id", "layout_id", "layout_of"]


def home_of(project: Project | Home) -> Home:
    """The home of a project, or the home itself.

    Parameters
    ----------
    project : Project or Home
        Either of them.

    Returns
    -------
    Home
        What is drawn, without costs and tasks.
    """
    return project.home if isinstance(project, Project) else project


def layout_id(home: Home, layout: str) -> str:
    """The id of a layout; "" is the current one, else the first.

    Parameters
    ----------
    home : Home
        The home.
    layout : str
        An id or "".

    Returns
    -------
    str
        An id that exists.

    Raises
    ------
    LookupFailed
        There is no such layout.
    """
    id = layout or home.layout or next(iter(home.layouts), "")
    if id not in home.layouts:
        near = nearest(id, home.layouts)
        raise LookupFailed(
            "layout",
            given=id or "none",
            allowed=", ".join(home.layouts) or "none is in the project",
            mend=f"write {near!r}" if near else "write one under [layouts]",
        )
    return id


def layout_of(home: Home, layout: str | Layout) -> Layout:
    """A layout by its id, or the layout itself.

    Parameters
    ----------
    home : Home
        Its layouts.
    layout : str or Layout
        An id, or a layout.

    Returns
    -------
    Layout
        As it stands under that id.
    """
    return home.layouts[layout_id(home, layout)] if isinstance(layout, str) else layout


def known_id(what: str, id: str, names: Sequence[str]) -> None:
    """Refuse an id that is not among some names, and say which is nearest.

    Parameters
    ----------
    what : str
        What it is the id of.
    id : str
        As given.
    names : sequence of str
        Those there are.

    Raises
    ------
    LookupFailed
        It is not among them.
    """
    if id not in names:
        near = nearest(id, names)
        raise LookupFailed(
            what,
            given=id,
            allowed=", ".join(names) or "none in this layout",
            mend=f"did you mean {near}?" if near else "use one of these",
        )
