"""Settings ranked as a viewer would, with reasons that fit."""

import attrs
import cv2
import numpy as np
import pytest
from skimage import data

from engine.colour import lightness_from_luminance
from engine.glass import Ends
from engine.strip.judge import judge, report
from engine.strip.judge_cell import cell_facts, registered
from engine.strip.judge_error import at_pitch
from engine.strip.judge_photo import learn
from engine.strip.judge_texture import seen_texture
from engine.strip.judge_tones import tone_weights
from engine.strip.read_result import PatchReading
from engine.viewing import eye_sigma_mm
from shared.errors import Cancelled, InputError
from shared.profile import GENERIC
from shared.strip import Run
from tests.strip_parts import TRUE, in_16_bits, measured_on, strip_of

PITCH = 0.1


def picture(low=12.0, high=65.0, side=240):
    """A photograph's lightness, rows x columns."""
    grey = cv2.resize(data.camera(), (side, side), interpolation=cv2.INTER_AREA) / 255.0
    return (low + (high - low) * grey).astype(np.float32)


def look(side=160):
    return in_16_bits(picture(0.0, 1.0, side))


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


def test_an_earlier_profile_of_other_powers_is_said_to_be_left_out(judged) -> None:
    strip, measured, found = judged
    earlier = found.profile
    refined = judge(strip, measured, look(), earlier=earlier)
    assert refined.warnings == ()
    assert "refines" in refined.profile.note
    knots = [attrs.evolve(knot, fluence_j_mm2=0.01 * knot.fluence_j_mm2) for knot in earlier.knots]
    alone = judge(strip, measured, look(), earlier=attrs.evolve(earlier, knots=knots))
    assert alone.profile == found.profile
    assert "says nothing of the powers" in alone.warnings[0]
    assert report(alone, strip)["warnings"] == list(alone.warnings)


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


def test_a_setting_that_reaches_neither_end_is_told_of_both() -> None:
    narrow = attrs.evolve(GAPPED, power_max_pct=GAPPED.power_min_pct + 6.0)
    strip = strip_of((GOOD, narrow), screen="continuous")
    found = judge(strip, measured_on(strip, TRUE, 0.0), look())
    reason = next(v.reason for v in found.verdicts if strip.runs[v.run] == narrow)
    assert "of the fullest frost" in reason
    assert "the darkest tones are lost" in reason


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
