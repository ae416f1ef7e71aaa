"""A second strip refines a profile."""

import attrs
import numpy as np

from engine.glass import ends
from engine.response import frost_of_fluence
from engine.strip.fit_power import Dose
from engine.strip.fit_shape import OF_THE_TOP
from engine.strip.fit_values import LEAST_SCATTER
from shared.errors import InputError
from shared.profile import Gain, GlassProfile, Light
from shared.stale import SAME, stale

EARLIER_DOUBT = 2.3
"""The points of a fitted curve are more than the figures that made them: about five times."""
EARLIER = -1
"""Stands for the patch of a point that an earlier profile brings."""

_UNHEARD = (
    "The earlier profile says nothing of the powers that this strip shows, so it was left out and "
    "what is known now rests on this strip alone. To refine it, burn a strip whose powers reach "
    "into its own."
)
_TAUGHT = (
    "The earlier profile was learnt from this very reading, so it was left out: it brings nothing "
    "new. Another strip, or another piece of this one, refines it."
)


def check_refines(earlier: GlassProfile, planned: GlassProfile) -> None:
    """Raise InputError unless a strip planned so may refine an earlier profile."""
    if earlier.origin == "starting guess":
        raise InputError("A starting guess cannot be refined; leave it out and save a new profile.")
    reasons = stale(earlier, planned.machine, planned.sheet)
    if reasons:
        raise InputError(
            f"The earlier profile cannot be refined with this strip. {reasons[0]} "
            "Leave it out and save a new profile."
        )


def why_left_out(earlier: GlassProfile, full: float, fingerprint: int) -> str:
    """Why an earlier profile cannot count beside readings, in a sentence; empty where it can.

    full: as `full_of` has it. Raises InputError where these readings taught it, but others too:
    they would count twice.
    """
    if fingerprint and fingerprint in earlier.readings:
        if set(earlier.readings) != {fingerprint}:
            raise InputError(
                "The earlier profile has learnt from this very reading already, which must not "
                "count twice. Refine it with another strip, or leave it out."
            )
        return _TAUGHT
    return "" if full > 0.0 else _UNHEARD


def full_of(earlier: GlassProfile, doses: Dose) -> float:
    """What an earlier profile calls full frost, in the readings' units, by what it says of their
    fluences; 0 where it says nothing, or that they leave no mark.

    Its strip and this one may have reached different shares of what the glass can have.
    """
    last = max((knot.fluence_j_mm2 for knot in earlier.knots), default=0.0)
    fluence = 10.0**doses.log_fluence
    then = frost_of_fluence(fluence, earlier)
    told = (fluence <= 1.001 * last) & (then > OF_THE_TOP * then.max(initial=0.0))
    return float(np.median(doses.frost[told] / then[told])) if told.any() else 0.0


def as_doses(earlier: GlassProfile, doses: Dose, full: float, speed_mm_s: float) -> Dose:
    """The readings with an earlier profile's points beside them; `full` as `full_of` has it."""
    count = len(earlier.knots)
    speed = np.log10(earlier.setting.speed_mm_s / speed_mm_s)
    scatter = [max(k.scatter, LEAST_SCATTER) * EARLIER_DOUBT for k in earlier.knots]
    return Dose(
        np.concatenate([doses.patch, np.full(count, EARLIER)]),
        np.concatenate([doses.run, np.full(count, EARLIER)]),
        np.concatenate([doses.log_fluence, np.log10([k.fluence_j_mm2 for k in earlier.knots])]),
        np.concatenate([doses.log_speed, np.full(count, speed)]),
        np.concatenate([doses.frost, full * np.array([k.frost for k in earlier.knots])]),
        np.concatenate([doses.scatter, full * np.array(scatter)]),
    )


def as_gains(earlier: GlassProfile, profile: GlassProfile, share: float) -> list[tuple[str, Gain]]:
    """An earlier profile's points of each screen, where it was burnt with the same setting.

    share: of the fullest frost that is known now, what the earlier profile calls full.
    """
    then, now = earlier.setting, profile.setting
    pairs = (
        (then.power_max_pct, now.power_max_pct),
        (then.power_min_pct, now.power_min_pct),
        (then.speed_mm_s, now.speed_mm_s),
        (then.pitch_mm, now.pitch_mm),
    )
    if any(abs(a - b) > SAME * max(a, b) for a, b in pairs):
        return []
    return [
        (
            gains.screen,
            Gain(
                point.drive,
                min(1.0, share * point.frost),
                min(1.0, share * point.scatter * EARLIER_DOUBT),
            ),
        )
        for gains in earlier.gains
        for point in gains.points
        if point.drive > 0.0
    ]


def merged(first: float, error: float, second: float, other: float) -> tuple[float, float]:
    """The mean of two measurements, weighed by the inverse of their variances, and its error; the
    plain mean where one error is not known (0)."""
    if error <= 0.0 or other <= 0.0:
        return 0.5 * (first + second), max(error, other)
    weights = 1.0 / error**2, 1.0 / other**2
    both = sum(weights)
    return (weights[0] * first + weights[1] * second) / both, both**-0.5


def merged_softness(earlier: GlassProfile, found: GlassProfile) -> GlassProfile:
    """The found profile with the spread and the lag of both."""
    spread_mm, spread_error = merged(
        earlier.spread_mm, earlier.doubt.spread_mm, found.spread_mm, found.doubt.spread_mm
    )
    lag_ms, lag_error = merged(
        earlier.machine.lag_ms, earlier.doubt.lag_ms, found.machine.lag_ms, found.doubt.lag_ms
    )
    return attrs.evolve(
        found,
        spread_mm=spread_mm,
        machine=attrs.evolve(found.machine, lag_ms=lag_ms),
        doubt=attrs.evolve(found.doubt, spread_mm=spread_error, lag_ms=lag_error),
    )


def merged_ends(
    earlier: GlassProfile, found: GlassProfile, share: float, backing: float, *, seen: bool
) -> GlassProfile:
    """The found profile with the ratio of the ends of both, or of the earlier one alone where the
    found one's was not `seen`; the fullest frost stays as it was.

    share: as `as_gains` has it.
    """
    ratio, error = over_fullest(_ratio(earlier.light, backing), 1.0 / share), earlier.doubt.ends
    if seen:
        ratio, error = merged(ratio, error, _ratio(found.light, backing), found.doubt.ends)
    now = ends(earlier.light, backing, "light")
    veil = earlier.light.veil_reflectance + ratio * now.marked - now.unmarked
    light = attrs.evolve(earlier.light, veil_reflectance=float(np.clip(veil, 0.0, 0.2)))
    return attrs.evolve(found, light=light, doubt=attrs.evolve(found.doubt, ends=error))


def over_fullest(bare_over_frost: float, full: float) -> float:
    """Light of bare glass over that of the fullest frost, from that over a lesser frost's: the
    fullest is `full` times that much above bare glass."""
    return bare_over_frost / (bare_over_frost + (1.0 - bare_over_frost) * full)


def _ratio(light: Light, backing: float) -> float:
    seen = ends(light, backing, "light")
    return seen.unmarked / seen.marked
