"""Settings ranked as a viewer would, with reasons that fit."""

import attrs
import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage import data

from engine.colour import lightness_from_luminance
from engine.glass import Ends
from engine.response import frost_of_fluence
from engine.strip.judge import judge, report
from engine.strip.judge_cell import cell_facts, registered
from engine.strip.judge_error import Predicted, at_pitch, expected, predicted
from engine.strip.judge_photo import learn
from engine.strip.judge_texture import seen_texture
from engine.strip.judge_tones import tone_weights
from engine.strip.read_result import PatchReading
from engine.viewing import eye_sigma_mm
from shared.errors import Cancelled, InputError
from shared.profile import GENERIC, Knot
from shared.recipe import Screen
from shared.strip import Run
from tests.strip_parts import TRUE, measured_on, strip_of

PITCH = 0.1
CONTINUOUS, DIFFUSION = (Screen(kind=kind) for kind in ("continuous", "diffusion"))


def picture(low=12.0, high=65.0, side=240):
    """A photograph's lightness, rows x columns."""
    grey = cv2.resize(data.camera(), (side, side), interpolation=cv2.INTER_AREA) / 255.0
    return (low + (high - low) * grey).astype(np.float32)


def look(side=160):
    return in_16_bits(picture(0.0, 1.0, side))


def in_16_bits(shares):
    return (np.clip(shares, 0, 1) * 65535).astype(np.uint16)


def test_the_eyes_blur_at_reading_distance() -> None:
    """1.2 minutes of arc at 450 mm: 0.157 mm."""
    assert eye_sigma_mm() == pytest.approx(0.157, abs=0.001)


def test_a_perfect_cell_keeps_all() -> None:
    wanted = picture()
    facts = cell_facts(wanted, wanted, PITCH)
    assert facts.tones == facts.tones_wanted > 40
    assert facts.merged_light == facts.merged_dark == 1
    assert facts.detail == pytest.approx(1.0, abs=1e-3)
    assert facts.grain < 0.1


def test_a_cell_of_more_contrast_tells_no_more_tones_than_were_wanted() -> None:
    wanted = picture()
    facts = cell_facts(wanted, (1.3 * wanted - 5.0).astype(np.float32), PITCH)
    assert facts.tones == facts.tones_wanted


@pytest.mark.parametrize(
    ("low", "high", "light", "dark"), [(12, 50, True, False), (30, 65, False, True)]
)
def test_clipped_ends_merge(low, high, light, dark) -> None:
    wanted = picture()
    facts = cell_facts(wanted, np.clip(wanted, low, high), PITCH)
    assert (facts.merged_light > 2) == light
    assert (facts.merged_dark > 2) == dark
    assert facts.tones < facts.tones_wanted


def test_blur_takes_detail_and_grain_does_not_give_it() -> None:
    wanted = picture()
    soft = cv2.GaussianBlur(wanted, (0, 0), 3.0)
    noise = 3.0 * np.random.default_rng(1).standard_normal(wanted.shape).astype(np.float32)
    facts = [
        cell_facts(wanted, shown.astype(np.float32), PITCH) for shown in (soft, wanted + noise)
    ]
    assert facts[0].detail < 0.8
    assert facts[1].detail == pytest.approx(1.0, abs=0.05)
    assert facts[1].grain == pytest.approx(3.0, rel=0.1)
    assert facts[1].tones < facts[1].tones_wanted / 2


def test_a_misplaced_cell_is_moved_back() -> None:
    wanted = picture()
    moved = cv2.warpAffine(
        wanted,
        np.float32([[1, 0, 1.4], [0, 1, -0.7]]),
        wanted.shape[::-1],
        borderMode=cv2.BORDER_REPLICATE,
    )
    back = registered(wanted, moved)
    inner = np.s_[10:-10, 10:-10]
    assert np.abs(back - wanted)[inner].mean() < 0.5 * np.abs(moved - wanted)[inner].mean()


def test_a_look_is_brought_to_a_cells_size() -> None:
    assert at_pitch(look(160), 80, 80).shape == (80, 80)
    assert at_pitch(look(160), 200, 200).shape == (200, 200)
    assert at_pitch(look(160), 160, 160).max() <= 1.0


