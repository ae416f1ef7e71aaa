"""The demo portrait keeps what it promises: it is hard in the ways that portraits are.

The thresholds stand a little on the easy side of what was measured on the committed picture; the
picture's own properties are the subject here, so nothing outside the project is cited.
"""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

PORTRAIT = Path(__file__).parents[2] / "resources" / "demo" / "portrait.jpg"


@pytest.fixture(scope="module")
def photo() -> np.ndarray:
    """The picture, uint8 rows x columns x 3."""
    with Image.open(PORTRAIT) as image:
        return np.asarray(image.convert("RGB"))


def fine_detail(plane: np.ndarray) -> np.ndarray:
    """What a 3 x 3 mean removes from a plane (float32 rows x columns, without its border)."""
    p = plane.astype(np.float32)
    rows = p[:-2] + p[1:-1] + p[2:]
    mean = (rows[:, :-2] + rows[:, 1:-1] + rows[:, 2:]) / 9.0
    return p[1:-1, 1:-1] - mean


def tile_spread(plane: np.ndarray, side: int = 100) -> np.ndarray:
    """Standard deviation in each tile of side x side pixels."""
    rows, columns = (n // side * side for n in plane.shape)
    tiles = plane[:rows, :columns].reshape(rows // side, side, columns // side, side)
    return tiles.std(axis=(1, 3))


def test_is_an_upright_jpeg_of_portrait_size() -> None:
    with Image.open(PORTRAIT) as image:
        assert image.format == "JPEG"
        assert image.mode == "RGB"
        assert image.width >= 2400
        assert image.height >= 3000
    assert PORTRAIT.stat().st_size < 4_000_000


def test_red_record_is_blown_where_the_blue_one_is_dark(photo: np.ndarray) -> None:
    red, blue = photo[..., 0], photo[..., 2]
    blown = red >= 254
    assert blown.mean() > 0.06
    assert np.percentile(blue[blown], 25) < 120
    assert (blown & (blue < 128)).mean() > 0.02


def test_blue_record_is_dirty(photo: np.ndarray) -> None:
    """In warm fur it carries far more grain for its level than the green one does."""
    warm = (photo[..., 0] > 150) & (photo[..., 2] < 90)
    inner = warm[1:-1, 1:-1]
    assert inner.mean() > 0.15
    share = {}
    for name, channel in (("green", 1), ("blue", 2)):
        level = photo[1:-1, 1:-1, channel][inner].mean()
        share[name] = np.abs(fine_detail(photo[..., channel])[inner]).mean() / level
    assert share["blue"] > 5.0 * share["green"]


def test_collar_is_near_white_and_holds_structure(photo: np.ndarray) -> None:
    collar = photo[1750:2150].min(axis=2)
    near_white = collar > 200
    assert near_white.mean() > 0.15
    assert 225 < np.median(collar[near_white]) < 245
    assert (photo.min(axis=2) >= 254).mean() < 0.005
    assert np.std(photo[1750:2150, :, 1][near_white].astype(float)) > 6.0


def test_coat_is_near_black_and_holds_structure(photo: np.ndarray) -> None:
    green = photo[..., 1]
    assert (photo.max(axis=2) < 48).mean() > 0.22
    assert (photo.max(axis=2) <= 1).mean() < 0.002
    chest = green[2500:2900, 900:1500].astype(np.float32)
    assert 12 < np.median(chest) < 28
    assert np.median(tile_spread(chest)) > 5.5


def test_fur_is_fine_and_background_soft(photo: np.ndarray) -> None:
    detail = fine_detail(photo[..., 1])
    fur = np.median(tile_spread(detail[700:1500, 900:1500]))
    background = np.median(tile_spread(detail[100:900, 100:500]))
    assert fur > 2.2
    assert background < 0.7 * fur
