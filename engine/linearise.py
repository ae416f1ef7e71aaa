"""From look to drive: each screen's tone curve inverted, and what it cannot reach drawn in."""

from functools import lru_cache

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import burning, screens
from engine.compensate import Doses
from engine.filters import Floats
from engine.glass import Ends, look_from_mark, mark_from_look
from engine.monotone import inverse_table, monotone_curve, rising
from engine.response import frost_of_fluence
from engine.screens import mixed
from shared.profile import GlassProfile
from shared.recipe import Screen

Doubles = NDArray[np.float64]

_FEWEST_GAINS = 3
LEVELS = 40
"""Steps from no drive to full at which dots are simulated."""
TILE = 96
RIM = 12
"""Pixels of a simulated patch that its border may disturb."""
_EVEN = np.linspace(0.0, 1.0, 2049)
_EVEN.setflags(write=False)
LEAST_CODE = 1.0 / 255.0
"""The least drive of the continuous screen at which the laser fires."""
CORNERS = {"continuous": LEAST_CODE, "mixed": mixed.COVERING}
"""Where the screens that follow the tone by power reach the least power."""
UNREACHABLE = 0.004
"""A gap above bare glass below this share of the look is none."""
MOST_DRAWN = 0.8
"""A setting that reaches less than a fifth of the look is no longer fitted to, only warned of."""
MIDDLE_SHARE = 0.35
"""Share of the look over which keeping the middle bends the tones into what can be reached."""


@attrs.frozen(eq=False)
class ToneCurve:
    """What a screen's drive gives: frost at even drives from 0 to 1, never falling.

    `least` is the frost of the lightest tone that can be made at all, `most` the fullest.
    """

    frost: Doubles
    measured: bool

    @property
    def least(self) -> float:
        """Frost just above no drive."""
        return float(self.frost[1])

    @property
    def most(self) -> float:
        """Frost at full drive."""
        return float(self.frost[-1])

    @property
    def drives(self) -> Doubles:
        """The drives to which `frost` belongs."""
        return _EVEN


def gain_is_measured(profile: GlassProfile, kind: str) -> bool:
    """Whether the profile holds enough dot gain of a screen to be its tone curve."""
    return len(profile.gains_of(kind)) >= _FEWEST_GAINS


@lru_cache(maxsize=32)
def tone_curve(profile: GlassProfile, screen: Screen, pitch_mm: float) -> ToneCurve:
    """The tone curve of a screen: measured dot gain if the profile has it, else the model's."""
    if gain_is_measured(profile, screen.kind):
        gains = profile.gains_of(screen.kind)
        at = np.array([gain.drive for gain in gains])
        frost = np.array([gain.frost for gain in gains])
        weights = np.array([1.0 / (gain.scatter**2 + 1e-4) for gain in gains])
        return ToneCurve(_through(at, frost, weights, CORNERS.get(screen.kind)), measured=True)
    if screen.kind == "continuous":
        frost = _powers(profile, pitch_mm, _EVEN)
        frost[0] = 0.0
        return ToneCurve(frost, measured=profile.measured_curve)
    return ToneCurve(_dots(profile, screen, pitch_mm), measured=False)


@lru_cache(maxsize=32)
def frost_of_look_table(
    profile: GlassProfile, screen: Screen, pitch_mm: float, ends: Ends, rule: str
) -> Floats:
    """For 65536 even looks from 0 to 1, the frost to aim at, within what the screen can reach.

    `rule` names what happens to looks that cannot be reached: `middle`, `ends` or `clip`.
    """
    curve = tone_curve(profile, screen, pitch_mm)
    looks = np.linspace(0.0, 1.0, 65536)
    bounds = look_from_mark(np.array([[curve.least, curve.most]], np.float32), ends)[0]
    if ends.marked > ends.unmarked:
        reached = compress(looks, float(bounds[0]), float(bounds[1]), rule)
    else:
        reached = 1.0 - compress(1.0 - looks, 1.0 - float(bounds[0]), 1.0 - float(bounds[1]), rule)
    frost = mark_from_look(reached.astype(np.float32)[None, :], ends)[0]
    return np.asarray(frost, np.float32)


@lru_cache(maxsize=32)
def drive_of_frost_table(profile: GlassProfile, screen: Screen, pitch_mm: float) -> Floats:
    """For 65536 even frosts from 0 to 1, the drive that gives each; 0 stays 0."""
    curve = tone_curve(profile, screen, pitch_mm)
    table = inverse_table(curve.drives[1:], curve.frost[1:])
    if screen.kind == "continuous":
        np.maximum(table, np.float32(LEAST_CODE), out=table)
    table[0] = 0.0
    return table


