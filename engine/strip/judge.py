"""The strip's settings ranked as a viewer would, each with a plain reason.

The error that the picture would have with each setting's own profile decides; what the cells show
gives the reasons, and the user's eye may overrule.
"""

from collections.abc import Iterable, Iterator
from typing import Any, TypeVar

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.glass import Ends, ends, mark_from_look
from engine.linearise import CORNERS, tone_curve
from engine.progress import Progress, unheard
from engine.strip.fit import BACKING, Fit, fit_profile, light_with, profile_as_seen
from engine.strip.fit_values import Measured
from engine.strip.judge_cell import CellFacts, cell_facts, registered
from engine.strip.judge_error import Unsure, at_pitch, expected, predicted, seen_lightness
from engine.strip.judge_reasons import judged_screen, of_hand, reason_of, warnings_of
from engine.strip.judge_texture import seen_texture
from engine.strip.judge_tones import tone_weights
from engine.strip.read_patches import reference_run
from engine.strip.read_result import Reading
from engine.strip.runs_burnt import check_runs
from shared.errors import InputError
from shared.profile import GlassProfile
from shared.strip import Strip

_NO_MARK = (
    "No setting of this strip leaves a mark on the glass; burn another strip with more power or at "
    "a lower speed."
)
_Part = TypeVar("_Part")
_FITTED, _JUDGED = 0.2, 0.95
"""Shares of the progress at which all profiles are fitted and all settings are ranked."""
USUAL_TEXTURE = 0.4
"""Standard deviation in L* that an eye sees in a patch; taken where none was seen (virtual
photos)."""
AS_GOOD_L = 0.1
"""Difference of expected errors below which settings are as good as each other: so far off they
are on the mean (virtual sheets)."""
LEAST_MARK = 0.05
"""Share of the fullest frost below which a setting has left no mark."""


@attrs.frozen
class Verdict:
    """One setting."""

    run: int
    error: float
    """Mean lightness error, L*, that a portrait is expected to have with it."""
    marks: bool
    """Whether it leaves a mark; one that does not comes last and cannot be chosen."""
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
    of_runs: str
    """A warning of a run that disagrees with the others; empty where all agree."""
    of_readings: tuple[str, ...] = ()
    """Warnings of what people read by hand."""
    of_setting: tuple[str, ...] = ()
    """Warnings of the chosen setting."""

    @property
    def profile(self) -> GlassProfile:
        """Of the chosen setting."""
        return self.chosen.fit.profile

    @property
    def as_good(self) -> int:
        """How many settings are as good as the best, as far as can be told."""
        best = self.verdicts[0].error
        return sum(v.marks and v.error < best + AS_GOOD_L for v in self.verdicts[1:])

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences that ask for other readings, or another strip."""
        of_runs = (self.of_runs,) if self.of_runs else ()
        return (*self.of_readings, *of_runs, *self.of_setting)


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
    InputError where too little was measured, where a run was burnt with another setting than its
    own, where there is no such setting and where it leaves no mark.
    """
    if choose is not None and not 0 <= choose < len(strip.runs):
        raise InputError(f"The strip has no setting {choose + 1}; it has {len(strip.runs)}.")
    planned = profile_as_seen(strip, measured)
    light = light_with(planned.light, measured.bare_over_full)
    seen = ends(light, BACKING, "light")
    of_runs = check_runs(strip, measured.values, planned, seen)
    runs, kind = len(strip.runs), judged_screen(strip).kind
    fitted = (
        fit_profile(strip, measured, run, date=date, earlier=earlier, only=kind, seen_as=planned)
        for run in range(runs)
    )
    report = progress or unheard
    fits = list(_told(fitted, runs, report, 0.0, _FITTED))
    cells = [None if reading is None else _cell(strip, fit, look, reading) for fit in fits]
    weight = tone_weights(strip.tones)
    unsure = _unsure(strip, measured, reading, fits, weight)
    judged = (
        _verdict(strip, fit, cell, look, weight, own)
        for fit, cell, own in zip(fits, cells, unsure, strict=True)
    )
    told = _told(judged, runs, report, _FITTED, _JUDGED)
    verdicts = sorted(told, key=lambda verdict: (not verdict.marks, verdict.error))
    if not verdicts[0].marks:
        raise InputError(_NO_MARK)
    best = verdicts[0] if choose is None else next(v for v in verdicts if v.run == choose)
    if not best.marks:
        raise InputError(f"Setting {best.run + 1} leaves no mark on this glass; choose another.")
    full = fit_profile(strip, measured, best.run, date=date, earlier=earlier, seen_as=planned)
    return choosing(Judgement(tuple(verdicts), best, False, of_runs), strip, measured, full)


