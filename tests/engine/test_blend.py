"""What every blend mode keeps to, whatever the tones."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import blend

MODES = [
    blend.multiply,
    blend.screen,
    blend.overlay,
    blend.hard_light,
    blend.soft_light,
    blend.dodge,
    blend.burn,
]
UNIT = st.floats(0.0, 1.0)


@pytest.mark.parametrize("mode", MODES)
@given(b=UNIT, s=UNIT)
def test_tones_stay_between_black_and_white(mode, b: float, s: float) -> None:
    assert -1e-12 <= float(mode(b, s)) <= 1.0 + 1e-12


@pytest.mark.parametrize("mode", MODES)
def test_a_lighter_source_never_darkens(mode) -> None:
    tones = np.linspace(0.0, 1.0, 101)
    assert (np.diff(mode(tones[:, None], tones[None, :]), axis=1) >= -1e-12).all()


@pytest.mark.parametrize("mode", MODES)
def test_pictures_of_float32_stay_float32_and_are_not_changed(mode) -> None:
    b = np.random.default_rng(2).random((4, 6), dtype=np.float32)
    before = b.copy()
    assert mode(b, b).dtype == np.float32
    np.testing.assert_array_equal(b, before)


@given(b=UNIT, s=UNIT)
def test_burn_is_dodge_seen_as_a_negative(b: float, s: float) -> None:
    b, s = round(b, 6), round(s, 6)
    assert float(blend.burn(1 - b, 1 - s)) == pytest.approx(1 - float(blend.dodge(b, s)), abs=1e-9)


def test_a_single_source_covers_a_whole_backdrop() -> None:
    backdrop = np.linspace(0.0, 1.0, 12).reshape(3, 4)
    np.testing.assert_allclose(blend.soft_light(backdrop, 0.5), backdrop, atol=1e-15)
