"""What stands where on the working plan: held by the hand, or put down as an edit."""

from __future__ import annotations

import dataclasses
import math

from designkit import project as files
from designkit.errors import DesignkitError, InputError, LookupFailed, nearest
from designkit.model import Edit, Home, Lamp, Layout, Placement, Point
from designkit.plan.case import short_name
from designkit.plan.turning import axes_of
from designkit.studies.desk import Desk
from designkit.studies.proposing import propose_on
from designkit.studies.study import Study
from designkit.studies.words import length_of, letters_of
from designkit.units import file_text

__all__ = ["BEGAN", "SHOW", "SNAP", "Hand", "Pose", "stand_alike"]

SHOW = (
    ("routes", "ways through"),
    ("sight", "sight lines"),
    ("cone", "cone of vision"),
    ("zones", "use zones"),
    ("dimensions", "dimensions"),
    ("distances", "distances"),
    ("tapes", "measures"),
)
SNAP = (("walls", "walls"), ("lines", "lines of other pieces"))
BEGAN = "began"  # stands for the option as it was when this study opened it
Pose = tuple[float, float, float]  # x, y [m], turn [°]


def stand_alike(a: Placement, b: Placement) -> bool:
    """Whether two placements are the same place, to half a millimetre and a twentieth degree.

    Parameters
    ----------
    a, b : Placement
        Of one piece in two options.

    Returns
    -------
    bool
        True where nothing would be seen to differ.
    """
    near = math.dist(a.at, b.at) < 0.0005
    return near and abs((a.rotation - b.rotation + 180) % 360 - 180) < 0.05


def _turned(x: float, y: float, degrees: float) -> Point:
    out = axes_of(degrees) @ (x, y)
    return float(out[0]), float(out[1])


def _moved(layout: Layout, id: str, pose: Pose) -> Layout:
    """A layout with one thing elsewhere, and what stands on it with it."""
    x, y, turn = pose
    if id not in layout.pieces:
        lamp = dataclasses.replace(layout.lamps[id], at=(x, y))
        return dataclasses.replace(layout, lamps={**layout.lamps, id: lamp})
    was = layout.pieces[id]
    by = turn - was.rotation
    pieces, lamps = dict(layout.pieces), dict(layout.lamps)
    pieces[id] = dataclasses.replace(was, at=(x, y), rotation=turn)

    def carried(at: Point) -> Point:
        dx, dy = _turned(at[0] - was.at[0], at[1] - was.at[1], by)
        return round(x + dx, 6), round(y + dy, 6)

    hosts = [id]
    for host in hosts:
        for other, placement in layout.pieces.items():
            if placement.on == host and other not in hosts:
                hosts.append(other)
                pieces[other] = dataclasses.replace(
                    placement,
                    at=carried(placement.at),
                    rotation=(placement.rotation + by) % 360,
                )
        for other, lamp in layout.lamps.items():
            if lamp.on == host and lamp.at is not None:
                lamps[other] = dataclasses.replace(lamp, at=carried(lamp.at))
    return dataclasses.replace(layout, pieces=pieces, lamps=lamps)


def _pose_in(layout: Layout, id: str) -> Pose | None:
    if id in layout.pieces:
        placement = layout.pieces[id]
        return (*placement.at, placement.rotation % 360)
    lamp = layout.lamps.get(id)
    return None if lamp is None or lamp.at is None else (*lamp.at, 0.0)


