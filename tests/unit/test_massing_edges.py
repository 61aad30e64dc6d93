"""The edges of a perspective are kept by the picture that they belong to."""

from __future__ import annotations

import numpy as np

from designkit.figures.massing import _edges


def test_two_pictures_cut_from_one_array_have_their_own_edges() -> None:
    both = np.ones((2, 3, 4))
    both[1, :, 2:] = 9.0  # only the second has a jump
    index = np.zeros((3, 4), dtype=np.int64)
    first, second = _edges(index, both[0]), _edges(index, both[1])
    assert not first.any()
    assert second[:, 2].all()
    assert _edges(index, both[1]) is second  # kept
