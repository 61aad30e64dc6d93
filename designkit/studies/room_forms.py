"""The forms of the page "my room": fields into the words of a walk, and back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from designkit.errors import InputError
from designkit.plan.survey_items import OVERHEAD, SERVICES, kind_of_item
from designkit.plan.survey_text import name_at_end

__all__ = ["FIELDS", "LEAVES", "OPENINGS", "THINGS", "WIDE", "form_of", "words_of"]

OPENINGS = ("door", "window", "balcony", "passage")
THINGS = (*SERVICES, "column")
WIDE = ("radiator", "panel", "vent", "column")  # measured by their width, to their near edge
LEAVES = ("fixed", "inward", "outward", "tilt-turn", "sliding", "hung")
# field of the form -> word of the walk; "width" and "distance" stand at fixed places
_WORDS = {
    "sill": "sill",
    "head": "head",
    "hinge": "hinge",
    "swing": "swing",
    "clear": "clear",
    "leaf": "leaf",
    "leaves": "leaves",
    "thick": "thick",
    "out": "out",
    "high_at": "height",
    "deep": "deep",
    "tall": "high",
    "to": "to",
}
_OF = {
    "door": ("sill", "head", "hinge", "swing", "clear", "thick", "to"),
    "balcony": ("sill", "head", "hinge", "swing", "clear", "thick", "to"),
    "window": ("sill", "head", "leaf", "leaves", "thick", "to"),
    "passage": ("head", "thick", "to"),
    "column": ("deep", "out"),
    **dict.fromkeys(OVERHEAD, ("out", "high_at")),
    **dict.fromkeys(("socket", "switch", "wall outlet"), ("high_at",)),
    **dict.fromkeys(("radiator", "panel", "vent"), ("deep", "tall", "high_at")),
}
FIELDS = ("width", "distance", *_WORDS, "name", "within")


def fields_of(kind: str) -> tuple[str, ...]:
    """The fields that a kind of opening or thing has, beside width and distance."""
    return _OF[kind]


def words_of(values: Mapping[str, Any]) -> str:
    """What goes into the brackets, from the fields of the form.

    Parameters
    ----------
    values : mapping of str to Any
        Of the page.

    Returns
    -------
    str
        As the walk reads it.

    Raises
    ------
    InputError
        A field is empty that is needed.
    """
    kind = str(values["what"])

    def said(id: str) -> str:
        return " ".join(str(values.get(id, "")).replace("[", "(").replace("]", ")").split())

    wide = kind in OPENINGS or kind in WIDE
    name = "balcony door" if kind == "balcony" else kind
    if wide and not said("width"):
        raise InputError(
            f"width of the {name}", given="empty", allowed="a length", mend="measure it, or take "
            "it from the plan and say so",
        )  # fmt: skip
    if not said("distance"):
        raise InputError(
            f"distance of the {name} from the corner", given="empty", allowed="a length",
            mend="measure from the corner of its wall to its near edge"
            if wide else "measure from the corner of its wall to its middle",
        )  # fmt: skip
    words = [kind]
    if wide:
        words.append(said("width"))
    if kind == "column" and said("deep"):
        words += ["deep", said("deep")]
    words += ["from end" if values.get("corner") == "end" else "at", said("distance")]
    for field in _OF[kind]:
        if (kind == "column" and field == "deep") or not said(field):
            continue
        if (field, said(field)) in (("leaf", "fixed"), ("leaves", "1")):
            continue
        if field == "swing" and said(field) == "in" and (kind == "door" or not said("hinge")):
            continue  # what a hinged door does if nothing is said
        words += [_WORDS[field], said(field)]
    text = " ".join(words)
    if said("name"):
        text += f" name {said('name')}"
    if said("within"):
        text += f" ± {said('within')}"
    source = said("source_of")
    if source and source != "measured":
        text += f" {source}"
    return text


def form_of(bracket: str) -> dict[str, str]:
    """The fields of the form for what stands in the brackets.

    Parameters
    ----------
    bracket : str
        As the walk has it.

    Returns
    -------
    dict of str to str
        Empty texts for what it does not say.
    """
    found = dict.fromkeys(FIELDS, "") | {
        "corner": "at", "source_of": "measured", "hinge": "", "swing": "in", "leaf": "fixed",
        "leaves": "1",
    }  # fmt: skip
    text = " ".join(bracket.split())
    known = re.search(r"\s(measured|plan|seller|client|guess)$", text)
    if known:
        found["source_of"], text = known[1], text[: known.start()]
    within = re.search(r"\s(?:±|\+/-|\+-)\s*(\S.*)$", text)
    if within:
        found["within"], text = within[1], text[: within.start()]
    text, found["name"] = name_at_end(text)
    kinds = SERVICES if kind_of_item(text) == "service" else (*OPENINGS, "column")
    kind = next((k for k in kinds if text.lower().startswith(k)), "door")
    found["what"] = kind
    rest = text[len(kind) :]
    heads = [w for f, w in _WORDS.items() if f in _OF[kind] or (kind == "column")]
    marks = "|".join(sorted({*heads, "at", "from end"}, key=len, reverse=True))
    parts = re.split(rf"\s({marks})\s", f" {rest.strip()} ")
    found["width"] = parts[0].strip()
    back = {word: field for field, word in _WORDS.items()}
    for word, value in zip(parts[1::2], parts[2::2], strict=True):
        if word in ("at", "from end"):
            found["corner"] = "end" if word == "from end" else "at"
            found["distance"] = value.strip()
        else:
            found[back[word]] = value.strip()
    return found
