"""The virtual sheet behaves as glass does, so that what is judged on it is judged fairly."""

import ast
import re
import sys
from dataclasses import FrozenInstanceError, replace
from pathlib import Path

import numpy as np
import pytest

from tests import virtual_sheet
from tests.virtual_sheet import (
    SETTINGS,
    SHEETS,
    Burnt,
    Setting,
    Sheet,
    another_piece,
    assemble,
    burn,
    burn_at,
    lightness,
    seen,
)

FULL, OFF = np.uint8(0), np.uint8(255)
NAMES = list(SHEETS)
FINE = SHEETS["fine"]
# A sheet on which nothing is left to chance, for what is exact.
CALM = replace(
    FINE, pulse_jitter=0.0, line_jitter=0.0, line_jitter_mm=0.0, threshold_spread=0.0, sparkle=0.0
)


def solid(sheet: Sheet, power_pct: float, *, sub: int = 4, pixels: int = 120) -> Burnt:
    bitmap = np.full((pixels, pixels), FULL)
    setting = Setting(power_pct, power_pct)
    return burn(sheet, bitmap, **vars(setting), sub=sub)


def share(sheet: Sheet, burnt: Burnt, border: int = 15) -> float:
    """Share of full frost, away from the border."""
    inner = burnt.at_pitch()[border:-border, border:-border]
    return float((inner.mean() - sheet.bare_y) / (sheet.frost_y - sheet.bare_y))


def test_it_knows_nothing_of_the_project() -> None:
    tree = ast.parse(Path(virtual_sheet.__file__).read_text(encoding="utf-8"))
    modules = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            modules |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            modules.add((node.module or "").split(".")[0])
    assert modules - sys.stdlib_module_names == {"cv2", "numpy", "scipy"}


@pytest.mark.parametrize("name", NAMES)
def test_glass_that_is_not_fired_at_stays_bare(name: str) -> None:
    sheet = SHEETS[name]
    burnt = burn_at(sheet, np.full((50, 70), OFF), SETTINGS[name]["above"])
    assert burnt.luminance.shape == (200, 280)
    assert burnt.luminance.dtype == np.float32
    np.testing.assert_allclose(burnt.luminance, sheet.bare_y, rtol=1e-6)


def test_nothing_comes_out_below_the_firing_floor() -> None:
    eager = replace(FINE, threshold_j_mm2=0.05)
    floor = eager.firing_floor_pct
    assert share(eager, solid(eager, floor - 0.5)) == pytest.approx(0.0, abs=1e-6)
    assert share(eager, solid(eager, floor + 0.5)) > 0.5


@pytest.mark.parametrize("name", NAMES)
def test_more_power_leaves_more_frost_until_it_flakes(name: str) -> None:
    sheet = SHEETS[name]
    powers = [8.0, 11.0, 14.0, 17.0, 21.0, 26.0, 32.0, 40.0, SETTINGS[name]["above"].power_max_pct]
    shares = [share(sheet, solid(sheet, power)) for power in powers]
    assert all(np.diff(shares) >= -1e-6)
    assert shares[0] == pytest.approx(0.0, abs=0.005)
    assert shares[-1] > 0.95
    flaked = solid(sheet, 100.0)
    assert share(sheet, flaked) < 0.95 * shares[-1]
    assert lightness(flaked.at_pitch()).std() > 2.0 * lightness(solid(sheet, 60.0).at_pitch()).std()


@pytest.mark.parametrize("name", NAMES)
def test_the_table_of_settings_is_true(name: str) -> None:
    row = re.search(rf"^ +{name} .*$", virtual_sheet.__doc__ or "", re.MULTILINE)
    assert row is not None
    entries = re.findall(r"([\d.]+) %: +([\d.]+)", row[0])
    settings = SETTINGS[name]
    powers = [
        settings["at_threshold"].power_min_pct,
        settings["above"].power_min_pct,
        settings["above"].power_max_pct,
    ]
    assert [float(power) for power, _ in entries] == powers
    for power, frost in entries:
        measured = 100.0 * share(SHEETS[name], solid(SHEETS[name], float(power)))
        assert measured == pytest.approx(float(frost), abs=1.5)


@pytest.mark.parametrize("name", NAMES)
def test_the_end_reflectances_are_the_sheets(name: str) -> None:
    sheet = replace(SHEETS[name], flaking_j_mm2=100.0)
    frost = solid(sheet, 100.0).at_pitch()[15:-15, 15:-15]
    assert float(frost.mean()) == pytest.approx(sheet.frost_y, rel=0.01)


def test_grey_asks_for_power_between_least_and_greatest() -> None:
    grey = np.full((120, 120), 255 - 102, np.uint8)
    asked = burn_at(FINE, grey, Setting(40.0, 10.0))
    np.testing.assert_array_equal(asked.luminance, solid(FINE, 22.0).luminance)
    # The lightest grey fires at the least power, give or take a part in 255.
    least = burn_at(FINE, np.full((120, 120), 254, np.uint8), Setting(40.0, 16.0))
    assert share(FINE, least) == pytest.approx(share(FINE, solid(FINE, 16.0)), abs=0.01)


