"""The tape of the working plan: measures between two things, which stay while a piece is pushed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from designkit.errors import InputError
from designkit.figures.measured import Measured
from designkit.figures.working import Layers
from designkit.plan.case import Case
from designkit.plan.tape import Tape, TapeEnd, end_name, fixed_ends, tape, tape_end
from designkit.studies.words import length_of
from designkit.studies.working_hand import Hand
from designkit.units import IMPERIAL, in_sentence

__all__ = ["Tapes"]

MOST = 12  # measures at a time: more cannot be told apart on one plan
POINT = "point:"  # a point of the plan whose place is typed
TOUCHES = 0.0005  # m; nearer than this is said as touching


class Tapes:
    """The measures of one working plan.

    Parameters
    ----------
    hand : Hand
        The plan under the hand; its values say which two things are chosen.
    """

    def __init__(self, hand: Hand) -> None:
        self.hand = hand
        self.ends: list[tuple[TapeEnd, TapeEnd]] = []
        hand.values |= {"tape_a": "", "tape_b": "", "at_a": "", "at_b": ""}

    # --- choosing -------------------------------------------------------------

    def choices(self, case: Case) -> list[list[str]]:
        """What a tape can be held to: pieces, openings, walls, and a point.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        list of list of str
            Short form and name of each.
        """
        hand = self.hand
        pieces = [[f"piece:{id}", hand.name(id)] for id in hand.movers()]
        fixed = [
            [f"{end.kind}:{end.id}", name.removeprefix("the ")]
            for end, name in fixed_ends(case).items()
        ]
        return [*pieces, *fixed, [POINT, "a point"]]

    def check_values(self, case: Case) -> None:
        """Two things must be chosen that are there.

        Parameters
        ----------
        case : Case
            The layout, laid out.
        """
        values, known = self.hand.values, [id for id, _ in self.choices(case)]
        chosen = f"piece:{values['piece']}"
        for key in ("tape_a", "tape_b"):
            if values[key] not in known:
                free = [id for id in (chosen, *known) if id in known and id != values["tape_a"]]
                values[key] = free[0]

    def controls(self, case: Case) -> list[dict[str, Any]]:
        """The two choices, with a field for the place of a point.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        list of dict of str to Any
            For the page.
        """
        self.check_values(case)
        choices, found = self.choices(case), list[dict[str, Any]]()
        feet = self.hand.home.units in IMPERIAL
        for key, at, label in (
            ("tape_a", "at_a", "Measure from"),
            ("tape_b", "at_b", "Measure to"),
        ):
            control = {"kind": "choose", "id": key, "label": label, "choices": choices}
            if key == "tape_b":
                control["buttons"] = [
                    {"id": "tape", "text": "Measure"},
                    {"id": "point", "text": "Point at two things"},
                ]
            found.append(control)
            if self.hand.values[key] == POINT:
                found.append(
                    {
                        "kind": "typed",
                        "id": at,
                        "label": "Point, from the left and from below",
                        "hint": "4', 6'-6\"" if feet else "1.2 m, 2 m",
                    }
                )
        return found

    def _chosen(self, key: str) -> TapeEnd:
        hand = self.hand
        text = str(hand.values[f"tape_{key}"])
        if text != POINT:
            return tape_end(text)
        parts = str(hand.values[f"at_{key}"]).replace(";", ",").split(",")
        if len(parts) != 2:
            raise InputError(
                "point",
                given=repr(hand.values[f"at_{key}"]),
                allowed="two lengths",
                mend="write it as 1.2 m, 2 m",
            )
        x = length_of(parts[0], home=hand.home, what="point, from the left")
        y = length_of(parts[1], home=hand.home, what="point, from below")
        return TapeEnd(kind="point", at=(x, y))

    # --- measuring ------------------------------------------------------------

    def add(self, case: Case, step: Mapping[str, Any]) -> str:
        """Lay a tape between the two things of a step, else between the chosen two.

        Parameters
        ----------
        case : Case
            The layout, laid out.
        step : mapping of str to Any
            With the short forms "a" and "b" where they were pointed at.

        Returns
        -------
        str
            What it says.

        Raises
        ------
        InputError
            There are too many, both are one thing, or a point cannot be read.
        LookupFailed
            There is no such thing.
        """
        pointed = "a" in step
        a, b = (tape_end(str(step[key])) if pointed else self._chosen(key) for key in ("a", "b"))
        found = self._measured(case, a, b)
        if (a, b) not in self.ends and (b, a) not in self.ends:
            if len(self.ends) >= MOST:
                raise InputError(
                    "measures",
                    given=f"{MOST} and one more",
                    allowed=f"{MOST} at a time",
                    mend="take one away first",
                )
            self.ends.append((a, b))
        return self._sentence(found)

    def take_away(self, number: int) -> str:
        """Take a measure off the plan.

        Parameters
        ----------
        number : int
            Its place in the list, from 0.

        Returns
        -------
        str
            What was done; a measure that is gone already is no error.
        """
        if 0 <= number < len(self.ends):
            del self.ends[number]
        return "The measure is taken away."

    def measured(self, case: Case) -> dict[int, Measured]:
        """All measures as they are now.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        dict of int to Measured
            By place in the list; those of pieces that this option does not have are left out.
        """
        return {
            number: self._measured(case, *ends)
            for number, ends in enumerate(self.ends)
            if all(e.kind != "piece" or case.thing(e.id) is not None for e in ends)
        }

    def shown(self, case: Case, layers: Layers) -> dict[str, Any]:
        """The measures for the page, drawn and as a list.

        Parameters
        ----------
        case : Case
            The layout, laid out.
        layers : Layers
            The sheet that they are drawn on.

        Returns
        -------
        dict of str to Any
            "tapes" and "taped".
        """
        found = self.measured(case) if self.ends else {}
        drawn = list(found.values()) if "tapes" in self.hand.values["show"] else []
        return {
            "tapes": layers.measures(drawn) if drawn else "",
            "taped": [{"k": k, "text": self._sentence(m)} for k, m in found.items()],
        }

    def _measured(self, case: Case, a: TapeEnd, b: TapeEnd) -> Measured:
        found = tape(case, start=a, end=b)
        names = [end_name(case, end).removeprefix("the ") for end in (a, b)]
        return Measured(
            between=f"{names[0]} to {names[1]}",
            line=found.line,
            distance=found.distance,
            note=_note(case, found),
            clear=not found.through_wall,
        )

    def _sentence(self, measure: Measured) -> str:
        units = self.hand.home.units
        own = in_sentence(measure.distance, units=units)
        other = in_sentence(measure.distance, units="m" if units in IMPERIAL else "ft")
        between = measure.between[:1].upper() + measure.between[1:]
        if measure.distance < TOUCHES:
            return f"{between}: {measure.note}."
        note = f", {measure.note}" if measure.note else ""
        return f"{between}: {own} ({other}){note}."

    def sheet_of(self, case: Case) -> str:
        """Write the plan with its measures as a sheet, and say so.

        Parameters
        ----------
        case : Case
            The layout, laid out.

        Returns
        -------
        str
            What was written and where; "" where no measure is shown.
        """
        from designkit.figures.measured import measured_plan_sheet
        from designkit.studies.issuing import issue, paper_of, title_block

        hand, found = self.hand, list(self.measured(case).values())
        if not found or "tapes" not in hand.values["show"]:
            return ""
        title = f"Measured plan, {hand.layout.name}"
        drawing = measured_plan_sheet(
            hand.home,
            hand.layout,
            measures=found,
            block=title_block(hand.home, title=title, number="L-211"),
            paper={"A4": "A3", "Letter": "Tabloid"}[paper_of(hand.home)],
        )
        return issue([drawing], name="measured-plan", folder=hand.desk.folder)


def _note(case: Case, found: Tape) -> str:
    """What is across the tape, or that there is nothing to measure."""
    if found.overlap:
        return "they overlap"
    if found.distance < TOUCHES:
        return "they touch"
    between = ["a wall"] * found.through_wall + [case.name(id) for id in found.across]
    if not between:
        return ""
    *first, last = between
    words = f"{', '.join(first)} and {last}" if first else last
    return f"{words} {'stand' if first else 'stands'} between"
