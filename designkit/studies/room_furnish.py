"""What the page "my room" does with furniture and photographs."""

from __future__ import annotations

import dataclasses
import io
import re
from collections.abc import Mapping
from typing import Any

from designkit.analyses.of_putting import Put, chairs_for, free_id, layout_to_furnish, put_in
from designkit.errors import DesignkitError, InputError
from designkit.figures.delivery_way import photograph
from designkit.figures.svg import to_svg
from designkit.model import Home, Layout, Photo, Piece, Placement
from designkit.plan.box import BoxPiece, box, piece_from_size, read_size
from designkit.project.photographs import keep_photograph, read_photograph
from designkit.studies.room_base import RoomBase
from designkit.studies.room_controls import size_text
from designkit.units import in_sentence

__all__ = ["RoomFurnish", "in_shown_order"]

_THUMB = 320  # pixels of a photograph on the page


class RoomFurnish(RoomBase):
    """Pieces put in and taken away, photographs pinned to walls.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    # --- furniture -------------------------------------------------------------

    def _piece(self) -> tuple[str, Piece]:
        """The piece that the form describes, and what its id should be."""
        values, home = self.values, self.desk.home
        if values["own"] == "own":
            kind = values["kind_of"]
            called = " ".join(str(values["called"]).split())
            piece = piece_from_size(str(values["size"]), kind=kind, units=home.units, name=called)
            return _id_of(called or kind), piece
        one: BoxPiece = box()[values["box"]]
        piece = one.piece
        if str(values["size"]).strip() not in ("", size_text(one, home)):
            typed = in_shown_order(str(values["size"]), size_text(one, home))
            read = read_size(typed, kind=piece.kind, units=home.units)
            if max(abs(a - b) for a, b in zip(read.size, piece.size, strict=True)) > 5e-4:
                # another size: how heavy it is and how it is packed is not known
                piece = dataclasses.replace(
                    piece,
                    size=read.size,
                    shape="circle" if read.circle else piece.shape,
                    mass=None,
                    packed=None,
                )
                self.note = read.said
        return one.id, piece

    def _put(self) -> None:
        id, piece = self._piece()
        values = self.values
        if piece.kind == "dining table" and values["chairs"] != "none":
            chairs = chairs_for(piece, chair="dining_chair", ends=values["chairs"] == "ends")
            piece = dataclasses.replace(piece, chairs=chairs)
        room = values["room"] if values["room"] in self.desk.home.rooms else ""
        puts = put_in(self.desk.home, piece=piece, id=id, room=room)
        self._put_home(puts[0].home)
        self._puts, self._at = puts, 0
        values["picked"] = puts[0].placement
        self.note = f"{self.note} {self._place_words(puts[0], piece)}".strip()

    def _place_words(self, put: Put, piece: Piece) -> str:
        far = [in_sentence(n, units=self.desk.home.units) for n in put.spot.at]
        name = f"{piece.name[:1].upper()}{piece.name[1:]}"
        said_ = f"{name} stands with its middle at {far[0]}, {far[1]}"
        if put.fails or put.to_measure:
            return (
                f"{said_}; of {len(self._puts)} places it is the one that spoils least: "
                f"{put.fails} more fail, {put.to_measure} more are to be measured first."
            )
        return f"{said_}; it spoils nothing there."

    def _another_place(self) -> None:
        """The next of the places that were found for the piece."""
        if not self._puts:
            raise InputError(
                "another place", given="no piece that was just put in",
                allowed="after “Put it in the room”", mend="move it in the layout options",
            )  # fmt: skip
        self._at = (self._at + 1) % len(self._puts)
        put = self._puts[self._at]
        home, id = layout_to_furnish(self.desk.home)
        layout = home.layouts[id]
        if put.placement not in layout.pieces:
            self._puts = ()
            return
        spot = put.spot
        self._put_home(_with_pieces(home, id, {**layout.pieces, put.placement: spot}))
        piece = home.pieces[spot.item or put.placement]
        self.note = f"Place {self._at + 1} of {len(self._puts)}. {self._place_words(put, piece)}"

    def _away(self) -> None:
        """Take the chosen piece out of the layout, and out of the box's copies if it is in none."""
        home, id = layout_to_furnish(self.desk.home)
        gone = self.values["picked"]
        pieces = home.layouts[id].pieces
        if gone not in pieces:
            raise InputError(
                "piece", given="none chosen", allowed="one of the table",
                mend="choose it in the table first",
            )  # fmt: skip
        on_it = [k for k, spot in pieces.items() if spot.on == gone]
        rest = {k: spot for k, spot in pieces.items() if k != gone and k not in on_it}
        item = pieces[gone].item or gone
        bare = _with_pieces(home, id, rest)
        try:
            self._put_home(_without_piece(bare, item))
        except DesignkitError:  # something else of the project names it
            self._put_home(bare)
        self._puts = ()
        self.values["picked"] = ""

    # --- photographs -----------------------------------------------------------

    def _photo(self, name: str, data: bytes) -> None:
        """Copy a photograph into the project and pin it to the wall."""
        values, home = self.values, self.desk.home
        picture = read_photograph(data, name=name)
        note = " ".join(str(values["note"]).split())
        room = values["room"]
        wall = int(values["wall"]) if str(values["wall"]).isdigit() else None
        title = note or (f"{room} wall {wall + 1}" if wall is not None else room)
        file = keep_photograph(self.desk.folder, picture, name=f"{title}.jpg")
        id = free_id(_id_of(f"{room} photo"), home.photos)
        photo = Photo(file=file, room=room, wall=wall, note=note)
        self._put_home(dataclasses.replace(home, photos={**home.photos, id: photo}))
        values["note"] = ""
        where = "the room" if wall is None else f"wall {wall + 1}"
        self.note = f"{name} is kept as {file} and pinned to {where}."

    def _cards(self) -> dict[str, Any]:
        """The photographs of the room, each with its wall."""
        rows = []
        for id, one in self.desk.home.photos.items():
            if one.room != self.values["room"]:
                continue
            thumb = self._thumb(one.file)
            if thumb is None:
                continue
            words = one.note or one.file
            rows.append(
                {
                    "id": id,
                    "letter": "–" if one.wall is None else str(one.wall + 1),
                    "name": "the whole room" if one.wall is None else f"wall {one.wall + 1}",
                    "svg": to_svg(photograph(thumb[0], size=thumb[1], words=words), ids=False),
                    "current": False,
                    "lines": [words],
                }
            )
        return {"title": "Pinned to their walls", "rows": rows}

    def _thumb(self, file: str) -> tuple[bytes, tuple[int, int]] | None:
        from PIL import Image

        path = self.desk.folder / file
        try:
            key = (file, path.stat().st_mtime_ns)
            if key not in self._thumbs:
                data = read_photograph(path.read_bytes(), name=file, longest=_THUMB)
                with Image.open(io.BytesIO(data)) as small:
                    self._thumbs[key] = (data, small.size)
            return self._thumbs[key]
        except (OSError, DesignkitError):
            return None  # its row in the table says that it is gone