def test_fluence_is_power_over_speed_and_pitch() -> None:
    still = replace(CALM, reciprocity=0.0, heat=0.0, tube_lag_ms=0.0)
    bitmap = np.full((120, 120), FULL)
    usual = share(still, solid(still, 18.0))
    faster = burn_at(still, bitmap, Setting(36.0, 36.0, speed_mm_s=700.0))
    finer = burn_at(still, bitmap, Setting(9.0, 9.0, pitch_mm=0.05))
    assert share(still, faster) == pytest.approx(usual, abs=1e-3)
    assert share(still, finer, 30) == pytest.approx(usual, abs=0.02)  # its line ripple is less
    hurried = replace(still, reciprocity=0.1)
    assert share(hurried, burn_at(hurried, bitmap, Setting(36.0, 36.0, 700.0))) > usual + 0.02


@pytest.mark.parametrize("name", NAMES)
def test_half_a_pattern_of_dots_gains(name: str) -> None:
    sheet = SHEETS[name]
    most = SETTINGS[name]["above"]
    row, column = np.indices((120, 120))
    checks = np.where((row + column) % 2, FULL, OFF).astype(np.uint8)
    half = share(sheet, burn_at(sheet, checks, most))
    full = share(sheet, burn_at(sheet, np.full((120, 120), FULL), most))
    assert half / full - 0.5 > 0.05
    assert half < full - 0.1


def test_frost_reaches_beyond_the_beam() -> None:
    bitmap = np.full((60, 60), OFF)
    bitmap[20:40, 20:40] = FULL
    near = replace(CALM, tube_lag_ms=0.0, crack_share=0.0)
    far = replace(near, crack_share=0.5, crack_mm=0.08)
    widths = []
    for sheet in (near, far):
        middle = burn_at(sheet, bitmap, Setting(40.0, 40.0)).luminance[120]
        widths.append(int((middle > 1.01 * sheet.bare_y).sum()))
    assert 80 < widths[0] < widths[1] - 8


@pytest.mark.parametrize("both", [True, False])
def test_the_tubes_lag_smears_along_the_lines_only(both: bool) -> None:
    bitmap = np.full((60, 60), OFF)
    bitmap[20:40, 20:40] = FULL
    setting = Setting(40.0, 40.0, both_directions=both)
    sheet = replace(CALM, etched_back=False, heat=0.0)
    quick = burn_at(replace(sheet, tube_lag_ms=0.0), bitmap, setting).at_pitch()
    slow = burn_at(replace(sheet, tube_lag_ms=0.4), bitmap, setting).at_pitch()
    frost = slow - sheet.bare_y
    columns = np.arange(60)
    centres = (frost[22:38] * columns).sum(axis=1) / frost[22:38].sum(axis=1)
    if both:
        assert np.all(centres[::2] > 29.5 + 0.3)
        assert np.all(centres[1::2] < 29.5 - 0.3)
    else:
        assert np.all(centres > 29.5 + 0.3)
    # Above and below the square as far as without lag.
    np.testing.assert_allclose(slow[:16], quick[:16], atol=1e-4)
    np.testing.assert_allclose(slow[44:], quick[44:], atol=1e-4)
    np.testing.assert_allclose(slow[20:40, 28:31], quick[20:40, 28:31], atol=0.02)


def test_a_sheet_etched_on_its_back_is_mirrored() -> None:
    bitmap = np.full((40, 60), OFF)
    bitmap[:, :20] = FULL
    back = burn_at(FINE, bitmap, SETTINGS["fine"]["above"])
    front = burn_at(replace(FINE, etched_back=False), bitmap, SETTINGS["fine"]["above"])
    assert front.luminance[:, :60].mean() > 3.0 * front.luminance[:, -60:].mean()
    np.testing.assert_array_equal(back.luminance, front.luminance[:, ::-1])


@pytest.mark.parametrize("name", NAMES)
def test_grain_is_there_but_fine(name: str) -> None:
    sheet = SHEETS[name]
    burnt = solid(sheet, SETTINGS[name]["above"].power_min_pct, pixels=200)
    inner = burnt.luminance[80:-80, 80:-80]
    grain = inner - inner.mean(axis=1, keepdims=True)  # without the ripple of the lines
    far = round(0.5 / burnt.pixel_mm)
    neighbours = float((grain[:, :-1] * grain[:, 1:]).mean() / grain.var())
    apart = float((grain[:, :-far] * grain[:, far:]).mean() / grain.var())
    assert grain.std() > 0.03 * inner.mean()
    assert neighbours > 0.25
    assert abs(apart) < 0.2
    at_a_distance = lightness(seen(burnt.luminance, burnt.pixel_mm))[80:-80, 80:-80]
    assert 0.1 < at_a_distance.std() < 1.6


def test_a_wider_spread_of_thresholds_gives_more_grain() -> None:
    quiet, loud = (replace(FINE, threshold_spread=spread) for spread in (0.05, 0.2))
    assert solid(loud, 20.0).luminance.std() > 1.5 * solid(quiet, 20.0).luminance.std()


