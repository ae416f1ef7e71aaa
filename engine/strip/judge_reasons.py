"""What there is to say about a setting, in plain words."""

from collections import Counter
from collections.abc import Sequence

from engine.linearise import CORNERS, tone_curve
from engine.response import FLAKED_OFF, flaked
from engine.strip.fit import Fit, planned_profile
from engine.strip.fit_gains import screen_named
from engine.strip.fit_values import Measured
from engine.strip.judge_cell import CellFacts
from engine.strip.typed_checks import burnt_as, patches_that
from shared.recipe import Screen
from shared.strip import Strip
from shared.units import percent

LEAST_DETAIL = 0.6
MUCH_GRAIN = 1.5
GAP, MUCH_GAP = 0.02, 0.08
SHORT = 0.93
"""Share of the fullest frost below which a setting is too weak."""
GROWS = 0.12
"""Share that the last fifth of the strongest dose may bring of its frost: 0.05 on glass that is
frosted to 95 %, 0.2 and more where it is frosted by a third (virtual sheets)."""

COARSE_L = 1.0
"""What a viewer sees in a portrait."""

_COARSE = (
    "The readings are coarse, or scatter where the same was burnt, so tones may come out off by "
    "about {:.1f} L*, dark ones most. Finer steps and more patches that are alike tell more, of "
    "bare glass above all, and so does a photo of the strip."
)
_COUNT_LITTLE = (
    "does not agree with the rest and counts",
    "do not agree with the rest and count",
)
_LEFT_OUT = "{} for little or nothing; if a reading there was mistaken, correct it."
_CARRIED = (
    "No patch of setting {} itself was read, so all of its tones are carried over from others: "
    "read its solid patches too, or choose a setting that was read."
)
_WEAK = (
    "Frost still grows with power: the last fifth of the strongest setting's dose brought {} of "
    "it. This glass can be lighter than the strip shows; burn another one with more power or at a "
    "lower speed."
)
_FLOOR = (
    "Patches of less than {:g} % power stayed bare although their dose was enough: the tube fires "
    "only from there on. That is in the profile as the machine's firing floor; give it to the next "
    "strip too."
)
_STRONG = (
    "This setting is so strong that much of the frost flakes off again. Choose a weaker one, or "
    "burn another strip with less power or at a higher speed; the fullest frost comes at about {}."
)


def judged_screen(strip: Strip) -> Screen:
    """The screen with which the cells were made, and by which settings are judged."""
    return screen_named(str(strip.screen.get("kind", "diffusion")), strip.screen)


def reason_of(strip: Strip, fit: Fit, cell: CellFacts | None) -> str:
    """What its curve cannot reach, or else the gravest thing that its cell shows; and what it is
    for another screen."""
    shown = _of_cell(cell) if cell is not None else ()
    gravest = " ".join(_of_curve(strip, fit) or shown[:1])
    if not gravest and cell is None:
        gravest = "It reaches all tones; its cell was not seen."
    elif not gravest:
        gravest = "All tones stand apart and the detail is kept."
    return " ".join([gravest, *_of_power(strip, fit)])


def warnings_of(strip: Strip, fit: Fit) -> tuple[str, ...]:
    """What to do where the tube did not fire, where no setting of the strip is strong enough, where
    the chosen one is too strong, and where it could not refine an earlier profile."""
    growth, floor = fit.power.growth, fit.profile.machine.firing_floor_pct
    weak = _WEAK.format(percent(growth)) if growth >= GROWS else ""
    idle = _FLOOR.format(floor) if floor > planned_profile(strip).machine.firing_floor_pct else ""
    found = (idle, weak, _strong(strip, fit), fit.left_out)
    return tuple(sentence for sentence in found if sentence)


def _strong(strip: Strip, fit: Fit) -> str:
    """That frost is lost by flaking, and which setting would just not lose any."""
    setting, machine = fit.profile.setting, fit.profile.machine
    most, least, speed = setting.power_max_pct, setting.power_min_pct, setting.speed_mm_s
    by_dots = judged_screen(strip).kind not in CORNERS
    if _flaked(fit, most if by_dots else least) <= 1.0 - SHORT:
        return ""
    times = fit.profile.fluence_j_mm2(most) / fit.power.flaking_j_mm2
    faster = min(speed * times, machine.fastest_mm_s)
    most, least = (power * faster / speed / times for power in (most, least))
    least = max(least, machine.firing_floor_pct)
    return _STRONG.format(f"{most:.0f}/{least:.0f} % at {faster:.0f} mm/s")


def _flaked(fit: Fit, power_pct: float) -> float:
    """Share of its frost that a power of the setting loses again."""
    lost = flaked(fit.profile.fluence_j_mm2(power_pct), fit.profile)
    return lost if fit.power.flakes else 0.0


def of_hand(strip: Strip, measured: Measured, fit: Fit) -> tuple[str, ...]:
    """What to warn of readings by hand."""
    if not measured.by_hand:
        return ()
    found = list(measured.doubts)
    if measured.error_l >= COARSE_L:
        found.append(_COARSE.format(measured.error_l))
    alike = Counter(burnt_as(strip.patches[number]) for number in fit.bad)
    alone = [number for number in fit.bad if alike[burnt_as(strip.patches[number])] == 1]
    if alone:
        found.append(_LEFT_OUT.format(patches_that(alone, *_COUNT_LITTLE)))
    read = [strip.patches[value.patch] for value in measured.values]
    if fit.run not in {patch.run for patch in read if patch.kind != "bare"}:
        found.append(_CARRIED.format(fit.run + 1))
    return tuple(found)


def _of_curve(strip: Strip, fit: Fit) -> Sequence[str]:
    screen = judged_screen(strip)
    curve = tone_curve(fit.profile, screen, strip.pitch_mm)
    found = []
    flakes, short = _flaked(fit, fit.profile.setting.power_max_pct) > FLAKED_OFF, curve.most < SHORT
    if flakes and short:
        found.append(f"At its greatest power frost flakes off: {percent(curve.most)} is left.")
    elif flakes:
        found.append("The greatest power is so strong that frost flakes off.")
    elif short:
        found.append(f"It reaches only {percent(curve.most)} of the fullest frost.")
    if screen.kind == "continuous" and curve.least > GAP:
        found.append(
            f"Its least power already gives {percent(curve.least)} frost: "
            "the darkest tones are lost."
        )
    return found


def _of_power(strip: Strip, fit: Fit) -> Sequence[str]:
    """What a setting that was judged by dots, to which the least power matters little, is for
    continuous power."""
    if judged_screen(strip).kind == "continuous":
        return []
    least = tone_curve(fit.profile, Screen(kind="continuous"), strip.pitch_mm).least
    if least <= MUCH_GAP:
        return []
    return [f"It suits dots: continuous power would begin at {percent(least)} frost."]


def _of_cell(cell: CellFacts) -> Sequence[str]:
    found = []
    if cell.merged_light > 1:
        found.append(f"The lightest {_number(cell.merged_light)} tones merge.")
    if cell.merged_dark > 1:
        found.append(f"The darkest {_number(cell.merged_dark)} tones merge.")
    if cell.grain > MUCH_GRAIN:
        found.append(f"Its grain shows: {cell.grain:.1f} L*.")
    if cell.detail < LEAST_DETAIL:
        found.append(f"Only {percent(cell.detail)} of the detail is left.")
    return found


def _number(count: int) -> str:
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    return words[count] if count < len(words) else str(count)
