"""Find what ships with designkit: demos and notebooks."""

from __future__ import annotations

from pathlib import Path

from designkit.errors import LookupFailed, nearest

__all__ = ["demos", "shipped"]

_PACKAGE = Path(__file__).resolve().parent


def _roots() -> tuple[Path, ...]:
    # An editable install does not see what the wheel lays into the package,
    # and an installed wheel has no checkout around it: look in both.
    return tuple(root for root in (_PACKAGE / "_shipped", _PACKAGE.parent) if root.is_dir())


def shipped(name: str) -> Path:
    """Find a file or folder that ships with designkit.

    Parameters
    ----------
    name : str
        For example "data" or "notebooks", with forward slashes below them.

    Returns
    -------
    Path
        Where it is, in a checkout or in an installed wheel.

    Raises
    ------
    LookupFailed
        Nothing of that name ships; the message lists what is beside it.

    Examples
    --------
    >>> shipped("data").name
    'data'
    """
    top = name.split("/")[0]
    if top in ("data", "notebooks") and ".." not in name.split("/"):
        for root in _roots():
            path = root / name
            if path.exists():
                return path
    beside = sorted(
        f"{kind}/{path.name}"
        for root in _roots()
        for kind in ("data", "notebooks")
        if (root / kind).is_dir()
        for path in (root / kind).iterdir()
        if not path.name.startswith(".")
    )
    near = nearest(name, beside)
    raise LookupFailed(
        "shipped file",
        given=name,
        allowed=", ".join(dict.fromkeys(beside)) or "data/…, notebooks/…",
        mend=f"use {near}" if near else "use one of these",
    )


def demos() -> tuple[str, ...]:
    """Names of the demo projects that ship with designkit.

    Returns
    -------
    tuple of str
        Sorted; each is a folder under data.
    """
    found = {
        path.parent.name for root in _roots() for path in (root / "data").glob("*/project.toml")
    }
    return tuple(sorted(found))