def test_a_larger_grain_shows_more_at_a_distance() -> None:
    small, large = (replace(CALM, threshold_spread=0.12, grain_mm=mm) for mm in (0.04, 0.12))
    small_y, large_y = (solid(sheet, 20.0).luminance for sheet in (small, large))
    assert large_y.std() == pytest.approx(small_y.std(), rel=0.35)
    inner = np.s_[60:-60, 60:-60]
    assert seen(large_y, 0.025)[inner].std() > 2.0 * seen(small_y, 0.025)[inner].std()


def test_the_same_sheet_burns_the_same_and_another_piece_does_not() -> None:
    again, first = solid(FINE, 20.0), solid(FINE, 20.0)
    np.testing.assert_array_equal(again.luminance, first.luminance)
    other = another_piece(FINE, 1)
    assert np.abs(solid(other, 20.0).luminance - first.luminance).mean() > 1e-3
    assert share(other, solid(other, 20.0)) == pytest.approx(share(FINE, first), abs=0.02)


def test_different_sheets_differ() -> None:
    curves = {
        name: [float(lightness(solid(sheet, p, pixels=60).at_pitch().mean())) for p in (14, 20, 50)]
        for name, sheet in SHEETS.items()
    }
    for name, curve in curves.items():
        for other in set(NAMES) - {name}:
            assert np.abs(np.subtract(curve, curves[other])).max() > 2.0


def test_bands_leave_no_seam(monkeypatch: pytest.MonkeyPatch) -> None:
    bitmap = np.random.default_rng(3).integers(0, 256, (150, 40)).astype(np.uint8)
    setting = SETTINGS["coarse"]["at_threshold"]
    banded = burn_at(SHEETS["coarse"], bitmap, setting).luminance
    monkeypatch.setattr(virtual_sheet, "BAND_ROWS", 1000)
    whole = burn_at(SHEETS["coarse"], bitmap, setting).luminance
    np.testing.assert_allclose(banded, whole, atol=2e-5)


@pytest.mark.parametrize("sub", [3, 5])
def test_the_fineness_of_the_grid_hardly_matters(sub: int) -> None:
    assert share(FINE, solid(FINE, 20.0, sub=sub)) == pytest.approx(
        share(FINE, solid(FINE, 20.0)), abs=0.02
    )


def test_the_mean_at_the_etch_pitch_is_kept() -> None:
    burnt = solid(FINE, 20.0, pixels=30)
    assert burnt.at_pitch().shape == (30, 30)
    assert float(burnt.at_pitch().mean()) == pytest.approx(float(burnt.luminance.mean()), rel=1e-5)


def test_lightness_at_the_published_points() -> None:
    """CIE 15: 0 is 0, white is 100, 18.42 % is 50, and the straight foot is 903.3 Y."""
    measured = lightness(np.array([0.0, 0.004, 0.184187, 1.0]))
    np.testing.assert_allclose(measured, [0.0, 3.6132, 50.0, 100.0], atol=1e-3)


def test_the_eye_blurs_by_its_angle() -> None:
    """A Gaussian of 1.2 minutes of arc at 450 mm: 0.1571 mm; its second moment says so."""
    point = np.zeros((201, 201), np.float32)
    point[100, 100] = 1.0
    image = seen(point, pixel_mm=0.025)
    offset = (np.arange(201) - 100) * 0.025
    assert float(image.sum()) == pytest.approx(1.0, rel=1e-4)
    assert np.sqrt((image.sum(axis=0) * offset**2).sum()) == pytest.approx(0.1571, rel=0.01)
    flat = np.full((20, 30), 0.4, np.float32)
    np.testing.assert_allclose(seen(flat, 0.1), flat, rtol=1e-5)


def test_runs_lie_on_one_piece_where_the_machine_put_them() -> None:
    left = solid(FINE, 40.0, pixels=40)
    glass = assemble(FINE, (20.0, 10.0), [(left, (1.0, 2.0)), (left, (14.0, 5.0))])
    assert glass.luminance.shape == (400, 800)
    pitch = glass.at_pitch()[:, ::-1]  # as the machine sees it
    lit = pitch > 5.0 * FINE.bare_y
    assert lit[22:58, 12:48].all()
    assert lit[52:88, 142:178].all()
    assert not lit[:, 60:130].any()
    with pytest.raises(ValueError, match="edge of the glass"):
        assemble(FINE, (20.0, 10.0), [(left, (17.0, 2.0))])
    with pytest.raises(ValueError, match="same pitch"):
        assemble(FINE, (20.0, 10.0), [(left, (1.0, 2.0)), (replace(left, sub=2), (9.0, 2.0))])


def test_what_it_cannot_burn_it_refuses() -> None:
    with pytest.raises(ValueError, match="uint8"):
        burn_at(FINE, np.zeros((10, 10), np.float32), Setting(50.0, 10.0))
    with pytest.raises(ValueError, match="read-only"):
        solid(FINE, 20.0, pixels=20).luminance[0, 0] = 1.0
    with pytest.raises(FrozenInstanceError):
        FINE.seed = 1