def choosing(judgement: Judgement, strip: Strip, measured: Measured, fit: Fit) -> Judgement:
    """The same ranking with the setting chosen of which this is the fit, of every screen."""
    verdict = next(v for v in judgement.verdicts if v.run == fit.run)
    return attrs.evolve(
        judgement,
        chosen=attrs.evolve(verdict, fit=fit),
        overruled=verdict is not judgement.verdicts[0],
        of_readings=of_hand(strip, measured, fit),
        of_setting=warnings_of(strip, fit),
    )


def report(judgement: Judgement, strip: Strip) -> dict[str, Any]:
    """The judgement as plain data: `best` has the chosen setting, `ranking` all of them."""
    return {
        "best": _setting(strip, judgement.chosen.run),
        "overruled": judgement.overruled,
        "as_good": judgement.as_good,
        "warnings": list(judgement.warnings),
        "ranking": [
            {
                **_setting(strip, verdict.run),
                "expected_error_l": round(verdict.error, 3),
                "marks": verdict.marks,
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


def _setting(strip: Strip, run: int) -> dict[str, Any]:
    found = strip.runs[run]
    return {
        "run": run + 1,
        "power_max_pct": found.power_max_pct,
        "power_min_pct": found.power_min_pct,
        "speed_mm_s": found.speed_mm_s,
    }


def _unsure(
    strip: Strip,
    measured: Measured,
    reading: Reading | None,
    fits: list[Fit],
    weight: NDArray[np.float64],
) -> list[Unsure]:
    """Of each setting. Where power follows the tone, the patches of one tell nothing of its own."""
    own = [None if reading is None else _texture(strip, reading, fit, weight) for fit in fits]
    there = [texture for texture in own if texture is not None]
    common = float(np.median(there)) if there else USUAL_TEXTURE
    of_dots = judged_screen(strip).kind not in CORNERS
    richest = reference_run(strip.patches)
    return [
        Unsure(
            texture if texture is not None and of_dots else common,
            common,
            fit.run != richest,
            measured.error_l,
        )
        for fit, texture in zip(fits, own, strict=True)
    ]


def _verdict(
    strip: Strip,
    fit: Fit,
    cell: CellFacts | None,
    look: NDArray[np.uint16],
    weight: NDArray[np.float64],
    unsure: Unsure,
) -> Verdict:
    screen = judged_screen(strip)
    found = predicted(look, fit.profile, screen, strip.pitch_mm, weight)
    marks = tone_curve(fit.profile, screen, strip.pitch_mm).most > LEAST_MARK
    reason = reason_of(strip, fit, cell) if marks else "It leaves no mark on this glass."
    return Verdict(fit.run, expected(found, unsure), marks, cell, reason, fit)


def _texture(strip: Strip, reading: Reading, fit: Fit, weight: NDArray[np.float64]) -> float | None:
    ends_, full = _seen_ends(fit), fit.power.full
    return seen_texture(strip, reading.patches, fit.run, ends_, full, weight)


def _cell(strip: Strip, fit: Fit, look: NDArray[np.uint16], reading: Reading) -> CellFacts | None:
    place = next((n for n, cell in enumerate(strip.cells) if cell.run == fit.run), None)
    if place is None:
        return None
    picture = reading.cells[place] / np.float32(fit.power.full)
    if not np.isfinite(picture).all():
        return None
    seen = _seen_ends(fit)
    frost = mark_from_look(at_pitch(look, *picture.shape), seen)
    pitch = reading.cell_pitch_mm
    wanted = seen_lightness(frost, seen, pitch)
    shown = seen_lightness(picture, seen, pitch)
    return cell_facts(wanted, registered(wanted, shown), pitch)


def _seen_ends(fit: Fit) -> Ends:
    return ends(fit.profile.light, BACKING, "light")
