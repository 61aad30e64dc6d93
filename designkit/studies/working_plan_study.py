"""The study "working plan": push a piece, and see at once what that does.

The page moves a piece by itself and asks what follows. A question is a list
of steps, each with a number; what was answered once is not done again, so that
the page may ask again with more. While a piece moves, its place is held; once
it rests, the move becomes an edit on the desk.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.of_move import Moving, Still, is_same_home, moving, still, with_lines
from designkit.errors import DesignkitError, LookupFailed
from designkit.model import Home
from designkit.plan.around import own_group
from designkit.plan.case import Case
from designkit.studies.desk import Desk
from designkit.studies.words import letters_of
from designkit.studies.working_hand import BEGAN, SHOW, SNAP, Hand
from designkit.studies.working_sheet import Sheet
from designkit.studies.working_tape import Tapes
from designkit.studies.working_words import answer, differences, news, verdicts, working
from designkit.units import file_text

if TYPE_CHECKING:
    from designkit.studies.board import Board

__all__ = ["WorkingPlan", "working_plan"]


class WorkingPlan(Hand):
    """One layout under the hand, and the page that shows it.

    Parameters
    ----------
    desk : Desk
        The project; its changes are those of this study.
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.done = 0  # number of the last step that was done
        self.said = ""  # for the live region: what the last rest changed
        self.sheet = Sheet(self)
        self.tapes = Tapes(self)
        self._known: tuple[Home, str, Moving] | None = None
        self._still: tuple[Home, str, Still] | None = None
        self._before: dict[str, str] = {}
        self._others: dict[tuple[str, str], tuple[Home, LayoutResult]] = {}

    # --- results -------------------------------------------------------------

    def now(self) -> Moving:
        """The layout under the hand, worked out; from the last result where that may be."""
        home, layout, rules = self.home, self.layout, self.values["rules"]
        id, before = self.values["layout"], None
        if self._known is not None:
            known, old_rules, old = self._known
            if old_rules == rules and old.result.id == id and is_same_home(home, known):
                if layout == old.result.layout:
                    return old
                before = old.result
        rest = None
        if self._still is not None and self._still[1] == rules:
            rest = self._still[2] if is_same_home(self._still[0], home) else None
        now = moving(home, layout, id=id, before=before, rest=rest, rule_set=rules)
        self._known = (home, rules, now)
        return now

    def get_ready(self) -> None:
        """Work out what stays while the chosen piece moves, so that its next step is fast."""
        now, piece = self.now(), self.values["piece"]
        rules, group = self.values["rules"], own_group(now.case, piece) & {*now.case.placed}
        known = self._still
        if (
            known is not None
            and (known[1], known[2].moved) == (rules, group)
            and is_same_home(known[0], self.home)
            and known[2].holds_for(now.case)
        ):
            return
        self._still = (self.home, rules, still(now, group))

    def _full(self, id: str) -> LayoutResult:
        """All numbers of an option, from memory where nothing of it has changed."""
        rules, home = self.values["rules"], self.home
        known = self._others.get((id, rules))
        layout = self.began[self.values["layout"]] if id == BEGAN else home.layouts[id]
        if known is not None and known[1].layout == layout and is_same_home(known[0], home):
            return known[1]
        result = moving(home, layout, id=id, rule_set=rules).result
        self._others[id, rules] = (home, result)
        return result

    # --- answers to the page -------------------------------------------------

    def answer(self, steps: Sequence[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
        """Do what was asked and say what to show, the most urgent first.

        Parameters
        ----------
        steps : sequence of mapping
            Each with its number "n" and what to "do". Done ones are passed over.

        Yields
        ------
        dict of str to Any
            With any of "ground", "sheet", "live", "ways", "desk" and "said".

        Raises
        ------
        DesignkitError
            A step cannot be done; the pieces stand where they stood before.
        """
        fresh = [step for step in steps if int(step["n"]) > self.done]
        if not fresh:
            return
        # A step that fails is not tried again: it is said beside its control.
        self.done = max(int(step["n"]) for step in fresh)
        moved = whole = chosen = False
        for step in fresh:
            what = str(step["do"])
            try:
                if what == "move":
                    self.hold(str(step["id"]), (step["x"], step["y"], step["turn"]))
                    moved = True
                elif what == "piece":
                    self.pose(str(step["id"]))
                    self.values["piece"] = str(step["id"])
                    chosen = True
                else:
                    whole = self._do(what, step) or whole
            except DesignkitError:
                if what != "look":
                    self.check_values()
                    yield self._settled_or_back()
                raise
        if whole:
            self.check_values()
            yield self._settled_or_back()
            self.get_ready()
        elif moved or chosen:
            yield from self._live(moved=moved)

    def _settled_or_back(self) -> dict[str, Any]:
        """The whole page; where a held piece cannot stand, it goes back first."""
        try:
            return self.settle()
        except DesignkitError:
            if not self.held:
                raise
            self.held.clear()
            return self.settle()

    def _live(self, *, moved: bool) -> Iterator[dict[str, Any]]:
        """Findings first, then distances and the lines of the routes."""
        try:
            now = self.now()
        except DesignkitError:
            # It cannot stand there: back to where it stood before it was held.
            self.held.clear()
            yield {"live": self._live_words(self.now())}
            raise
        if moved:
            yield {"live": self._live_words(now)}
        else:
            yield {"desk": self.words()}
        result = self._with_lines(now)
        near = self._near(now.case)
        yield {"ways": {"n": self.done, "svg": self.sheet.ways(result, now.case), **near}}
        self.get_ready()

    def _near(self, case: Case) -> dict[str, Any]:
        """Distances of the chosen piece, and the measures."""
        return {**self.sheet.near(case), **self.tapes.shown(case, self.sheet.layers())}

    def _with_lines(self, now: Moving) -> LayoutResult:
        return with_lines(now) if "routes" in self.values["show"] else now.result

    def _live_words(self, now: Moving) -> dict[str, Any]:
        return {
            "n": self.done,
            "poses": {id: list(pose) for id, pose in self.poses().items()},
            "marks": self.sheet.marks(now.result),
            "findings": self.sheet.findings(now.result),
            **answer(self.desk.project, now.result),
        }

    def settle(self) -> dict[str, Any]:
        """Everything, drawn with care.

        Returns
        -------
        dict of str to Any
            For the page.
        """
        now = self.now()
        result = self._with_lines(now)
        fresh = verdicts(result, home=self.home)
        changed = news(self._before, fresh) if self._before else []
        self._before = fresh
        shown = {
            "ground": self.sheet.ground(now.case),
            "sheet": {
                "n": self.done,
                **self.sheet.settled(result, now.case),
                **self.tapes.shown(now.case, self.sheet.layers()),
            },
            "desk": self.words(),
            "said": self._said(result, now.case, changed),
        }
        self.said = ""
        return shown

    def show(self, values: Mapping[str, Any], changed: str | None) -> dict[str, Any]:
        """The whole page as the other studies give theirs, for whoever reads it without a browser.

        Parameters
        ----------
        values : mapping of str to Any
            Of controls that differ.
        changed : str or None
            Id of one that moved, None at the start.

        Returns
        -------
        dict of str to Any
            "controls", "said" and the layers of the sheet.
        """
        if changed is not None:
            self.values.update(values)
            self.check_values()
        shown = self.settle()
        return {**shown, "controls": shown["desk"]["controls"]}

    # --- the words and controls ----------------------------------------------

    def controls(self) -> list[dict[str, Any]]:
        """What is chosen under the plan."""
        home = self.home
        letters = letters_of(list(home.layouts))
        others = [[id, letters[id]] for id in home.layouts if id != self.values["layout"]]
        pieces = [[id, self.name(id)] for id in self._in_order()]
        hint = file_text(1.24, units=home.units)
        fields = (
            ("along", "Along, from the left", hint),
            ("up", "Up, from below", hint),
            ("turn", "Turn, counter-clockwise", "15"),
        )
        return [
            {
                "kind": "words",
                "id": "layout",
                "label": "Option",
                "choices": [[id, letters[id]] for id in home.layouts],
            },
            {
                "kind": "words",
                "id": "compare",
                "label": "Hold it against",
                "choices": [["", "nothing"], [BEGAN, "as it began"], *others],
            },
            {"kind": "choose", "id": "piece", "label": "Piece", "choices": pieces},
            *(
                {"kind": "field", "id": id, "label": label, "hint": example}
                for id, label, example in fields
            ),
            {
                "kind": "choose",
                "id": "other",
                "label": "Change places with",
                "choices": [p for p in pieces if p[0] != self.values["piece"]],
            },
            *self.tapes.controls(self.now().case),
            {"kind": "checks", "id": "show", "label": "Show", "choices": [list(c) for c in SHOW]},
            {
                "kind": "checks",
                "id": "snap",
                "label": "A dragged piece snaps to",
                "choices": [list(c) for c in SNAP],
            },
            {
                "kind": "words",
                "id": "zoom",
                "label": "Zoom",
                "choices": [["1", "whole plan"], ["1.5", "1½"], ["2", "2"], ["3", "3"]],
            },
            {
                "kind": "words",
                "id": "rules",
                "label": "Rule set",
                "choices": [["home", "home"], ["step-free", "step-free"]],
            },
        ]

    def _in_order(self) -> list[str]:
        known = self._known
        return self.sheet.reading_order(known[2].case) if known is not None else self.movers()

    def words(self) -> dict[str, Any]:
        """Values, controls and buttons as they stand."""
        controls = self.controls()  # which also brings the choices of the tape into line
        desk, piece = self.desk, self.values["piece"]
        waiting = len(desk.edits)
        if waiting:
            kept = (
                f"{waiting} {'change is' if waiting == 1 else 'changes are'} not kept yet. "
                f"{'It comes' if waiting == 1 else 'They come'} back after a reload."
            )
        else:
            kept = f"last kept {desk.kept_at}" if desk.kept_at else "Nothing has changed yet."
        is_piece = piece in self.home.layouts[self.values["layout"]].pieces
        locked, other = self.is_locked(piece), self.values["other"]
        fixed = locked or self.is_locked(other)
        return {
            "values": dict(self.values),
            "fields": self.sheet.fields(),
            "controls": controls,
            "piece": [
                {"id": "turn", "text": "Turn by 90°", "off": not piece or locked},
                {"id": "lock", "text": "Unlock" if locked else "Lock", "off": not is_piece},
            ],
            "swap": {"id": "swap", "text": "Change places", "off": not other or fixed},
            "kept": kept,
        }

    def _said(self, result: LayoutResult, case: Case, changed: list[str]) -> dict[str, Any]:
        said = self.said
        if said and changed:
            said = f"{said} {'; '.join(changed)}."
        return {
            "where": f"{self.home.name}, {self.layout.name}",
            "question": "What happens when a piece moves?",
            **answer(self.desk.project, result),
            "said": said,
            "findings": {
                "title": "What the plan says",
                "rows": self.sheet.findings(result),
                "none": "Nothing that fails, and nothing that has to be measured first.",
            },
            "tables": self._tables(result),
            "working": working(result),
            "actions": self.actions(
                {"id": "option", "text": "Keep as an option", "main": True},
                {
                    "id": "propose",
                    "text": "Propose layouts",
                    "slow": "Searching, about ten seconds.",
                },
            ),
            "note": self.note,
        }

    def _tables(self, result: LayoutResult) -> list[dict[str, Any]]:
        id = self.values["compare"]
        if self.compared is None:
            return []
        letters = letters_of(list(self.home.layouts))
        mine = self.values["layout"]
        here = f"{letters[mine]}  {self.home.layouts[mine].name}"
        there = "as it began" if id == BEGAN else f"{letters[id]}  {self.home.layouts[id].name}"
        whole = result if self.held else self._full(mine)
        return [differences(self, whole, self._full(id), heads=(here, there))]

    # --- what can be done ----------------------------------------------------

    def _do(self, what: str, step: Mapping[str, Any]) -> bool:
        """One step; True where the whole page has to be shown anew."""
        deeds: dict[str, Callable[[Mapping[str, Any]], bool | None]] = {
            "rest": self._do_rest,
            "place": self._do_place,
            "turn": self._do_turn,
            "lock": self._do_lock,
            "swap": self._do_swap,
            "set": self._do_set,
            "option": self._do_option,
            "propose": self._do_propose,
            "tape": self._do_tape,
            "untape": self._do_untape,
            "look": self._do_look,
            "undo": self._do_undo,
            "redo": self._do_redo,
            "keep": self._do_keep,
            "export": self._do_export,
        }
        if what not in deeds:
            raise LookupFailed("step", given=what, allowed=", ".join(deeds))
        if what != "look":
            self.put_down()
        return deeds[what](step) is not False

    def _do_rest(self, step: Mapping[str, Any]) -> None:
        id = str(step.get("id", self.values["piece"]))
        self.said = f"{self.name(id)} stands still."

    def _put(self, id: str) -> None:
        """Put down what a button or a field has moved; where it cannot stand, say so."""
        try:
            self.now()
        except DesignkitError:
            self.held.clear()
            raise
        self.put_down()
        self._do_rest({"id": id})

    def _do_place(self, step: Mapping[str, Any]) -> None:
        """A typed place or turn."""
        id = str(step["id"])
        self.type_in(id, str(step["field"]), str(step["text"]))
        self._put(id)

    def _do_turn(self, step: Mapping[str, Any]) -> None:
        id = str(step["id"])
        x, y, turn = self.pose(id)
        self.hold(id, (x, y, turn + float(step.get("by", 90.0))))
        self._put(id)

    def _do_lock(self, step: Mapping[str, Any]) -> None:
        id = str(step["id"])
        self.said = f"{self.name(id)} is {'locked' if self.lock(id) else 'free again'}."

    def _do_swap(self, step: Mapping[str, Any]) -> None:
        a, b = str(step["a"]), str(step["b"])
        self.swap(a, b)
        self._put(a)
        self.said = f"{self.name(a)} and {self.name(b)} have changed places."

    def _do_set(self, step: Mapping[str, Any]) -> bool | None:
        """A choice of the page."""
        key, value = str(step["key"]), step["value"]
        lists = {"show": SHOW, "snap": SNAP}
        if key in lists:
            self.values[key] = [word for word, _ in lists[key] if word in value]
            return None
        if key in ("at_a", "at_b"):
            self.values[key] = str(value)
            return None
        ends = [id for id, _ in self.tapes.choices(self.now().case)]
        known = {
            "tape_a": ends,
            "tape_b": ends,
            "layout": [*self.home.layouts],
            "compare": ["", BEGAN, *self.home.layouts],
            "rules": ["home", "step-free"],
            "other": self.movers(),
        }
        if key not in known:
            raise LookupFailed("choice", given=key, allowed=", ".join([*lists, *known]))
        if value not in known[key]:
            raise LookupFailed(key, given=value, allowed=", ".join(w for w in known[key] if w))
        was, self.values[key] = self.values[key], str(value)
        if key in ("layout", "rules"):
            try:
                self.now()
            except DesignkitError:
                self.values[key] = was
                raise
            self._before = {}
        return None

    def _do_tape(self, step: Mapping[str, Any]) -> None:
        self.said = self.tapes.add(self.now().case, step)

    def _do_untape(self, step: Mapping[str, Any]) -> None:
        self.said = self.tapes.take_away(int(step["k"]))

    def _do_option(self, _: Mapping[str, Any]) -> None:
        self.note = self.said = self.keep_option()
        self._before = {}

    def _do_propose(self, _: Mapping[str, Any]) -> None:
        self.note = self.said = self.propose()
        self._before = {}

    def _do_look(self, _: Mapping[str, Any]) -> bool:
        if self.held:
            return False
        note = self.take_in()
        if not note:
            return False
        self.note = self.said = note
        return True

    def _do_undo(self, _: Mapping[str, Any]) -> None:
        self.said = "The last change is taken back." if self.desk.undo() else "Nothing to undo."

    def _do_redo(self, _: Mapping[str, Any]) -> None:
        self.said = "Done again." if self.desk.redo() else "Nothing to do again."

    def _do_keep(self, _: Mapping[str, Any]) -> None:
        self.note = self.said = self.desk.keep()

    def _do_export(self, _: Mapping[str, Any]) -> None:
        from designkit.publish import export

        written = export(
            self.desk.project,
            folder=self.desk.folder,
            names=self.sheets,
            layout=self.values["layout"],
        )
        more = self.tapes.sheet_of(self.now().case)
        self.note = self.said = f"{written} {more}".strip()


def working_plan(project: str | None = None) -> Board:
    """The study "working plan" on a project.

    Parameters
    ----------
    project : path, optional
        A project folder; else the one that `designkit lab` opened, the one
        around the notebook, or a passing copy of the demo.

    Returns
    -------
    Board
        Shown by the notebook as the cell's value.
    """
    from designkit.studies.board import Board

    return Board(WorkingPlan(Desk(project)))
