"""The drawings that explain rules, each with the rules that it explains."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from designkit.errors import LookupFailed, nearest
from designkit.figures import learning_light as light
from designkit.figures import learning_plan as plan
from designkit.figures.drawing import Drawing

__all__ = ["LESSONS", "Lesson", "lesson_drawing", "lesson_of"]


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """One drawing: its name, the question it answers, and the rules in it.

    Parameters
    ----------
    name : str
        A word or two.
    question : str
        What it answers.
    rules : tuple of str
        Ids of the rules that it shows; the first is the one it is about.
    draw : callable
        ``draw(units, rule) -> Drawing``.
    """

    name: str
    question: str
    rules: tuple[str, ...]
    draw: Callable[[str, str], Drawing]


LESSONS: dict[str, Lesson] = {
    "routes": Lesson(
        name="width of a way",
        question="How wide is a way through a home?",
        rules=("plan.route.main", "plan.route.pinch", "plan.route.minor"),
        draw=plan.route_widths,
    ),
    "chair": Lesson(
        name="chair pulled out",
        question="How far is it from the table to the wall?",
        rules=("plan.table.sit", "plan.table.pass", "plan.table.serve", "plan.table.in_use"),
        draw=plan.chair_pulled_out,
    ),
    "talk": Lesson(
        name="distance for talk",
        question="How far apart do people talk with ease?",
        rules=("plan.conversation.near", "plan.conversation.far", "plan.conversation.turn"),
        draw=plan.talk_distance,
    ),
    "screen": Lesson(
        name="distance of a screen",
        question="How far is the seat from the screen?",
        rules=(
            "plan.screen.subtense",
            "plan.screen.line_angle",
            "plan.screen.lines",
            "plan.screen.off_axis",
        ),
        draw=plan.screen_distance,
    ),
    "pendant": Lesson(
        name="pendant over a table",
        question="How high does a pendant hang over the table?",
        rules=(
            "light.pendant.low",
            "light.pendant.high",
            "light.pendant.ceiling",
            "light.pendant.rise",
            "plan.height.eye_above_seat",
        ),
        draw=light.pendant_over_table,
    ),
    "cavity": Lesson(
        name="room cavity",
        question="Why does a small room need more lumens a square metre?",
        rules=("light.plane.general",),
        draw=light.cavity_of_a_room,
    ),
    "lrv": Lesson(
        name="difference of tones",
        question="How far apart must two tones be?",
        rules=(
            "palette.contrast.lrv",
            "palette.contrast.lrv.lit",
            "palette.edge.strong",
            "palette.edge.one",
        ),
        draw=light.reflectance_difference,
    ),
    "ladder": Lesson(
        name="where black begins",
        question="Where does black begin?",
        rules=(
            "palette.black.lightness",
            "palette.black.chroma",
            "palette.dark.lightness",
            "palette.light.lightness",
        ),
        draw=light.lightness_ladder,
    ),
    "prices": Lesson(
        name="how sure a price is",
        question="How sure is a price?",
        rules=tuple(
            f"costs.range.{stage}.{side}"
            for stage in ("guess", "catalogue", "quoted", "ordered", "paid")
            for side in ("low", "high")
        ),
        draw=light.price_ranges,
    ),
    "fullness": Lesson(
        name="fullness of cloth",
        question="What is fullness?",
        rules=tuple(
            f"{subject}.drapery.fullness.{heading}"
            for subject in ("takeoff", "plan")
            for heading in ("wave.high", "tab.low", "sheer.high")
        ),
        draw=light.cloth_fullness,
    ),
}


def lesson_of(rule: str) -> str:
    """The drawing that explains a rule.

    Parameters
    ----------
    rule : str
        Id of the rule.

    Returns
    -------
    str
        Key of `LESSONS`; "" where none does.

    Examples
    --------
    >>> lesson_of("plan.route.pinch")
    'routes'
    """
    return next((id for id, lesson in LESSONS.items() if rule in lesson.rules), "")


def lesson_drawing(id: str, *, units: str = "m", rule: str = "") -> Drawing:
    """One of the drawings.

    Parameters
    ----------
    id : str
        Key of `LESSONS`.
    units : str, optional
        "m" or "ft", for its dimensions.
    rule : str, optional
        Id of the rule that is asked about; it stands out.

    Returns
    -------
    Drawing
        To scale where it shows lengths.

    Raises
    ------
    LookupFailed
        There is no such drawing.

    Examples
    --------
    >>> lesson_drawing("routes").scale
    25
    """
    if id not in LESSONS:
        near = nearest(id, LESSONS)
        raise LookupFailed(
            "drawing",
            given=id,
            allowed=", ".join(LESSONS),
            mend=f"use {near}" if near else "use one of these",
        )
    return LESSONS[id].draw(units, rule)
