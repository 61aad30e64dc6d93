"""The one exception family.

Every error says what was given, what is allowed and how to mend it, so that
the sentence can be shown to a person as it stands.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable

__all__ = [
    "DesignkitError",
    "FileFormatError",
    "InputError",
    "LookupFailed",
    "nearest",
]


class DesignkitError(Exception):
    """Base of all errors that designkit raises on purpose.

    Parameters
    ----------
    what : str
        What the error is about: a quantity, a path in a file, a file.
    given : object, optional
        What was given.
    allowed : str, optional
        What is allowed.
    mend : str, optional
        What to do about it.

    Examples
    --------
    >>> print(InputError("coats", given=0, allowed="1 or more", mend="give the number of coats"))
    coats = 0; allowed: 1 or more; to mend: give the number of coats
    """

    def __init__(
        self, what: str, *, given: object = None, allowed: str = "", mend: str = ""
    ) -> None:
        self.what = what
        self.given = given
        self.allowed = allowed
        self.mend = mend
        head = what if given is None else f"{what} = {given}"
        parts = [head]
        if allowed:
            parts.append(f"allowed: {allowed}")
        if mend:
            parts.append(f"to mend: {mend}")
        super().__init__("; ".join(parts))

    def __reduce__(self) -> tuple[object, ...]:
        return _rebuild, (type(self), self.what, self.given, self.allowed, self.mend)


def _rebuild(
    cls: type[DesignkitError], what: str, given: object, allowed: str, mend: str
) -> DesignkitError:
    return cls(what, given=given, allowed=allowed, mend=mend)


class InputError(DesignkitError, ValueError):
    """A value is outside what is allowed."""


class LookupFailed(DesignkitError, LookupError):
    """A name was not found; the message lists the right ones."""


class FileFormatError(DesignkitError, ValueError):
    """A file cannot be read as what it should be."""


def nearest(name: str, names: Iterable[str]) -> str:
    """The known name closest to `name`, or an empty string.

    Parameters
    ----------
    name : str
        The name that was not found.
    names : iterable of str
        The names that exist.

    Returns
    -------
    str
        The closest one, or "" where none is close.

    Examples
    --------
    >>> nearest("sofaa", ["sofa", "table"])
    'sofa'
    """
    found = difflib.get_close_matches(name, sorted(names), n=1)
    return found[0] if found else ""
