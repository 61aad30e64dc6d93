"""What comes from the browser: whether a control can give it, whether a message is whole.

A study may then take its values as they are. Something else can still come: a
choice that another notebook took away between two key presses, or a page that
another version of the package left open.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from designkit.errors import InputError

__all__ = ["check_value", "whole_message"]

_HAS: Mapping[str, Mapping[str, type | tuple[type, ...]]] = {
    "point": {"x": (int, float), "y": (int, float)},
    "pick": {"row": str},
    "file": {"control": str, "name": str, "data": bytes},
}


def check_value(control: Mapping[str, Any], value: object) -> None:
    """Refuse what a control cannot give.

    Parameters
    ----------
    control : mapping
        As a study says it, with its kind and its choices or its limits.
    value : object
        What came.

    Raises
    ------
    InputError
        It is none of the choices, outside the limits or of another type.

    Examples
    --------
    >>> dim = {"kind": "scale", "id": "dim", "label": "Dimmed to", "min": 0, "max": 100}
    >>> check_value(dim, 40)
    >>> check_value(dim, float("nan"))
    Traceback (most recent call last):
    ...
    designkit.errors.InputError: Dimmed to = nan; allowed: 0 to 100; to mend: choose it again
    """
    kind = control["kind"]
    allowed = ""
    if kind == "scale":
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not (number and control["min"] <= value <= control["max"]):  # type: ignore[operator]
            allowed = f"{control['min']:g} to {control['max']:g}"
    elif kind in ("choose", "words", "checks"):
        choices = control.get("choices", ())
        ids = [choice[0] for choice in choices]
        some = value if isinstance(value, list | tuple) else (value,)
        many = isinstance(value, list | tuple) == (kind == "checks")
        if not many or any(one not in ids for one in some):
            allowed = ", ".join(str(choice[1]) for choice in choices) or "nothing is there"
    elif kind in ("field", "text") and not isinstance(value, str):
        allowed = "text"
    if allowed:
        raise InputError(
            str(control["label"]), given=value, allowed=allowed, mend="choose it again"
        )


def whole_message(message: Mapping[str, Any]) -> bool:
    """Whether a message of a known kind has what belongs to it.

    Parameters
    ----------
    message : mapping
        With its "action".

    Returns
    -------
    bool
        False where something is missing, of another type or no number.

    Examples
    --------
    >>> whole_message({"action": "point", "x": 3.0, "y": 4.0}), whole_message({"action": "pick"})
    (True, False)
    """
    for name, kind in _HAS.get(str(message["action"]), {}).items():
        value = message.get(name)
        if not isinstance(value, kind) or isinstance(value, bool):
            return False
        if isinstance(value, float) and not math.isfinite(value):
            return False
    return True
