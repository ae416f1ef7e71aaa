"""The glass profile that a strip teaches, for one of its settings.

readings -> characteristic curve (all runs) -> dot gain per screen -> spread -> profile
"""

from typing import Any

import attrs
import numpy as np

from engine.glass import ends
from engine.strip.firing import floor_seen
from engine.strip.fit_curve import BAD_WEIGHT
from engine.strip.fit_gains import GainFit, fit_gains, set_to, with_bare_off
from engine.strip.fit_lines import SpreadFit, fit_spread
from engine.strip.fit_merge import (
    as_doses,
    as_gains,
    full_of,
    merged_ends,
    merged_softness,
    over_fullest,
    why_left_out,
)
from engine.strip.fit_power import PowerFit, doses_of, fit_power
from engine.strip.fit_values import Measured, checked
from engine.strip.tube import evened
from shared.errors import InputError
from shared.profile import Doubt, GlassProfile, Light, Response
from shared.profile_file import profile_from_data
from shared.strip import Strip

BACKING = 0.01
"""Share of light that the backing of a strip is taken to return: dull black."""
MOST_VEIL = 0.2
LEAST_ENDS_ERROR = 0.002
"""Of bare over full; a lens's stray light is never the same in two photos (starting guess)."""
_ROUNDS = 8


@attrs.frozen(eq=False)
class Fit:
    """A fitted profile, and how far it can be trusted."""

    profile: GlassProfile
    run: int
    power: PowerFit
    gains: tuple[GainFit, ...]
    spread: SpreadFit | None
    bad: tuple[int, ...]
    """Patches that disagree with the rest and were left out."""
    left_out: str
    """Why an earlier profile was left out, in a sentence; empty where none was."""

    @property
    def curve_error(self) -> float:
        """Standard error of the characteristic curve's tones, as a share of the range, typical."""
        return float(np.median(self.power.curve.scatter))


def planned_profile(strip: Strip) -> GlassProfile:
    """The profile with which the strip was planned. Raises ProfileError if it is damaged."""
    return profile_from_data(strip.profile) if strip.profile else GlassProfile()


def profile_as_seen(strip: Strip, measured: Measured) -> GlassProfile:
    """The planned profile with the firing floor that the patches show, where it lies higher."""
    planned = planned_profile(strip)
    seen = ends(light_with(planned.light, measured.bare_over_full), BACKING, "light")
    floor = floor_seen(strip, checked(strip, measured).values, planned, seen)
    if floor is None:
        return planned
    return attrs.evolve(planned, machine=attrs.evolve(planned.machine, firing_floor_pct=floor))


def fit_profile(
    strip: Strip,
    measured: Measured,
    run: int,
    *,
    date: str = "",
    earlier: GlassProfile | None = None,
    only: str | None = None,
    seen_as: GlassProfile | None = None,
) -> Fit:
    """Fit the glass profile for one run's setting; frost 1 is the fullest that the glass can have,
    which the curve shows where no setting reached it.

    `earlier` is a measured profile of the same machine and glass that is refined: its points
    count with their scatter beside the new ones, unless it says nothing of their fluences or was
    taught by these very readings. `only` names the one screen whose dot gain is fitted; `seen_as`
    is what `profile_as_seen` gave, if that is known. Raises InputError where too little was read,
    where the run is not there, and where the readings would count twice in a profile that others
    taught, too.
    """
    if not 0 <= run < len(strip.runs):
        raise InputError(f"The strip has no setting {run + 1}; it has {len(strip.runs)}.")
    seen_as = seen_as or profile_as_seen(strip, measured)
    planned = set_to(seen_as, strip.runs[run], strip.pitch_mm)
    blank = attrs.evolve(
        planned, knots=(), gains=(), light=light_with(planned.light, measured.bare_over_full)
    )
    seen = ends(blank.light, BACKING, "light")
    doses = evened(doses_of(strip, measured.values, blank, run), seen)
    then = 0.0 if earlier is None else full_of(earlier, doses)
    left_out = "" if earlier is None else why_left_out(earlier, then, measured.fingerprint)
    earlier = None if left_out else earlier
    if earlier is not None:
        doses = as_doses(earlier, doses, then, strip.runs[run].speed_mm_s)
    power = fit_power(doses, seen, run, blank.response.flaking_j_mm2)
    power = power.with_bare_off(measured.bare_error)
    share = then / power.full
    ratio = measured.bare_over_full
    light = light_with(planned.light, None if ratio is None else over_fullest(ratio, power.full))
    knots: Any = power.knots()
    known = attrs.evolve(
        blank,
        knots=knots,
        response=_response(blank.response, power),
        light=light,
        doubt=Doubt(ends=_ends_error(strip, measured)),
    )
    if earlier is not None:
        known = merged_ends(earlier, known, share, BACKING, seen=ratio is not None)
    spread = fit_spread(strip, measured.lines, known, power.full)
    if spread is not None:
        known = _softened(known, spread, earlier)
    seen = ends(known.light, BACKING, "light")
    more = [] if earlier is None else as_gains(earlier, known, share)
    gains = fit_gains(strip, measured.values, known, seen, run, power.full, more, only)
    bad = _bad(power, gains)
    points: Any = [with_bare_off(fit.gains, measured.bare_error) for fit in gains]
    profile = attrs.evolve(
        known,
        gains=points,
        origin="measured",
        readings=_taught_by(measured, earlier),
        date=date,
        name=_name(planned, strip, run),
        note=_note(strip, measured, len(bad), earlier),
    )
    return Fit(profile, run, power, tuple(gains), spread, bad, left_out)


