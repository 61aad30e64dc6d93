"""A PDF from somebody else, opened, or a sentence why not (extra plans)."""

from __future__ import annotations

import contextlib
import importlib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from designkit.errors import FileFormatError, InputError

__all__ = ["open_pdf"]

_LOCKED = 4  # pdfium's number for a password


@contextlib.contextmanager
def open_pdf(place: Path, *, instead: str) -> Iterator[Any]:
    """Open a PDF that has a page or more.

    Parameters
    ----------
    place : Path
        The file.
    instead : str
        What to do without it, as "paste its lines".

    Yields
    ------
    pypdfium2.PdfDocument
        Closed at the end.

    Raises
    ------
    FileFormatError
        It has a password, no page, or is no PDF.
    InputError
        The extra is not installed.
    """
    try:
        pdfium: Any = importlib.import_module("pypdfium2")  # an extra, without stubs
    except ImportError:
        raise InputError(
            place.name,
            given="a PDF",
            allowed="with the extra plans installed",
            mend=f"install designkit with [plans], or {instead}",
        ) from None
    try:
        document = pdfium.PdfDocument(place)
    except pdfium.PdfiumError as error:
        raise _refused(place, error.err_code, instead) from None
    try:
        if len(document) == 0:
            raise _no_page(place.name, instead)
        yield document
    finally:
        document.close()


def _refused(place: Path, code: int | None, instead: str) -> FileFormatError:
    # The library's number may be that of the file before, so the file is asked as well.
    data = place.read_bytes()
    if code == _LOCKED and b"/Encrypt" in data:
        return FileFormatError(
            place.name,
            given="a PDF with a password",
            allowed="an open, whole PDF",
            mend="save it without its password",
        )
    if re.search(rb"/Count\s+0\b", data):
        return _no_page(place.name, instead)
    return FileFormatError(
        place.name,
        given="no PDF that can be read",
        allowed="an open, whole PDF",
        mend=f"ask for it again, or {instead}",
    )


def _no_page(name: str, instead: str) -> FileFormatError:
    return FileFormatError(
        name,
        given="a PDF with no page",
        allowed="one page or more",
        mend=f"ask for it again, or {instead}",
    )
