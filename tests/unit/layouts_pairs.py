"""Hand-made pairs of layouts, one better than the other, and what the score says of them."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

from layouts_sample import PIECES

from designkit.model import (
    Brief,
    Chairs,
    Column,
    Home,
    Layout,
    Opening,
    Person,
    Piece,
    Placement,
    Room,
    Service,
)
from designkit.plan.layouts import rate, refusals

DATA = Path(__file__).parents[1] / "reference" / "data" / "layout_pairs.json"
BLIND = Path(__file__).parents[1] / "data" / "layout_pairs_2.json"


@dataclass(frozen=True)
class Row:
    """One pair: by how many points the better one leads, and by which terms."""

    id: str
    part: str
    margin: float
    pair_margin: float
    reason: str
    terms: dict[str, float]


def part_of(id: str) -> str:
    """A third of the pairs is held back: no weight is looked at with them."""
    held = int(hashlib.sha256(id.encode()).hexdigest(), 16) % 3 == 0
    return "held back" if held else "open"


def home_of(room: dict[str, object], ids: list[str], rules: dict[str, float] | None = None) -> Home:
    """The room of a pair as a home."""
    openings = {
        f"o{i}": Opening(room="r", **entry)
        for i, entry in enumerate(room["openings"])  # type: ignore[arg-type]
    }
    services = {
        f"s{i}": Service(room="r", **{**entry, "at": tuple(entry["at"])})
        for i, entry in enumerate(room["services"])  # type: ignore[arg-type]
    }
    columns = tuple(
        Column(at=tuple(c["at"]), size=tuple(c["size"]))
        for c in room["columns"]  # type: ignore[attr-defined]
    )
    outline = tuple(tuple(p) for p in room["outline"])  # type: ignore[attr-defined]
    shell = Room(name="room", outline=outline, height=2.6, columns=columns, use=str(room["use"]))
    return Home(
        name="pair",
        rooms={"r": shell},
        openings=openings,
        services=services,
        pieces=PIECES,
        rules=rules or {},
    )


def layout_of(places: dict[str, list[float]]) -> Layout:
    """One side of a pair."""
    return Layout(
        name="side",
        pieces={
            id: Placement(
                at=(x, y), rotation=turn, item="" if id in PIECES else id[: id.rfind("_")]
            )
            for id, (x, y, turn) in places.items()
        },
    )


def agreement(rules: dict[str, float] | None = None) -> list[Row]:
    """What the score says of every pair."""
    data = json.loads(DATA.read_text(encoding="utf-8"))
    rows = []
    for pair in data["pairs"]:
        home = home_of(data["rooms"][pair["room"]], list(pair["better"]), rules)
        better, worse = (
            rate(home, layout_of(pair[side]), space="r") for side in ("better", "worse")
        )
        terms = {s.term: s.points for s in better.scores}
        for s in worse.scores:
            terms[s.term] = terms.get(s.term, 0.0) - s.points
        rows.append(
            Row(
                id=pair["id"],
                part=part_of(pair["id"]),
                margin=better.points - worse.points,
                pair_margin=better.pair_points - worse.pair_points,
                reason=pair["reason"],
                terms=terms,
            )
        )
    return rows


# --- the pairs of one who had not seen the score ---------------------------------


@dataclass(frozen=True)
class Judged:
    """One pair: the lead of the better one in points, and which sides are never proposed."""

    id: str
    part: str
    margin: float
    better_refused: tuple[str, ...]
    worse_refused: tuple[str, ...]
    rule: str
    reason: str
    terms: dict[str, float]

    @property
    def agrees(self) -> bool:
        """More points, or the only one of the two that could be proposed."""
        return self.margin > 0 or bool(self.worse_refused and not self.better_refused)


def _tuples(value: object) -> object:
    return tuple(map(_tuples, value)) if isinstance(value, list) else value


def blind_pieces(data: dict[str, object]) -> dict[str, Piece]:
    """The pieces of the second file."""
    out = {}
    for id, entry in data["pieces"].items():  # type: ignore[attr-defined]
        given = {key: _tuples(one) for key, one in entry.items()}
        if "chairs" in given:
            given["chairs"] = Chairs(**given["chairs"])
        out[id] = Piece(**given)
    return out


def blind_home(room: dict[str, object], pieces: dict[str, Piece]) -> Home:
    """A space of the second file, of one room or of several."""
    columns = tuple(
        Column(at=tuple(c["at"]), size=tuple(c["size"]))
        for c in room["columns"]  # type: ignore[attr-defined]
    )
    rooms = {
        id: Room(
            name="room" if id == "r" else "second room",
            outline=_tuples(entry["outline"]),  # type: ignore[arg-type]
            height=2.6,
            use=entry["use"],
            columns=columns if id == "r" else (),
        )
        for id, entry in room["rooms"].items()  # type: ignore[attr-defined]
    }
    return Home(
        name="pair",
        rooms=rooms,
        openings={f"o{i}": Opening(**o) for i, o in enumerate(room["openings"])},  # type: ignore[arg-type]
        services={
            f"s{i}": Service(room="r", **{**s, "at": tuple(s["at"])})
            for i, s in enumerate(room["services"])  # type: ignore[arg-type]
        },
        pieces=pieces,
        brief=Brief(people=tuple(Person(**p) for p in room["people"])),  # type: ignore[attr-defined]
    )


def blind_layout(places: dict[str, list[object]], pieces: dict[str, Piece]) -> Layout:
    """One side of a pair of the second file."""
    return Layout(
        name="side",
        pieces={
            id: Placement(
                at=(x, y),
                rotation=turn,
                item="" if id in pieces else id[: id.rfind("_")],
                on=str(on[0]) if on else "",
            )
            for id, (x, y, turn, *on) in places.items()
        },  # type: ignore[arg-type]
    )


def blind_agreement() -> list[Judged]:
    """What the score and the search say of every pair of the second file."""
    data = json.loads(BLIND.read_text(encoding="utf-8"))
    pieces = blind_pieces(data)
    rows = []
    for pair in data["pairs"]:
        room = data["rooms"][pair["room"]]
        home, space = blind_home(room, pieces), "+".join(room["rooms"])
        sides = [blind_layout(pair[side], pieces) for side in ("better", "worse")]
        better, worse = (rate(home, side, space=space) for side in sides)
        terms = {s.term: s.points for s in better.scores}
        for s in worse.scores:
            terms[s.term] = terms.get(s.term, 0.0) - s.points
        margin = better.points - worse.points
        # Whether a side is refused only matters where the points do not agree.
        no = [refusals(home, side, space=space) for side in sides] if margin <= 0 else [(), ()]
        rows.append(
            Judged(
                id=pair["id"],
                part=part_of(pair["id"]),
                margin=margin,
                better_refused=no[0],
                worse_refused=no[1],
                rule=pair["rule"],
                reason=pair["reason"],
                terms=terms,
            )
        )
    return rows
