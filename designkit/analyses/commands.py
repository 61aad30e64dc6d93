"""What the command fits does."""

from __future__ import annotations

import argparse
from decimal import Decimal
from pathlib import Path

from designkit.errors import FileFormatError, InputError

__all__ = ["fits"]


def fits(given: argparse.Namespace) -> int:
    """Say whether a piece fits, and keep it as a candidate if asked.

    Parameters
    ----------
    given : Namespace
        size, kind, project, layout, price, line, keep, held_until, photo, seller.

    Returns
    -------
    int
        0 for yes and for measure first, 1 for no.

    Raises
    ------
    InputError
        The size or the price cannot be read; a photograph without a name.
    FileFormatError
        There is no such photograph, or it is no picture.
    """
    from designkit.analyses.of_fits import fits as answer
    from designkit.analyses.of_fits import keep_edits
    from designkit.project.photographs import keep_photograph, read_photograph
    from designkit.project.reading import read
    from designkit.project.saving import save
    from designkit.units import read_number

    opened = read(given.project)
    price: Decimal | None = None
    if given.price:
        price = read_number(given.price, what="price")
    result = answer(
        opened.project,
        size=given.size,
        kind=given.kind,
        layout=given.layout,
        price=price,
        line=given.line,
        name=given.keep,
    )
    print(result.sentence)
    for sentence in result.sentences:
        print(f"  {sentence}")
    if not given.keep:
        if given.photo or given.held_until:
            raise InputError(
                "keep", given="no name", allowed="a name for the candidate", mend="add --keep NAME"
            )
        return int(result.answer == "no")
    photo = ""
    if given.photo:
        source = Path(given.photo)
        if not source.is_file():
            raise FileFormatError(
                "photograph", given=given.photo, allowed="a file", mend="look at its path"
            )
        picture = read_photograph(source.read_bytes(), name=source.name)
        photo = keep_photograph(opened.folder, picture, name=source.name)
    edits = keep_edits(
        opened.project,
        result,
        name=given.keep,
        held_until=given.held_until,
        seller=given.seller,
        photo=photo,
        price=price,
    )
    saved = save(opened, edits)
    print(f"Kept as {', '.join(edit.path for edit in edits)} in {saved.folder.name}.")
    for conflict in saved.conflicts:
        print(f"Not kept: {conflict.path} says something else by now.")
    return int(result.answer == "no")