def test_without_bias_the_error_is_the_mean_amount_of_a_normal_one() -> None:
    plain = Predicted(1.0, np.zeros(4), np.full(4, 0.25))
    spread = np.sqrt(0.2 + 0.3 * 4.0 + 0.6 + 0.2**2)
    assert expected(plain, 2.0, 1.0) == pytest.approx(spread * np.sqrt(2.0 / np.pi))


def test_what_is_far_out_of_reach_is_the_error() -> None:
    found = Predicted(0.0, np.array([-40.0, -20.0]), np.array([0.75, 0.25]))
    assert expected(found, 0.0, 0.0) == pytest.approx(35.0)


@given(
    texture=st.floats(0.0, 3.0),
    seen=st.floats(0.01, 3.0),
    off=st.lists(st.floats(-20.0, 20.0), min_size=1, max_size=8),
)
def test_texture_and_lost_tones_do_not_lower_the_expected_error(texture, seen, off) -> None:
    weight = np.full(len(off), 1.0 / len(off))
    found = Predicted(texture, np.array(off), weight)
    error = expected(found, seen, seen)
    assert error >= np.abs(off).mean() - 1e-9
    assert expected(found, seen + 0.5, seen) >= error - 1e-9
    assert expected(found, seen, seen + 0.5) >= error - 1e-9
    assert expected(found, seen, seen, fewer=True) > error
    assert expected(Predicted(texture, 1.5 * np.array(off), weight), seen, seen) >= error - 1e-9


def test_the_picture_s_own_tones_count() -> None:
    profile = attrs.evolve(
        GENERIC, setting=attrs.evolve(GENERIC.setting, power_max_pct=20.0, power_min_pct=9.0)
    )
    look = in_16_bits(np.full((60, 60), 0.4))
    dark, light = [1.0, *[0.0] * 31], [*[0.0] * 31, 1.0]
    errors = [
        expected(predicted(look, profile, CONTINUOUS, 0.1, tone_weights(tones)), 0.2, 0.2)
        for tones in (dark, light)
    ]
    assert errors[1] > 4.0 * errors[0]


def test_without_known_tones_all_are_alike() -> None:
    assert np.ptp(tone_weights(())) == 0.0
    assert tone_weights([0.0] * 4).sum() == pytest.approx(1.0)
    assert tone_weights([0.25, 0.75]).tolist() == [0.25, 0.75]


def test_bare_background_stays_right_whatever_the_least_power_marks() -> None:
    setting = attrs.evolve(GENERIC.setting, power_max_pct=60.0, power_min_pct=20.0)
    profile = attrs.evolve(GENERIC, setting=setting)
    look = in_16_bits(np.full((60, 60), 0.4))
    dark, half_bare = [1.0, *[0.0] * 31], [0.5, *[0.0] * 31]
    errors = [
        expected(predicted(look, profile, CONTINUOUS, 0.1, tone_weights(tones)), 0.2, 0.2)
        for tones in (dark, half_bare)
    ]
    assert errors[1] > 2.0
    assert errors[1] == pytest.approx(0.5 * errors[0])


def test_light_tones_fall_short_of_frost_that_no_setting_reaches() -> None:
    look = in_16_bits(np.full((60, 60), 0.4))
    tones = tone_weights([0.125] * 8)
    fluences = np.geomspace(0.05, 3.0, 60)
    frost = frost_of_fluence(fluences, GENERIC)
    profiles = [
        attrs.evolve(GENERIC, knots=list(map(Knot, fluences.tolist(), (most * frost).tolist())))
        for most in (1.0, 0.95)
    ]
    near, far = (predicted(look, profile, CONTINUOUS, 0.1, tones) for profile in profiles)
    short = near.off - far.off
    assert np.abs(short[:6]).max() < 0.15
    assert short[6] < 0.5
    assert 0.7 < short[7] < 1.5