class Hand(Study):
    """One layout, and the pieces that are being moved on it.

    Parameters
    ----------
    desk : Desk
        The project; its changes are those of this study.
    """

    sheets = ("furniture-plan",)
    draft = "working-plan"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        home = desk.home
        if not home.layouts:
            raise InputError(
                "layouts",
                given="none",
                allowed="one layout or more",
                mend="write one under [layouts] in project.toml",
            )
        id = home.layout or next(iter(home.layouts))
        self.values = {
            "layout": id,
            "compare": "",
            "piece": "",
            "other": "",
            "show": ["routes", "sight", "zones", "dimensions", "distances", "tapes"],
            "snap": [word for word, _ in SNAP],
            "rules": home.rule_set,
        }
        self.held: dict[str, Pose] = {}
        self.began: dict[str, Layout] = dict(home.layouts)
        self.check_values()

    # --- what stands where ---------------------------------------------------

    @property
    def home(self) -> Home:
        """The home as the desk has it; what is held is not in it yet."""
        return self.desk.home

    @property
    def layout(self) -> Layout:
        """The layout as it stands under the hand."""
        layout = self.home.layouts[self.values["layout"]]
        for id, pose in self.held.items():
            layout = _moved(layout, id, pose)
        return layout

    @property
    def compared(self) -> Layout | None:
        """The option that the plan is held against; None without one."""
        if self.values["compare"] == BEGAN:
            return self.began.get(self.values["layout"])
        return self.home.layouts.get(self.values["compare"])

    def pose(self, id: str) -> Pose:
        """Where a thing stands now.

        Parameters
        ----------
        id : str
            Of a piece, or of a lamp that stands on the floor.

        Returns
        -------
        tuple of (float, float, float)
            x, y [m], turn [°].

        Raises
        ------
        LookupFailed
            There is no such thing.
        """
        layout = self.layout
        found = _pose_in(layout, id)
        if found is None:
            known = [*layout.pieces, *layout.lamps]
            raise LookupFailed(
                "piece", given=id, allowed=", ".join(known) or "none", mend=nearest(id, known)
            )
        return found

    def poses(self) -> dict[str, Pose]:
        """Where everything that can be moved stands now."""
        layout = self.layout
        found = ((id, _pose_in(layout, id)) for id in self.movers())
        return {id: pose for id, pose in found if pose is not None}

    def movers(self) -> list[str]:
        """Ids of what can be moved: pieces, and lamps that stand on the floor."""
        layout = self.home.layouts[self.values["layout"]]
        lamps = (
            id
            for id, lamp in layout.lamps.items()
            if lamp.at is not None and not lamp.on and self._stands(lamp)
        )
        return [*layout.pieces, *lamps]

    def _stands(self, lamp: Lamp) -> bool:
        return self.home.fixtures[lamp.fixture].kind == "floor lamp"

    def is_locked(self, id: str) -> bool:
        """Whether a piece is locked.

        Parameters
        ----------
        id : str
            Placement id.

        Returns
        -------
        bool
            Lamps are never locked.
        """
        placement = self.home.layouts[self.values["layout"]].pieces.get(id)
        return placement is not None and placement.locked

    def name(self, id: str) -> str:
        """What a piece is called, with its number where there are several.

        Parameters
        ----------
        id : str
            Placement id.

        Returns
        -------
        str
            As "armchair 2".
        """
        layout = self.home.layouts[self.values["layout"]]
        if id in layout.lamps:
            return short_name(self.home.fixtures[layout.lamps[id].fixture].name)
        item = layout.pieces[id].item or id
        name = short_name(self.home.pieces[item].name)
        number = id.rsplit("_", 1)[-1] if id != item else ""
        return f"{name} {number}" if number.isdigit() else name

    def differing(self) -> frozenset[str]:
        """Pieces that stand elsewhere in the compared option, or not at all."""
        other = self.compared
        if other is None:
            return frozenset()
        return frozenset(
            id
            for id, p in self.layout.pieces.items()
            if id not in other.pieces or not stand_alike(p, other.pieces[id])
        )

    # --- moving --------------------------------------------------------------

    def _movable(self, id: str) -> None:
        self.pose(id)
        if self.is_locked(id):
            raise InputError(
                self.name(id),
                given="locked",
                allowed="pieces that are not locked",
                mend="press Unlock first",
            )

    def hold(self, id: str, pose: Pose) -> None:
        """Take a piece to a place; it is not an edit before it is put down.

        Parameters
        ----------
        id : str
            Placement id.
        pose : tuple of (float, float, float)
            x, y [m], turn [°]; no farther out than the outlines of the home.

        Raises
        ------
        InputError
            It is locked, or the place is not a number.
        LookupFailed
            There is no such thing.
        """
        if not all(math.isfinite(v) for v in pose):
            raise InputError("place", given=pose, allowed="finite numbers")
        self._movable(id)
        points = [p for room in self.home.rooms.values() for p in room.outline]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        x = min(max(pose[0], min(xs)), max(xs))
        y = min(max(pose[1], min(ys)), max(ys))
        self.held[id] = (x, y, pose[2] % 360)

    def put_down(self) -> None:
        """What was held becomes one step on the desk, to be undone as one."""
        if not self.held:
            return
        new, old = self.layout, self.home.layouts[self.values["layout"]]
        units, path = self.home.units, f"layouts.{self.values['layout']}"
        step: list[Edit] = []
        for id, placement in new.pieces.items():
            was = old.pieces[id]
            if placement.at != was.at:
                step.append(_at(f"{path}.pieces.{id}.at", was.at, placement.at, units))
            if abs((placement.rotation - was.rotation + 180) % 360 - 180) > 1e-9:
                turn = round(placement.rotation, 3)
                step.append(Edit(path=f"{path}.pieces.{id}.rotation", old=was.rotation, new=turn))
        for id, lamp in new.lamps.items():
            before = old.lamps[id].at
            if lamp.at is not None and before is not None and lamp.at != before:
                step.append(_at(f"{path}.lamps.{id}.at", before, lamp.at, units))
        self.held.clear()
        self.desk.do(step)

    def type_in(self, id: str, field: str, text: str) -> None:
        """Take a piece to a typed place or turn.

        Parameters
        ----------
        id : str
            Placement id.
        field : str
            "along", "up" or "turn".
        text : str
            A length with or without its unit, or degrees.

        Raises
        ------
        InputError
            It cannot be read.
        """
        x, y, turn = self.pose(id)
        if field == "along":
            x = length_of(text, home=self.home, what="along, from the left")
        elif field == "up":
            y = length_of(text, home=self.home, what="up, from below")
        else:
            try:
                turn = float(text.replace("°", "").replace(",", ".").strip())
            except ValueError:
                raise InputError(
                    "turn", given=repr(text), allowed="degrees", mend="write it as 15"
                ) from None
        self.hold(id, (x, y, turn))

    def swap(self, a: str, b: str) -> None:
        """Two pieces change places: the back of each comes where the other's back was.

        Parameters
        ----------
        a, b : str
            Placement ids.

        Raises
        ------
        InputError
            One of them is locked, or they are the same.
        LookupFailed
            There is no such piece.
        """
        if a == b:
            raise InputError(
                "pieces that change places",
                given=self.name(a),
                allowed="two pieces",
                mend="choose another one",
            )
        self._movable(a)
        self._movable(b)
        backs = {id: self._back_of(id) for id in (a, b)}
        for id, other in ((a, b), (b, a)):
            (bx, by), turn = backs[other]
            dx, dy = _turned(0.0, -self._depth(id) / 2, turn)
            self.hold(id, (round(bx + dx, 6), round(by + dy, 6), turn))

    def _depth(self, id: str) -> float:
        layout = self.home.layouts[self.values["layout"]]
        if id in layout.pieces:
            return self.home.pieces[layout.pieces[id].item or id].size[1]
        return self.home.fixtures[layout.lamps[id].fixture].size[1]

    def _back_of(self, id: str) -> tuple[Point, float]:
        x, y, turn = self.pose(id)
        dx, dy = _turned(0.0, self._depth(id) / 2, turn)
        return (x + dx, y + dy), turn

    def lock(self, id: str) -> bool:
        """Lock a piece where it stands, or free it again.

        Parameters
        ----------
        id : str
            Placement id.

        Returns
        -------
        bool
            Whether it is locked now.

        Raises
        ------
        InputError
            It is a lamp.
        """
        placement = self.layout.pieces.get(id)
        if placement is None:
            raise InputError(self.name(id), given="a lamp", allowed="pieces can be locked")
        path = f"layouts.{self.values['layout']}.pieces.{id}.locked"
        self.desk.do([Edit(path=path, old=placement.locked, new=not placement.locked)])
        return not placement.locked

    # --- options -------------------------------------------------------------

    def keep_option(self) -> str:
        """What is drawn becomes an option of its own; the one it came from stays as kept.

        Returns
        -------
        str
            What was done, in a sentence.
        """
        desk, came_from = self.desk, self.values["layout"]
        drawn = desk.home.layouts[came_from]
        id = desk.free_id("layouts")
        desk.forget(f"layouts.{came_from}.")
        desk.add("layouts", id, dataclasses.replace(drawn, name=f"{drawn.name}, changed", note=""))
        self.began[id] = self.began.get(came_from, drawn)
        letter = letters_of(list(desk.home.layouts))[id]
        said = f"Option {letter} is in the project. {desk.keep()}"
        self.values.update({"layout": id, "compare": BEGAN})
        return said

    def propose(self) -> str:
        """Search for layouts of the same pieces; the best is opened, none is kept yet.

        Returns
        -------
        str
            What each gives, and what the search proved.
        """
        ids, said = propose_on(self.desk, layout=self.values["layout"])
        for id in ids:
            self.began[id] = self.desk.home.layouts[id]
        if ids:
            self.values["layout"] = ids[0]
        return said

    def take_in(self) -> str:
        """Take in what another study kept, or what was written into the files.

        Returns
        -------
        str
            A sentence; "" where nothing has changed.

        Raises
        ------
        DesignkitError
            The files cannot be read as they are now; what is drawn stays.
        """
        desk = self.desk
        try:
            if not desk.look():
                return ""
        except DesignkitError:
            if files.changed_since(desk.opened):
                raise
            return self._give_way()
        for id, layout in desk.home.layouts.items():
            self.began.setdefault(id, layout)
        return "Another study kept a change; it is shown here."

    def _give_way(self) -> str:
        """Drop those own changes that start from what is no longer there."""
        desk, good, dropped = self.desk, list[tuple[Edit, ...]](), list[str]()
        for step in desk.edits:
            try:
                files.apply(desk.opened, [e for s in [*good, step] for e in s])
                good.append(step)
            except DesignkitError:
                dropped += [edit.path for edit in step]
        desk.edits = good
        desk.undone.clear()
        desk.project = files.apply(desk.opened, [e for s in good for e in s])
        return (
            "Another study changed the same things, and what it kept is shown here. "
            f"Taken back here: {', '.join(dropped)}."
        )

    def check_values(self) -> None:
        """The options and the piece must be there."""
        layouts = self.home.layouts
        if self.values["layout"] not in layouts:
            self.values["layout"] = next(iter(layouts))
            self.held.clear()
        compare = self.values["compare"]
        if compare not in (BEGAN, *layouts) or compare == self.values["layout"]:
            self.values["compare"] = ""
        movers = self.movers()
        if self.values["piece"] not in movers:
            kinds = {id: self._kind(id) for id in movers}
            seats = [id for id in movers if kinds[id] in ("sofa", "bed", "desk")]
            self.values["piece"] = next(iter([*seats, *movers]), "")
        if self.values["other"] not in movers or self.values["other"] == self.values["piece"]:
            rest = [id for id in movers if id != self.values["piece"]]
            self.values["other"] = rest[0] if rest else ""

    def _kind(self, id: str) -> str:
        layout = self.home.layouts[self.values["layout"]]
        if id in layout.lamps:
            return "lamp"
        return self.home.pieces[layout.pieces[id].item or id].kind

    def where(self) -> dict[str, str]:
        """The sheets are about the option that is drawn."""
        return {"layout": self.values["layout"]}


def _at(path: str, old: Point, new: Point, units: str) -> Edit:
    return Edit(
        path=path,
        old=[file_text(v, units=units) for v in old],
        new=[file_text(round(v, 6), units=units) for v in new],
    )