def in_shown_order(typed: str, shown: str) -> str:
    """A size that was changed in one or two of its figures keeps the order that was shown.

    Parameters
    ----------
    typed : str
        As it stands in the field.
    shown : str
        What stood there: width × depth × height.

    Returns
    -------
    str
        With letters where the order is plain, else as typed.

    Examples
    --------
    >>> in_shown_order("1300 × 800 × 750 mm", "1200 × 800 × 750 mm")
    'W 1300 × D 800 × H 750 mm'
    """
    now, then = (re.split(r"\s*[×x*]\s*", text.strip()) for text in (typed, shown))
    if len(now) != 3 or len(then) != 3 or re.search(r"[WDHLØø]", typed):
        return typed
    same = sum(a == b for a, b in zip(now, then, strict=True))
    return f"W {now[0]} × D {now[1]} × H {now[2]}" if same else typed


def _with_pieces(home: Home, layout: str, pieces: Mapping[str, Placement]) -> Home:
    new: Layout = dataclasses.replace(home.layouts[layout], pieces=pieces)
    return dataclasses.replace(home, layouts={**home.layouts, layout: new})


def _without_piece(home: Home, item: str) -> Home:
    """The home without a generic piece that no layout holds any more, and without its chairs."""

    def used(id: str) -> bool:
        return any(
            (spot.item or key) == id
            for layout in home.layouts.values()
            for key, spot in layout.pieces.items()
        ) or any(p.chairs is not None and p.chairs.piece == id for p in home.pieces.values())

    piece = home.pieces.get(item)
    if piece is None or piece.known.source not in ("guess", "seller") or used(item):
        return home
    home = dataclasses.replace(
        home, pieces={id: one for id, one in home.pieces.items() if id != item}
    )
    return _without_piece(home, piece.chairs.piece) if piece.chairs is not None else home


def _id_of(words: str) -> str:
    plain = re.sub(r"[^a-z0-9]+", "_", words.casefold()).strip("_")
    return plain if plain and plain[0].isalpha() else f"piece_{plain}".strip("_")
