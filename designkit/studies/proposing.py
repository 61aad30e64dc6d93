"""Proposals as options of the project that is open: for layout options and the working plan."""

from __future__ import annotations

import dataclasses

from designkit.analyses.of_proposals import proposals
from designkit.studies.desk import Desk
from designkit.studies.words import letters_of

__all__ = ["propose_on"]


def propose_on(desk: Desk, *, layout: str) -> tuple[tuple[str, ...], str]:
    """Search for layouts of the same pieces; each becomes an option that is not kept yet.

    Parameters
    ----------
    desk : Desk
        The project that is open; the options are added to it.
    layout : str
        Whose pieces are laid out.

    Returns
    -------
    tuple of tuple of str and str
        Ids of the options, the best first, none where nothing fits; and what each
        gives, what the search proved, and what it could not take as it is.
    """
    proposed, found = proposals(desk.project, layout=layout)
    pieces = desk.home.layouts[layout].pieces
    limits = list(found.said)
    for id, why in found.left_out.items():
        limits.append(f"The {desk.home.pieces[pieces[id].item or id].name} is not laid out: {why}.")
    if not proposed:
        return (), " ".join([f"Nothing fits: {found.why_none}", *found.changes, *limits])
    ids, said = [], []
    for proposal in proposed:
        id = desk.free_id("layouts")
        name = f"{proposal.role}: {proposal.layout.name}"
        desk.add("layouts", id, dataclasses.replace(proposal.layout, name=name))
        ids.append(id)
        said.append(f"{letters_of(list(desk.home.layouts))[id]}, {proposal.role}: {proposal.says}")
    return tuple(ids), " ".join([*said, found.certificate, *limits, "Not kept yet."])
