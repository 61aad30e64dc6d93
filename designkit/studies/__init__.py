"""The studies: one function a notebook, each returns a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from designkit.studies.black_study import share_of_black
    from designkit.studies.brief_study import brief
    from designkit.studies.budget_study import budget_scenarios
    from designkit.studies.fits_study import on_the_spot
    from designkit.studies.layouts_study import layout_options
    from designkit.studies.learn_study import learn
    from designkit.studies.light_study import light
    from designkit.studies.photo_study import photograph_values
    from designkit.studies.prices_study import price_list
    from designkit.studies.room_study import my_room
    from designkit.studies.start_study import start
    from designkit.studies.swatch_study import swatches
    from designkit.studies.takeoff_study import take_off
    from designkit.studies.tracing_study import from_a_plan
    from designkit.studies.working_plan_study import working_plan

__all__ = [
    "brief",
    "budget_scenarios",
    "from_a_plan",
    "layout_options",
    "learn",
    "light",
    "my_room",
    "on_the_spot",
    "photograph_values",
    "price_list",
    "share_of_black",
    "start",
    "swatches",
    "take_off",
    "working_plan",
]

_WHERE = {
    "brief": "brief_study",
    "budget_scenarios": "budget_study",
    "from_a_plan": "tracing_study",
    "layout_options": "layouts_study",
    "learn": "learn_study",
    "light": "light_study",
    "my_room": "room_study",
    "on_the_spot": "fits_study",
    "photograph_values": "photo_study",
    "price_list": "prices_study",
    "share_of_black": "black_study",
    "start": "start_study",
    "swatches": "swatch_study",
    "take_off": "takeoff_study",
    "working_plan": "working_plan_study",
}


def __getattr__(name: str) -> object:
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
