"""The strip's settings ranked as a viewer would, each with a plain reason.

The error that the picture would have with each setting's own profile decides; what the cells show
gives the reasons, and the user's eye may overrule.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypeVar

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.glass import ends, mark_from_look
from engine.linearise import tone_curve
from engine.progress import Progress, unheard
from engine.strip.fit import BACKING, Fit, fit_profile
from engine.strip.fit_gains import screen_named
from engine.strip.fit_values import Measured
from engine.strip.judge_cell import CellFacts, cell_facts, registered
from engine.strip.judge_error import at_pitch, expected, predicted, seen_lightness
from engine.strip.read_result import Reading
from shared.errors import InputError
from shared.profile import GlassProfile
from shared.recipe import Screen
from shared.strip import Strip

_Part = TypeVar("_Part")
_FITTED, _JUDGED = 0.2, 0.95
"""Shares of the progress at which all profiles are fitted and all settings are ranked."""
LEAST_DETAIL = 0.6
MUCH_GRAIN = 1.5
TIE_L = 0.05
"""Expected errors that are no further apart are alike; the repeatability on virtual sheets."""
USUAL_GRAIN = 1.0
"""Standard deviation in L* that a cell shows in a photo; taken where none was seen (virtual
photos)."""
GAP = 0.02
SHORT = 0.93
"""Share of the fullest frost below which a setting is too weak."""


@attrs.frozen
class Verdict:
    """One setting."""

    run: int
    error: float
    """Mean lightness error, L*, that a portrait is expected to have with it."""
    cell: CellFacts | None
    """None when its cell could not be seen."""
    reason: str
    fit: Fit = attrs.field(repr=False)


@attrs.frozen(eq=False)
class Judgement:
    """All settings, the best first, and the one that is chosen."""

    verdicts: tuple[Verdict, ...]
    chosen: Verdict
    overruled: bool

    @property
    def profile(self) -> GlassProfile:
        """Of the chosen setting."""
        return self.chosen.fit.profile


def judge(
    strip: Strip,
    measured: Measured,
    look: NDArray[np.uint16],
    reading: Reading | None = None,
    *,
    choose: int | None = None,
    date: str = "",
    earlier: GlassProfile | None = None,
    progress: Progress | None = None,
) -> Judgement:
    """Fit a profile for every setting and rank them.

    look: of one cell, uint16, rows x columns, from the front. reading: for the cells' pictures;
    without, the ranking rests on the patches. choose: the number of the setting (from 0) that the
    user's eye prefers. progress: called with a share from 0 to 1; may raise `Cancelled`. Raises
    InputError where too little was measured, or there is no such setting.
    """
    if choose is not None and not 0 <= choose < len(strip.runs):
        raise InputError(f"The strip has no setting {choose + 1}; it has {len(strip.runs)}.")
    kind = _screen(strip).kind
    runs = len(strip.runs)
    fitted = (
        fit_profile(strip, measured, run, date=date, earlier=earlier, only=kind)
        for run in range(runs)
    )
    report = progress or unheard
    fits = list(_told(fitted, runs, report, 0.0, _FITTED))
    cells = [None if reading is None else _cell(strip, fit, look, reading) for fit in fits]
    grains = [cell.grain for cell in cells if cell is not None]
    usual = float(np.median(grains)) if grains else USUAL_GRAIN
    judged = (_verdict(strip, f, c, look, usual) for f, c in zip(fits, cells, strict=True))
    told = _told(judged, runs, report, _FITTED, _JUDGED)
    verdicts = _ranked(list(told), strip)
    best = verdicts[0] if choose is None else next(v for v in verdicts if v.run == choose)
    full = fit_profile(strip, measured, best.run, date=date, earlier=earlier)
    return Judgement(tuple(verdicts), attrs.evolve(best, fit=full), best is not verdicts[0])


def _ranked(verdicts: list[Verdict], strip: Strip) -> list[Verdict]:
    """The best first. Dots of full power hardly know the least power; of settings that are as good
    the one that marks least at its least power serves continuous power too."""
    by_error = sorted(verdicts, key=lambda verdict: verdict.error)
    if not _screen(strip).is_dots:
        return by_error
    near = [v for v in by_error if v.error <= by_error[0].error + TIE_L]
    power = Screen(kind="continuous")
    first = min(near, key=lambda v: tone_curve(v.fit.profile, power, strip.pitch_mm).least)
    return [first, *(v for v in by_error if v is not first)]


def report(judgement: Judgement, strip: Strip) -> dict[str, Any]:
    """The judgement as plain data: `best` has the chosen setting, `ranking` all of them."""
    return {
        "best": _setting(strip, judgement.chosen.run),
        "overruled": judgement.overruled,
        "ranking": [
            {
                **_setting(strip, verdict.run),
                "expected_error_l": round(verdict.error, 3),
                "reason": verdict.reason,
                "cell": None if verdict.cell is None else attrs.asdict(verdict.cell),
            }
            for verdict in judgement.verdicts
        ],
    }


def _told(
    parts: Iterable[_Part], count: int, report: Progress, low: float, high: float
) -> Iterator[_Part]:
    """Parts as they are made; after each the progress goes on from `low` to `high`."""
    for number, part in enumerate(parts, start=1):
        report(low + (high - low) * number / count)
        yield part


def _screen(strip: Strip) -> Screen:
    return screen_named(str(strip.screen.get("kind", "diffusion")), strip.screen)


def _setting(strip: Strip, run: int) -> dict[str, Any]:
    found = strip.runs[run]
    return {
        "run": run + 1,
        "power_max_pct": found.power_max_pct,
        "power_min_pct": found.power_min_pct,
        "speed_mm_s": found.speed_mm_s,
    }


def _verdict(
    strip: Strip, fit: Fit, cell: CellFacts | None, look: NDArray[np.uint16], grain: float
) -> Verdict:
    wanted = at_pitch(look, *look.shape)
    found = predicted(wanted, fit.profile, _screen(strip), strip.pitch_mm, strip.tones)
    return Verdict(fit.run, expected(found, grain), cell, _reason(strip, fit, cell), fit)


def _cell(strip: Strip, fit: Fit, look: NDArray[np.uint16], reading: Reading) -> CellFacts | None:
    place = next((n for n, cell in enumerate(strip.cells) if cell.run == fit.run), None)
    if place is None:
        return None
    picture = reading.cells[place] / np.float32(fit.power.full)
    if not np.isfinite(picture).all():
        return None
    seen = ends(fit.profile.light, BACKING, "light")
    low = at_pitch(look, *picture.shape)
    frost = _frost_of_look(low, fit)
    pitch = reading.cell_pitch_mm
    wanted = seen_lightness(frost, seen, pitch)
    shown = seen_lightness(picture, seen, pitch)
    return cell_facts(wanted, registered(wanted, shown), pitch)


def _frost_of_look(look: NDArray[np.float32], fit: Fit) -> NDArray[np.float32]:
    return mark_from_look(look, ends(fit.profile.light, BACKING, "light"))


def _reason(strip: Strip, fit: Fit, cell: CellFacts | None) -> str:
    """The gravest thing to say about a setting, in one sentence."""
    sentences = [*_of_curve(strip, fit), *(_of_cell(cell) if cell is not None else ())]
    if sentences:
        return sentences[0]
    seen = "All tones stand apart and the detail is kept."
    return "It reaches all tones; its cell was not seen." if cell is None else seen


def _of_curve(strip: Strip, fit: Fit) -> Sequence[str]:
    profile = fit.profile
    setting = profile.setting
    screen = _screen(strip)
    curve = tone_curve(profile, screen, strip.pitch_mm)
    found = []
    if fit.power.flakes and profile.fluence_j_mm2(setting.power_max_pct) > fit.power.flaking_j_mm2:
        found.append("The greatest power is so strong that frost flakes off.")
    if curve.most < SHORT:
        found.append(f"It reaches only {curve.most:.0%} of the fullest frost.")
    if screen.kind == "continuous" and curve.least > GAP:
        found.append(
            f"Its least power already gives {curve.least:.0%} frost: the darkest tones are lost."
        )
    return found


def _of_cell(cell: CellFacts) -> Sequence[str]:
    found = []
    if cell.merged_light > 1:
        found.append(f"The lightest {_number(cell.merged_light)} tones merge.")
    if cell.merged_dark > 1:
        found.append(f"The darkest {_number(cell.merged_dark)} tones merge.")
    if cell.grain > MUCH_GRAIN:
        found.append(f"Its grain shows: {cell.grain:.1f} L*.")
    if cell.detail < LEAST_DETAIL:
        found.append(f"Only {cell.detail:.0%} of the detail is left.")
    return found


def _number(count: int) -> str:
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    return words[count] if count < len(words) else str(count)