@pytest.mark.parametrize("level", [0.3, 0.6])
def test_dots_of_a_patch_come_out_as_its_curve_says(level: float) -> None:
    look = in_16_bits(np.full((200, 200), level))
    found = predicted(look, GENERIC, DIFFUSION, 0.1, tone_weights([1.0] * 16))
    patch = round(level * 16 - 0.5)
    assert abs(found.off[patch]) < 0.4


def test_dots_of_a_busy_picture_frost_otherwise_than_those_of_a_patch() -> None:
    sharp = attrs.evolve(
        GENERIC,
        setting=attrs.evolve(GENERIC.setting, power_max_pct=28.0),
        machine=attrs.evolve(GENERIC.machine, lag_ms=0.2),
    )
    busy = 0.5 + 0.35 * np.random.default_rng(3).uniform(-1.0, 1.0, (240, 240))
    found = [
        predicted(in_16_bits(look), sharp, DIFFUSION, 0.1, tone_weights(()))
        for look in (np.full((240, 240), 0.5), busy)
    ]
    middle = slice(14, 18)
    assert found[1].off[middle].mean() < found[0].off[middle].mean() - 0.3
    assert found[1].texture > found[0].texture


GOOD = Run("a.png", 45.0, 10.0, 300.0, (0.0, 0.0))
GAPPED = Run("b.png", 45.0, 18.0, 300.0, (0.0, 0.0))
FEEBLE = Run("c.png", 22.0, 10.0, 300.0, (0.0, 0.0))
IDLE = Run("d.png", 11.0, 10.0, 500.0, (0.0, 0.0))


@pytest.fixture(scope="module")
def judged():
    strip = strip_of((FEEBLE, GAPPED, GOOD), screen="continuous")
    measured = measured_on(strip, TRUE, 0.003)
    return strip, measured, judge(strip, measured, look())


def test_the_best_setting_reaches_all_tones(judged) -> None:
    strip, _, found = judged
    assert strip.runs[found.chosen.run] == GOOD
    assert not found.overruled
    errors = [verdict.error for verdict in found.verdicts]
    assert errors == sorted(errors)
    assert found.profile.setting.power_max_pct == GOOD.power_max_pct


def test_settings_that_cannot_be_told_apart_are_as_good(judged) -> None:
    assert judged[2].as_good == 0
    near = attrs.evolve(GOOD, file="near.png", power_max_pct=46.0)
    strip = strip_of((GOOD, near, FEEBLE, IDLE), screen="continuous")
    assert judge(strip, measured_on(strip, TRUE, 0.003), look()).as_good == 1


def test_reasons_fit(judged) -> None:
    strip, _, found = judged
    reasons = {strip.runs[v.run]: v.reason for v in found.verdicts}
    assert "fullest frost" in reasons[FEEBLE]
    assert "darkest tones" in reasons[GAPPED]
    assert reasons[GOOD].endswith(".")


def test_the_users_eye_overrules(judged) -> None:
    strip, measured, found = judged
    other = judge(strip, measured, look(), choose=1)
    assert other.overruled
    assert other.chosen.run == 1
    assert other.profile.setting.power_min_pct == GAPPED.power_min_pct
    assert [v.run for v in other.verdicts] == [v.run for v in found.verdicts]
    with pytest.raises(InputError, match="no setting 4"):
        judge(strip, measured, look(), choose=3)


def test_progress_rises_and_may_end_the_work() -> None:
    strip = strip_of((FEEBLE, GOOD), screen="continuous")
    measured = measured_on(strip, TRUE, 0.003)
    seen: list[float] = []
    judge(strip, measured, look(), progress=seen.append)
    assert seen == sorted(seen)
    assert len(seen) == 2 * len(strip.runs)
    assert 0.0 < seen[0] < seen[-1] < 1.0

    def stop(share: float) -> None:
        seen.append(share)
        raise Cancelled

    seen.clear()
    with pytest.raises(Cancelled):
        judge(strip, measured, look(), progress=stop)
    assert len(seen) == 1