@lru_cache(maxsize=32)
def doses(profile: GlassProfile, screen: Screen, pitch_mm: float) -> Doses | None:
    """The fluences of a screen's tones on the mean; None where they are dots of full power."""
    if screen.kind not in CORNERS:
        return None
    curve = tone_curve(profile, screen, pitch_mm)
    codes = burning.fluence_codes(profile, pitch_mm)
    corner = CORNERS[screen.kind]
    least = float(codes[1] / codes[255]) if codes[255] > 0.0 else 0.0
    dose = np.interp(curve.drives, [0.0, corner, 1.0], [0.0, least, 1.0])
    to_frost = np.interp(np.linspace(0.0, 1.0, 65536), dose, curve.frost)
    drive = drive_of_frost_table(profile, screen, pitch_mm)
    of_frost = np.interp(drive, curve.drives, dose)
    return Doses(of_frost.astype(np.float32), to_frost.astype(np.float32))


def compress(looks: Doubles, low: float, high: float, rule: str) -> Doubles:
    """Looks from 0 to 1 bent into `low` to `high`; bare glass (0) stays bare.

    - `clip`: what can be reached stays; what is darker than half of `low` becomes bare glass, the
      rest takes the nearest end.
    - `ends`: all tones are moved closer together, evenly.
    - `middle`: the middle keeps its contrast; tones near an end that cannot be reached are drawn
      in, most the nearer they are.
    """
    low = low if low > UNREACHABLE else 0.0
    high = high if high < 1.0 - UNREACHABLE else 1.0
    if rule == "clip":
        reached = np.clip(looks, low, high)
        reached = np.where(looks < low / 2.0, 0.0, reached)
    elif rule == "ends":
        reached = low + (high - low) * looks
    else:
        reached = _bent(looks, low)
        reached = 1.0 - _bent(1.0 - reached, 1.0 - high)
    return np.where(looks <= 0.0, 0.0, reached)


def _bent(values: Doubles, low: float) -> Doubles:
    """Values below a knee drawn up so that they end at `low`, with no break in slope."""
    if low <= 0.0:
        return values
    low = min(low, MOST_DRAWN)
    knee = max(MIDDLE_SHARE, min(2.0 * low, 0.9))
    power = knee / (knee - low)
    share = np.clip(values / knee, 0.0, 1.0)
    return np.where(values < knee, low + (knee - low) * share**power, values)


def _powers(profile: GlassProfile, pitch_mm: float, share: Doubles) -> Doubles:
    """Frost where every pixel fires, at rising shares of the range of powers, from the least."""
    codes = burning.fluence_codes(profile, pitch_mm).astype(np.float64)
    even = np.interp(255.0 * share, np.arange(1, 256), codes[1:])
    return np.maximum.accumulate(frost_of_fluence(even, profile))


def _dots(profile: GlassProfile, screen: Screen, pitch_mm: float) -> Doubles:
    """Frost of simulated patches of dots; from where they cover all, of plain power."""
    covering = CORNERS.get(screen.kind, 1.0)
    at = np.linspace(0.0, covering, round(LEVELS * covering) + 1)
    patches = np.array([_patch(profile, screen, pitch_mm, float(level)) for level in at])
    frost = _through(at, patches, np.ones(at.size))
    if covering < 1.0:
        first = int(np.searchsorted(_EVEN, covering))
        share = (_EVEN[first:] - covering) / (1.0 - covering)
        frost[first:] = np.maximum(_powers(profile, pitch_mm, share), frost[first - 1])
    return frost


def _patch(profile: GlassProfile, screen: Screen, pitch_mm: float, level: float) -> float:
    """Mean frost of a flat patch of a screen on the model."""
    flat = np.full((TILE, TILE), level, np.float32)
    codes = screens.screen(flat, screen, pitch_mm=pitch_mm)
    burnt = burning.burn_codes(codes, profile, pitch_mm)
    return float(burnt[RIM:-RIM, RIM:-RIM].mean())


def _through(at: Doubles, frost: Doubles, weights: Doubles, corner: float | None = None) -> Doubles:
    """A rising curve through points, at even drives; it starts at bare glass.

    A point at the `corner`, where the least power covers everything, parts two smooth curves.
    """
    places = np.unique(at)
    means = np.array([np.average(frost[at == x], weights=weights[at == x]) for x in places])
    sums = np.array([weights[at == x].sum() for x in places])
    if places[0] > 0.0:
        places = np.concatenate([[0.0], places])
        means, sums = np.concatenate([[0.0], means]), np.concatenate([[sums.max()], sums])
    smooth = rising(means, sums)
    smooth[0] = 0.0
    even = np.minimum(_EVEN, places[-1])
    cut = int(np.searchsorted(places, corner)) if corner is not None else 0
    if not (0 < cut < places.size - 1 and places[cut] == corner):
        return monotone_curve(places, smooth, even)
    dots = monotone_curve(places[: cut + 1], smooth[: cut + 1], np.minimum(even, places[cut]))
    powers = monotone_curve(places[cut:], smooth[cut:], np.maximum(even, places[cut]))
    return np.where(even < places[cut], dots, powers)
