"""Numbers with a unit: the only converter between text and SI.

Everything inside designkit is SI (metres, square metres, cubic metres,
kilograms, degrees). Text comes in through `read` and goes out through
`on_sheet`, `in_sentence` and `file_text`. The arithmetic is exact (fractions),
so that a sixteenth of an inch and a millimetre come back as they went in.
"""

from designkit.units.converting import IMPERIAL, METRIC, Unit, convert
from designkit.units.reading import read, read_number
from designkit.units.writing import (
    NBSP,
    feet_inches,
    file_text,
    grouped,
    in_sentence,
    inches,
    millimetres,
    on_sheet,
    short_length,
)

__all__ = [
    "IMPERIAL",
    "METRIC",
    "NBSP",
    "Unit",
    "convert",
    "feet_inches",
    "file_text",
    "grouped",
    "in_sentence",
    "inches",
    "millimetres",
    "on_sheet",
    "read",
    "read_number",
    "short_length",
]