def _taught_by(measured: Measured, earlier: GlassProfile | None) -> tuple[int, ...]:
    before = () if earlier is None else earlier.readings
    return (*before, measured.fingerprint) if measured.fingerprint else before


def _softened(
    profile: GlassProfile, found: SpreadFit, earlier: GlassProfile | None
) -> GlassProfile:
    known = attrs.evolve(
        profile,
        spread_mm=found.spread_mm,
        machine=attrs.evolve(profile.machine, lag_ms=found.lag_ms),
        doubt=attrs.evolve(profile.doubt, spread_mm=found.error_mm, lag_ms=found.lag_error_ms),
    )
    return known if earlier is None else merged_softness(earlier, known)


def _ends_error(strip: Strip, measured: Measured) -> float:
    """Of bare over full: how far the bare patches differ among themselves, and what all of them are
    off by; 0 if nobody knows."""
    bare = [v.frost for v in measured.values if strip.patches[v.patch].kind == "bare"]
    if measured.bare_over_full is None or (len(bare) < 2 and not measured.bare_error):
        return 0.0
    apart = np.std(bare, ddof=1) / np.sqrt(len(bare)) if len(bare) > 1 else 0.0
    alike = measured.bare_error * (1.0 - measured.bare_over_full)
    return max(float(np.hypot(apart, alike)), LEAST_ENDS_ERROR)


def light_with(light: Light, bare_over_full: float | None) -> Light:
    """End reflectances with a known ratio. A photo tells no more, and no more is needed: the look
    is linear in L*, and cube roots of luminance keep their proportions."""
    if bare_over_full is None or not 0.0 < bare_over_full < 1.0:
        return light
    found = light
    for _ in range(_ROUNDS):
        now = ends(found, BACKING, "light")
        behind = now.unmarked - found.veil_reflectance
        veil = min(max(bare_over_full * now.marked - behind, 0.0), MOST_VEIL)
        found = attrs.evolve(found, veil_reflectance=veil)
        frost = found.frost_reflectance
        if veil in (0.0, MOST_VEIL):
            bare = ends(found, BACKING, "light").unmarked
            frost = min(max(bare / bare_over_full - (now.marked - frost), 0.01), 0.95)
            found = attrs.evolve(found, frost_reflectance=frost)
    return found


def _response(response: Response, power: PowerFit) -> Response:
    """The starting guess's figures replaced by the measured curve's."""
    at = power.curve.at
    share = power.frost_at(at) / power.full
    threshold = float(10.0 ** at[int(np.argmax(share > 0.02))])
    middle = float(10.0 ** at[int(np.argmax(share > 0.5))])
    flaking = power.flaking_j_mm2
    middle = min(max(middle, 1.02 * threshold), 0.98 * flaking)
    threshold = min(threshold, 0.98 * middle)
    return attrs.evolve(
        response,
        threshold_j_mm2=threshold,
        middle_j_mm2=middle,
        flaking_j_mm2=flaking,
        flaking_decades=power.flaking_decades,
    )


def _bad(power: PowerFit, gains: list[GainFit]) -> tuple[int, ...]:
    doubted = power.doses.patch[power.curve.trust < BAD_WEIGHT]
    found = {int(n) for n in doubted} | {n for fit in gains for n in fit.bad}
    return tuple(sorted(n for n in found if n >= 0))


def _name(planned: GlassProfile, strip: Strip, run: int) -> str:
    setting = strip.runs[run]
    return (
        f"{planned.sheet.kind}, strip {strip.number}: {setting.power_max_pct:g} to "
        f"{setting.power_min_pct:g} % at {setting.speed_mm_s:g} mm/s"
    )[:200]


def _note(strip: Strip, measured: Measured, bad: int, earlier: GlassProfile | None) -> str:
    words = f"Test strip {strip.number}"
    if measured.source:
        words += f", {measured.source}"
    words += f"; {measured.patches_read} patches read"
    if bad:
        words += f", {bad} of them left out"
    if earlier is not None:
        words += "; refines an earlier profile"
    return f"{words}."[:200]
