"""Strips: the same picture as in one piece, and failures that come through."""

import threading

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import data

from engine import detail, strips, tone
from engine.filters import Floats
from shared.operators import Detail, Tone

CAMERA = data.camera().astype(np.float32) / np.float32(255.0)


@pytest.fixture(autouse=True)
def four_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    """Strips as on a larger machine, wherever this runs."""
    monkeypatch.setattr("os.cpu_count", lambda: 4)


@given(st.floats(0.5, 6.0), st.floats(0.1, 2.0))
@settings(deadline=None, max_examples=15)
def test_local_contrast_is_the_same_in_strips(radius_mm: float, amount: float) -> None:
    wish = Tone(local=amount, local_radius_mm=radius_mm)
    reach = tone.local_reach_px(wish, 0.3)
    split = strips.in_strips(lambda part: tone.local_contrast(part, wish, 0.3), CAMERA, reach)
    np.testing.assert_allclose(split, tone.local_contrast(CAMERA, wish, 0.3), atol=2e-4)


@given(st.floats(0.05, 3.0))
@settings(deadline=None, max_examples=15)
def test_detail_is_the_same_in_strips(radius_mm: float) -> None:
    wish = Detail(amount=2.0, radius_mm=radius_mm)
    reach = detail.detail_reach_mm(wish) / 0.1 + detail.SPARE_PX
    split = strips.in_strips(lambda part: detail.exaggerate(part, wish, 0.1), CAMERA, reach)
    np.testing.assert_allclose(split, detail.exaggerate(CAMERA, wish, 0.1), atol=2e-4)


@pytest.mark.parametrize(("rows", "reach"), [(1, 0.0), (100, 3.0), (500, 400.0)])
def test_small_pictures_stay_in_one_piece(rows: int, reach: float) -> None:
    picture = np.zeros((rows, 7), np.float32)
    seen: list[tuple[int, ...]] = []

    def work(part: Floats) -> Floats:
        seen.append(part.shape)
        return part + np.float32(1.0)

    assert np.all(strips.in_strips(work, picture, reach) == 1.0)
    assert seen == [(rows, 7)]


def test_large_pictures_are_shared_among_threads() -> None:
    names: set[str] = set()
    both = threading.Barrier(2, timeout=60.0)

    def work(part: Floats) -> Floats:
        names.add(threading.current_thread().name)
        both.wait()
        return part

    strips.in_strips(work, np.zeros((256, 7), np.float32), 2.0)
    assert len(names) >= 2


def test_a_failure_in_a_strip_is_not_swallowed() -> None:
    def work(part: Floats) -> Floats:
        raise MemoryError(f"{part.shape}")

    with pytest.raises(MemoryError):
        strips.in_strips(work, np.zeros((256, 7), np.float32), 2.0)