def test_the_report_has_the_best_setting(judged) -> None:
    _, _, found = judged
    strip = judged[0]
    data_ = report(found, strip)
    assert data_["best"] == {
        "run": 3,
        "power_max_pct": 45.0,
        "power_min_pct": 10.0,
        "speed_mm_s": 300.0,
    }
    assert data_["as_good"] == 0
    assert data_["ranking"][0]["run"] == 3
    assert len(data_["ranking"]) == 3
    assert all(row["reason"] for row in data_["ranking"])


def test_a_strip_of_weak_settings_asks_for_more_power(judged) -> None:
    assert judged[2].warnings == ()
    strip = strip_of((FEEBLE,))
    found = judge(strip, measured_on(strip, TRUE, 0.003), look())
    assert "with more power" in found.warnings[0]
    assert report(found, strip)["warnings"] == list(found.warnings)


def test_learning_needs_something_to_learn_from(judged) -> None:
    strip, measured, _ = judged
    with pytest.raises(InputError, match="photo"):
        learn(strip, look())
    shares: list[float] = []
    learnt = learn(strip, look(), measured=measured, date="2026-11-25", progress=shares.append)
    assert shares == sorted(shares)
    assert len(shares) > 2
    assert learnt.judgement.profile.date == "2026-11-25"
    assert learnt.chosen(0).judgement.overruled
    other = attrs.evolve(learnt.judgement.profile, machine=attrs.evolve(GENERIC.machine, tube="x"))
    with pytest.raises(InputError, match="cannot be refined"):
        learn(strip, look(), measured=measured, earlier=other)


def test_a_setting_that_suits_dots_alone_says_so() -> None:
    strip = strip_of((GAPPED, GOOD), screen="diffusion")
    found = judge(strip, measured_on(strip, TRUE, 0.0), look())
    reasons = {strip.runs[v.run]: v.reason for v in found.verdicts}
    assert "suits dots: continuous power would begin at" in reasons[GAPPED]
    assert "suits dots" not in reasons[GOOD]


def test_a_setting_without_a_mark_comes_last_and_cannot_be_chosen() -> None:
    strip = strip_of((GOOD, IDLE, FEEBLE), screen="diffusion")
    measured = measured_on(strip, TRUE, 0.003)
    found = judge(strip, measured, look())
    assert strip.runs[found.verdicts[-1].run] == IDLE
    assert [v.marks for v in found.verdicts] == [True, True, False]
    assert found.verdicts[-1].reason == "It leaves no mark on this glass."
    with pytest.raises(InputError, match="Setting 2 leaves no mark"):
        judge(strip, measured, look(), choose=1)


def test_the_texture_of_a_setting_s_own_patches_is_seen() -> None:
    strip = strip_of((GOOD, GAPPED), steps=6, screen="continuous")
    patches = [
        PatchReading(0.5, 0.0, 0.0, 100, texture=0.03 if patch.run else 0.01)
        for patch in strip.patches
        if patch.kind != "bare"
    ]
    strip = attrs.evolve(strip, patches=[p for p in strip.patches if p.kind != "bare"])
    weight = tone_weights(())
    ends = Ends(0.02, 0.4)
    fine, rough = (seen_texture(strip, patches, run, ends, 1.0, weight) for run in (0, 1))
    assert rough == pytest.approx(3.0 * fine, rel=0.01)
    low, high = lightness_from_luminance(0.02 + 0.38 * np.array([0.49, 0.51]))
    assert fine == pytest.approx((high - low) / 2.0)
    left_out = [attrs.evolve(patch, flags=("spoilt",)) for patch in patches]
    assert seen_texture(strip, left_out, 0, ends, 1.0, weight) is None


def test_texture_counts_at_the_tones_that_come() -> None:
    strip = strip_of((GOOD,), steps=6, screen="continuous")
    patches = [
        PatchReading(patch.drive, 0.0, 0.0, 100, texture=0.03 if patch.drive > 0.5 else 0.001)
        for patch in strip.patches
    ]
    ends = Ends(0.02, 0.4)
    dark, light = np.eye(32)[[4, 28]]
    calm, rough = (seen_texture(strip, patches, 0, ends, 1.0, weight) for weight in (dark, light))
    assert rough > 3.0 * calm
