"""Hand-made pairs of layouts, one better than the other, and what the score says of them."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

from layouts_sample import PIECES

from designkit.model import Column, Home, Layout, Opening, Placement, Room, Service
from designkit.plan.layouts import rate

DATA = Path(__file__).parents[1] / "reference" / "data" / "layout_pairs.json"


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
