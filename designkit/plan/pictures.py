"""Pictures from a file or from bytes: upright, in RGB, never larger than can be held."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from designkit.errors import FileFormatError

__all__ = ["PIXELS", "read_picture", "too_large"]

# More is refused by its head, before it is unpacked: an A0 sheet at 300 dots an inch has 139
# million, and one of 200 takes 600 MB once unpacked.
PIXELS = 150_000_000
_KINDS = ".png, .jpg, .jpeg, .webp"


def too_large(name: str, width: float, height: float) -> FileFormatError:
    """What is said of a picture with too many pixels.

    Parameters
    ----------
    name : str
        Of the file.
    width, height : float
        Its size. [pixels]

    Returns
    -------
    FileFormatError
        To be raised.
    """
    return FileFormatError(
        name,
        given=f"{width * height / 1e6:.0f} million pixels",
        allowed=f"at most {PIXELS / 1e6:.0f} million",
        mend="scan it at 150 to 200 dots an inch, or cut out what matters",
    )


def read_picture(
    source: Path | bytes, *, name: str, longest: int
) -> tuple[Any, tuple[int, int], float]:
    """A picture in RGB, as one holds it.

    Parameters
    ----------
    source : Path or bytes
        The file, or what is in it.
    name : str
        Of the file, for the sentences.
    longest : int
        Pixels of the longer side that are enough: a JPEG of more is unpacked
        at a half, a quarter or an eighth.

    Returns
    -------
    image : PIL.Image.Image
        Not yet made smaller than that.
    size : tuple of int
        Of the file. [pixels]
    dots : float
        Dots an inch as the file says; 0 where it says none.

    Raises
    ------
    FileFormatError
        It is no picture, is cut off, or has too many pixels.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    usual = Image.MAX_IMAGE_PIXELS
    try:
        # our own limit is told by its number and before anything is unpacked
        Image.MAX_IMAGE_PIXELS = None
        with Image.open(io.BytesIO(source) if isinstance(source, bytes) else source) as opened:
            width, height = opened.size
            if width * height > PIXELS:
                raise too_large(name, width, height)
            if max(width, height) > longest:
                opened.draft("RGB", (longest, longest))
            opened.load()
            given = opened.info.get("dpi", (0.0, 0.0))
            upright = ImageOps.exif_transpose(opened)
            # paper shows through where a picture is clear
            image = _on_white(upright)
    except FileFormatError:
        raise  # it is a ValueError too
    except UnidentifiedImageError:
        raise FileFormatError(
            name,
            given="no picture that can be read",
            allowed="a whole picture",
            mend=f"save it as one of {_KINDS}",
        ) from None
    except (OSError, SyntaxError, ValueError, EOFError):
        raise FileFormatError(
            name,
            given="a picture that is cut off",
            allowed="a whole picture",
            mend="copy it again from where it came",
        ) from None
    finally:
        Image.MAX_IMAGE_PIXELS = usual
    turned = (image.size[0] - image.size[1]) * (width - height) < 0
    size = (height, width) if turned else (width, height)
    return image, size, float(given[0]) if given else 0.0


def _on_white(image: Any) -> Any:
    """In RGB, on white paper where it is clear."""
    from PIL import Image

    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        clear = image.convert("RGBA")
        paper = Image.new("RGBA", clear.size, (255, 255, 255, 255))
        return Image.alpha_composite(paper, clear).convert("RGB")
    return image.convert("RGB")
