"""The mix that keeps most detail in skin without clipping."""

import numpy as np
import pytest
from numpy.typing import NDArray

from engine import grey_skin

SKIN = (0.72, 0.55, 0.46)
GREEN = (0.25, 0.45, 0.25)
SIZE = 96


def _waves(period: float) -> NDArray[np.float64]:
    rows, columns = np.indices((SIZE, SIZE))
    return np.sin(2 * np.pi * rows / period) * np.sin(2 * np.pi * columns / period)


def _photo(
    detail: tuple[float, float, float],
    noise: tuple[float, float, float] = (0.0, 0.0, 0.0),
    base: tuple[float, float, float] = SKIN,
) -> NDArray[np.float32]:
    """A field of one colour with waves of a given height, and noise, in each record."""
    picture = np.array(base) + _waves(12.0)[..., None] * np.array(detail)
    picture += np.random.default_rng(7).normal(0.0, 1.0, picture.shape) * np.array(noise)
    return np.clip(picture, 0.0, 1.0).astype(np.float32)


def _weights(photo: NDArray[np.float32]) -> dict[str, float]:
    red, green, blue = grey_skin.skin_weights(photo, None)
    assert red + green + blue == pytest.approx(1.0, abs=1e-6)
    assert all(-0.5001 <= weight <= 1.5001 for weight in (red, green, blue))
    return {"red": red, "green": green, "blue": blue}


@pytest.mark.parametrize("record", [0, 1, 2])
def test_the_record_with_the_detail_gets_the_most_weight(record: int) -> None:
    detail = [0.0, 0.0, 0.0]
    detail[record] = 0.06
    weights = _weights(_photo((detail[0], detail[1], detail[2])))
    assert max(weights, key=lambda name: weights[name]) == ("red", "green", "blue")[record]


def test_noise_costs_the_blue_record_its_place() -> None:
    detail = (0.02, 0.02, 0.04)
    clean, dirty = _weights(_photo(detail)), _weights(_photo(detail, noise=(0.0, 0.0, 0.06)))
    assert clean["blue"] > 0.3
    assert dirty["blue"] < 0.15


def test_a_blown_red_record_gives_way() -> None:
    blown = _photo((0.05, 0.03, 0.03), base=(1.06, 0.78, 0.68))
    weights = _weights(blown)
    grey = blown @ np.array([weights["red"], weights["green"], weights["blue"]], np.float32)
    assert (grey >= 254.5 / 255).mean() <= 0.01
    assert weights["red"] < 0.5


def test_detail_in_the_rest_of_the_photo_does_not_count() -> None:
    """Skin on the left has its waves in green; the wall on the right shouts in blue."""
    skin, wall = _photo((0.0, 0.04, 0.0)), _photo((0.0, 0.0, 0.2), base=GREEN)
    both = np.concatenate([skin, wall], axis=1)
    assert grey_skin.skin_mask(both)[:, :SIZE].mean() > 0.9
    assert grey_skin.skin_mask(both)[:, SIZE:].mean() < 0.1
    weights = _weights(both)
    assert weights["green"] > max(weights["red"], weights["blue"])


def test_an_area_is_taken_at_its_word() -> None:
    skin, wall = _photo((0.0, 0.04, 0.0)), _photo((0.0, 0.0, 0.04), base=(0.4, 0.4, 0.4))
    both = np.concatenate([skin, wall], axis=1)
    left = grey_skin.skin_weights(both, (0.0, 0.0, 0.5, 1.0))
    right = grey_skin.skin_weights(both, (0.5, 0.0, 1.0, 1.0))
    assert left[1] > left[2]
    assert right[2] > right[1]


def test_without_skin_the_middle_counts() -> None:
    photo = _photo((0.0, 0.0, 0.2), base=GREEN)
    quarter = slice(SIZE // 4, SIZE * 3 // 4)
    photo[quarter, quarter] = _photo((0.04, 0.0, 0.0), base=GREEN)[quarter, quarter]
    assert not grey_skin.skin_mask(photo).any()
    weights = _weights(photo)
    assert weights["red"] > weights["blue"]


@pytest.mark.parametrize("shape", [(1, 1), (1, 9), (30, 2)])
@pytest.mark.parametrize("area", [None, (0.0, 0.0, 0.01, 0.01), (0.99, 0.99, 1.0, 1.0)])
def test_tiny_photos_and_areas_have_an_answer(shape, area) -> None:
    sample = np.random.default_rng(9).random((*shape, 3), dtype=np.float32)
    assert sum(grey_skin.skin_weights(sample, area)) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("level", [0.0, 0.5, 1.0])
def test_a_flat_photo_gets_the_mix_nearest_to_luma(level: float) -> None:
    flat = np.full((20, 20, 3), level, np.float32)
    assert grey_skin.skin_weights(flat, None) == pytest.approx((0.3, 0.6, 0.1))
